"""Dates and times in every form, judged by the column."""

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.tables.clock import to_utc
from ortet.tables.when import FAULTS, order_in_header, read_moments

BERLIN, PACIFIC = ZoneInfo("Europe/Berlin"), ZoneInfo("America/Los_Angeles")


def moments(*values, zone=UTC, **more):
    return read_moments(list(values), zone=zone, **more)


def at(*parts, zone=UTC):
    return int(datetime(*parts, tzinfo=zone).timestamp())


@pytest.mark.parametrize(
    "written",
    [
        "2026-11-24T15:30:00Z",
        "2026-11-24 15:30",
        "2026-11-24T16:30:00+01:00",
        "2026-11-24T16:30:00+0100",
        "2026-11-24 07:30:00-08:00",
        "20261124 15:30",
        "2026/11/24 15:30:00",
        "2026-11-24 15:30:00.000",
        "24.11.2026 15:30",
        "24.11.2026, 15:30:00",
        "24.11.26 15:30",
        "24/11/2026 15:30",
        "11/24/2026 3:30 PM",
        "11/24/2026 03:30:00 p.m.",
        "11/24/26 3:30pm",
        " 2026-11-24 15:30 ",
    ],
)
def test_one_moment_in_many_forms(written):
    """ISO 8601-1:2019, 5.2.2 and 5.4.2, and the orders of day and month in common use."""
    read = moments(written)
    assert read.undecided is None
    assert (read.fault.tolist(), read.at_s.tolist()) == ([0], [at(2026, 11, 24, 15, 30)])


@pytest.mark.parametrize(
    ("written", "fault"),
    [
        ("yesterday", 1),
        ("", 1),
        ("24-11-26 10:00", 1),
        ("2026-02-29", 2),
        ("31.4.2026", 2),
        ("0026-01-01", 2),
        ("2026-13-01", 2),
        ("2026-11-24 25:00", 3),
        ("2026-11-24 12:61", 3),
        ("2026-11-24 13:00 PM", 3),
        ("2026-11-24 noon", 3),
        ("2026-11-24 15", 3),
    ],
)
def test_what_no_calendar_or_clock_shows_is_a_fault(written, fault):
    read = moments(written)
    assert read.fault.tolist() == [fault] and read.at_s.tolist() == [0]
    assert all(FAULTS[fault])


def test_midnight_ends_a_day_at_24_and_starts_one_at_12_am():
    """ISO 8601-1:2019/Amd 1:2022 has 24:00 again as the end of a day."""
    assert moments("2026-11-24 24:00").at_s[0] == at(2026, 11, 25)
    assert moments("11/24/2026 12:05 AM").at_s[0] == at(2026, 11, 24, 0, 5)
    assert moments("11/24/2026 12:05 PM").at_s[0] == at(2026, 11, 24, 12, 5)


def test_one_date_decides_for_its_column():
    assert moments("3/4/2026", "24/4/2026", hour=0).at_s[0] == at(2026, 4, 3)
    assert moments("3/4/2026", "4/24/2026", hour=0).at_s[0] == at(2026, 3, 4)
    assert moments("3/4/2026", "24.4.2026", hour=0).at_s[0] == at(2026, 4, 3)


def test_nothing_decides():
    message, remedy = moments("3/4/2026", "5/6/2026").undecided
    assert "3/4/2026" in message and "--dates" in remedy
    assert moments("5/5/2026", "2026-03-04").undecided is None


def test_two_orders_in_one_column():
    message, _ = moments("24/4/2026", "4/24/2026").undecided
    assert "24/4/2026" in message and "4/24/2026" in message


def test_a_date_against_the_order_asked_for():
    assert moments("24/4/2026", "3/4/2026", day_first=False).fault.tolist() == [5, 0]


@pytest.mark.parametrize(
    ("heading", "order"),
    [("Date (MM/DD/YYYY)", False), ("Date dd.mm.yyyy", True), ("Datum (TT.MM.JJJJ)", True), ("Date", None)],
)
def test_a_heading_may_tell_the_order(heading, order):
    assert order_in_header(heading) is order


def test_a_time_the_clock_skipped_is_a_fault_and_one_shown_twice_is_the_first():
    """In the EU: on 29 March and 25 October 2026 at 01:00 UTC (Directive 2000/84/EC)."""
    read = moments("2026-03-29 02:30", "2026-10-25 02:30", zone=BERLIN)
    assert read.fault.tolist() == [4, 0]
    assert read.at_s[1] == at(2026, 10, 25, 0, 30)
    assert "the first is meant" in read.notes[0]


def wall(*parts):
    return at(*parts)


