"""Buyers and orders from a file into the book, and out of it in the same columns; the same rows twice book once."""

from collections.abc import Callable, Iterable, Sequence
from contextlib import AbstractContextManager
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Protocol
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.utils import timezone

from ortet.ledger.booking import Refused
from ortet.ledger.models import Buyer, Nursery, Order, OrderLine
from ortet.tables.problem import Problem
from ortet.tables.selling import BuyerRow, OrderRow
from ortet.wood.naming import fold
from ortet.wood.speech import say

from .buyers import FIELDS, buyer
from .orders import Line, order
from .plants import find_variety

__all__ = ["book_buyer", "book_order", "buyer_rows", "order_rows"]

ORDERS = UUID("b1f7c0de-6f6a-4a3e-9a55-3f2f6f0f9d01")  # what a file's orders make their ids from
Row = Callable[[int, str | None], AbstractContextManager[None]]


class Loads(Protocol):
    """A load: what was booked, by its word, and the problems found."""

    booked: dict[str, int]
    problems: list[Problem]


def _names(cell: str) -> tuple[str, ...]:
    return tuple(part for part in (" ".join(part.split()) for part in cell.split(",")) if part)


def book_buyer(row: BuyerRow, loaded: Loads) -> None:
    """Book a row of the buyers' table: a new buyer, or what was not known yet of one."""
    there = Buyer.objects.filter(name_key=fold(row.buyer)).first()
    said = {
        "address": row.address,
        "email": row.email,
        "country": row.country,
        "tax_number": row.tax_number,
        "note": row.note,
    }
    if there:
        for field, value in said.items():
            if value and getattr(there, field) not in ("", value):
                raise Refused(
                    say(
                        "{there} is in the book with another {field}. Change it there, or leave the cell empty.",
                        there=there,
                        field=say(FIELDS[field]),
                    )
                )
        if all(not value or getattr(there, field) == value for field, value in said.items()):
            return
    else:
        loaded.booked["buyers"] += 1
    is_trade = None if there else row.kind == "trade"
    buyer(row.buyer, is_trade=is_trade, **{field: value or None for field, value in said.items()})


def _line(row: OrderRow) -> Line:
    return Line(
        variety=row.variety,
        count=row.count,
        first_day=row.first_day,
        last_day=row.last_day,
        use=row.use,
        least=row.least,
        grades=_names(row.grades),
        price=row.price,
        priority=row.priority,
        instead=_names(row.instead),
        note=row.note,
        tax_percent=row.tax_percent,
        tax_note=row.tax_note,
    )


def _id(row: OrderRow) -> UUID:
    """Return the id of the order that a file's word for it, of this buyer, makes."""
    return uuid5(ORDERS, f"{fold(row.order)}\x1f{fold(row.buyer)}")


def _sent(row: OrderRow) -> UUID:
    return uuid5(_id(row), f"line {row.position}")


def _there(row: OrderRow) -> Order | None:
    """Return the order that a row is of: loaded before, else the buyer's of that number."""
    if found := Order.objects.filter(pk=_id(row)).select_related("buyer").first():
        return found
    if row.order.isdecimal() and len(row.order) < 10:
        return (
            Order.objects.filter(number=int(row.order), buyer__name_key=fold(row.buyer))
            .select_related("buyer")
            .first()
        )
    return None


def _refuse_wrong(rows: Sequence[OrderRow], at_row: Row, today: datetime) -> None:
    """Say of each row what of it cannot be, by its column."""
    first = rows[0]
    whole = ("buyer", "country", "carriage", "swap", "in_return", "noted")
    for row in rows:
        for column in whole:
            if (now := getattr(row, column)) != (before := getattr(first, column)):
                with at_row(row.line, column):
                    raise Refused(
                        say(
                            "{now} here, {before} for the same order in row {line}. An order is one thing: give all its rows "
                            "the same.",
                            now=now or say("nothing"),
                            before=before or say("nothing"),
                            line=first.line,
                        )
                    )
        with at_row(row.line, "variety"):
            find_variety(row.variety)
        with at_row(row.line, "instead"):
            for name in _names(row.instead):
                find_variety(name)
        with at_row(row.line, "last_day"):
            if row.last_day < row.first_day:
                raise Refused(
                    say(
                        "{last_day} is before {first_day}, from which it may be posted. Correct one of them.",
                        last_day=row.last_day,
                        first_day=row.first_day,
                    )
                )
        with at_row(row.line, "least"):
            if row.least > row.count:
                raise Refused(
                    say(
                        "no fewer than {least} of {count}. Give {count} or fewer.",
                        least=row.least,
                        count=row.count,
                    )
                )
        with at_row(row.line, "price"):
            if row.swap == "yes" and (row.price or row.tax_percent):
                raise Refused(say("a swap is an order without money. Leave price and tax empty."))
    with at_row(first.line, "carriage"):
        if first.swap == "yes" and first.carriage:
            raise Refused(say("a swap is an order without money. Leave the carriage empty."))
    with at_row(first.line, "in_return"):
        if first.swap == "no" and first.in_return:
            raise Refused(say("something in return is of a swap. Say yes under swap, or leave it empty."))
    with at_row(first.line, "noted"):
        if first.noted and first.noted > timezone.localdate(today) + timedelta(days=1):
            raise Refused(say("{noted} is ahead of today. Correct the day.", noted=first.noted))


