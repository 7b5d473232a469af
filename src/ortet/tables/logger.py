"""A logger's file to times, temperatures and humidities.

Loggers agree on little: the delimiter, the decimal sign, °C or °F, the order of the date, what stands above
the header and below the last reading. All is found in the file itself; what it leaves open is asked.
Missing marks, faults and odd ends are common practice as loggers write them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import tzinfo
from typing import TYPE_CHECKING

import numpy as np

from ortet.wood.speech import say, say_many

from .header import Header, find_header
from .problem import Problem
from .record import LoggerRead, settle
from .sheet import Source, Unreadable, cells, read_text
from .when import FAULTS, as_zone, read_moments

if TYPE_CHECKING:
    import polars as pl

__all__ = ["LoggerRead", "fahrenheit_or_ask", "numbers", "open_record", "read_logger"]

Progress = Callable[[int, int], None]

SLAB = 4_000_000  # letters parted at a time
MOST_PROBLEMS = 1000  # of one kind; the rest are counted in one more
COLDEST_C, WARMEST_C = -60.0, 70.0
MOST_HUMID = 1.05  # a sensor in a wet bag reads a little above 100 %

MISSING = r"(?i)^(na|n/a|nan|null|none|[-.]+|#n/?a|err(or)?\.?|fault|open|short|over|under|\*+)$"
IN_A_CELL = (
    r"^([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(°?\s?[CcFfKk]|º[CcFf]|deg\.? ?[CcFf]|%|% ?[Rr][Hh])?$"
)


@dataclass(slots=True)
class OpenRecord:
    """A record's columns as strings, with where they stood."""

    file: str
    header: Header
    line: np.ndarray  # (n,) line number of each row
    columns: dict[str, pl.Series]  # by role: date, time, air, humidity, low, high
    decimal_comma: bool
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def problem(self, row: int | None, role: str | None, message: str, remedy: str) -> None:
        """Note a problem; `row` counts from 0 under the header."""
        line = self.header.line if row is None else int(self.line[row])
        column = self.header.written.get(role) if role else None
        self.problems.append(Problem(self.file, line, column, message, remedy))

    def problems_at(self, rows: np.ndarray, role: str, message: str, remedy: str) -> None:
        """Note the same problem of many rows, each with what stood there."""
        written = self.columns[role]
        for row in rows[:MOST_PROBLEMS]:
            self.problem(
                int(row),
                role,
                say('"{cell}" {amiss}', cell=str(written[int(row)])[:40], amiss=message),
                remedy,
            )
        if rows.size > MOST_PROBLEMS:
            more = rows.size - MOST_PROBLEMS
            self.problem(
                int(rows[MOST_PROBLEMS]),
                role,
                say("{count:,} more rows {amiss}", count=more, amiss=message),
                remedy,
            )


def read_logger(
    source: Source,
    filename: str,
    *,
    zone: str | tzinfo,
    day_first: bool | None = None,
    progress: Progress | None = None,
) -> LoggerRead:
    """Read a logger's record of temperature, and of humidity where it has it.

    Parameters
    ----------
    source : path or bytes
    filename : str
        The name that problems carry.
    zone : str or tzinfo
        The zone of the logger's clock, unless its header or its times name one.
    day_first : bool, optional
        The order of day and month, where the file leaves it open.
    progress : callable, optional
        Called with bytes done and bytes in all.
    """
    opened = open_record(source, filename, ("air",), progress)
    if isinstance(opened, LoggerRead):
        return opened
    return hourly_record(opened, zone=as_zone(zone), day_first=day_first, ask_from=20.0)


def hourly_record(opened: OpenRecord, *, zone: tzinfo, day_first: bool | None, ask_from: float) -> LoggerRead:
    """Read times, temperatures and humidities of an opened record; `ask_from` as in `fahrenheit_or_ask`."""
    air, unit, air_faulty = numbers(opened, "air")
    at_s, time_bad = moments(opened, zone, day_first, blank=np.isnan(air) & ~air_faulty)
    marks = np.isnan(air) & ~air_faulty
    if marks.any():
        opened.notes.append(
            say(
                "{rows} without a temperature (marks, events, faults) left out.", rows=_rows(int(marks.sum()))
            )
        )
    air = fahrenheit_or_ask(opened, "air", air, unit, ask_from)
    _impossible(opened, "air", air)
    humidity = _humidity(opened)
    good = ~np.isnan(air) & ~time_bad
    return settle(opened, at_s[good], air[good], humidity[good], np.flatnonzero(good), zone)


