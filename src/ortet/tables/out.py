"""Tables out: rows as a CSV file, or as sheets of an XLSX file, that open without a word taken for a formula."""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal

__all__ = ["as_csv", "as_xlsx"]


def _plain(value: object) -> str:
    """Write a cell so that no spreadsheet takes it for a formula."""
    text = "" if value is None else str(value)
    is_number = isinstance(value, (int, float, Decimal))
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") and not is_number else text


def as_csv(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table as the text of a CSV file, its line ends as RFC 4180 has them."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows([_plain(value) for value in row] for row in rows)
    return out.getvalue()


def as_xlsx(sheets: Mapping[str, tuple[Sequence[str], Iterable[Sequence[object]]]]) -> bytes:
    """Return sheets of columns and rows as an XLSX file: words as words, amounts and days as such.

    Parameters
    ----------
    sheets : mapping of str to (columns, rows)
        By the name of the sheet, 31 letters at most.
    """
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(
        out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    )
    heading, a_day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    for name, (columns, rows) in sheets.items():
        sheet = book.add_worksheet(name)
        sheet.freeze_panes(1, 0)
        sheet.write_row(0, 0, columns, heading)
        for line, row in enumerate(rows, 1):
            for column, value in enumerate(row):
                if isinstance(value, date):
                    sheet.write_datetime(line, column, value, a_day)
                elif isinstance(value, (int, float, Decimal)):
                    sheet.write_number(line, column, value)
                elif value is not None:
                    sheet.write_string(line, column, str(value))
    book.close()
    return out.getvalue()
