"""Tables out: rows as a CSV file that a spreadsheet opens without taking a word for a formula."""

import csv
import io
from collections.abc import Iterable, Sequence

__all__ = ["as_csv"]


def _plain(value: object) -> str:
    """Write a cell so that no spreadsheet takes it for a formula."""
    text = "" if value is None else str(value)
    is_number = isinstance(value, (int, float))
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") and not is_number else text


def as_csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table as the text of a CSV file, its line ends as RFC 4180 has them."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows([_plain(value) for value in row] for row in rows)
    return out.getvalue()