def open_record(
    source: Source, filename: str, roles: tuple[str, ...], progress: Progress | None
) -> OpenRecord | LoggerRead:
    """Find a file's header and part its columns; a `LoggerRead` with the problem where there are none."""
    import polars as pl

    try:
        text = read_text(source).rstrip("\n")
    except Unreadable as fault:
        return LoggerRead.failed(Problem(filename, None, None, fault.message, fault.remedy))
    header = find_header(text, roles)
    if header is None:
        said = (
            say("none of its first lines names a time and a temperature.")
            if roles == ("air",)
            else say("none of its first lines names a date, a lowest and a highest temperature.")
        )
        remedy = say('Give the columns headings, such as "Date time" and "Temperature (°C)".')
        return LoggerRead.failed(Problem(filename, None, None, said, remedy))
    start = _after_line(text, header.line)
    if not text[start:].strip(f" \n{header.delimiter}"):
        said, remedy = (
            say("there is no reading under the header."),
            say("Export the record again, or leave the file out."),
        )
        return LoggerRead.failed(Problem(filename, header.line, None, said, remedy))
    slabs = []
    while start < len(text):
        end = text.find("\n", start + SLAB)
        end = len(text) if end < 0 else end
        slabs.append(_part(text[start:end], header))
        start = end + 1
        if progress:
            progress(min(start, len(text)), len(text))
    rows = pl.concat(slabs)
    line = np.arange(header.line + 1, header.line + 1 + rows.height)
    filled = rows.select(pl.any_horizontal(pl.all() != "")).to_series()
    if not filled.all():
        rows, line = rows.filter(filled), line[filled.to_numpy()]
    return OpenRecord(filename, header, line, dict(rows.to_dict()), header.delimiter != ",")


def _after_line(text: str, number: int) -> int:
    """Return where in the text the line after this one begins."""
    at = 0
    for _ in range(number):
        end = text.find("\n", at)
        if end < 0:
            return len(text)
        at = end + 1
    return at


def _part(slab: str, header: Header) -> pl.DataFrame:
    """Part lines into the columns that are wanted, a row for every line, blank ones too."""
    import polars as pl

    wide = max(header.at.values()) + 1
    first = header.delimiter * (wide - 1)  # a line of ours, from which the number of columns is taken
    quoted = '"' in slab
    try:
        table = pl.read_csv(
            f"{first}\n{slab}\n".encode(),
            has_header=False,
            separator=header.delimiter,
            infer_schema=False,
            truncate_ragged_lines=True,
            quote_char='"' if quoted else None,
        )
    except pl.exceptions.PolarsError:
        table = None
    if table is None or table.height != slab.count("\n") + 2 or table.width != wide:
        # a quotation mark without its fellow, or blank lines: slowly, line by line
        lines = [cells(line, header.delimiter) for line in slab.split("\n")]
        return pl.DataFrame(
            {role: [row[i] if i < len(row) else "" for row in lines] for role, i in header.at.items()},
            schema=dict.fromkeys(header.at, pl.String),
        )
    wanted = table.slice(1).select(
        pl.col(table.columns[i]).fill_null(pl.lit("")).alias(role) for role, i in header.at.items()
    )
    return wanted.with_columns(
        pl.col(role).str.strip_chars()
        for role in header.at
        if (wanted[role].str.starts_with(" ") | wanted[role].str.ends_with(" ")).any()
    )


def numbers(opened: OpenRecord, role: str) -> tuple[np.ndarray, str, np.ndarray]:
    """Return a column's numbers (NaN where missing), the unit in its cells, and which cells are at fault."""
    import polars as pl

    written = opened.columns[role]
    plain = written
    if plain.head(1000).str.contains(",", literal=True).any() or opened.decimal_comma:
        plain = plain.str.replace(",", ".", literal=True)
    found = plain.cast(pl.Float64, strict=False)
    values = found.to_numpy().copy()
    odd = np.flatnonzero(~np.isfinite(values))
    values[odd] = np.nan
    units: set[str] = set()
    faulty = np.zeros(values.size, dtype=bool)
    missing_numbers = np.isin(values, (-999.0, -9999.0, -9900.0, -99.9))
    values[missing_numbers] = np.nan
    if odd.size:
        rest = plain.gather(odd)
        parted = rest.str.extract_groups(IN_A_CELL)
        values[odd] = (
            parted.struct.field("1").cast(pl.Float64, strict=False).fill_null(float("nan")).to_numpy()
        )
        units = {_unit(u) for u in parted.struct.field("2").drop_nulls().unique().to_list()}
        lacking = (
            (rest.str.len_bytes() == 0)
            | rest.str.contains(MISSING)
            | rest.str.to_lowercase().is_in(["inf", "-inf"])
        )
        faulty[odd] = np.isnan(values[odd]) & ~lacking.to_numpy()
    rows = np.flatnonzero(faulty)
    rows = _without_the_tail(opened, rows, faulty, values)
    opened.problems_at(rows, role, say("is no number."), say("Correct the cell, or delete the row."))
    if len(units - {"%"}) > 1:
        opened.problem(
            None,
            role,
            say("its cells are in °C and in °F."),
            say("Export the record in one unit."),
        )
    return values, (units - {"%"}).pop() if units - {"%"} else "", faulty


