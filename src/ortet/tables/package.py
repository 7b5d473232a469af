"""Tables of a whole book as CSV files (RFC 4180) with a descriptor that says what is in each column.

The descriptor is a Data Package, version 2 (datapackage.org): a resource for each file, for a table its Table Schema.
"""

import csv
import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any, TextIO
from uuid import UUID

__all__ = ["Column", "Table", "descriptor", "read_rows", "resource_of", "seal_of", "write_rows"]

LONGEST = (
    2**31 - 1
)  # letters of a cell, since what a plan says of itself is long; more overflows where a C long is short
PROFILES = "https://datapackage.org/profiles/2.0/"
KINDS = {  # of a cell: the field's type and format in the Table Schema
    "string": ("string", "default"),
    "uuid": ("string", "uuid"),
    "integer": ("integer", "default"),
    "float": ("number", "default"),
    "decimal": ("number", "default"),
    "boolean": ("boolean", "default"),
    "date": ("date", "default"),
    "datetime": ("datetime", "default"),
    "json": ("string", "default"),
}


def _moment(at: datetime) -> str:
    return at.astimezone(UTC).isoformat().replace("+00:00", "Z")


def _json(value: object) -> str:
    # sorted, since PostgreSQL keeps no order of keys
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def _boolean(text: str) -> bool:
    return {"true": True, "false": False}[text]


WRITE: Mapping[str, Callable[[Any], str]] = {
    "boolean": lambda value: "true" if value else "false",
    "date": date.isoformat,
    "datetime": _moment,
    "float": lambda value: repr(value).upper(),  # an exponent is a capital E there: 1E-05
    "json": _json,
}
READ: Mapping[str, Callable[[str], object]] = {
    "string": str,
    "uuid": UUID,
    "integer": int,
    "float": float,
    "decimal": Decimal,
    "boolean": _boolean,
    "date": date.fromisoformat,
    "datetime": datetime.fromisoformat,
    "json": json.loads,
}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, what its cells are, and whether one may be empty for nothing."""

    name: str
    kind: str  # one of KINDS
    may_be_empty: bool = False
    longest: int | None = None

    def cell(self, value: object) -> str:
        """Write a value."""
        return "" if value is None else WRITE.get(self.kind, str)(value)

    def value(self, text: str) -> object:
        """Read a cell.

        Raises
        ------
        ValueError
            If it is none of its kind.
        """
        if text == "" and (self.may_be_empty or self.kind != "string"):
            if not self.may_be_empty:
                raise ValueError("is empty")
            return None
        try:
            return READ[self.kind](text)
        except (ValueError, KeyError, ArithmeticError):
            raise ValueError(f"{text[:40]!r} is no {self.kind}") from None

    def described(self) -> dict[str, object]:
        """Return the column as a field of a Table Schema."""
        kind, form = KINDS[self.kind]
        said: dict[str, object] = {"name": self.name, "type": kind, "format": form}
        constraints: dict[str, object] = {}
        if not self.may_be_empty:
            constraints["required"] = True
            if self.kind == "string":
                said["missingValues"] = []  # an empty cell is an empty word, and not nothing
        if self.longest is not None:
            constraints["maxLength"] = self.longest
        if self.kind == "json":
            said["description"] = "JSON (RFC 8259)"
        return said | ({"constraints": constraints} if constraints else {})


@dataclass(frozen=True, slots=True)
class Table:
    """One table: its columns, its key, what else is unique, and what its columns refer to."""

    name: str
    columns: tuple[Column, ...]
    key: tuple[str, ...]
    unique: tuple[tuple[str, ...], ...] = ()
    refers: tuple[tuple[str, str, str], ...] = ()  # a column, the table it leads to, the column there

    @property
    def file(self) -> str:
        """The name of its file."""
        return f"{self.name}.csv"

    def schema(self) -> dict[str, object]:
        """Return the Table Schema."""
        leads = [
            # without a resource's name it is the table itself
            {
                "fields": [column],
                "reference": {"fields": [there]} | ({} if to == self.name else {"resource": to}),
            }
            for column, to, there in self.refers
        ]
        said: dict[str, object] = {
            "$schema": f"{PROFILES}tableschema.json",
            "fields": [column.described() for column in self.columns],
            "missingValues": [""],
            "primaryKey": list(self.key),
        }
        if self.unique:
            said["uniqueKeys"] = [list(columns) for columns in self.unique]
        return said | ({"foreignKeys": leads} if leads else {})


def write_rows(out: TextIO, table: Table, rows: Iterable[Sequence[object]]) -> int:
    """Write a table's heading and rows; return how many rows."""
    writer = csv.writer(out)
    writer.writerow([column.name for column in table.columns])
    many = 0
    for row in rows:
        writer.writerow([column.cell(value) for column, value in zip(table.columns, row, strict=True)])
        many += 1
    return many


def read_rows(text: TextIO, columns: Sequence[Column]) -> Iterator[list[object]]:
    """Yield the rows of a table after its heading, which is the columns' names.

    Raises
    ------
    ValueError
        If the heading or a cell is another; the message names the line and the column.
    """
    before = csv.field_size_limit(LONGEST)
    try:
        yield from _read(csv.reader(text, strict=True), columns)
    finally:
        csv.field_size_limit(before)  # a grower's own files are read with the usual one


def _read(reader: Any, columns: Sequence[Column]) -> Iterator[list[object]]:
    names = [column.name for column in columns]
    if (heading := next(reader, [])) != names:
        raise ValueError(f"line 1: the columns are {', '.join(heading)}, and not {', '.join(names)}")
    for row in reader:
        if len(row) != len(columns):
            raise ValueError(f"line {reader.line_num}: {len(row)} cells in {len(columns)} columns")
        values = []
        for column, cell in zip(columns, row, strict=True):
            try:
                values.append(column.value(cell))
            except ValueError as error:
                raise ValueError(f"line {reader.line_num}, {column.name}: {error}") from None
        yield values


def resource_of(path: str, size: int, sha256: str, table: Table | None = None) -> dict[str, object]:
    """Return a file as a resource of the package: a table with its schema, or a picture."""
    said: dict[str, object] = {
        "$schema": f"{PROFILES}dataresource.json",  # without it a resource counts as one of version 1
        "name": path.lower().removesuffix(".csv").replace("/", "-"),  # no stroke is wanted in a name
        "path": path,
        "bytes": size,
        "hash": f"sha256:{sha256}",
    }
    if table is None:
        return said | {"format": "jpg", "mediatype": "image/jpeg"}
    form = {"format": "csv", "mediatype": "text/csv", "encoding": "utf-8"}
    return said | {"type": "table", **form, "schema": table.schema()}


def seal_of(said: Mapping[str, object]) -> str:
    """Return the SHA-256 of a descriptor without its own seal."""
    return hashlib.sha256(_json({key: said[key] for key in said if key != "seal"}).encode()).hexdigest()


def descriptor(name: str, resources: Sequence[Mapping[str, object]], **more: object) -> dict[str, object]:
    """Return the package's descriptor, sealed so that a change to it is noticed."""
    said = {"$schema": f"{PROFILES}datapackage.json", "name": name, **more, "resources": list(resources)}
    return said | {"seal": seal_of(said)}
