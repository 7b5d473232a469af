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
    MotherLimit,
    Order,
    OrderLine,
    Purpose,
    Substitute,
    Target,
    Use,
)
from ortet.ledger.orders import FIRST, LAST, USUAL
from ortet.wood.countries import is_country
from ortet.wood.naming import fold
from ortet.wood.speech import say

from . import find
from .amounts import is_percent, refuse_wrong_amount
from .buyers import named_buyer, refuse_erased
from .plants import find_variety

__all__ = ["Line", "cancel", "find_order", "limit", "order", "read_line", "want"]

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
    tax_percent: Decimal | None = None  # None: the nursery's
    tax_note: str = ""  # why this rate


def _next(model: type[Numbered]) -> int:
    return (model.objects.aggregate(last=Max("number"))["last"] or 0) + 1


def _refuse_if_out_of_range(what: str, count: int, priority: int) -> None:
    if count < 1:
        raise Refused(
            say("{what}: {count} wanted. Ask for at least 1. Nothing was booked.", what=what, count=count)
        )
    if count > MOST:
        raise Refused(
            say(
                "{what}: {count:,} wanted. Ask for at most {most:,}. Nothing was booked.",
                what=what,
                count=count,
                most=MOST,
            )
        )
    if not FIRST <= priority <= LAST:
        raise Refused(
            say(
                "{what}: priority {priority}. Give {first} (gives way last) to {last} (first). Nothing was booked.",
                what=what,
                priority=priority,
                first=FIRST,
                last=LAST,
            )
        )


def order(
    buyer: str,
    lines: Sequence[Line],
    *,
    by: User,
    at: datetime,
    add_to: int | None = None,
    country: str = "",
    carriage: Decimal | None = None,
    is_swap: bool = False,
    in_return: str = "",
    note: str = "",
    id: UUID | None = None,
) -> Order:
    """Note what a buyer orders, as a new order or added to one; return it.

    Parameters
    ----------
    carriage : Decimal, optional
        What the buyer pays for posting, without tax; for an order that is added to, the deed `charge` changes it.
    is_swap : bool
        Whether it goes without money.
    in_return : str
        What comes back for a swap.

    Raises
    ------
    Refused
        If a line asks for nothing, ends before it begins, the country is no two letters, or a swap has a price.
    Unknown
        If a variety or the order added to is not in the book.
    """
    with turn():
        if id and (before := Order.objects.filter(pk=id).first()):
            return before
        if not lines:
            raise Refused(say("An order asks for something: name at least one variety. Nothing was booked."))
        if add_to is not None:
            theirs = find_order(add_to)
            refuse_erased(theirs.buyer)
            if id and theirs.lines.filter(sent=uuid5(id, "0")).exists():
                return theirs
            if country and country.upper() != theirs.country:
                raise Refused(
                    say(
                        "Order {add_to} goes to {country}, not {other}: note another order. Nothing was booked.",
                        add_to=add_to,
                        country=theirs.country or say("no country noted"),
                        other=country.upper(),
                    )
                )
            if buyer.strip() and fold(buyer) != theirs.buyer.name_key:
                raise Refused(
                    say(
                        "Order {add_to} is of {buyer}, not {other}. Nothing was booked.",
                        add_to=add_to,
                        buyer=theirs.buyer,
                        other=buyer.strip(),
                    )
                )
            if carriage is not None or is_swap or in_return.strip():
                raise Refused(
                    say(
                        "Order {add_to} is in the book: its carriage is noted by itself, and what is a swap was said at first. Nothing was booked.",
                        add_to=add_to,
                    )
                )
        else:
            if not buyer.strip():
                raise Refused(say("An order has a buyer: name one. Nothing was booked."))
            if country and not is_country(country):
                raise Refused(
                    say(
                        "{country!r}: write the country as two letters, such as DE. Nothing was booked.",
                        country=country,
                    )
                )
            refuse_wrong_amount(say("Carriage"), carriage)
            if in_return.strip() and not is_swap:
                raise Refused(
                    say("Something in return is of a swap: say that it is one. Nothing was booked.")
                )
            if is_swap and carriage:
                raise Refused(
                    say("A swap is an order without money: leave the carriage out. Nothing was booked.")
                )
            theirs = created(
                Order,
                id=id or uuid7(),
                number=_next(Order),
                buyer=named_buyer(buyer),
                at=at,
                by=by,
                country=country.upper(),
                carriage=carriage,
                is_swap=is_swap,
                in_return=in_return.strip(),
                note=note,
            )
        first = theirs.lines.count() + 1
        for number, line in enumerate(lines):
            _add_line(theirs, first + number, line, uuid5(id, str(number)) if id else None)
        return theirs


