"""Receipts: numbered without gaps, frozen as they were given out, cancelled by another and never changed.

A receipt is for what was sold for an order and stands on no receipt yet, with the carriage on the first. It holds no name and
no address: the paper asks for those when it is set, so that a buyer can be erased and the sums stay.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Max, QuerySet
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, Unknown, created, turn
from ortet.ledger.models import Nursery, Order, Payment, Receipt
from ortet.ledger.slices import in_slices
from ortet.paper.receipt import Paid, ReceiptLine, ReceiptTax
from ortet.wood.money import Rate, rounded, taxed
from ortet.wood.speech import say, to_say
from ortet.work.orders import find_order
from ortet.work.payments import payments_of

from .sold import Sold, sold

__all__ = [
    "ReceiptValues",
    "cancel_receipt",
    "find_receipt",
    "receipt",
    "receipt_values",
    "receipts",
    "standing",
    "standing_sales",
    "unreceipted",
]

CARRIAGE, DEPOSIT = to_say("Carriage"), to_say("deposit")  # as they are kept


@dataclass(frozen=True, slots=True)
class ReceiptValues:
    """What stands on a receipt, as plain values; who it is for is asked of its order."""

    number: int
    day: date
    order: int
    currency: str
    lines: tuple[ReceiptLine, ...]
    taxes: tuple[ReceiptTax, ...]
    paid: tuple[Paid, ...]  # by the day of the receipt
    carriage: Decimal
    sales: tuple[int, ...]  # the movements it is for
    tax_number: str
    title: str
    facts: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    cancels: int | None = None
    cancelled_by: int | None = None

    @property
    def rates(self) -> list[Rate]:
        """Net and tax by rate."""
        return [Rate(one.percent, one.net, one.tax) for one in self.taxes]

    @property
    def net(self) -> Decimal:
        """All lines, without tax."""
        return sum((rate.net for rate in self.taxes), Decimal())

    @property
    def tax(self) -> Decimal:
        """All tax."""
        return sum((rate.tax for rate in self.taxes), Decimal())

    @property
    def gross(self) -> Decimal:
        """What is to be paid for it."""
        return self.net + self.tax


def find_receipt(number: int) -> Receipt:
    """Return a receipt by its number.

    Raises
    ------
    Unknown
        If there is none.
    """
    if found := _rows().filter(number=number).first():
        return found
    raise Unknown(say("There is no receipt {number}. Nothing was booked.", number=number))


def _rows() -> QuerySet[Receipt]:
    return Receipt.objects.select_related("order__buyer", "cancels", "cancelled_by").order_by("number")


def receipts() -> list[ReceiptValues]:
    """Return all receipts by number."""
    return [_values(row) for row in _rows()]


def standing(orders: Sequence[Order]) -> list[ReceiptValues]:
    """Return the receipts of orders that were not cancelled."""
    rows = in_slices(_stand(), "order", [order.pk for order in orders])
    return [_values(row) for row in rows]


def _stand() -> QuerySet[Receipt]:
    return _rows().filter(cancels=None, cancelled_by=None)


def receipt_values(number: int) -> ReceiptValues:
    """Return what stands on a receipt.

    Raises
    ------
    Unknown
        If there is none of that number.
    """
    return _values(find_receipt(number))


def standing_sales() -> set[int]:
    """Return the numbers of the movements that stand on a receipt which was not cancelled."""
    return {number for said in _stand().values_list("said", flat=True) for number in said["sales"]}


def unreceipted() -> dict[int, Decimal]:
    """Return what was sold for each order and stands on no receipt yet, without tax; what goes without money is not among it."""
    done = standing_sales()
    found: dict[int, Decimal] = defaultdict(Decimal)
    for one in sold():
        if one.order is not None and one.movement not in done and not one.is_free:
            found[one.order] += one.net
    return dict(found)


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
        if not its:
            raise Refused(
                say(
                    "Nothing that was sold for order {order} by {day} lacks a receipt. Send or sell it first. Nothing was booked.",
                    order=order,
                    day=day,
                )
            )
        if all(one.is_free for one in its):
            raise Refused(
                say("Order {order} makes a complaint good, without money. Nothing was booked.", order=order)
            )
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
        said = _said(what, its, day)
        return created(
            Receipt, id=id or uuid7(), number=_next_number(), order=what, said=said, by=by, at=at, note=note
        )


def _said(order: Order, its: Sequence[Sold], day: date) -> dict[str, Any]:
    """Return a receipt's frozen words: sums as decimal text."""
    nursery = Nursery.get()
    before = standing([order])
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
    carriage = Decimal()
    if order.carriage and not any(one.carriage for one in before):
        carriage = order.carriage
        lines.append(
            {"what": CARRIAGE, "note": "", "net": str(carriage), "percent": _text(nursery.tax_percent)}
        )
    notes = {_text(one.percent): one.tax_note for one in its if one.tax_note}
    # all receipts of the order together come to the tax on their sum
    new = [(Decimal(line["net"]), _percent(line["percent"])) for line in lines]
    taxes = taxed(new, nursery.currency, [rate for one in before for rate in one.rates])
    gross = sum((rate.net + rate.tax for rate in taxes), Decimal())
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
        "paid": _paid(order, day, gross),
    }


