"""Records that nobody here made, as their publishers or in the dialects that loggers write.

Seattle: hourly temperatures of 2010 and daily weather of 2012 to 2015, carried by `vega_datasets`. Typical
years: TMY3 files of the US National Renewable Energy Laboratory (Wilcox & Marion 2008,
NREL/TP-581-43156), carried by `pvlib`, whose own reader and pandas are the references.
"""

from datetime import timedelta, timezone
from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from vega_datasets import local_data

from ortet.tables.kind import recognise
from ortet.tables.logger import read_logger
from ortet.tables.weather import read_weather

ZONE = "America/Los_Angeles"
WINTER_TIME = timezone(timedelta(hours=-8))


@pytest.fixture(scope="module")
def seattle():
    """8,759 hours in °F on a clock that nobody changed: it shows 02:00 on 14 March, when there was none."""
    return local_data.seattle_temps()


def as_text(frame, form, delimiter, decimal, header, fahrenheit):
    air = frame["temp"] if fahrenheit else (frame["temp"] - 32) / 1.8
    digits = 1 if fahrenheit else 9
    lines = [
        f"{at.strftime(form)}{delimiter}{f'{t:.{digits}f}'.replace('.', decimal)}"
        for at, t in zip(frame["date"], air, strict=True)
    ]
    return header + "\n" + "\n".join(lines) + "\n"


DIALECTS = {
    "as published, with its unit": ("%Y/%m/%d %H:%M", ",", ".", "date,temp (°F)", True, "utf-8"),
    "ISO": ("%Y-%m-%dT%H:%M:%S", ",", ".", "timestamp,air_c", False, "utf-8"),
    "US": ("%m/%d/%Y %I:%M:%S %p", ",", ".", "Serial,0000\nDate Time,Temp °F", True, "utf-8-sig"),
    "European": ("%d.%m.%Y %H:%M", ";", ",", "Datum/Uhrzeit;Temperatur (°C)", False, "cp1252"),
    "tabs in UTF-16": ("%d/%m/%Y\t%H:%M:%S", "\t", ",", "Date\tTime\tTemp (°F)", True, "utf-16"),
}


@pytest.mark.parametrize("dialect", DIALECTS)
def test_seattle_reads_back_the_same_in_every_dialect(seattle, dialect):
    *form, encoding = DIALECTS[dialect]
    raw = as_text(seattle, *form).encode(encoding)
    record = read_logger(raw, "seattle.csv", zone=ZONE)
    assert record.problems == []
    local = seattle["date"].dt.tz_localize(WINTER_TIME)
    assert np.array_equal(record.at_s, local.astype("datetime64[s, UTC]").astype("int64"))
    np.testing.assert_allclose(record.air_c, (seattle["temp"] - 32) / 1.8, atol=1e-6)
    assert any("clock was not changed (2010-03-14 02:00)" in note for note in record.notes)
    assert recognise(raw) == "logger"


def test_seattle_as_published_asks_for_its_unit():
    raw = (files("vega_datasets") / "_data" / "seattle-temps.csv").read_bytes()
    record = read_logger(raw, "seattle-temps.csv", zone=ZONE)
    assert len(record.problems) == 1 and "°C or °F?" in record.problems[0].message


def test_seattle_days_as_published_become_hours():
    """Hours lie within each day's published lowest and highest, and come near both; Linvill 1990."""
    raw = (files("vega_datasets") / "_data" / "seattle-weather.csv").read_bytes()
    assert recognise(raw) == "weather"
    record = read_weather(raw, "seattle-weather.csv", zone=ZONE, latitude=47.6)
    days = local_data.seattle_weather()
    assert record.problems == [] and record.at_s.size == 24 * len(days)
    air = record.air_c.reshape(len(days), 24)
    # the night after a day runs on to the next day's lowest, which may lie below the day's own
    floor = np.minimum(days["temp_min"], np.r_[days["temp_min"][1:], np.inf])
    assert (air <= days["temp_max"].to_numpy()[:, None] + 1e-9).mean() > 0.99
    assert (air >= floor.to_numpy()[:, None] - 1e-9).mean() > 0.99
    assert np.median(days["temp_max"] - air.max(axis=1)) < 0.5


@pytest.mark.parametrize(("name", "offset"), [("723170TYA.CSV", -5), ("703165TY.csv", -9)])
def test_a_typical_year_reads_as_it_is(name, offset):
    """As pandas reads the columns; TMY3 times are local standard time, its 24:00 the next midnight."""
    raw = (files("pvlib") / "data" / name).read_bytes()
    assert recognise(raw) == "weather"
    record = read_weather(raw, name, zone=timezone(timedelta(hours=offset)))
    frame = pd.read_csv(files("pvlib") / "data" / name, skiprows=1)
    hours = frame["Time (HH:MM)"].str[:2].astype(int)
    at = pd.to_datetime(frame["Date (MM/DD/YYYY)"], format="%m/%d/%Y") + pd.to_timedelta(
        hours - offset, unit="h"
    )
    frame["at_s"] = at.astype("datetime64[s]").astype("int64")
    frame = frame.sort_values("at_s")
    assert record.problems == [] and record.duplicates == 0
    assert np.array_equal(record.at_s, frame["at_s"])
    np.testing.assert_allclose(record.air_c, frame["Dry-bulb (C)"], atol=1e-6)
    np.testing.assert_allclose(record.humidity, frame["RHum (%)"] / 100, atol=1e-6)
    assert any("typical year" in note for note in record.notes)


def test_a_typical_year_agrees_with_the_library_that_carries_it():
    """pvlib labels each hour by its own convention, so the values are compared in the file's order."""
    from pvlib.iotools import read_tmy3

    path = files("pvlib") / "data" / "723170TYA.CSV"
    theirs, about = read_tmy3(str(path), coerce_year=2021, map_variables=True)
    record = read_weather(path.read_bytes(), path.name, zone=timezone(timedelta(hours=about["TZ"])))
    local = pd.to_datetime(record.at_s + int(about["TZ"] * 3600) - 1, unit="s")  # 24:00 belongs to its day
    order = np.lexsort((local.hour, local.day, local.month))
    np.testing.assert_allclose(record.air_c[order], theirs["temp_air"], atol=1e-6)
    np.testing.assert_allclose(record.humidity[order], theirs["relative_humidity"] / 100, atol=1e-6)


def test_a_zone_with_summer_time_does_not_shift_a_typical_year():
    """The file's times are winter time all year; it shows an hour that the clocks of the place skipped."""
    raw = (files("pvlib") / "data" / "723170TYA.CSV").read_bytes()
    in_zone = read_weather(raw, "x.csv", zone="America/New_York")
    fixed = read_weather(raw, "x.csv", zone=timezone(timedelta(hours=-5)))
    assert np.array_equal(in_zone.at_s, fixed.at_s)
