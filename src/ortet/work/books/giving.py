"""Giving receipts: numbered without gaps, frozen as they are given out, cancelled by another and never changed.

A receipt is for what was sold for an order and stands on no receipt yet, with the carriage on the first; or for sales without an
order, as they are named. All get their numbers from one row.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Max
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, Unknown, created, turn
from ortet.ledger.models import Buyer, Nursery, Order, Payment, Receipt
from ortet.wood.money import rounded, taxed
from ortet.wood.speech import say
from ortet.work.buyers import refuse_erased
from ortet.work.orders import find_order
from ortet.work.payments import payments_of

from .receipts import (
    CARRIAGE,
    DEPOSIT,
    carriage_left,
    find_receipt,
    percent_of,
    receipts_by_sale,
    standing,
    standing_sales,
)
from .sold import Sold, sold

__all__ = ["cancel_receipt", "receipt", "receipt_of_sales"]


def _next_number() -> int:
    return (Receipt.objects.aggregate(last=Max("number"))["last"] or 0) + 1


def receipt(order: int, *, by: User, at: datetime, note: str = "", id: UUID | None = None) -> Receipt:
    """Give a receipt for what was sold for an order and stands on none yet; return it, with the next number.

    Raises
    ------
    Refused
        If nothing of it was sold since, something has no price, or the order is a swap.
    Unknown
        If there is no such order.
    """
    with turn():
        if id and (before := Receipt.objects.filter(pk=id).first()):
            return before
        what = find_order(order)
        if what.is_swap:
            raise Refused(say("Order {order} is a swap, without money. Nothing was booked.", order=order))
        done, day = standing_sales(), timezone.localdate(at)
        its = [one for one in sold(order=order) if one.movement not in done and one.day <= day]
        carriage = carriage_left(what)
        if not its:
            raise Refused(
                say(
                    "Nothing that was sold for order {order} by {day} lacks a receipt. Send or sell it first. Nothing was booked.",
                    order=order,
                    day=day,
                )
            )
        if all(one.is_free for one in its) and not carriage:
            raise Refused(
                say("Order {order} makes a complaint good, without money. Nothing was booked.", order=order)
            )
        _refuse_without_price(its)
        said = _said(its, day, what, carriage)
        said["paid"] = _paid(what, day, _gross(said))
        return _given(id, said, order=what, by=by, at=at, note=note)


def receipt_of_sales(
    sales: Sequence[int],
    *,
    by: User,
    at: datetime,
    paid: str = "",
    note: str = "",
    id: UUID | None = None,
) -> Receipt:
    """Give a receipt for sales to one buyer that fill no order; return it, with the next number.

    Parameters
    ----------
    sales
        The numbers of the movements that sold them.
    paid
        How it was paid, all of it on that day, such as "cash"; nothing: the receipt does not say that it was.

    Raises
    ------
    Refused
        If they went to more than one buyer, for an order, without a price, later than that, or stand on a receipt already.
    Unknown
        If a number is of no sale, or of one that was taken back.
    """
    with turn():
        if id and (before := Receipt.objects.filter(pk=id).first()):
            return before
        if not sales:
            raise Refused(
                say("Which sales? Give the numbers of the movements that sold them. Nothing was booked.")
            )
        day = timezone.localdate(at)
        of = {one.movement: one for one in sold()}
        done = receipts_by_sale()
        for number in sales:
            _refuse_what_has_another(number, of.get(number), day, done)
        its = [of[number] for number in sorted(set(sales))]
        buyers = Buyer.objects.in_bulk({one.buyer for one in its})
        if len(buyers) > 1:
            raise Refused(
                say(
                    "Those sales went to {buyers}: a receipt is for one buyer. Nothing was booked.",
                    buyers=", ".join(str(who) for who in buyers.values()),
                )
            )
        (who,) = buyers.values()
        refuse_erased(who)
        _refuse_without_price(its)
        said = _said(its, day)
        if how := paid.strip():
            said["paid"] = [{"day": day.isoformat(), "amount": str(_gross(said)), "how": how}]
        return _given(id, said, buyer=who, by=by, at=at, note=note)


def _refuse_what_has_another(number: int, one: Sold | None, day: date, done: Mapping[int, int]) -> None:
    """Refuse a sale that is none, fills an order, came later, or stands on a receipt."""
    if one is None:
        raise Unknown(
            say("Movement {sale} sold nothing that is still sold. Nothing was booked.", sale=number)
        )
    if one.order is not None:
        raise Refused(
            say(
                "Movement {sale} was sold for order {order}: give the receipt for the order. Nothing was booked.",
                sale=number,
                order=one.order,
            )
        )
    if one.day > day:
        raise Refused(
            say(
                "Movement {sale} was sold on {day}, later than that. Nothing was booked.",
                sale=number,
                day=one.day,
            )
        )
    if given := done.get(number):
        raise Refused(
            say(
                "Movement {sale} stands on receipt {number} already. Nothing was booked.",
                sale=number,
                number=given,
            )
        )


def _refuse_without_price(its: Sequence[Sold]) -> None:
    if bare := [one for one in its if one.price is None]:
        raise Refused(
            say(
                "Movement {movement}, {count} {variety}, has no price. Correct it and sell it with one. "
                "Nothing was booked.",
                movement=bare[0].movement,
                count=bare[0].count,
                variety=bare[0].variety,
            )
        )


def _given(id: UUID | None, said: dict[str, Any], **whose: Any) -> Receipt:
    return created(Receipt, id=id or uuid7(), number=_next_number(), said=said, **whose)


def _gross(said: Mapping[str, Any]) -> Decimal:
    return sum((Decimal(rate["net"]) + Decimal(rate["tax"]) for rate in said["taxes"]), Decimal())


def _said(
    its: Sequence[Sold], day: date, order: Order | None = None, carriage: Decimal = Decimal(0)
) -> dict[str, Any]:
    """Return a receipt's frozen words, with nothing paid yet: sums as decimal text."""
    nursery = Nursery.get()
    before = standing([order]) if order else []
    lines: list[dict[str, Any]] = [
        {
            "what": variety,
            "note": note,
            "count": count,
            "each": str(price),
            "net": str(rounded(count * price, nursery.currency)),
            "percent": _text(percent),
        }
        for (variety, price, percent, note), count in _grouped(its).items()
    ]
    if carriage:
        lines.append(
            {"what": CARRIAGE, "note": "", "net": str(carriage), "percent": _text(nursery.tax_percent)}
        )
    notes = {_text(one.percent): one.tax_note for one in its if one.tax_note}
    # all receipts of the order together come to the tax on their sum
    new = [(Decimal(line["net"]), percent_of(line["percent"])) for line in lines]
    taxes = taxed(new, nursery.currency, [rate for one in before for rate in one.rates])
    return {
        "day": day.isoformat(),
        "currency": nursery.currency,
        "tax_number": nursery.tax_number,
        "lines": lines,
        "taxes": [
            {
                "percent": _text(rate.percent),
                "net": str(rate.net),
                "tax": str(rate.tax),
                "note": notes.get(_text(rate.percent), ""),
            }
            for rate in taxes
        ],
        "carriage": str(carriage),
        "sales": [one.movement for one in its],
        "paid": [],
    }


