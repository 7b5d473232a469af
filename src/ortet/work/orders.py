"""Deeds about what is wanted: order, want, cancel, and how much a mother plant may give."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import TypeVar
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db.models import Max
from uuid_utils.compat import uuid7

from ortet.ledger.booking import MOST, Refused, Unknown, created, turn
from ortet.ledger.models import (
    Buyer,
    MotherLimit,
    Order,
    OrderLine,
    Purpose,
    Substitute,
    Target,
    Use,
    Variety,
)
from ortet.ledger.orders import FIRST, LAST, USUAL
from ortet.wood.naming import fold

from . import find
from .plants import QUOTES

__all__ = ["Line", "cancel", "find_order", "limit", "order", "want"]

Numbered = TypeVar("Numbered", Order, Target)


@dataclass(frozen=True, slots=True)
class Line:
    """One variety of an order as it is asked for."""

    variety: str
    count: int
    first_day: date
    last_day: date
    use: str = Use.ROOTING
    least: int = 1
    grades: tuple[str, ...] = ()
    price: Decimal | None = None
    priority: int = USUAL
    instead: tuple[str, ...] = ()  # varieties taken in its place, the preferred first
    note: str = ""


def _variety(name: str) -> Variety:
    key = fold(name.strip().strip(QUOTES).strip())
    if found := Variety.objects.filter(name_key=key).first():
        return found
    near = Variety.objects.filter(name_key__contains=key[:4])[:3] if key else []
    hint = f" Is it {', '.join(map(str, near))}?" if near else " Add its mother plant first."
    raise Unknown(f"No variety is called {name.strip()!r}.{hint} Nothing was booked.")


def _next(model: type[Numbered]) -> int:
    return (model.objects.aggregate(last=Max("number"))["last"] or 0) + 1


def _refuse_if_out_of_range(what: str, count: int, priority: int) -> None:
    if count < 1:
        raise Refused(f"{what}: {count} wanted. Ask for at least 1. Nothing was booked.")
    if count > MOST:
        raise Refused(f"{what}: {count:,} wanted. Ask for at most {MOST:,}. Nothing was booked.")
    if not FIRST <= priority <= LAST:
        raise Refused(
            f"{what}: priority {priority}. Give {FIRST} (gives way last) to {LAST} (first). Nothing was booked."
        )


def order(
    buyer: str,
    lines: Sequence[Line],
    *,
    by: User,
    at: datetime,
    add_to: int | None = None,
    country: str = "",
    note: str = "",
    id: UUID | None = None,
) -> Order:
    """Note what a buyer orders, as a new order or added to one; return it.

    Raises
    ------
    Refused
        If a line asks for nothing, ends before it begins, or the country is no two letters.
    Unknown
        If a variety or the order added to is not in the book.
    """
    with turn():
        if id and (before := Order.objects.filter(pk=id).first()):
            return before
        if not lines:
            raise Refused("An order asks for something: name at least one variety. Nothing was booked.")
        if add_to is not None:
            theirs = find_order(add_to)
            if id and theirs.lines.filter(sent=uuid5(id, "0")).exists():
                return theirs
            if country and country.upper() != theirs.country:
                raise Refused(
                    f"Order {add_to} goes to {theirs.country or 'no country noted'}, not {country.upper()}: "
                    "note another order. Nothing was booked."
                )
            if buyer.strip() and fold(buyer) != theirs.buyer.name_key:
                raise Refused(
                    f"Order {add_to} is of {theirs.buyer}, not {buyer.strip()}. Nothing was booked."
                )
        else:
            if not buyer.strip():
                raise Refused("An order has a buyer: name one. Nothing was booked.")
            if country and not (len(country) == 2 and country.isascii() and country.isalpha()):
                raise Refused(
                    f"{country!r}: write the country as two letters, such as DE. Nothing was booked."
                )
            who = Buyer.objects.filter(name_key=fold(buyer)).first() or created(Buyer, name=buyer.strip())
            theirs = created(
                Order,
                id=id or uuid7(),
                number=_next(Order),
                buyer=who,
                at=at,
                by=by,
                country=country.upper(),
                note=note,
            )
        first = theirs.lines.count() + 1
        for number, line in enumerate(lines):
            _add_line(theirs, first + number, line, uuid5(id, str(number)) if id else None)
        return theirs


def _add_line(to: Order, position: int, line: Line, sent: UUID | None) -> None:
    what = f"Line {position}, {line.variety}"
    _refuse_if_out_of_range(what, line.count, line.priority)
    if line.last_day < line.first_day:
        raise Refused(
            f"{what}: wanted from {line.first_day} until {line.last_day}, which ends before it begins. Nothing was booked."
        )
    if not 1 <= line.least <= line.count:
        raise Refused(
            f"{what}: at least {line.least} of {line.count}. Give a least number from 1 to {line.count}. Nothing was booked."
        )
    if line.use not in Use.values:
        raise Refused(f"{what}: use {line.use!r}. Say {' or '.join(Use.values)}. Nothing was booked.")
    row = created(
        OrderLine,
        order=to,
        position=position,
        sent=sent,
        variety=_variety(line.variety),
        use=line.use,
        count=line.count,
        least=line.least,
        grades=",".join(line.grades),
        price=line.price,
        priority=line.priority,
        first_day=line.first_day,
        last_day=line.last_day,
        note=line.note,
    )
    for rank, name in enumerate(line.instead, 1):
        other = _variety(name)
        if other.pk == row.variety_id:
            raise Refused(f"{what}: a variety is no substitute for itself. Nothing was booked.")
        created(Substitute, line=row, variety=other, rank=rank)


def find_order(number: int) -> Order:
    """Return an order by its number."""
    if found := Order.objects.filter(number=number).select_related("buyer").first():
        return found
    raise Unknown(f"There is no order {number}. Nothing was booked.")


def want(
    variety: str,
    count: int,
    *,
    by: User,
    at: datetime,
    purpose: str = Purpose.PLANTS,
    priority: int = USUAL,
    worth: Decimal | None = None,
    wanted_by: date | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Target:
    """Note what the nursery itself wants of a variety: plants, grafts, a reserve, a backup.

    Raises
    ------
    Refused
        If nothing is wanted, or the purpose is not one of these.
    Unknown
        If the variety is not in the book.
    """
    with turn():
        if id and (before := Target.objects.filter(pk=id).first()):
            return before
        _refuse_if_out_of_range(variety, count, priority)
        if purpose not in Purpose.values:
            raise Refused(f"{purpose!r}: say {', '.join(Purpose.values)}. Nothing was booked.")
        return created(
            Target,
            id=id or uuid7(),
            number=_next(Target),
            variety=_variety(variety),
            purpose=purpose,
            use=Use.GRAFTING if purpose == Purpose.GRAFTS else Use.ROOTING,
            count=count,
            priority=priority,
            worth=worth,
            wanted_by=wanted_by,
            at=at,
            by=by,
            note=note,
        )


def cancel(what: str, *, at: datetime) -> list[OrderLine] | Target:
    """End a wish: an order ("3"), one line of it ("3/2") or a target ("target 4"); return what no longer counts.

    Raises
    ------
    Refused
        If it is named in no such way, or was cancelled already.
    Unknown
        If there is none.
    """
    words = what.strip().lower().removeprefix("order").strip()
    with turn():
        if words.startswith("target"):
            number = _whole(words.removeprefix("target"), what)
            target = Target.objects.filter(number=number).first()
            if target is None:
                raise Unknown(f"There is no target {number}. Nothing was booked.")
            if target.ended_at:
                raise Refused(f"Target {number} was cancelled already. Nothing was booked.")
            target.ended_at = at
            target.save(update_fields=["ended_at"])
            return target
        order_number, _, position = words.partition("/")
        lines = list(find_order(_whole(order_number, what)).lines.filter(ended_at=None))
        if position:
            lines = [line for line in lines if line.position == _whole(position, what)]
        if not lines:
            raise Refused(f"{what}: no such line is still wanted. Nothing was booked.")
        for line in lines:
            line.ended_at = at
            line.save(update_fields=["ended_at"])
        return lines


def _whole(text: str, what: str) -> int:
    if not text.strip().isdecimal():
        raise Refused(
            f"{what!r}: write 3 for order 3, 3/2 for its second line, or target 4. Nothing was booked."
        )
    return int(text)


def limit(
    accession: str, cuttings: int, *, by: User, at: datetime, note: str = "", id: UUID | None = None
) -> MotherLimit:
    """Note how many cuttings a mother plant may give in one winter from now on; 0 spares it.

    Raises
    ------
    Refused
        If the number is below nothing.
    """
    with turn():
        if id and (before := MotherLimit.objects.filter(pk=id).first()):
            return before
        if cuttings < 0:
            raise Refused(f"{cuttings} cuttings: give 0 to spare the plant, or more. Nothing was booked.")
        if cuttings > MOST:
            raise Refused(f"{cuttings:,} cuttings: give at most {MOST:,}. Nothing was booked.")
        return created(
            MotherLimit,
            id=id or uuid7(),
            mother=find.mother(accession),
            cuttings=cuttings,
            at=at,
            by=by,
            note=note,
        )
