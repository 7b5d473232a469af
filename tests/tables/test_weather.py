"""Weather files: hourly, and hours from daily lowest and highest."""

from datetime import UTC, datetime

import numpy as np
import pytest

from ortet.science.climate import hours_from_daily
from ortet.tables.kind import recognise
from ortet.tables.weather import read_weather

ZONE = "America/Los_Angeles"
DAILY = "date,tmin (°C),tmax (°C)\n2026-11-24,2,9\n2026-11-25,1,8\n2026-11-26,-1,7\n"


def read(text, latitude=45.5, **more):
    return read_weather(text.encode(), "orchard.csv", zone=ZONE, latitude=latitude, **more)


def said(record):
    return [str(problem) for problem in record.problems]


def test_days_become_hours_by_the_sun_in_winter_time():
    """The method is checked in tests/outside; here only that each hour stands where it belongs."""
    record = read(DAILY)
    assert said(record) == []
    expected = hours_from_daily([2, 1, -1], [9, 8, 7], [328, 329, 330], 45.5)
    assert record.air_c == pytest.approx(expected)
    first = int(datetime(2026, 11, 24, 8, 30, tzinfo=UTC).timestamp())
    assert record.at_s.tolist() == [first + 3600 * i for i in range(72)]
    assert np.isnan(record.humidity).all()
    assert any("Linvill 1990" in note and "UTC-08:00" in note for note in record.notes)


def test_summer_days_keep_winter_time():
    summer = read(DAILY.replace("2026-11", "2026-07"))
    assert summer.at_s[0] == datetime(2026, 7, 24, 8, 30, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    "text",
    [
        (
            "Datum;Tiefsttemperatur (°C);Höchsttemperatur (°C)\n"
            "24.11.2026;2,0;9,0\n"
            "25.11.2026;1,0;8,0\n"
            "26.11.2026;-1;7\n"
        ),
        "DATE,TMAX (°F),TMIN (°F)\n11/24/2026,48.2,35.6\n11/25/2026,46.4,33.8\n11/26/2026,44.6,30.2\n",
        (
            "Station: hill\n"
            "\n"
            "Date\tMin temp °C\tMax temp °C\tRain mm\n"
            "2026-11-24\t2\t9\t0\n"
            "2026-11-25\t1\t8\t0\n"
            "2026-11-26\t-1\t7\t3\n"
        ),
        "date,low_f,high_f\n2026-11-26,30.2,44.6\n2026-11-25,33.8,46.4\n2026-11-24,35.6,48.2\n",
    ],
)
def test_daily_files_in_other_forms(text):
    record = read(text)
    assert said(record) == []
    assert record.air_c == pytest.approx(read(DAILY).air_c)
    assert recognise(text.encode()) == "weather"


@pytest.mark.parametrize("latitude", [None, 91.0, 67.0, float("nan")])
def test_days_without_a_latitude_are_refused(latitude):
    record = read(DAILY, latitude)
    assert record.at_s.size == 0 and "latitude" in said(record)[0] and record.problems[0].line == 1


def test_a_missing_day_is_a_gap_not_an_invention():
    record = read(DAILY.replace("2026-11-25,1,8\n", "2026-11-25,,\n") + "2026-11-27,0,6\n2026-11-28,0,6\n")
    assert said(record) == [] and len(record.gaps) == 1
    gap = (np.array(record.gaps[0]) - datetime(2026, 11, 24, 8, tzinfo=UTC).timestamp()) / 3600
    assert gap[0] < 24 and gap[1] >= 48


@pytest.mark.parametrize(
    ("change", "line", "words"),
    [
        (("25,1,8", "25,9,8"), 3, "above the day's highest"),
        (("26,-1,7", "25,-1,7"), 4, "stands twice"),
        (("25,1,8", "25,1,88"), 3, "outside -60 to 70"),
        (("25,1,8", "31,1,8"), 3, "no calendar"),
        (("2026-11-25", "2999-11-25"), 3, "no calendar"),
        (("25,1,8", "25,1,mild"), 3, "no number"),
    ],
)
def test_impossible_days_are_told_by_line(change, line, words):
    record = read(DAILY.replace(*change))
    assert record.at_s.size == 0
    assert [problem.line for problem in record.problems] == [line] and words in said(record)[0]


def test_hourly_weather_needs_no_latitude():
    record = read("time,Temperature (°C),Wind (m/s)\n2026-07-24 00:00,22\n2026-07-24 01:00,21\n", None)
    assert said(record) == [] and record.air_c.tolist() == [22.0, 21.0]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("lot,accession,taken,count\n", "lots"),
        ("accession;variety;species;site\n", "mothers"),
        ("bag,lot,count,bagged,store\n", "bags"),
        ("bag,at,gross_oz\n", "weighings"),
        ("bag,lot,at,callus\n", "inspections"),
        ("Date time,Temperature (°C)\n", "logger"),
        ("model x\nDate;Time;RH %;Temp °F\n", "logger"),
        ("time,temperature,wind speed\n", "weather"),
        ("lot,count\n", None),
        ("", None),
        ("\x00\x01\x02", None),
    ],
)
def test_a_file_is_known_by_its_header(text, kind):
    assert recognise(text.encode()) == kind
