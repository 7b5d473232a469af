"""Logger files in the forms they come in; every reading below is invented."""

import re
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.tables import logger
from ortet.tables.header import role_of
from ortet.tables.logger import read_logger

ZONE = "America/Los_Angeles"
START = int(datetime(2026, 11, 24, 8, tzinfo=UTC).timestamp())  # midnight in that zone


def read(text, encoding="utf-8", **more):
    return read_logger(text.encode(encoding), "fridge.csv", zone=ZONE, **more)


def said(record):
    return [str(problem) for problem in record.problems]


def hours(*air, humidity=None):
    """Return an ISO record of one reading an hour."""
    wet = humidity or [""] * len(air)
    lines = [f"2026-11-24 {i:02d}:00,{a},{w}" for i, (a, w) in enumerate(zip(air, wet, strict=True))]
    return "Date time,Temperature (°C),RH (%)\n" + "\n".join(lines) + "\n"


FORMS = {
    "plain": "Date time,Temperature (°C),RH (%)\n2026-11-24 00:00,2.5,80\n2026-11-24 01:00,3.0,81.5\n",
    "European": (
        "Datum/Uhrzeit;Temperatur °C;rel. Feuchte %\n24.11.2026 00:00;2,5;80\n24.11.2026 01:00;3,0;81,5\n"
    ),
    "US in °F": (
        '"#","Date Time","Temp, °F","RH, %"\n'
        '"1","11/24/26 12:00:00 AM","36.5","80"\n'
        '"2","11/24/26 01:00:00 AM","37.4","81.5"\n'
    ),
    "two columns for time, tabs": (
        "Index\tDate\tTime\tTemp(C)\tHumidity(%RH)\n"
        "1\t24/11/2026\t00:00:00\t2.5\t80\n"
        "2\t24/11/2026\t01:00:00\t3.0\t81.5\n"
    ),
    "units in cells": (
        "Time,Temperature,Humidity\n2026-11-24 00:00,2.5 °C,80 %\n2026-11-24 01:00,3.0°C,81.5%\n"
    ),
    "°F in cells": (
        "Time,Temperature,Humidity\n2026-11-24 00:00,36.5°F,80%\n2026-11-24 01:00,37.4 F,81.5 %RH\n"
    ),
    "preamble": (
        "Serial number: 0001\n"
        "Interval,60 min\n"
        "\n"
        "Name;shelf, upper\n"
        "Timestamp,Temperature_C,Humidity\n"
        "2026-11-24T00:00,2.5,80\n"
        "2026-11-24T01:00,3.0,81.5\n"
    ),
    "zone in the heading": (
        '"Date Time, GMT-08:00","Temp, °C","RH, %"\n2026-11-24 00:00,2.5,80\n2026-11-24 01:00,3.0,81.5\n'
    ),
    "zone in the cells": "timestamp,air_c,rh\n2026-11-24T08:00:00Z,2.5,80\n2026-11-24T09:00:00Z,3.0,81.5\n",
    "kelvin": "time,temperature (K),rh (%)\n2026-11-24 00:00,275.65,80\n2026-11-24 01:00,276.15,81.5\n",
    "marks and an end": (
        "Date time,Temperature (°C),RH (%),Event\n"
        "2026-11-24 00:00,2.5,80,\n"
        "2026-11-24 00:20,,,button\n"
        "2026-11-24 01:00,3.0,81.5,\n"
        "2026-11-24 01:10,,,stopped\n"
        "End of record,,,\n"
    ),
    "blanks and cells to spare": (
        "Date time , Temperature (°C) , RH (%)\n"
        "\n"
        "2026-11-24 00:00 , 2.5 , 80 ,,\n"
        "\n"
        ",,\n"
        "2026-11-24 01:00, 3.0, 81.5\n"
        "\n"
        "\n"
    ),
    "humidity as a share": (
        "Date time,Temperature (°C),RH\n2026-11-24 00:00,2.5,0.80\n2026-11-24 01:00,3.0,0.815\n"
    ),
}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("form", FORMS)
def test_one_record_in_many_forms(form, encoding):
    record = read(FORMS[form], encoding)
    assert said(record) == []
    assert record.at_s.tolist() == [START, START + 3600]
    assert record.air_c == pytest.approx([2.5, 3.0])
    assert record.humidity == pytest.approx([0.80, 0.815])
    assert record.at_s.dtype == np.int64 and record.air_c.dtype == np.float64


@pytest.mark.parametrize("end", ["\r\n", "\r"])
def test_other_line_ends(end):
    assert read(FORMS["European"].replace("\n", end)).air_c == pytest.approx([2.5, 3.0])


