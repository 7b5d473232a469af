"""Dates and times as people and loggers write them, read to UTC.

A column is judged as a whole: 3/4/2026 alone is the third of April or the fourth of March, but beside
24/4/2026 it can only be April. Where nothing decides, the column is refused. ISO 8601 (calendar dates, with
or without a zone, 24:00 as the end of a day) always reads one way; dates with full stops are day first, as
nobody writes them otherwise (common practice).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np

from ortet.wood.speech import say, to_say

from .clock import to_utc

if TYPE_CHECKING:
    import polars as pl

__all__ = ["FAULTS", "Moments", "as_zone", "order_in_header", "read_moments", "utc"]

DAY_S = 86_400
EPOCH = date(1970, 1, 1).toordinal()
EARLIEST, LATEST = 1900, 2199
ISO_FORM = to_say("Write it as 2026-11-24 15:30.")

FAULTS = {
    1: (to_say("is no date."), ISO_FORM),
    2: (to_say("is a day that no calendar has."), to_say("Correct the day, the month or the year.")),
    3: (to_say("has a time of day that no clock shows."), ISO_FORM),
    4: (
        to_say("fell in the hour that the clock skipped."),
        to_say("Correct the time, or write it with its zone: …-08:00."),
    ),
    5: (
        to_say("does not fit the order of day and month asked for."),
        to_say("Correct it, or give the other order."),
    ),
}
UNREADABLE, NO_DAY, NO_TIME, SKIPPED, WRONG_ORDER = FAULTS

YEAR_FIRST = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})|(\d{4})(\d\d)(\d\d)")
YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d\d)")
TIME = re.compile(
    r"(\d{1,2})(?:[:.h](\d\d))?(?:[:.](\d\d)(?:[.,]\d+)?)?\s*(?:([ap])\.?\s?m\.?)?\s*(z|utc|[+-]\d\d(?::?\d\d)?)?",
    re.IGNORECASE,
)


@dataclass(slots=True)
class Moments:
    """What a column of dates and times says; while `undecided` the moments are provisional."""

    at_s: np.ndarray  # (n,) int64, Unix time, UTC [s]; 0 where there is a fault
    fault: np.ndarray  # (n,) uint8, a key of FAULTS, or 0
    day_only: np.ndarray  # (n,) bool, no time of day was given
    undecided: tuple[str, str] | None = None  # message and remedy, where day and month cannot be told apart
    notes: list[str] = field(default_factory=list)


def as_zone(zone: str | tzinfo) -> tzinfo:
    """Return a time zone from its name."""
    return ZoneInfo(zone) if isinstance(zone, str) else zone


def utc(at_s: int) -> datetime:
    """Return Unix seconds as an aware datetime."""
    return datetime.fromtimestamp(at_s, ZoneInfo("UTC"))


def order_in_header(header: str) -> bool | None:
    """Return whether a header such as "Date (MM/DD/YYYY)" says day first; None where it says nothing."""
    if re.search(r"\bmm?[-/.]dd?\b", header, re.IGNORECASE):
        return False
    return True if re.search(r"\b(dd?[-/.]mm?|tt?[-/.]mm?|jj?[-/.]mm?)\b", header, re.IGNORECASE) else None


def read_moments(
    values: Sequence[str] | pl.Series,
    *,
    zone: tzinfo,
    times: pl.Series | None = None,
    day_first: bool | None = None,
    hour: int = 12,
    steady: bool = False,
) -> Moments:
    """Read a column of moments.

    Parameters
    ----------
    values : sequence of str, or polars Series of strings, length n
        Date and time, or date alone where `times` is given.
    zone : tzinfo
        The zone of those without one of their own.
    times : polars Series of strings, optional
        The times of day, where they stand in a column of their own.
    day_first : bool, optional
        The order of day and month, where it is known.
    hour : int
        The hour taken where only the day is given. [h]
    steady : bool
        The rows are a logger's, in its order: where its clock did not follow a clock change, it is read with
        the offset that it was started with.
    """
    dates, clocks = (values, times) if times is not None else _parted(values)
    date_words, date_code = _coded(dates)
    time_words, time_code = _coded(clocks)
    day, fault, undecided = _days(date_words, day_first)
    clock = [_clock(word) for word in time_words]
    second = np.array([hour * 3600 if c is None else c[0] for c in clock], dtype=np.int64)
    offset = np.array([np.nan if c is None or c[1] is None else c[1] for c in clock])
    time_wrong = np.array([c is not None and c[0] < 0 for c in clock], dtype=bool)

    faults = fault[date_code]
    faults[(faults == 0) & time_wrong[time_code]] = NO_TIME
    local_s = day[date_code] * DAY_S + second[time_code]
    own = offset[time_code]
    out = Moments(
        local_s,
        faults,
        np.array([c is None for c in clock], dtype=bool)[time_code],
        undecided,
    )
    naive = np.flatnonzero(np.isnan(own) & (faults == 0))
    aware = np.flatnonzero(~np.isnan(own))
    out.at_s[aware] -= own[aware].astype(np.int64)
    if naive.size:
        at_s, skipped, out.notes = to_utc(local_s[naive], zone, steady=steady)
        out.at_s[naive] = at_s
        out.fault[naive[skipped]] = SKIPPED
    out.at_s[out.fault > 0] = 0
    return out


def _parted(values: Sequence[str] | pl.Series) -> tuple[Sequence[str] | pl.Series, Sequence[str] | pl.Series]:
    """Part date from time of day, at the first space or at the T of ISO 8601."""
    if isinstance(values, Sequence):
        halves = [re.split(r"[,\s]+|(?<=\d)[Tt](?=\d)", value.strip(), maxsplit=1) for value in values]
        return [half[0] for half in halves], [half[1] if len(half) > 1 else "" for half in halves]
    import polars as pl

    dates = values.str.slice(0, 10)  # the usual width, parted three times as fast
    if (
        set(values.str.slice(10, 1).unique()) <= {" ", "T"}
        and not dates.str.contains(" ", literal=True).any()
    ):
        return dates, values.str.slice(11)
    plain = values
    if plain.str.contains("T", literal=True).any() or plain.str.contains("t", literal=True).any():
        plain = plain.str.replace(r"(\d)[Tt](\d)", "$1 $2")
    parted = plain.str.splitn(" ", 2)
    dates, clocks = parted.struct.field("field_0"), parted.struct.field("field_1")
    return dates, clocks.fill_null(pl.lit("")) if clocks.null_count() else clocks


def _coded(values: Sequence[str] | pl.Series) -> tuple[list[str], np.ndarray]:
    """Return the different words and, for each value, which it is: a million rows have few dates."""
    if isinstance(values, Sequence):
        number: dict[str, int] = {}
        codes = np.array([number.setdefault(value, len(number)) for value in values], dtype=np.int64)
        return list(number), codes
    import polars as pl

    filled = values.fill_null("") if values.null_count() else values
    words = filled.unique()
    return words.to_list(), filled.cast(pl.Enum(words)).to_physical().to_numpy().astype(np.int64)


def _days(words: list[str], day_first: bool | None) -> tuple[np.ndarray, np.ndarray, tuple[str, str] | None]:
    """Return days since 1970, faults, and what cannot be decided, for each different date."""
    read = [_date(word) for word in words]
    order, undecided = (day_first, None) if day_first is not None else _order(words, read)
    order = order is not False
    day = np.zeros(len(words), dtype=np.int64)
    fault = np.zeros(len(words), dtype=np.uint8)
    for i, found in enumerate(read):
        if found is None:
            fault[i] = UNREADABLE
            continue
        kind, first, second, year = found
        dom, month = (
            (first, second) if kind == "day first" or (kind == "either" and order) else (second, first)
        )
        try:
            if not EARLIEST <= year <= LATEST:
                raise ValueError
            day[i] = date(year, month, dom).toordinal() - EPOCH
        except ValueError:
            fits_other = kind == "either" and 1 <= dom <= 12 < month <= 31
            fault[i] = NO_DAY if not fits_other else 0 if undecided else WRONG_ORDER
    return day, fault, undecided


def _date(word: str) -> tuple[str, int, int, int] | None:
    """Return how the date is written, its first number, its second, its year."""
    word = word.strip().rstrip(",")
    if iso := YEAR_FIRST.fullmatch(word):
        year, month, dom = (iso[1], iso[3], iso[4]) if iso[1] else (iso[5], iso[6], iso[7])
        return "month first", int(month), int(dom), int(year)
    if found := YEAR_LAST.fullmatch(word.rstrip(".")):
        if found[2] == "-" and len(found[4]) == 2:
            return None  # 24-11-26 could begin with its year
        year = int(found[4]) + (2000 if len(found[4]) == 2 else 0)
        return (
            "day first" if found[2] == "." else "either",
            int(found[1]),
            int(found[3]),
            year,
        )
    return None


def _order(
    words: list[str], read: list[tuple[str, int, int, int] | None]
) -> tuple[bool | None, tuple[str, str] | None]:
    """Return whether the day comes first in this column, or why that cannot be told."""
    either = [
        (word, f) for word, f in zip(words, read, strict=True) if f and f[0] == "either" and f[1] != f[2]
    ]
    if not either:
        return True, None
    by_day = next((word for word, f in either if 12 < f[1] <= 31 and f[2] <= 12), None)
    by_month = next((word for word, f in either if 12 < f[2] <= 31 and f[1] <= 12), None)
    remedy = say("Say which comes first (--dates day-first or month-first), or write dates as 2026-11-24.")
    if by_day and by_month:
        said = say(
            '"{by_day}" has the day first and "{by_month}" the month: one column, two orders.',
            by_day=by_day,
            by_month=by_month,
        )
        return None, (said, say("Write every date as 2026-11-24."))
    if by_day or by_month:
        return by_day is not None, None
    if any(f and f[0] == "day first" for f in read):
        return True, None  # the same hand wrote 24.11.2026
    return None, (
        say(
            '"{first}" and all other dates so written could be day or month first.',
            first=min(word for word, _ in either),
        ),
        remedy,
    )


def _clock(word: str) -> tuple[int, int | None] | None:
    """Return seconds of the day and the offset if written; -1 where no clock shows it; None if blank."""
    word = word.strip()
    if not word:
        return None
    found = TIME.fullmatch(word)
    if not found or not (found[2] or found[4]):
        return -1, None
    hour, minute, second = int(found[1]), int(found[2] or 0), int(found[3] or 0)
    if found[4]:
        if not 1 <= hour <= 12:
            return -1, None
        hour = hour % 12 + (12 if found[4].lower() == "p" else 0)
    at = hour * 3600 + minute * 60 + second
    if minute > 59 or second > 60 or at > DAY_S:  # ISO 8601: 24:00 ends the day; 60 is a leap second
        return -1, None
    return at, _offset(found[5])


def _offset(word: str | None) -> int | None:
    if not word:
        return None
    if word.lower() in ("z", "utc"):
        return 0
    digits = word[1:].replace(":", "")
    size = int(digits[:2]) * 3600 + int(digits[2:] or 0) * 60
    return size if word[0] == "+" else -size
