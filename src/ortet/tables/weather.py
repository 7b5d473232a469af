"""A weather file to hours: as it stands, or computed from each day's lowest and highest temperature."""

from __future__ import annotations

from datetime import date, timedelta, tzinfo

import numpy as np

from ortet.wood.speech import say

from .clock import shown
from .logger import (
    Progress,
    fahrenheit_or_ask,
    hourly_record,
    moments,
    numbers,
    open_record,
)
from .problem import Problem
from .record import LoggerRead, settle
from .sheet import Source
from .when import as_zone, utc

__all__ = ["read_weather"]

DAY_S, HOUR_S = 86_400, 3600
COLDEST_C, WARMEST_C = -60.0, 70.0
EPOCH = date(1970, 1, 1)


def read_weather(
    source: Source,
    filename: str,
    *,
    zone: str | tzinfo,
    latitude: float | None = None,
    day_first: bool | None = None,
    progress: Progress | None = None,
) -> LoggerRead:
    """Read a site's weather, hourly or as daily lowest and highest.

    Parameters
    ----------
    source : path or bytes
    filename : str
        The name that problems carry.
    zone : str or tzinfo
        The zone of the file's times, unless its header or its times name one.
    latitude : float, optional
        Needed for daily files, north positive. [degrees]
    day_first : bool, optional
        The order of day and month, where the file leaves it open.
    progress : callable, optional
        Called with bytes done and bytes in all.
    """
    opened = open_record(source, filename, ("low", "high"), progress)
    if isinstance(opened, LoggerRead):
        hourly = open_record(source, filename, ("air",), progress)
        if isinstance(hourly, LoggerRead):
            return hourly
        found = hourly_record(hourly, zone=as_zone(zone), day_first=day_first, ask_from=35.0)
        if _is_typical_year(found.at_s):
            found.notes.append(
                say("Its months come from several years: a typical year, not the weather that was.")
            )
        return found
    if latitude is None or not -66 <= latitude <= 66:
        said = say("a day's lowest and highest can be turned into hours only where the latitude is known.")
        remedy = say(
            "Give the site's latitude in degrees, north positive, from -66 to 66: beyond, some days have no night."
        )
        return LoggerRead.failed(Problem(filename, opened.header.line, None, said, remedy))
    return _from_days(opened, as_zone(zone), latitude, day_first)


def _from_days(opened, zone: tzinfo, latitude: float, day_first: bool | None) -> LoggerRead:  # type: ignore[no-untyped-def]
    from ortet.science.climate import hours_from_daily

    ends = {}
    for role in ("low", "high"):
        values, unit, _ = numbers(opened, role)
        ends[role] = fahrenheit_or_ask(opened, role, values, unit, 35.0)
        with np.errstate(invalid="ignore"):
            rows = np.flatnonzero((ends[role] < COLDEST_C) | (ends[role] > WARMEST_C))
        said = say("is outside {coldest:g} to {warmest:g} °C.", coldest=COLDEST_C, warmest=WARMEST_C)
        opened.problems_at(rows, role, said, say("Check the unit in the heading, or delete the row."))
    low, high = ends["low"], ends["high"]
    crossed = np.flatnonzero(low > high)
    opened.problems_at(
        crossed, "low", say("is above the day's highest."), say("Exchange or correct the two.")
    )
    empty = np.isnan(low) | np.isnan(high)
    at_s, wrong = moments(opened, zone, day_first, blank=empty)
    good = np.flatnonzero(~empty & ~wrong)
    if opened.problems or not good.size:
        return settle(opened, at_s[:0], low[:0], low[:0], good[:0], zone)
    if empty.any():
        opened.notes.append(
            say("{count:,} days without a lowest or a highest left out.", count=int(empty.sum()))
        )
    # noon of a day lies in it whatever the clock change
    standard = _standard_offset(zone, int(at_s[good[0]]))
    day = (at_s[good] + _offset(zone, at_s[good])) // DAY_S
    span = np.arange(day.min(), day.max() + 1)
    if span.size > 366 * 200:
        opened.problem(None, "date", say("its days are centuries apart."), say("Correct the dates."))
        return settle(opened, at_s[:0], low[:0], low[:0], good[:0], zone)
    twice = np.flatnonzero(np.diff(np.sort(day)) == 0)
    if twice.size:
        order = np.argsort(day, kind="stable")
        opened.problems_at(
            good[order[twice + 1]],
            "date",
            say("stands twice."),
            say("Keep the right one of the two rows."),
        )
        return settle(opened, at_s[:0], low[:0], low[:0], good[:0], zone)
    lows, highs = np.full(span.size, np.nan), np.full(span.size, np.nan)
    lows[day - span[0]], highs[day - span[0]] = low[good], high[good]
    of_year = np.array([(EPOCH + timedelta(days=int(d))).timetuple().tm_yday for d in span])
    air = hours_from_daily(lows, highs, of_year, latitude)
    # the middle of each hour, the sun's time taken as the zone's standard time
    hour_s = (span[:, np.newaxis] * DAY_S + np.arange(24) * HOUR_S + HOUR_S // 2).ravel() - standard
    known = ~np.isnan(air)
    opened.notes.append(
        say(
            "Hours computed from {count:,} days' lowest and highest (Linvill 1990) "
            "at latitude {latitude:g}; the sun's time is taken as UTC{offset}.",
            count=good.size,
            latitude=latitude,
            offset=shown(standard),
        )
    )
    row = np.zeros(int(known.sum()), dtype=np.int64)
    return settle(opened, hour_s[known], air[known], np.full(row.size, np.nan), row, zone)


def _offset(zone: tzinfo, at_s: np.ndarray) -> np.ndarray:
    offsets = [utc(int(at)).astimezone(zone).utcoffset() for at in at_s]
    return np.array(
        [int(o.total_seconds()) if o is not None else 0 for o in offsets],
        dtype=np.int64,
    )


def _standard_offset(zone: tzinfo, at_s: int) -> int:
    """Return the zone's offset outside summer time: the lesser of two half a year apart. [s]"""
    return int(_offset(zone, np.array([at_s, at_s + 182 * DAY_S])).min())


def _is_typical_year(at_s: np.ndarray) -> bool:
    """Tell whether the record is about a year of hours in pieces of a month or so from different years."""
    if not 8000 <= at_s.size <= 9000:
        return False
    return int((np.diff(at_s) > 300 * DAY_S).sum()) >= 2
