"""From what the clock on the wall showed to UTC, across the nights on which clocks are changed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, tzinfo
from functools import lru_cache

import numpy as np

from ortet.wood.speech import say, say_many

__all__ = ["changes", "shown", "to_utc"]

DAY_S = 86_400
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)  # counted from, as fromtimestamp fails before 1970 on some systems


def changes(zone: tzinfo, from_s: int, to_s: int) -> tuple[np.ndarray, np.ndarray]:
    """Return when the zone's offset changes, and the offsets before, between and after.

    Returns
    -------
    at_s : ndarray of int64, shape (k,)
        Unix time of each change. [s]
    offset_s : ndarray of int64, shape (k + 1,)
        Offset from UTC before the first change and after each. [s]
    """
    first, last = (EPOCH + timedelta(seconds=from_s)).year, (EPOCH + timedelta(seconds=to_s)).year
    found = [change for year in range(first, last + 1) for change in _in_year(zone, year)]
    at = [at_s for at_s, _ in found if from_s < at_s <= to_s]
    offsets = [_offset(zone, from_s), *(offset for at_s, offset in found if from_s < at_s <= to_s)]
    return np.array(at, dtype=np.int64), np.array(offsets, dtype=np.int64)


@lru_cache(maxsize=1000)
def _in_year(zone: tzinfo, year: int) -> tuple[tuple[int, int], ...]:
    """Return when in a year (UTC) the offset changes, and to what. [s]"""
    start, end = (int((datetime(y, 1, 1, tzinfo=UTC) - EPOCH).total_seconds()) for y in (year, year + 1))
    found, offset = [], _offset(zone, start)
    for low in range(start, end, DAY_S):
        below, above = low, low + DAY_S
        if _offset(zone, above) == offset:
            continue
        while above - below > 1:
            middle = (below + above) // 2
            below, above = (middle, above) if _offset(zone, middle) == offset else (below, middle)
        offset = _offset(zone, above)
        found.append((above, offset))
    return tuple(found)


def to_utc(
    local_s: np.ndarray, zone: tzinfo, *, steady: bool = False
) -> tuple[np.ndarray, np.ndarray, list[str]]:
    """Turn wall-clock seconds into UTC.

    A time that the clock showed twice is the first of the two, except in a logger's record that shows the
    hour twice itself. A logger whose clock was plainly not changed is read with the offset it started with.

    Parameters
    ----------
    local_s : ndarray of int64, shape (n,)
        Seconds since 1970-01-01 00:00 on the wall clock. [s]
    zone : tzinfo
    steady : bool
        The values are a logger's, in the order of its file.

    Returns
    -------
    at_s : ndarray of int64, shape (n,)
        Unix time. [s]
    skipped : ndarray of bool, shape (n,)
        The clock never showed this time.
    notes : list of str
        What was decided.
    """
    at, offset = changes(zone, int(local_s.min()) - 2 * DAY_S, int(local_s.max()) + 2 * DAY_S)
    first = np.searchsorted(at + offset[:-1], local_s, side="right")  # by the clock before each change
    second = np.searchsorted(at + offset[1:], local_s, side="right")  # by the clock after it
    skipped, twice = second < first, second > first
    if not steady:
        notes = (
            [say("{times} shown twice by the clock: the first is meant.", times=_times(int(twice.sum())))]
            if twice.any()
            else []
        )
        return local_s - offset[first], skipped, notes
    backwards = local_s.size > 1 and local_s[-1] < local_s[0]
    order = np.arange(local_s.size)[::-1] if backwards else np.arange(local_s.size)
    again = _second_pass(local_s, first, twice, order)
    unchanged = skipped.any() or (not again.any() and _went_straight_on(local_s[order], twice[order]))
    if unchanged and not again.any():
        start = int(offset[first[order[0]]])
        night = skipped if skipped.any() else twice
        when = _wall(int(local_s[np.flatnonzero(night)[0]]))
        note = say(
            "The record's clock was not changed ({when}): all its times are read as UTC{shown}.",
            when=when,
            shown=shown(start),
        )
        return local_s - start, np.zeros(local_s.size, dtype=bool), [note]
    notes = []
    if again.any():
        when = _wall(int(local_s[np.flatnonzero(again)[0]]))
        notes = [
            say(
                "The clock was set back ({when}): {times} belong to the second hour.",
                when=when,
                times=_times(int(again.sum())),
            )
        ]
    return local_s - offset[np.where(again, second, first)], skipped, notes


def shown(offset_s: int) -> str:
    """Return an offset as +01:00."""
    hours, minutes = divmod(abs(offset_s) // 60, 60)
    return f"{'-' if offset_s < 0 else '+'}{hours:02d}:{minutes:02d}"


def _second_pass(local_s: np.ndarray, first: np.ndarray, twice: np.ndarray, order: np.ndarray) -> np.ndarray:
    """Mark the times of a repeated hour from where, in the order of the file, the clock went back."""
    again = np.zeros(local_s.size, dtype=bool)
    inside = order[twice[order]]
    for night in np.unique(first[inside]):
        rows = inside[first[inside] == night]
        step = np.diff(local_s[rows])
        back = np.flatnonzero(step < 0)
        if back.size:
            again[rows[back[0] + 1 :]] = True
        elif rows.size == 2 and step[0] == 0:  # an hourly record shows its one time twice
            again[rows[1]] = True
    return again


def _went_straight_on(local_s: np.ndarray, twice: np.ndarray) -> bool:
    """Tell whether the record ran evenly through an hour that the wall clock showed twice."""
    inside = np.flatnonzero(twice)
    if not inside.size:
        return False
    start, end = inside[0], inside[0]
    while end + 1 < twice.size and twice[end + 1]:
        end += 1
    if start == 0 or end + 1 >= twice.size:
        return False
    usual = np.median(np.diff(local_s))
    steps = np.diff(local_s[start - 1 : end + 2])
    return bool(usual <= 3600 and np.all(np.abs(steps - usual) <= 0.1 * usual))


def _offset(zone: tzinfo, at_s: int) -> int:
    offset = (EPOCH + timedelta(seconds=at_s)).astimezone(zone).utcoffset()
    return int(offset.total_seconds()) if offset is not None else 0


def _wall(local_s: int) -> str:
    # seconds of the clock on the wall, which has no zone: UTC stands in for it
    return f"{datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=local_s):%Y-%m-%d %H:%M}"


def _times(count: int) -> str:
    return say_many("{count:,} time", "{count:,} times", count)