def _grouped(its: Sequence[Sold]) -> dict[tuple[str, Decimal, Decimal | None, str], int]:
    counts: dict[tuple[str, Decimal, Decimal | None, str], int] = defaultdict(int)
    for one in its:
        note = ", ".join(filter(None, (f"order {one.order}/{one.line}" if one.order else "", one.tax_note)))
        counts[one.variety, one.price or Decimal(), one.percent, note] += one.count
    return counts


def _paid(order: Order, day: date, gross: Decimal) -> list[dict[str, str]]:
    """Return what was paid towards a receipt: payments in their order, as far as no other receipt that stands has them.

    What was paid back comes off the latest of them, but for what made a complaint good; what is more than the receipt asks is left to the next.
    """
    used: dict[str, Decimal] = defaultdict(Decimal)
    for row in Receipt.objects.filter(order=order, cancels=None, cancelled_by=None):
        for one in row.said["paid"]:
            used[one["payment"]] += Decimal(one["amount"])
    payments = [one for one in payments_of(order) if one.on <= day and one.complaint_id is None]
    back = -sum((one.amount for one in payments if one.amount < 0), Decimal())
    left: list[tuple[Payment, Decimal]] = []
    for one in reversed([one for one in payments if one.amount > 0]):
        rest = max(one.amount - used[str(one.pk)], Decimal())
        off = min(rest, back)
        back -= off
        left.insert(0, (one, rest - off))
    said = []
    for one, rest in left:
        if (part := min(rest, gross)) > 0:
            how = " ".join(filter(None, (DEPOSIT if one.is_deposit else "", one.how)))
            said.append({"payment": str(one.pk), "day": one.on.isoformat(), "amount": str(part), "how": how})
            gross -= part
    return said


def cancel_receipt(number: int, *, by: User, at: datetime, note: str, id: UUID | None = None) -> Receipt:
    """Cancel a receipt by another, which has its lines and sums reversed; return that one.

    What it was for can then stand on a new receipt. Its day is never before the one that it cancels.

    Raises
    ------
    Refused
        If it was cancelled already, is itself a cancellation, or no word says why.
    Unknown
        If there is no such receipt.
    """
    with turn():
        if id and (before := Receipt.objects.filter(pk=id).first()):
            return before
        wrong = find_receipt(number)
        if wrong.cancels_id or Receipt.objects.filter(cancels=wrong).exists():
            raise Refused(
                say("Receipt {number} itself cancels another. Nothing was booked.", number=number)
                if wrong.cancels_id
                else say("Receipt {number} was cancelled already. Nothing was booked.", number=number)
            )
        if not note.strip():
            raise Refused(say("Say in a few words why it is cancelled. Nothing was booked."))
        return created(
            Receipt,
            id=id or uuid7(),
            number=_next_number(),
            order=wrong.order,
            buyer=wrong.buyer,
            said=_reversed(wrong.said, max(timezone.localdate(at), date.fromisoformat(wrong.said["day"]))),
            cancels=wrong,
            by=by,
            at=at,
            note=note.strip(),
        )


def _reversed(said: Mapping[str, Any], day: date) -> dict[str, Any]:
    """Return a receipt's words with every sum on the other side."""
    lines = [
        {**line, "net": str(-Decimal(line["net"]))} | ({"count": -line["count"]} if "count" in line else {})
        for line in said["lines"]
    ]
    taxes = [
        {**rate, "net": str(-Decimal(rate["net"])), "tax": str(-Decimal(rate["tax"]))}
        for rate in said["taxes"]
    ]
    carriage = str(-Decimal(said["carriage"]))
    # what was paid at once goes back with it; for an order, payments stand by themselves
    paid = [{**one, "amount": str(-Decimal(one["amount"]))} for one in said["paid"] if "payment" not in one]
    return {
        **said,
        "day": day.isoformat(),
        "lines": lines,
        "taxes": taxes,
        "carriage": carriage,
        "paid": paid,
    }


def _text(percent: Decimal | None) -> str | None:
    return None if percent is None else f"{percent.normalize():f}"
