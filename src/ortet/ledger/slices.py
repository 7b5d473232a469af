"""Rows for any number of values, asked a slice at a time: SQLite takes no more than 32,766 values in one question."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import QuerySet

__all__ = ["in_slices", "sliced"]

SLICE = 10_000


def sliced(values: Iterable[Any]) -> Iterator[list[Any]]:
    """Return the values, so many at a time as one question takes."""
    every = list(values)
    for start in range(0, len(every), SLICE):
        yield every[start : start + SLICE]


def in_slices(rows: QuerySet[Any], field: str, values: Iterable[Any]) -> Iterator[Any]:
    """Return the rows whose field is one of the values; the rows' order holds among those of one value."""
    for some in sliced(values):
        yield from rows.filter(**{f"{field}__in": some})