def _without_the_tail(
    opened: OpenRecord, rows: np.ndarray, faulty: np.ndarray, values: np.ndarray
) -> np.ndarray:
    """Let the words below the last reading be a remark."""
    last = np.flatnonzero(~np.isnan(values))
    tail = rows[rows > (last[-1] if last.size else -1)]
    faulty[tail] = False
    return rows[: rows.size - tail.size]


def _unit(written: str) -> str:
    letter = re.sub(r"[°º\s]|deg\.?", "", written).upper()
    return "%" if letter.startswith("%") else letter[:1]


def fahrenheit_or_ask(
    opened: OpenRecord, role: str, values: np.ndarray, in_cells: str, ask_from: float
) -> np.ndarray:
    """Return values in °C; ask for the unit where none is written and the median is `ask_from` or more."""
    unit = opened.header.unit.get(role) or in_cells
    if unit and in_cells and unit != in_cells:
        said = say("the header says °{unit}, the cells °{in_cells}.", unit=unit, in_cells=in_cells)
        opened.problem(None, role, said, say("Export the record again, in one unit."))
    if unit == "F":
        return np.asarray((values - 32.0) / 1.8)
    if unit == "K":
        return np.asarray(values - 273.15)
    known = values[~np.isnan(values)]
    if unit or not known.size:
        return values
    written = opened.header.written[role]
    middle = float(np.median(known))
    if middle < ask_from and np.quantile(known, 0.9) <= 45.0:
        opened.notes.append(say('"{written}" has no unit: read as °C.', written=written))
        return values
    said = say("no unit is written, and half the values are above {middle:.1f}: °C or °F?", middle=middle)
    opened.problem(
        None,
        role,
        said,
        say('Write it into the heading: "{written} (°F)" or "{written} (°C)".', written=written),
    )
    return np.full(values.size, np.nan)


def moments(
    opened: OpenRecord, zone: tzinfo, day_first: bool | None, *, blank: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return Unix seconds and which rows have none; a `blank` row is not held to its time."""
    order = day_first if day_first is not None else opened.header.day_first
    clock = opened.header.zone or zone
    columns = opened.columns
    dates, times = columns["date"], columns.get("time")
    keep = np.flatnonzero(~blank)
    at_s, wrong = np.zeros(blank.size, dtype=np.int64), blank.copy()
    if not keep.size:
        return at_s, wrong
    if keep.size < blank.size:
        dates, times = dates.gather(keep), None if times is None else times.gather(keep)
    read = read_moments(dates, zone=clock, times=times, day_first=order, steady=True)
    if read.undecided:
        opened.problem(None, "date", *read.undecided)
        wrong[:] = True
    for fault, amiss in FAULTS.items():
        message, remedy = map(say, amiss)
        rows = keep[read.fault == fault]
        role = "time" if fault == 3 and times is not None else "date"
        opened.problems_at(rows, role, message, remedy)
        wrong[rows] = True
    at_s[keep] = read.at_s
    opened.notes += read.notes
    if opened.header.zone is not None:
        opened.notes.append(
            say('Times are in the zone the header names: "{date}".', date=opened.header.written["date"])
        )
    return at_s, wrong


def _impossible(opened: OpenRecord, role: str, air_c: np.ndarray) -> None:
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((air_c < COLDEST_C) | (air_c > WARMEST_C))
    said = say("is outside {coldest:g} to {warmest:g} °C.", coldest=COLDEST_C, warmest=WARMEST_C)
    opened.problems_at(rows, role, said, say("Check the unit in the heading, or delete the row."))


def _humidity(opened: OpenRecord) -> np.ndarray:
    """Return humidity as a share, NaN where there is none."""
    if "humidity" not in opened.columns:
        return np.full(opened.line.size, np.nan)
    percent, _, _ = numbers(opened, "humidity")
    known = percent[~np.isnan(percent)]
    if not known.size:
        return percent
    share = percent
    if known.max() > 1.06 or "%" in opened.header.written["humidity"]:
        share = percent / 100.0
    else:
        opened.notes.append(
            say(
                '"{humidity}" never passes 1: read as a share, not a percentage.',
                humidity=opened.header.written["humidity"],
            )
        )
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero((share < 0) | (share > MOST_HUMID + 1e-9))
        above = int(((share > 1) & (share <= MOST_HUMID + 1e-9)).sum())
    opened.problems_at(
        rows,
        "humidity",
        say("is no relative humidity."),
        say("Delete the row or leave the cell empty."),
    )
    if above:
        opened.notes.append(
            say("{rows} with humidity a little above 100 %: taken as 100 %.", rows=_rows(above))
        )
    return np.clip(share, 0.0, 1.0)


def _rows(count: int) -> str:
    return say_many("{count:,} row", "{count:,} rows", count)
