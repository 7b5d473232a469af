"""A record put in order: sorted, doubles settled, gaps listed."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import tzinfo
from typing import TYPE_CHECKING

import numpy as np

from ortet.wood.speech import say, say_many

from .problem import Problem
from .when import utc

if TYPE_CHECKING:
    from .logger import OpenRecord

__all__ = ["LoggerRead", "gaps_in", "settle"]

SAME_K = 0.1  # two readings of one instant that differ by no more are one reading
MOST_SHOWN = 3


@dataclass(slots=True)
class LoggerRead:
    """A logger's or weather record. Load nothing while there are problems."""

    at_s: np.ndarray  # (n,) int64, Unix time, UTC, rising [s]
    air_c: np.ndarray  # (n,) [°C]
    humidity: np.ndarray  # (n,) NaN where there is none [0-1]
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    gaps: list[tuple[int, int]] = field(default_factory=list)  # last reading before, first after [s]
    duplicates: int = 0  # rows left out because their instant was there already

    @classmethod
    def failed(cls, *problems: Problem) -> LoggerRead:
        """Return an empty record with what is wrong."""
        return cls(np.empty(0, np.int64), np.empty(0), np.empty(0), list(problems))


def gaps_in(at_s: np.ndarray) -> list[tuple[int, int]]:
    """Return (last before, first after) of each stretch half as long again as the usual step, or longer."""
    if at_s.size < 3:
        return []
    wide = np.flatnonzero(np.diff(at_s) > 1.5 * _usual(at_s))
    return [(int(at_s[i]), int(at_s[i + 1])) for i in wide]


def settle(
    opened: OpenRecord,
    at_s: np.ndarray,
    air_c: np.ndarray,
    humidity: np.ndarray,
    row: np.ndarray,
    zone: tzinfo,
) -> LoggerRead:
    """Sort a record, settle its doubles, list its gaps; `row` is where each stood under the header."""
    if not at_s.size:
        if not opened.problems:
            opened.problem(
                None,
                None,
                say("there is no reading under the header."),
                say("Export the record again."),
            )
        return LoggerRead(at_s, air_c, humidity, opened.problems, opened.notes)
    steps = np.diff(at_s)
    if (steps < 0).any():
        order = np.argsort(at_s, kind="stable")
        at_s, air_c, humidity, row = (
            at_s[order],
            air_c[order],
            humidity[order],
            row[order],
        )
        newest = bool((steps <= 0).all())
        opened.notes.append(
            say("The newest reading came first: turned round.") if newest else _jumbled(steps)
        )
    at_s, air_c, humidity, doubles = _undouble(opened, at_s, air_c, humidity, row, zone)
    gaps = gaps_in(at_s)
    if gaps:
        usual = _usual(at_s)
        shown = "; ".join(
            say("{start} to {end}", start=_local(a, zone), end=_local(b, zone)) for a, b in gaps[:MOST_SHOWN]
        )
        if len(gaps) > MOST_SHOWN:
            shown = say("{shown}; and {count:,} more", shown=shown, count=len(gaps) - MOST_SHOWN)
        opened.notes.append(
            say_many(
                "{count:,} gap in readings every {span}: {shown}.",
                "{count:,} gaps in readings every {span}: {shown}.",
                len(gaps),
                span=_span(usual),
                shown=shown,
            )
        )
    if opened.header.others:
        left = ", ".join(f'"{name}"' for name in opened.header.others)
        opened.notes.append(
            say(
                'The temperature is "{air}"; left aside: {left}.', air=opened.header.written["air"], left=left
            )
        )
    opened.problems.sort(key=lambda problem: problem.line or 0)
    return LoggerRead(at_s, air_c, humidity, opened.problems, opened.notes, gaps, doubles)


def _usual(at_s: np.ndarray) -> float:
    """Return the usual step between readings. [s]"""
    return float(np.quantile(np.diff(at_s), 0.5, method="lower"))


def _jumbled(steps: np.ndarray) -> str:
    back = int((steps < 0).sum())
    return say_many(
        "The time went back once in the file: sorted.",
        "The time went back {count:,} times in the file: sorted.",
        back,
    )


def _undouble(
    opened: OpenRecord,
    at_s: np.ndarray,
    air_c: np.ndarray,
    humidity: np.ndarray,
    row: np.ndarray,
    zone: tzinfo,
) -> tuple[np.ndarray, np.ndarray, np.ndarray, int]:
    """Make one reading of those at the same instant; where they disagree, say so."""
    starts = np.flatnonzero(np.r_[True, np.diff(at_s) > 0])
    doubles = int(at_s.size - starts.size)
    if not doubles:
        return at_s, air_c, humidity, 0
    low, high = np.minimum.reduceat(air_c, starts), np.maximum.reduceat(air_c, starts)
    size = np.diff(np.r_[starts, at_s.size])
    differ = high - low > SAME_K + 1e-9
    for i in np.flatnonzero(differ)[:1000]:
        first, last = np.sort(row[starts[i] : starts[i] + size[i]])[[0, -1]]
        when = _local(int(at_s[starts[i]]), zone)
        said = say(
            "{when} stands here and in row {line}, with {low:.1f} and {high:.1f} °C.",
            when=when,
            line=opened.line[first],
            low=low[i],
            high=high[i],
        )
        opened.problem(
            int(last),
            "air",
            said,
            say("Keep the right one of the two rows."),
        )
    mean = np.add.reduceat(air_c, starts) / size
    known = np.add.reduceat(~np.isnan(humidity), starts)
    wet = np.add.reduceat(np.nan_to_num(humidity), starts)
    with np.errstate(invalid="ignore"):
        wet = np.where(known > 0, wet / np.maximum(known, 1), np.nan)
    alike = (size > 1) & ~differ
    if alike.any():
        opened.notes.append(
            say_many(
                "{count:,} reading stands at an instant already there (first {when}): averaged.",
                "{count:,} readings stand at an instant already there (first {when}): averaged.",
                int((size[alike] - 1).sum()),
                when=_local(int(at_s[starts[np.argmax(alike)]]), zone),
            )
        )
    return at_s[starts], mean, wet, doubles


def _local(at_s: int, zone: tzinfo) -> str:
    return f"{utc(at_s).astimezone(zone):%Y-%m-%d %H:%M}"


def _span(seconds: float) -> str:
    if seconds >= 3600:
        return f"{seconds / 3600:g} h"
    return f"{seconds / 60:g} min" if seconds >= 60 else f"{seconds:g} s"
