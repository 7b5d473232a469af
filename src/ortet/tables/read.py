"""A grower's CSV to rows: which table it is, every cell, and every problem in it."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from datetime import tzinfo
from difflib import get_close_matches

from ortet.wood.speech import say, say_many, to_say

from .columns import TABLES, Column, Table
from .entry import Refused, moment
from .problem import Problem
from .rows import BagRow, Row
from .sheet import DELIMITERS, Source, Unreadable, read_text
from .when import FAULTS, as_zone, order_in_header, read_moments, utc

__all__ = ["Read", "heading", "nearest_table", "read_table"]

Progress = Callable[[int, int], None]

ALL_BAG: tuple[str, ...] = ("store", "polymer", "thickness_um", "layers", "width_mm", "height_mm", "closure")
ALL_BAG += ("packing", "packing_water_g", "tare_g")
SOME_OF = (  # so many, out of so many, said as
    ("scratch_green", "scratch_of", to_say("green")),
    ("callused", "callused_of", to_say("callused")),
    ("rooted", "rooted_of", to_say("rooted")),
)


@dataclass(slots=True)
class Read:
    """What a file said. Rows with a problem are left out of `rows`; load nothing while there are problems."""

    table: Table | None
    rows: list[Row] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(slots=True)
class _Body:
    """The cells under a recognised header."""

    file: str
    table: Table
    at: dict[str, int]  # heading -> position
    as_written: dict[str, str]  # heading -> as it stands in the file
    records: list[tuple[int, list[str]]]  # line number, cells
    decimal_comma: bool
    amiss: list[Problem]  # what is wrong with the header

    def has(self, column: Column) -> bool:
        return column.name in self.at or (column.us is not None and column.us[0] in self.at)

    def cell(self, record: list[str], heading: str) -> str:
        place = self.at.get(heading, -1)
        return record[place].strip() if 0 <= place < len(record) else ""


def read_table(
    source: Source,
    filename: str,
    *,
    zone: str | tzinfo,
    day_first: bool | None = None,
    progress: Progress | None = None,
    among: Mapping[str, Table] = TABLES,
    command: str = "load",
) -> Read:
    """Read one of the tables from a CSV file.

    Parameters
    ----------
    source : path or bytes
    filename : str
        The name that problems carry.
    zone : str or tzinfo
        The grower's time zone.
    day_first : bool, optional
        The order of day and month, where the file leaves it open.
    progress : callable, optional
        Called with rows done and rows in all.
    among : mapping
        The tables it may be.
    command : str
        The command that prints their templates.
    """
    try:
        opened = _open(read_text(source), filename, among, command)
    except Unreadable as fault:
        return Read(None, problems=[Problem(filename, None, None, fault.message, fault.remedy)])
    if isinstance(opened, Read):
        return opened
    out = Read(opened.table, problems=opened.amiss)
    if not opened.records:
        said, remedy = (
            say("there is no row under the header."),
            say("Fill the table in, or leave the file out."),
        )
        out.problems.append(Problem(filename, None, None, said, remedy))
        return out
    values: list[dict[str, object]] = [{"line": line} for line, _ in opened.records]
    bad: set[int] = set()
    for done, column in enumerate(opened.table.columns, 1):
        if column.required and not opened.has(column):
            bad |= set(range(len(values)))  # said once, of the header
            continue
        found = _moments if column.parse is moment else _cells
        bad |= found(opened, column, values, out, as_zone(zone), day_first)
        if progress:
            progress(done * len(values) // len(opened.table.columns), len(values))
    for i, value in enumerate(values):
        if i not in bad:
            out.rows.append(opened.table.row(**value))  # type: ignore[arg-type]
    _repeats(opened, out)
    _across(opened, out)
    out.problems.sort(key=lambda problem: problem.line or 0)
    faulty = {problem.line for problem in out.problems}
    out.rows = [row for row in out.rows if row.line not in faulty]
    return out


def heading(written: str) -> str:
    """Return a heading in the form of our column names: "Length (mm)" is length_mm."""
    micro = written.strip().lower().replace("µ", "u").replace("μ", "u")
    return re.sub(r"[^a-z0-9]+", "_", micro).strip("_")


def nearest_table(headings: list[str], among: Mapping[str, Table] = TABLES) -> tuple[Table, int]:
    """Return the table that shares most with a header, and how many required columns it lacks."""

    def likeness(table: Table) -> float:
        known = _known(table)
        given = {known.get(h) or known.get(_near(h, known), "") for h in headings}
        shared = sum(1.0 if h in known else 0.5 * bool(_near(h, known)) for h in headings)
        return shared - sum(column not in given for column in table.required)

    best = max(among.values(), key=likeness)
    known = _known(best)
    return best, len(set(best.required) - {known.get(h) for h in headings})


def _near(heading: str, known: Mapping[str, str]) -> str:
    """Return the column that a heading was likely meant for, or nothing."""
    return next(iter(get_close_matches(heading, known, 1, 0.75)), "")


def _known(table: Table) -> dict[str, str]:
    """Return every heading a table understands, with the column it fills."""
    return {c.name: c.name for c in table.columns} | {c.us[0]: c.name for c in table.columns if c.us}


def _open(text: str, filename: str, among: Mapping[str, Table], command: str) -> _Body | Read:
    """Recognise the table by its header, or say which is nearest and what is amiss."""
    best: tuple[int, int, str, list[tuple[int, list[str]]]] | None = None
    for delimiter in DELIMITERS:
        first = next((line for line in text.split("\n") if line.strip(f" {delimiter}")), "")
        headings = [heading(cell) for cell in _split(first, delimiter)]
        table, lacking = nearest_table(headings, among)
        shared = sum(h in _known(table) for h in headings)
        if best is None or (shared, -lacking) > best[:2]:
            best = (shared, -lacking, delimiter, [])
    assert best is not None
    delimiter = best[2]
    try:
        records = _records(text, delimiter)
    except csv.Error as fault:
        amiss = Problem(
            filename,
            None,
            None,
            say("the quotation marks do not pair: {fault}.", fault=fault),
            say("Save it as CSV again."),
        )
        return Read(None, problems=[amiss])
    line, header = records[0]
    headings = [heading(cell) for cell in header]
    table, _ = nearest_table(headings, among)
    template = f"ortet {command} --template {' | '.join(among)}"
    problems = _header_problems(filename, line, header, headings, table, template)
    if not any(h in _known(table) for h in headings):
        return Read(None, problems=problems)
    for number, record in records[1:]:
        if any(cell.strip() for cell in record[len(header) :]):
            said = say(
                "the row has {cells} cells, the header {headings}.", cells=len(record), headings=len(header)
            )
            remedy = say(
                "Is one of them half of a number with a decimal comma? Then save it with semicolons between the cells."
            )
            problems.append(Problem(filename, number, None, said, remedy))
    at = {h: i for i, h in reversed(list(enumerate(headings))) if h}
    written = dict(zip(headings, header, strict=True))
    return _Body(filename, table, at, written, records[1:], delimiter != ",", problems)


def _split(line: str, delimiter: str) -> list[str]:
    return next(csv.reader([line], delimiter=delimiter), [])


def _records(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    """Return each record that is not blank with its first line (RFC 4180: quotes may hold line ends)."""
    reader = csv.reader(
        text.splitlines(keepends=True) if "\n" in text else [text],
        delimiter=delimiter,
        strict=False,
    )
    out, start = [], 1
    for record in reader:
        if any(cell.strip() for cell in record):
            out.append((start, record))
        start = reader.line_num + 1
    return out


def _header_problems(
    filename: str, line: int, header: list[str], headings: list[str], table: Table, template: str
) -> list[Problem]:
    known = _known(table)
    given = {known[h] for h in headings if h in known}
    lacking = [c for c in table.required if c not in given]
    if not given:
        shown = _shorten(", ".join(cell.strip() for cell in header))
        said = say("its first row ({row}) names no column of any table.", row=shown)
        remedy = say("Start from a template: {template}.", template=template)
        return [Problem(filename, line, None, said, remedy)]
    problems = []
    for name in lacking:
        said = say("column missing; of the tables this is most like {name}.", name=table.name)
        problems.append(
            Problem(filename, line, name, said, say("Add it: {what}", what=say(table.by_name[name].help)))
        )
    for i, (written, h) in enumerate(zip(header, headings, strict=True)):
        if not h:
            continue
        if h not in known:
            near = _near(h, known)
            hint = (
                say("Did you mean {word}?", word=near)
                if near
                else say("Rename or delete it; there are: {names}.", names=", ".join(known))
            )
            problems.append(
                Problem(
                    filename,
                    line,
                    written.strip(),
                    say("no such column in {name}.", name=table.name),
                    hint,
                )
            )
        elif known[h] in {known.get(other) for other in headings[:i]}:
            said = say("{known} is given twice.", known=known[h])
            problems.append(
                Problem(
                    filename,
                    line,
                    written.strip(),
                    said,
                    say("Keep one of the two columns."),
                )
            )
    return problems


def _cells(
    body: _Body,
    column: Column,
    values: list[dict[str, object]],
    out: Read,
    zone: tzinfo,
    day_first: bool | None,
) -> set[int]:
    """Read one column into `values`; return the rows that have a problem."""
    us = column.us is not None and column.us[0] in body.at
    name, factor = column.us if us and column.us else (column.name, 1.0)
    bad: set[int] = set()
    empty = 0
    for i, (line, record) in enumerate(body.records):
        cell = body.cell(record, name)
        if not cell:
            empty += 1
            values[i][column.name] = column.default
            if column.required:
                bad.add(i)
                example = column.example[0]
                out.problems.append(
                    _problem(
                        body,
                        line,
                        name,
                        say("is empty."),
                        say("Enter it, such as {example}.", example=example),
                    )
                )
            continue
        try:
            values[i][column.name] = _read(column, cell, factor, body.decimal_comma)
        except Refused as refused:
            bad.add(i)
            out.problems.append(_problem(body, line, name, refused.message, refused.remedy))
    if column.assumed and empty:
        out.notes.append(
            say_many(
                "{count:,} row gives no {column}: {default} is assumed.",
                "{count:,} rows give no {column}: {default} is assumed.",
                empty,
                column=column.name,
                default=_plain(column.default),
            )
        )
    return bad


def _read(column: Column, cell: str, factor: float, decimal_comma: bool) -> object:
    if factor == 1.0:
        return column.parse(cell, decimal_comma)
    from .entry import number

    unit = (column.us or ("", 1.0))[0].rsplit("_", 1)[-1]
    bare = re.sub(rf'\s*({unit}|")\.?$', "", cell, flags=re.IGNORECASE)
    scaled = number(bare, decimal_comma) * factor
    return column.parse(f"{scaled:.6f}", False)


def _moments(
    body: _Body,
    column: Column,
    values: list[dict[str, object]],
    out: Read,
    zone: tzinfo,
    day_first: bool | None,
) -> set[int]:
    """Read a column of dates and times, judged as a whole."""
    written = [body.cell(record, column.name) for _, record in body.records]
    given = [i for i, cell in enumerate(written) if cell]
    bad = {i for i, cell in enumerate(written) if not cell}
    for i in sorted(bad):
        values[i][column.name] = None
        said = say("Enter it, such as {example}.", example=column.example[0])
        out.problems.append(_problem(body, body.records[i][0], column.name, say("is empty."), said))
    if not given:
        return bad
    order = day_first if day_first is not None else order_in_header(body.as_written[column.name])
    read = read_moments([written[i] for i in given], zone=zone, day_first=order, hour=column.hour)
    if read.undecided:
        out.problems.append(_problem(body, body.records[given[0]][0], column.name, *read.undecided))
        bad |= set(given)
    for place, i in enumerate(given):
        fault = int(read.fault[place])
        if fault:
            message, remedy = map(say, FAULTS[fault])
            bad.add(i)
            said = say('"{cell}" {amiss}', cell=_shorten(written[i]), amiss=message)
            out.problems.append(_problem(body, body.records[i][0], column.name, said, remedy))
        else:
            values[i][column.name] = utc(int(read.at_s[place]))
    out.notes += [f"{column.name}: {note}" for note in read.notes]
    days = int(read.day_only.sum())
    if days and column.hour:
        out.notes.append(
            say(
                "{column}: {count:,} without a time of day, taken as {hour}:00.",
                column=column.name,
                count=days,
                hour=column.hour,
            )
        )
    return bad


def _repeats(body: _Body, out: Read) -> None:
    """Report a key that stands on two lines."""
    seen: dict[tuple[object, ...], int] = {}
    key = body.table.key
    for row in out.rows:
        value = tuple(getattr(row, part) for part in key)
        first = seen.setdefault(value, row.line)
        if first != row.line:
            said = say("the same {columns} as row {line}.", columns=say(" and ").join(key), line=first)
            remedy = say("Delete one of the two rows, or correct the {column}.", column=key[0])
            out.problems.append(_problem(body, row.line, key[0], said, remedy))


def _across(body: _Body, out: Read) -> None:
    """Report what does not go together within a row, or between the rows of one bag."""
    bags: dict[str, BagRow] = {}
    for row in out.rows:
        match row:
            case BagRow():
                first = bags.setdefault(row.bag, row)
                for name in ALL_BAG:
                    now, before = getattr(row, name), getattr(first, name)
                    if now != before:
                        said = say(
                            "{here} here, {before} for the same bag in row {line}.",
                            here=_plain(now),
                            before=_plain(before),
                            line=first.line,
                        )
                        remedy = say("A bag is one thing: give all its rows the same value.")
                        out.problems.append(_problem(body, row.line, name, said, remedy))
        if "base_mm" in body.table.by_name and row.tip_mm > row.base_mm:  # type: ignore[union-attr]
            said = say("{tip:g} mm at the tip, {base:g} mm at the base.", tip=row.tip_mm, base=row.base_mm)  # type: ignore[union-attr]
            remedy = say("The base is the thick end: give both, the base no thinner than the tip.")
            out.problems.append(_problem(body, row.line, "tip_mm", said, remedy))
        for some, of, words in SOME_OF if "scratch_of" in body.table.by_name else ():
            here, among = getattr(row, some), getattr(row, of)
            if (here is None) != (among is None) or (here is not None and here > among):
                said = say("{some} {what} out of {of}.", some=_plain(here), what=say(words), of=_plain(among))
                remedy = say("Enter both, the first no more than the second, or neither.")
                out.problems.append(_problem(body, row.line, some, said, remedy))


def _problem(body: _Body, line: int, column: str, message: str, remedy: str) -> Problem:
    return Problem(body.file, line, body.as_written.get(column, column).strip(), message, remedy)


def _plain(value: object) -> str:
    if value is None:
        return say("nothing")
    return f"{value:g}" if isinstance(value, float) else str(value)


def _shorten(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:57]}…"


assert all(f.name == "line" or f.name in t.by_name for t in TABLES.values() for f in fields(t.row))
