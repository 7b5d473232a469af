"""Receipts as they were given out, read back, and what stands on none yet. How they are given: giving.py.

A receipt holds no name and no address: the paper asks for those when it is set, so that a buyer can be erased and the sums stay.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet

from ortet.ledger.booking import Unknown
from ortet.ledger.models import Buyer, Order, Receipt
from ortet.ledger.slices import in_slices
from ortet.paper.receipt import Paid, ReceiptLine, ReceiptTax
from ortet.wood.money import Rate
from ortet.wood.speech import say, to_say

from .sold import Sold, sold

__all__ = [
    "ReceiptValues",
    "Waiting",
    "carriage_left",
    "find_receipt",
    "percent_of",
    "receipt_values",
    "receipts",
    "receipts_by_sale",
    "standing",
    "standing_sales",
    "unreceipted",
    "unreceipted_sales",
]

CARRIAGE, DEPOSIT = to_say("Carriage"), to_say("deposit")  # as they are kept


@dataclass(frozen=True, slots=True)
class ReceiptValues:
    """What stands on a receipt, as plain values; who it is for is asked of the book."""

    number: int
    day: date
    order: int | None  # None: what was sold without one
    buyer: int  # by which the book knows whom it is for
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
    rows = Receipt.objects.select_related("order__buyer", "buyer", "cancels", "cancelled_by")
    return rows.order_by("number")


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
    return set(receipts_by_sale())


def receipts_by_sale() -> dict[int, int]:
    """Return the receipt, not cancelled, on which each movement stands that stands on one."""
    return {sale: number for number, said in _stand().values_list("number", "said") for sale in said["sales"]}


def unreceipted() -> dict[int, Decimal]:
    """Return what was sold for each order and stands on no receipt yet, without tax.

    What goes without money is not among it, unless posting it was charged.
    """
    done = standing_sales()
    found: dict[int, Decimal] = defaultdict(Decimal)
    free: set[int] = set()
    for one in sold():
        if one.order is not None and one.movement not in done:
            if one.is_free:
                free.add(one.order)
            else:
                found[one.order] += one.net
    charged = Order.objects.filter(carriage__gt=0, replaces__isnull=False).only("number", "carriage")
    for order in charged:
        if order.number in free and order.number not in found and (left := carriage_left(order)):
            found[order.number] = left
    return dict(found)


def carriage_left(order: Order) -> Decimal:
    """Return the carriage of an order that stands on no receipt yet."""
    if not order.carriage or any(one.carriage for one in standing([order])):
        return Decimal()
    return order.carriage


@dataclass(frozen=True, slots=True)
class Waiting:
    """What a buyer took on a day without an order, and stands on no receipt."""

    buyer: str
    day: date
    sales: tuple[int, ...]  # the movements
    net: Decimal


def unreceipted_sales(first: date, last: date) -> list[Waiting]:
    """Return what was sold without an order between two days, at a price, and stands on no receipt; the latest first."""
    done = standing_sales()
    of: dict[tuple[date, int], list[Sold]] = defaultdict(list)
    for one in sold():
        if one.order is None and one.price and first <= one.day <= last and one.movement not in done:
            of[one.day, one.buyer].append(one)
    buyers = Buyer.objects.filter(erased_at=None).in_bulk({buyer for _, buyer in of})
    return [
        Waiting(
            buyers[buyer].name,
            day,
            tuple(one.movement for one in its),
            sum((one.net for one in its), Decimal()),
        )
        for (day, buyer), its in sorted(of.items(), reverse=True)
        if buyer in buyers
    ]


def percent_of(text: str | None) -> Decimal | None:
    """Return a rate of tax as it was kept."""
    return None if text is None else Decimal(text)


def _how(kept: str) -> str:
    """Say how something was paid: what is the grower's own word of it stays."""
    return say(DEPOSIT) + kept.removeprefix(DEPOSIT) if kept.startswith(DEPOSIT) else kept


def _values(row: Receipt) -> ReceiptValues:
    said, cancels = row.said, row.cancels.number if row.cancels else None
    later = getattr(row, "cancelled_by", None)
    facts = (
        [(say("Order"), str(row.order.number))]
        if row.order
        else [(say("Movement"), ", ".join(map(str, said["sales"])))]
    )
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
        order=row.order.number if row.order else None,
        buyer=row.whose.pk,
        currency=said["currency"],
        lines=tuple(
            ReceiptLine(
                what=line["what"] if "count" in line else say(line["what"]),
                net=Decimal(line["net"]),
                percent=percent_of(line["percent"]),
                count=line.get("count"),
                each=Decimal(line["each"]) if "each" in line else None,
                note=line["note"],
            )
            for line in said["lines"]
        ),
        taxes=tuple(
            ReceiptTax(percent_of(rate["percent"]), Decimal(rate["net"]), Decimal(rate["tax"]), rate["note"])
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
