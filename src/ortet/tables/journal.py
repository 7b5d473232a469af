"""A journal out: double entry, row by row, as a table or as plain text that an open double-entry program reads.

The plain text follows the syntax of Beancount 3 (open, transactions with postings, metadata), whose grammar is free.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import astuple, dataclass, fields
from datetime import date
from decimal import Decimal
from itertools import groupby

__all__ = ["COLUMNS", "JournalRow", "as_plain_text", "cells"]


@dataclass(frozen=True, slots=True)
class JournalRow:
    """One side of an entry. The rows of an entry lie together, and their debits equal their credits."""

    entry_id: str
    date: date
    doc_no: str
    account: str  # its kind and its name: Assets:Cash and bank
    description: str
    currency: str
    debit: Decimal | None
    credit: Decimal | None
    tax_code: str = ""
    lot_ref: str = ""

    @property
    def amount(self) -> Decimal:
        """The debit, or the credit below nothing."""
        return (self.debit or Decimal()) - (self.credit or Decimal())


COLUMNS = tuple(field.name for field in fields(JournalRow))


def cells(rows: Iterable[JournalRow]) -> Iterator[Sequence[object]]:
    """Yield the cells of each row in the order of the columns."""
    return map(astuple, rows)


def _account(name: str) -> str:
    """Write an account's name as plain text has it: words joined by hyphens, each part with a capital or a figure first."""
    parts = [re.sub(r"[^A-Za-z0-9]+", "-", part).strip("-") for part in name.split(":")]
    return ":".join(part[:1].upper() + part[1:] for part in parts)


def _quoted(text: str) -> str:
    words = " ".join(text.split()).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{words}"'


def as_plain_text(title: str, currency: str, rows: Sequence[JournalRow]) -> str:
    """Return a journal as plain text: the accounts opened on its first day, then entry by entry."""
    if not rows:
        return f'option "title" {_quoted(title)}\noption "operating_currency" "{currency}"\n'
    first = min(row.date for row in rows)
    out = [f'option "title" {_quoted(title)}', f'option "operating_currency" "{currency}"', ""]
    out += [f"{first} open {account}" for account in sorted({_account(row.account) for row in rows})]
    for entry, group in groupby(rows, key=lambda row: row.entry_id):
        lines = list(group)
        out += [
            "",
            f"{lines[0].date} * {_quoted(lines[0].doc_no)} {_quoted(lines[0].description)}",
            f"  entry: {_quoted(entry)}",
        ]
        for row in lines:
            out.append(f"  {_account(row.account)}  {row.amount} {row.currency}")
            out += [f"    tax: {_quoted(row.tax_code)}"] if row.tax_code else []
            out += [f"    lot: {_quoted(row.lot_ref)}"] if row.lot_ref else []
    return "\n".join(out) + "\n"