def _grouped(its: Sequence[Sold]) -> dict[tuple[str, Decimal, Decimal | None, str], int]:
    counts: dict[tuple[str, Decimal, Decimal | None, str], int] = defaultdict(int)
    for one in its:
        note = f"order {one.order}/{one.line}" + (f", {one.tax_note}" if one.tax_note else "")
        counts[one.variety, one.price or Decimal(), one.percent, note] += one.count
    return counts


def _paid(order: Order, day: date, gross: Decimal) -> list[dict[str, str]]:
    """Return what was paid towards a receipt: payments in their order, as far as no other receipt that stands has them.

    What was paid back comes off the latest of them; what is more than the receipt asks is left to the next.
    """
    used: dict[str, Decimal] = defaultdict(Decimal)
    for row in _stand().filter(order=order):
        for one in row.said["paid"]:
            used[one["payment"]] += Decimal(one["amount"])
    payments = [one for one in payments_of(order) if one.on <= day]
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
    return {
        **said,
        "day": day.isoformat(),
        "lines": lines,
        "taxes": taxes,
        "carriage": carriage,
        "paid": [],
    }


def _text(percent: Decimal | None) -> str | None:
    return None if percent is None else f"{percent.normalize():f}"


def _percent(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


def _how(kept: str) -> str:
    """Say how something was paid: what is the grower's own word of it stays."""
    return say(DEPOSIT) + kept.removeprefix(DEPOSIT) if kept.startswith(DEPOSIT) else kept


def _values(row: Receipt) -> ReceiptValues:
    said, cancels = row.said, row.cancels.number if row.cancels else None
    later = getattr(row, "cancelled_by", None)
    facts = [(say("Order"), str(row.order.number))]
    if said["tax_number"]:
        facts.append((say("Tax number"), said["tax_number"]))
    notes = (
        [say("This cancels receipt {cancels}: {note}", cancels=cancels, note=row.note)]
        if cancels
        else [row.note]
        if row.note
        else []
    )
    if later:
        notes.append(say("Cancelled by receipt {number}.", number=later.number))
    return ReceiptValues(
        number=row.number,
        day=date.fromisoformat(said["day"]),
        order=row.order.number,
        currency=said["currency"],
        lines=tuple(
            ReceiptLine(
                what=line["what"] if "count" in line else say(line["what"]),
                net=Decimal(line["net"]),
                percent=_percent(line["percent"]),
                count=line.get("count"),
                each=Decimal(line["each"]) if "each" in line else None,
                note=line["note"],
            )
            for line in said["lines"]
        ),
        taxes=tuple(
            ReceiptTax(_percent(rate["percent"]), Decimal(rate["net"]), Decimal(rate["tax"]), rate["note"])
            for rate in said["taxes"]
        ),
        paid=tuple(Paid(one["day"], Decimal(one["amount"]), _how(one["how"])) for one in said["paid"]),
        carriage=Decimal(said["carriage"]),
        sales=tuple(said["sales"]),
        tax_number=said["tax_number"],
        title=say("Cancelled receipt") if cancels else say("Receipt"),
        facts=tuple(facts),
        notes=tuple(notes),
        cancels=cancels,
        cancelled_by=later.number if later else None,
    )