def book_order(rows: Sequence[OrderRow], loaded: Loads, at_row: Row, *, by: User, at: datetime) -> None:
    """Book the rows of one order; what is in the book already stays, and is refused where it says otherwise.

    Parameters
    ----------
    at_row : callable
        Makes a problem of a row, by its line and column, of what is refused within it.
    """
    before = len(loaded.problems)
    rows = sorted(rows, key=lambda row: row.position)
    _refuse_wrong(rows, at_row, at)
    if len(loaded.problems) > before:
        return
    first, there = rows[0], _there(rows[0])
    known = {line.position: line for line in there.lines.select_related("variety")} if there else {}
    sent = {line.sent: line for line in known.values()}
    noon = datetime.combine(first.noted, time(12), Nursery.get().tz) if first.noted else at
    for row in rows:
        with at_row(row.line, None):
            old = sent.get(_sent(row)) or (
                known.get(row.position) if there and there.pk != _id(row) else None
            )
            if old:
                _refuse_another(old, row)
                continue
            if there is None:
                there = order(
                    row.buyer,
                    [_line(row)],
                    by=by,
                    at=min(noon, at),
                    country=row.country,
                    carriage=row.carriage,
                    is_swap=row.swap == "yes",
                    in_return=row.in_return,
                    id=_id(row),
                )
                loaded.booked["orders"] += 1
            else:
                order("", [_line(row)], by=by, at=min(noon, at), add_to=there.number)
            newest = there.lines.order_by("-position").first()
            assert newest
            newest.sent = _sent(row)
            newest.save(update_fields=["sent"])
            loaded.booked["lines of orders"] += 1


def _refuse_another(old: OrderLine, row: OrderRow) -> None:
    """Refuse a row that says otherwise than the line in the book."""
    there = (fold(old.variety.name), old.count, old.first_day, old.last_day, old.use, old.price)
    said = (find_variety(row.variety).name_key, row.count, row.first_day, row.last_day, row.use, row.price)
    if there != said:
        raise Refused(
            say(
                "{old} is in the book as {count} of {variety}, {first_day} to {last_day}. Cancel it there and note another, "
                "or correct the row.",
                old=old,
                count=old.count,
                variety=old.variety,
                first_day=old.first_day,
                last_day=old.last_day,
            )
        )


def buyer_rows(found: Iterable[Buyer]) -> list[tuple[object, ...]]:
    """Return buyers as rows of the table that is loaded."""
    return [
        (
            one.name,
            one.address,
            one.email,
            one.country,
            "trade" if one.is_trade else "private",
            one.tax_number,
            one.note,
        )
        for one in found
    ]


def order_rows(lines: Iterable[OrderLine]) -> list[tuple[object, ...]]:
    """Return lines of orders as rows of the table that is loaded."""
    return [
        (
            line.order.number,
            line.position,
            line.order.buyer.name,
            line.variety.name,
            line.count,
            line.first_day,
            line.last_day,
            line.use,
            line.least,
            line.grades,
            line.price,
            None if line.tax_percent is None else Decimal(f"{line.tax_percent.normalize():f}"),
            line.tax_note,
            ", ".join(other.variety.name for other in line.substitutes.all()),
            line.priority,
            line.order.country,
            line.order.carriage,
            "yes" if line.order.is_swap else "no",
            line.order.in_return,
            timezone.localdate(line.order.at),
            line.note,
        )
        for line in lines
    ]
