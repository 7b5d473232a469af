"""The demo season as files: the same every time, and read without a complaint by the readers a grower's files go to."""

import csv
from collections import Counter
from datetime import UTC, datetime

import numpy as np
import pytest

from ortet.demo import season
from ortet.tables.kind import recognise
from ortet.tables.logger import read_logger
from ortet.tables.read import read_table
from ortet.tables.weather import read_weather

ZONE = "Europe/Prague"


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    return {path.name: path for path in season.write(tmp_path_factory.mktemp("season"))}


def rows(path):
    with path.open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_same_files_every_time(files, tmp_path):
    again = season.write(tmp_path)
    assert {path.name: path.read_bytes() for path in again} == {
        name: path.read_bytes() for name, path in files.items()
    }


@pytest.mark.parametrize("name", ["mothers", "lots", "bags", "weighings", "inspections"])
def test_every_table_is_read_without_a_problem(files, name):
    data = files[f"{name}.csv"].read_bytes()
    assert recognise(data) == name
    read = read_table(data, f"{name}.csv", zone=ZONE)
    assert read.problems == []
    assert len(read.rows) == len(rows(files[f"{name}.csv"]))


def test_forty_mother_plants_of_26_varieties_and_eight_kinds(files):
    plants = rows(files["mothers.csv"])
    assert len(plants) == 40
    assert len({plant["variety"] for plant in plants}) == 26
    kinds = {plant["species"] for plant in plants}
    assert kinds == {
        "blackcurrant",
        "redcurrant",
        "gooseberry",
        "elder",
        "grape",
        "quince",
        "mulberry",
        "pomegranate",
    }


def test_1400_cuttings_and_each_bagged_once_but_those_still_bare(files):
    lots = {lot["lot"]: int(lot["count"]) for lot in rows(files["lots.csv"])}
    bagged: Counter[str] = Counter()
    for row in rows(files["bags.csv"]):
        bagged[row["lot"]] += int(row["count"])
    assert sum(lots.values()) == 1400
    bare = {lot for lot in lots if lot not in bagged}
    assert len(bare) == 2
    assert all(bagged[lot] == count for lot, count in lots.items() if lot not in bare)


def test_bags_are_of_many_makes(files):
    bags = rows(files["bags.csv"])
    assert {bag["polymer"] for bag in bags} >= {"LDPE", "HDPE", "PP"}
    assert {bag["closure"] for bag in bags} == {"knot", "zip", "fold", "heat-seal", "open"}
    assert {bag["packing"] for bag in bags} >= {"none", "dry paper", "moist sawdust"}


def test_no_bag_gains_weight_beyond_what_a_kitchen_scale_errs(files):
    """Half a gram or 0.2 % is the spread of a kitchen scale [common practice]; 4 spreads of a difference are 5.7 of one."""
    last: dict[str, float] = {}
    for weighing in rows(files["weighings.csv"]):
        gross = float(weighing["gross_g"])
        before = last.setdefault(weighing["bag"], gross)
        assert gross - before <= 5.7 * max(0.5, 0.002 * gross)
        last[weighing["bag"]] = min(gross, before)


def test_the_cellar_was_too_warm_over_the_holidays_and_left_ajar_one_evening(files):
    read = read_logger(files["cellar_fridge.csv"].read_bytes(), "cellar_fridge.csv", zone=ZONE)
    assert read.problems == []
    assert read.gaps == []

    def between(first, last):
        at = [int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp()) for text in (first, last)]
        return read.air_c[(read.at_s >= at[0]) & (read.at_s < at[1])]

    holidays = between("2026-12-21", "2027-01-03")
    assert 9 < holidays.mean() < 12
    ajar = between("2027-02-09 12:00", "2027-02-10 12:00")
    assert 4.5 < ajar.max() - ajar.min() < 7
    quiet = between("2027-01-10", "2027-02-09")
    assert quiet.max() - quiet.min() < 2


def test_the_barn_melts_its_ice_every_night_and_its_logger_ran_flat(files):
    read = read_logger(files["barn_fridge.csv"].read_bytes(), "barn_fridge.csv", zone=ZONE)
    assert read.problems == []
    (gap,) = read.gaps
    assert 3 * 86_400 < gap[1] - gap[0] < 5 * 86_400
    day = (read.at_s - read.at_s[0]) // 86_400
    whole = [d for d in np.unique(day) if (day == d).sum() == 144]
    swings = [np.ptp(read.air_c[day == d]) for d in whole]
    assert len(whole) > 95
    assert min(swings) > 2.5


def test_the_weather_is_of_a_cool_temperate_place_with_frost(files):
    """Invented. Bounds are common practice for lowland central Europe: September near 15 °C, January near 0 °C."""
    read = read_weather(files["brook_field.csv"].read_bytes(), "brook_field.csv", zone=ZONE)
    assert read.problems == []
    assert read.gaps == []
    month = np.array([datetime.fromtimestamp(int(at), UTC).month for at in read.at_s])
    assert 12 < read.air_c[month == 9].mean() < 20
    assert -4 < read.air_c[month == 1].mean() < 3
    assert -20 < read.air_c.min() < -4
    assert (read.air_c < 0).sum() > 300