def _add_line(to: Order, position: int, line: Line, sent: UUID | None) -> None:
    what = say("Line {position}, {variety}", position=position, variety=line.variety)
    _refuse_if_out_of_range(what, line.count, line.priority)
    if line.last_day < line.first_day:
        raise Refused(
            say(
                "{what}: wanted from {first_day} until {last_day}, which ends before it begins. Nothing was booked.",
                what=what,
                first_day=line.first_day,
                last_day=line.last_day,
            )
        )
    if not 1 <= line.least <= line.count:
        raise Refused(
            say(
                "{what}: at least {least} of {count}. Give a least number from 1 to {count}. Nothing was booked.",
                what=what,
                least=line.least,
                count=line.count,
            )
        )
    refuse_wrong_amount(say("{what}: price", what=what), line.price)
    if line.tax_percent is not None and not is_percent(line.tax_percent):
        raise Refused(
            say(
                "{what}: tax of {tax_percent} %. Give from 0 to 100, such as 7.5 or 8.875. Nothing was booked.",
                what=what,
                tax_percent=line.tax_percent,
            )
        )
    if to.is_swap and (line.price or line.tax_percent):
        raise Refused(
            say(
                "{what}: a swap is an order without money: leave its price and tax out. Nothing was booked.",
                what=what,
            )
        )
    if line.use not in Use.values:
        raise Refused(
            say(
                "{what}: use {use!r}. Say {values}. Nothing was booked.",
                what=what,
                use=line.use,
                values=say(" or ").join(Use.values),
            )
        )
    row = created(
        OrderLine,
        order=to,
        position=position,
        sent=sent,
        variety=find_variety(line.variety),
        use=line.use,
        count=line.count,
        least=line.least,
        grades=",".join(line.grades),
        price=line.price,
        tax_percent=line.tax_percent,
        tax_note=line.tax_note.strip(),
        priority=line.priority,
        first_day=line.first_day,
        last_day=line.last_day,
        note=line.note,
    )
    for rank, name in enumerate(line.instead, 1):
        other = find_variety(name)
        if other.pk == row.variety_id:
            raise Refused(
                say("{what}: a variety is no substitute for itself. Nothing was booked.", what=what)
            )
        created(Substitute, line=row, variety=other, rank=rank)


def read_line(text: str) -> tuple[int, int | None]:
    """Read "3/2", the second line of order 3, or "3": the order's number, and the line's position where it is said.

    Raises
    ------
    Refused
        If it is written in no such way.
    """
    number, slash, position = text.strip().lower().removeprefix("order").strip().partition("/")
    if not all(part.isdecimal() and len(part) < 10 for part in (number, position if slash else "1")):
        raise Refused(
            say("{text!r}: write 3 for order 3, or 3/2 for its second line. Nothing was booked.", text=text)
        )
    return int(number), int(position) if position else None


def find_order(number: int) -> Order:
    """Return an order by its number."""
    if found := Order.objects.filter(number=number).select_related("buyer").first():
        return found
    raise Unknown(say("There is no order {number}. Nothing was booked.", number=number))


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
            raise Refused(
                say(
                    "{purpose!r}: say {values}. Nothing was booked.",
                    purpose=purpose,
                    values=", ".join(Purpose.values),
                )
            )
        return created(
            Target,
            id=id or uuid7(),
            number=_next(Target),
            variety=find_variety(variety),
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
    with turn():
        is_target, number, position = _wish(what)
        if is_target:
            target = Target.objects.filter(number=number).first()
            if target is None:
                raise Unknown(say("There is no target {number}. Nothing was booked.", number=number))
            if target.ended_at:
                raise Refused(
                    say("Target {number} was cancelled already. Nothing was booked.", number=number)
                )
            target.ended_at = at
            target.save(update_fields=["ended_at"])
            return target
        lines = list(find_order(number).lines.filter(ended_at=None))
        if position is not None:
            lines = [line for line in lines if line.position == position]
        if not lines:
            raise Refused(say("{what}: no such line is still wanted. Nothing was booked.", what=what))
        for line in lines:
            line.ended_at = at
            line.save(update_fields=["ended_at"])
        return lines


def _wish(what: str) -> tuple[bool, int, int | None]:
    """Read "target 4", or a line as `read_line` does: whether it is a target, and the numbers."""
    words = what.strip().lower()
    is_target = words.startswith("target")
    try:
        number, position = read_line(words.removeprefix("target"))
    except Refused:
        number, position = 0, None
    if not number or (is_target and position):
        raise Refused(
            say(
                "{what!r}: write 3 for order 3, 3/2 for its second line, or target 4. Nothing was booked.",
                what=what,
            )
        )
    return is_target, number, position


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
            raise Refused(
                say(
                    "{cuttings} cuttings: give 0 to spare the plant, or more. Nothing was booked.",
                    cuttings=cuttings,
                )
            )
        if cuttings > MOST:
            raise Refused(
                say(
                    "{cuttings:,} cuttings: give at most {most:,}. Nothing was booked.",
                    cuttings=cuttings,
                    most=MOST,
                )
            )
        return created(
            MotherLimit,
            id=id or uuid7(),
            mother=find.mother(accession),
            cuttings=cuttings,
            at=at,
            by=by,
            note=note,
        )
