"""Selling: cuttings or plants leave the nursery to a buyer who can be found again."""

from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.contrib.auth.models import User
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Move, Refused, Unknown, book, booked_before, count_in, created, end, turn
from ortet.ledger.models import Kind, Lot, Movement, Nursery, OrderLine, Sale, Why
from ortet.wood.naming import fold
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.amounts import refuse_wrong_amount
from ortet.work.buyers import named_buyer, refuse_erased
from ortet.work.orders import find_order, read_line
from ortet.work.rights import refuse_if_stopped

__all__ = ["line_of", "right_of", "sell"]


def line_of(order: str, lot: Lot) -> OrderLine:
    """Return the line that a sale fills: "3/2", or "3" where order 3 asks for the lot's variety in one line."""
    number, position = read_line(order)
    lines = list(find_order(number).lines.select_related("variety").prefetch_related("substitutes__variety"))
    fits = [
        line
        for line in lines
        if lot.variety in (line.variety, *(other.variety for other in line.substitutes.all()))
        and position in (None, line.position)
    ]
    if position is not None and all(line.position != position for line in lines):
        raise Unknown(
            say(
                "Order {number} has no line {position}. Nothing was booked.", number=number, position=position
            )
        )
    if not fits:
        what = (
            say("Order {number}", number=number)
            if position is None
            else say("Line {number}/{position}", number=number, position=position)
        )
        raise Refused(
            say(
                "{what} does not ask for {variety}, and takes nothing in its place. Nothing was booked.",
                what=what,
                variety=lot.variety,
            )
        )
    if len(fits) > 1:
        said = ", ".join(f"{number}/{line.position}" for line in fits)
        raise Refused(
            say(
                "Lines {said} ask for {variety}: say which. Nothing was booked.",
                said=said,
                variety=lot.variety,
            )
        )
    return fits[0]


def sell(
    lot: str,
    count: int | None,
    *,
    by: User,
    at: datetime,
    buyer: str = "",
    from_place: str | None = None,
    order: str = "",
    price: Decimal | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Movement:
    """Book cuttings or plants of a lot (None: all that lie there) out as sold; return the movement, whose sale names the buyer.

    Parameters
    ----------
    buyer
        Name of who bought them; made where it is new, and not needed where an order is named.
    order
        The order they fill, such as "3", or one line of it, "3/2".
    price
        Of one; None: the order line's.

    Raises
    ------
    Refused
        If too few lie there, nobody bought them, the order is another buyer's or asks for another variety, or the variety is
        protected and no leave is noted.
    """
    with turn():
        if before := booked_before(id, Why.SOLD, count):
            return before
        what = find.lot(lot)
        here = find.where_lot_is(what, from_place, rather=Kind.GROUND)
        count = count_in(what, here) if count is None else count
        line = line_of(order, what) if order.strip() else None
        if line and buyer.strip() and fold(buyer) != line.order.buyer.name_key:
            raise Refused(
                say(
                    "Order {order} is of {buyer}, not {other}. Nothing was booked.",
                    order=line.order.number,
                    buyer=line.order.buyer,
                    other=buyer.strip(),
                )
            )
        if not line and not buyer.strip():
            raise Refused(
                say(
                    "Sold to whom? Name the buyer, so that whoever has these plants can be reached. Nothing was booked."
                )
            )
        refuse_if_stopped(what.variety, timezone.localdate(at))
        refuse_wrong_amount(say("A price of"), price)
        who = line.order.buyer if line else named_buyer(buyer)
        refuse_erased(who)
        # the note stands with the sale: a movement's is sealed, and a buyer may be named in it
        moved = book([Move(what, here, end(Kind.SOLD), count, Why.SOLD, id=id)], by=by, at=at)[0]
        if price is None and line:
            price = line.price
        created(Sale, id=uuid7(), movement=moved, buyer=who, line=line, price=price, by=by, at=at, note=note)
        return moved


def right_of(lot: Lot) -> str:
    """Return the caution that goes with propagating or selling a protected variety, else nothing."""
    if not lot.variety.right_on(Nursery.get().today()):
        return ""
    return say(
        "{variety} is protected: {right}. Propagating or selling it needs the rights holder's licence or an exemption that "
        "holds where you are: ask the rights holder.",
        variety=lot.variety,
        right=lot.variety.right,
    )