@pytest.mark.parametrize(
    ("heading", "role"),
    [
        ("Température (°C)", "air"),
        ("Lufttemperatur [°C]", "air"),
        ("Dry-bulb (C)", "air"),
        ("Dry-bulb source", ""),
        ("Dew-point (C)", ""),
        ("T (°C)", "air"),
        ("Luftfeuchtigkeit", "humidity"),
        ("Humidité relative (%)", "humidity"),
        ("Absolute humidity (g/m3)", ""),
        ("Fecha", "date"),
        ("Hora", "time"),
        ("TMIN (°F)", "low"),
        ("temp_max", "high"),
        ("Höchsttemperatur", "high"),
        ("Battery (V)", ""),
        ("High alarm", ""),
        ("Event", ""),
    ],
)
def test_headings_in_the_languages_of_the_trade(heading, role):
    assert role_of(heading) == role


def test_humidity_may_be_absent():
    record = read("time,temp (°C)\n2026-11-24 00:00,2.5\n")
    assert said(record) == [] and np.isnan(record.humidity).all()


def test_no_unit_in_a_cold_place_is_celsius_and_said():
    record = read("time,temp\n2026-11-24 00:00,2.5\n2026-11-24 01:00,3\n")
    assert record.air_c.tolist() == [2.5, 3.0] and '"temp" has no unit: read as °C.' in record.notes


def test_no_unit_and_too_warm_for_a_fridge_is_asked():
    record = read("time,temp\n2026-11-24 00:00,36.5\n2026-11-24 01:00,37.4\n")
    assert len(record.problems) == 1
    assert '"temp (°F)" or "temp (°C)"' in said(record)[0] and said(record)[0].startswith(
        'fridge.csv, row 1, "temp"'
    )


def test_two_units_in_one_column():
    assert "°C and in °F" in said(read("time,temp\n2026-11-24 00:00,2.5 °C\n2026-11-24 01:00,37.4 °F\n"))[0]
    assert "the header says °C, the cells °F" in said(read("time,temp (°C)\n2026-11-24 00:00,37.4 °F\n"))[0]


def test_a_gap_is_noted_with_its_times():
    text = hours(*[2.0] * 12).replace("2026-11-24 05:00,2.0,\n2026-11-24 06:00,2.0,\n", "")
    record = read(text)
    assert said(record) == []
    assert record.gaps == [(START + 4 * 3600, START + 7 * 3600)]
    assert "1 gap in readings every 1 h: 2026-11-24 04:00 to 2026-11-24 07:00." in record.notes


def test_doubles_that_agree_are_averaged_and_noted():
    record = read(hours(2.0, 2.1) + "2026-11-24 01:00,2.2,90\n2026-11-24 02:00,2.2,\n")
    assert said(record) == [] and record.duplicates == 1
    assert record.air_c == pytest.approx([2.0, 2.15, 2.2])
    assert record.humidity[1] == pytest.approx(0.9)
    assert any(
        "1 reading stands at an instant already there (first 2026-11-24 01:00)" in n for n in record.notes
    )


def test_doubles_that_disagree_are_a_problem_with_both_rows():
    record = read(hours(2.0, 2.1) + "2026-11-24 01:00,2.4,\n")
    assert said(record) == [
        'fridge.csv, row 4, "Temperature (°C)": 2026-11-24 01:00 stands here and in row 3, '
        "with 2.1 and 2.4 °C. Keep the right one of the two rows."
    ]
    assert not any("averaged" in note for note in record.notes)


def test_rows_out_of_order_are_sorted_and_noted():
    lines = hours(*range(6)).strip().split("\n")
    turned = read("\n".join([lines[0], *lines[:0:-1]]))
    assert turned.air_c.tolist() == [0, 1, 2, 3, 4, 5] and "newest reading came first" in turned.notes[0]
    mixed = read("\n".join([lines[0], *lines[4:], *lines[1:4]]))
    assert mixed.air_c.tolist() == [0, 1, 2, 3, 4, 5] and "went back once" in mixed.notes[0]


@pytest.mark.parametrize(
    ("air", "fine"), [(-60, True), (-60.1, False), (70, True), (70.1, False), (1e300, False)]
)
def test_what_no_air_in_a_store_can_be(air, fine):
    record = read(hours(2.0, air))
    assert bool(record.problems) is not fine
    if not fine:
        assert record.problems[0].line == 3 and "outside -60 to 70 °C" in record.problems[0].message