def test_a_logger_that_shows_the_hour_twice_is_read_in_its_order():
    start = at(2026, 10, 24, 22)
    true = start + np.arange(0, 6 * 3600, 1800)
    local = true + [int(datetime.fromtimestamp(t, BERLIN).utcoffset().total_seconds()) for t in true]
    for order in (slice(None), slice(None, None, -1)):
        back, skipped, notes = to_utc(local[order], BERLIN, steady=True)
        assert np.array_equal(back, true[order]) and not skipped.any()
        assert "set back" in notes[0]


def test_an_hourly_logger_shows_one_hour_twice():
    true = at(2026, 10, 24, 22) + np.arange(6) * 3600
    local = true + [int(datetime.fromtimestamp(t, BERLIN).utcoffset().total_seconds()) for t in true]
    assert np.array_equal(to_utc(local, BERLIN, steady=True)[0], true)


@pytest.mark.parametrize("start", [(2026, 10, 24, 20), (2026, 3, 28, 20)])
@pytest.mark.parametrize("step", [600, 3600])
def test_a_logger_whose_clock_nobody_changed_keeps_its_first_offset(start, step):
    local = wall(*start) + np.arange(0, 24 * 3600, step)
    back, skipped, notes = to_utc(local, BERLIN, steady=True)
    first = int(datetime(*start, tzinfo=BERLIN).timestamp())
    assert np.array_equal(back, first + np.arange(0, 24 * 3600, step)) and not skipped.any()
    assert "clock was not changed" in notes[0]


@given(
    st.lists(st.datetimes(datetime(1950, 1, 1), datetime(2100, 1, 1)), min_size=1, max_size=20),
    st.sampled_from(
        ["Europe/Berlin", "America/Los_Angeles", "Australia/Lord_Howe", "Asia/Kathmandu", "America/St_Johns"]
    ),
)
def test_agrees_with_the_standard_library_across_every_change(when, name):
    """Python's zoneinfo, fold=0, is the reference; what does not survive the round trip never was."""
    zone = ZoneInfo(name)
    when = [w.replace(microsecond=0) for w in when]
    local = np.array([int(w.replace(tzinfo=UTC).timestamp()) for w in when])
    back, skipped, _ = to_utc(local, zone)
    for i, w in enumerate(when):
        true = w.replace(tzinfo=zone)
        exists = true.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == w
        assert skipped[i] == (not exists)
        if exists:
            assert back[i] == int(true.timestamp())


FORMS = {
    "%Y-%m-%d %H:%M:%S": None,
    "%Y-%m-%dT%H:%M:%SZ": None,
    "%d.%m.%Y %H:%M:%S": None,
    "%m/%d/%Y %I:%M:%S %p": False,
    "%d/%m/%Y %H:%M:%S": True,
}


@given(
    st.lists(st.datetimes(datetime(1901, 1, 1), datetime(2190, 1, 1)), min_size=1, max_size=20),
    st.sampled_from(list(FORMS)),
)
def test_what_is_written_is_read_back(when, form):
    read = read_moments([w.strftime(form) for w in when], zone=UTC, day_first=FORMS[form])
    assert read.at_s.tolist() == [int(w.replace(microsecond=0, tzinfo=UTC).timestamp()) for w in when]


def test_a_fixed_zone_has_no_changes():
    zone = timezone(timedelta(hours=-8))
    assert moments("2026-03-08 02:30", zone=zone).at_s[0] == at(2026, 3, 8, 10, 30)


def test_pacific_time_as_the_united_states_set_it():
    """Energy Policy Act of 2005, sec. 110: second Sunday in March, first Sunday in November, at 2 o'clock."""
    assert moments("2026-03-08 02:30", zone=PACIFIC).fault.tolist() == [4]
    assert moments("2026-11-01 01:30", zone=PACIFIC).at_s[0] == at(2026, 11, 1, 8, 30)


@pytest.mark.parametrize(
    "form", ["%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%d.%m.%Y, %H:%M", "%m/%d/%Y %I %p", "%-m/%-d/%Y %-I %p"]
)
def test_a_long_column_reads_as_a_short_one(form):
    """Loggers' columns are parted by width where they can be, a grower's cell by cell."""
    when = [datetime(2026, 1, 2, 1) + timedelta(hours=31 * i) for i in range(300)]
    if "%-" in form:  # not every system's strftime knows it
        written = [
            f"{w.month}/{w.day}/{w.year} {w.hour % 12 or 12} {'AM' if w.hour < 12 else 'PM'}" for w in when
        ]
    else:
        written = [w.strftime(form) for w in when]
    for values in (written, pl.Series(written), pl.Series(written[:1])):
        read = read_moments(values, zone=UTC, day_first=None if "/" not in form else False)
        assert read.fault.tolist() == [0] * len(values)
        assert read.at_s.tolist() == [int(w.replace(tzinfo=UTC).timestamp()) for w in when[: len(values)]]
