"""The books as tables: the same columns and rows for the page, the file and the command."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType

from ortet.decisions.costs import Part
from ortet.ledger.models import Expense, Nursery, Order
from ortet.tables.journal import COLUMNS, as_plain_text, cells
from ortet.tables.out import as_csv, as_xlsx
from ortet.wood import code as codes
from ortet.wood.money import Rate, rounded
from ortet.work.owed import sums_of

from .costs import costs
from .journal import journal
from .receipts import receipts
from .sales import sales
from .stock import stock
from .years import Year

__all__ = ["FILES", "Table", "file_of", "tables_of"]

Table = tuple[Sequence[str], list[Sequence[object]]]


def _costs(year: Year) -> dict[str, Table]:
    found = costs(year)
    columns = ("variety", "what", "sold", "on hand", "labour", "spent on it", "share of the rest", "bench and heat", "cost", "cost of one")  # fmt: skip
    rows: list[Sequence[object]] = [
        (
            row.variety,
            row.form.value,
            row.sold,
            row.on_hand,
            row.parts[Part.LABOUR],
            row.parts[Part.OWN],
            row.parts[Part.SHARED],
            row.parts[Part.BENCH],
            row.total,
            None if row.each is None else rounded(row.each, found.currency),
        )
        for row in found.rows
    ]
    rest: list[Sequence[object]] = [
        *((f"{variety}: all died", amount) for variety, amount in found.dead.items()),
        ("carried by what was sold in earlier years", found.sold_before),
        ("spent, and nothing was handled to carry it", found.unplaced),
        ("all that was spent or reckoned", found.total),
        ("wages paid, left out: the minutes stand for them", found.left_out),
    ]
    minutes: list[Sequence[object]] = [
        (deed, much, "noted" if noted else "our choice") for deed, (much, noted) in found.minutes.items()
    ]
    return {
        "Costs": (columns, rows),
        "The rest": (("what", "amount"), rest),
        "Minutes": (("deed", "minutes for a hundred", "whose"), minutes),
        "Not known": (("what",), [(said,) for said in found.unknown]),
    }


def _stock(year: Year) -> dict[str, Table]:
    found = stock(year)
    rows: list[Sequence[object]] = [
        (row.variety, codes.show(row.lot), row.place, row.form.value, row.count, row.cost)
        for row in found.rows
    ]
    return {"Stock": (("variety", "lot", "place", "what", "count", "cost"), rows)}


def _percent(rate: Rate) -> str:
    return "none" if rate.percent is None else f"{rate.percent.normalize():f}"


def _sales(year: Year) -> dict[str, Table]:
    found = sales(year)
    varieties: list[Sequence[object]] = [
        (row.variety, row.count, row.net, row.given, row.unpriced) for row in found.varieties
    ]
    taxes: list[Sequence[object]] = [
        (which, _percent(rate), rate.net, rate.tax, rate.net + rate.tax)
        for which, rates in (("on receipts", found.on_receipts), ("on no receipt yet", found.without_receipt))
        for rate in rates
    ]
    money: list[Sequence[object]] = [
        ("sold, without tax", found.net),
        ("carriage, without tax", found.carriage),
        ("paid by buyers", found.paid),
        ("of it deposits", found.deposits),
    ]
    spent: list[Sequence[object]] = [(kind, net, tax) for kind, net, tax in found.spent]
    return {
        "Sales": (("variety", "count", "net", "of them without money", "of them without a price"), varieties),
        "Tax": (("where", "per cent", "net", "tax", "gross"), taxes),
        "Money": (("what", "amount"), money),
        "Spent": (("kind", "net", "tax"), spent),
    }


def _journal(year: Year) -> dict[str, Table]:
    return {"Journal": (COLUMNS, list(cells(journal(year))))}


def _expenses(year: Year) -> dict[str, Table]:
    bills = Expense.objects.filter(on__gte=year.first, on__lte=year.last)
    rows: list[Sequence[object]] = [
        (
            bill.pk.hex[-8:],
            bill.on,
            bill.get_outlay_display(),
            bill.what,
            bill.net,
            bill.tax,
            bill.variety.name if bill.variety else None,
            bill.batch.place.name if bill.batch else None,
            bill.order.number if bill.order else None,
            bill.reverses_id.hex[-8:] if bill.reverses_id else None,
            bill.note,
        )
        for bill in bills.select_related("variety", "batch__place", "order").order_by("on", "at", "id")
    ]
    columns = (
        "number",
        "day",
        "kind",
        "what",
        "net",
        "tax",
        "variety",
        "batch",
        "order",
        "reverses",
        "note",
    )
    return {"Expenses": (columns, rows)}


def _receipts(year: Year) -> dict[str, Table]:
    rows: list[Sequence[object]] = [
        (one.number, one.day, one.order, one.net, one.tax, one.gross, one.cancels, one.cancelled_by)
        for one in receipts()
        if one.day in year
    ]
    return {"Receipts": (("number", "day", "order", "net", "tax", "gross", "cancels", "cancelled by"), rows)}


def _owed(year: Year) -> dict[str, Table]:
    """Return what orders of these days come to and what of it is owed, as it stands today."""
    first, after = year.moments
    orders = list(Order.objects.filter(at__gte=first, at__lt=after, is_swap=False).order_by("number"))
    sums = sums_of(orders)
    rows: list[Sequence[object]] = [
        (order.number, its.net, its.tax, its.gross, its.paid, its.owed, its.unpriced)
        for order in orders
        for its in (sums[order.pk],)
        if its.gross or its.paid or its.unpriced
    ]
    return {"Owed": (("order", "net", "tax", "gross", "paid", "owed", "of it without a price"), rows)}


FILES: Mapping[str, Callable[[Year], dict[str, Table]]] = MappingProxyType(
    {
        "sales": _sales,
        "costs": _costs,
        "stock": _stock,
        "owed": _owed,
        "receipts": _receipts,
        "expenses": _expenses,
        "journal": _journal,
    }
)


def tables_of(what: str, year: Year) -> dict[str, Table]:
    """Return the tables of one part of the books by their names, the main one first, amounts as their currency is divided."""
    currency = Nursery.get().currency

    def cell(value: object) -> object:
        return rounded(value, currency) if isinstance(value, Decimal) else value

    return {
        name: (columns, rows if name == "Minutes" else [tuple(map(cell, row)) for row in rows])
        for name, (columns, rows) in FILES[what](year).items()
    }


def file_of(what: str, year: Year, kind: str) -> bytes:
    """Return a part of the books as a file: csv (its main table), xlsx (all its tables), or txt (the journal as plain text)."""
    if kind == "txt":
        nursery = Nursery.get()
        return as_plain_text(f"{nursery.name}, {year.name}", nursery.currency, journal(year)).encode()
    tables = tables_of(what, year)
    if kind == "xlsx":
        return as_xlsx(tables)
    columns, rows = next(iter(tables.values()))
    return as_csv(columns, rows).encode()