def test_humidity_a_little_above_full_is_clipped_and_more_is_a_problem():
    record = read(hours(2, 2, 2, humidity=[99, 101.2, 105]))
    assert said(record) == [] and record.humidity.tolist() == [0.99, 1.0, 1.0]
    assert "2 rows with humidity a little above 100 %: taken as 100 %." in record.notes
    assert read(hours(2, 2, humidity=[99, 105.1])).problems[0].line == 3
    assert read(hours(2, 2, humidity=[99, -1])).problems[0].column == "RH (%)"


@pytest.mark.parametrize("missing", ["", "NA", "NaN", "---", "null", "ERR", "-9999", "-999", "inf"])
def test_missing_readings_are_left_out_and_counted(missing):
    record = read(hours(2.0, missing, 2.2))
    assert said(record) == [] and record.air_c.tolist() == [2.0, 2.2]
    assert any(note.startswith("1 row without a temperature") for note in record.notes)


def test_every_bad_cell_is_told_by_its_line():
    record = read(
        hours(2.0, "cold", 2.2).replace("02:00", "2 o'clock")
        + "2026-11-24 03:00,2.0,wet\n2026-11-24 04:00,2,1\n"
    )
    assert [(p.line, p.column) for p in record.problems] == [
        (3, "Temperature (°C)"),
        (4, "Date time"),
        (5, "RH (%)"),
    ]


def test_dates_that_nothing_decides_are_refused_and_a_heading_decides():
    text = "Date,temp (°C)\n3/4/2026 00:00,2\n4/4/2026 00:00,2\n"
    assert "--dates" in said(read(text))[0]
    assert read(text, day_first=True).at_s[0] == datetime(2026, 4, 3, 7, tzinfo=UTC).timestamp()
    told = read(text.replace("Date,", "Date (MM/DD/YYYY),"))
    assert told.at_s[0] == datetime(2026, 3, 4, 8, tzinfo=UTC).timestamp()


def test_the_further_probe_is_left_aside_and_said():
    record = read("time,Temp 1 (°C),Temp 2 (°C)\n2026-11-24 00:00,2,9\n")
    assert record.air_c.tolist() == [2.0] and 'left aside: "Temp 2 (°C)"' in record.notes[-1]


def test_a_quotation_mark_without_its_fellow_spoils_only_its_line():
    record = read(hours(2.0, 2.1, 2.2).replace("2.1", '"2.1'))
    assert [p.line for p in record.problems] == [3] and record.air_c.tolist() == [2.0, 2.2]


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"", "empty"),
        (b"Date time,Temperature (\xb0C)\n", "no reading under the header"),
        (b"Date time,Temperature (\xb0C)\n,\n,\n", "no reading under the header"),
        (b"a,b\n1,2\n", "names a time and a temperature"),
        (bytes(range(256)) * 9, "not text"),
        (b"Date time,Temperature (\xb0C)\nx,\n", "no reading"),
    ],
)
def test_what_is_no_record_is_said_plainly(raw, words):
    record = read_logger(raw, "fridge.csv", zone=ZONE)
    assert len(record.at_s) == 0 and len(record.problems) == 1 and words in said(record)[0]


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reader(raw):
    record = read_logger(b"time,temp (C)\n2026-11-24 00:00,2\n" + raw, "x.csv", zone=ZONE)
    assert record.at_s.size == record.air_c.size == record.humidity.size
    assert (np.diff(record.at_s) > 0).all()


def test_many_problems_are_counted_not_all_listed():
    rows = logger.MOST_PROBLEMS + 500
    record = read(
        "time,temp (°C)\n2026-11-24 00:00,2\n" + "2026-11-24 01:00,warm\n" * rows + "2026-11-24 02:00,2\n"
    )
    assert len(record.problems) == logger.MOST_PROBLEMS + 1
    assert re.search(r"\b500 more rows", said(record)[-1])


def test_pieces_of_a_long_file_join_without_a_seam(monkeypatch):
    """Rows, their line numbers and the progress do not depend on where the file was parted."""
    text = hours(*range(20)).replace("13", "x") + "\n" + hours(7).split("\n")[1].replace("24 00", "25 00")
    whole = read(text)
    monkeypatch.setattr(logger, "SLAB", 50)
    seen = []
    parted = read(text, progress=lambda done, total: seen.append((done, total)))
    assert np.array_equal(whole.at_s, parted.at_s) and np.array_equal(whole.air_c, parted.air_c)
    assert said(whole) == said(parted) != []
    assert len(seen) > 5 and seen == sorted(seen) and seen[-1][0] == seen[-1][1]
