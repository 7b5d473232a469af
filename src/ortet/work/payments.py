"""Money for orders: what came or went back, and what is charged for posting."""

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.contrib.auth.models import User
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, created, turn
from ortet.ledger.models import Complaint, Order, Payment, Receipt
from ortet.ledger.readings import readings_that_count
from ortet.wood.speech import say

from .amounts import refuse_wrong_amount
from .answered import answered
from .moments import day_done
from .orders import find_order

__all__ = ["charge", "pay", "payments_of"]


def payments_of(order: Order) -> list[Payment]:
    """Return what came and went back for an order, the earliest first."""
    return list(Payment.objects.filter(order=order).order_by("on", "at", "id"))


def pay(
    order: int,
    amount: Decimal,
    *,
    by: User,
    at: datetime,
    on: date | None = None,
    how: str = "",
    is_deposit: bool = False,
    complaint: UUID | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Payment:
    """Note money that came for an order, or, below nothing, went back to the buyer.

    A payment is never changed: a mistaken one is mended by another of the same amount the other way.

    Parameters
    ----------
    on : date, optional
        The day on which it came; None: the day of `at`.
    how : str
        Cash, transfer.
    is_deposit : bool
        Whether it was paid before anything was sent.
    complaint : UUID, optional
        The complaint that money paid back makes good; or, for what came, was paid back for by mistake.

    Raises
    ------
    Refused
        If it is of nothing, more goes back than came or than the complaint leaves, the day is still to come, or the order is a swap.
    Unknown
        If there is no such order.
    """
    with turn():
        if id and (before := Payment.objects.filter(pk=id).first()):
            return before
        what = find_order(order)
        if what.is_swap:
            raise Refused(
                say("Order {order} is a swap, an order without money. Nothing was booked.", order=order)
            )
        if not amount.is_finite() or amount == 0:
            raise Refused(
                say(
                    "Of how much? Give an amount like 12.50, or -12.50 for what went back. Nothing was booked."
                )
            )
        refuse_wrong_amount(say("A payment of"), abs(amount))
        day = day_done(on, at)
        had = sum((one.amount for one in payments_of(what)), Decimal())
        if amount < 0 and -amount > had:
            raise Refused(
                say(
                    "{amount} would go back, and {had} came for order {order}. Give {had} or less. Nothing was booked.",
                    amount=-amount,
                    had=had,
                    order=order,
                )
            )
        if is_deposit and amount < 0:
            raise Refused(say("Money that goes back is no deposit. Nothing was booked."))
        about = _complaint(complaint, what, amount) if complaint else None
        return created(
            Payment,
            id=id or uuid7(),
            order=what,
            amount=amount,
            on=day,
            how=how.strip(),
            is_deposit=is_deposit,
            complaint=about,
            by=by,
            at=at,
            note=note,
        )


def _complaint(id: UUID, order: Order, amount: Decimal) -> Complaint:
    found = readings_that_count(Complaint).filter(pk=id, line__order=order).first()
    if found is None:
        raise Refused(
            say("There is no such complaint about order {order}. Nothing was booked.", order=order.number)
        )
    so_far = answered(found)
    if 0 < amount <= so_far.paid_back:
        return found  # it mends one that went back by mistake
    if amount > 0:
        raise Refused(
            say(
                "A complaint is made good by money that goes back: give an amount below nothing. Nothing was booked."
            )
        )
    if so_far.most is not None and -amount > so_far.most:
        how = str(so_far)
        raise Refused(
            say(
                "{amount} would go back for {count} complained of, and {most} is left of their price and carriage with tax. Give "
                "{most} or less, or pay the rest back without naming the complaint. Nothing was booked.",
                amount=-amount,
                count=so_far.asked,
                most=so_far.most,
            )
            if so_far.most or not how
            else say(
                "That complaint was answered in full: {how}. Pay it back without naming the complaint. Nothing was booked.",
                how=how,
            )
        )
    return found


def charge(order: int, carriage: Decimal) -> Order:
    """Note what the buyer of an order pays for posting, without tax; return the order.

    Raises
    ------
    Refused
        If it is a swap, a receipt was given already, or the amount is below nothing.
    Unknown
        If there is no such order.
    """
    with turn():
        what = find_order(order)
        if what.is_swap:
            raise Refused(
                say("Order {order} is a swap, an order without money. Nothing was booked.", order=order)
            )
        refuse_wrong_amount(say("Carriage"), carriage)
        if given := Receipt.objects.filter(order=what, cancels=None, cancelled_by=None).first():
            raise Refused(
                say(
                    "Receipt {given} was given for order {order}: cancel it first, then charge anew. Nothing was booked.",
                    given=given.number,
                    order=order,
                )
            )
        what.carriage = carriage
        what.save(update_fields=["carriage"])
        return what
