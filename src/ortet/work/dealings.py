"""What passed between a buyer and the nursery, and what still stands between them."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Max, QuerySet
from django.utils import timezone

from ortet.ledger.booking import Unknown
from ortet.ledger.models import (
    Arrival,
    Buyer,
    Complaint,
    Movement,
    Order,
    OrderLine,
    Payment,
    Receipt,
    Sale,
    StrikeReport,
)
from ortet.ledger.packed import packed, sold
from ortet.wood.speech import say

from .books.receipts import receipts_by_sale
from .owed import Sums, sums_of
from .packing.after import open_complaints

__all__ = ["BuyerView", "Dealt", "dealt_with", "view"]


@dataclass(frozen=True, slots=True)
class Dealt:
    """What stands between the nursery and a buyer."""

    orders: int
    open: int  # orders of which a line is still wanted and not filled
    owed: Decimal  # over all orders; below nothing: more was paid than is due
    unsettled: int  # orders that are not paid to the cent
    packed: int  # cuttings that lie in a parcel for them
    complaints: int  # that are not answered
    last: date | None  # the day on which something last passed between them


def _last_days(keys: Sequence[int]) -> dict[int, date]:
    """Return the last day on which something was ordered, sold, paid or told, by the buyer's key."""
    asked: tuple[tuple[QuerySet[Any], str, str], ...] = (
        (Order.objects.all(), "buyer", "at"),
        (Sale.objects.all(), "buyer", "movement__at"),
        (Payment.objects.all(), "order__buyer", "at"),
        (Receipt.objects.all(), "order__buyer", "at"),
        (Receipt.objects.filter(order=None), "buyer", "at"),
        (Complaint.objects.all(), "line__order__buyer", "at"),
        (Arrival.objects.all(), "parcel__order__buyer", "at"),
        (StrikeReport.objects.all(), "movement__sale__buyer", "at"),
    )
    last: dict[int, datetime] = {}
    for rows, whose, when in asked:
        found = rows.order_by().filter(**{f"{whose}__in": keys}).values_list(whose).annotate(last=Max(when))
        for key, at in found:
            last[key] = max(at, last.get(key, at))
    return {key: timezone.localdate(at) for key, at in last.items()}


def dealt_with(buyers: Sequence[Buyer]) -> dict[int, Dealt]:
    """Return what stands between the nursery and buyers, by their keys."""
    keys = [who.pk for who in buyers]
    orders = list(Order.objects.filter(buyer__in=keys))
    lines = list(OrderLine.objects.filter(order__buyer__in=keys).select_related("order"))
    of_these = [line.pk for line in lines]
    gone, held, boxed = sold(of_these), packed(of_these), Counter(dict.fromkeys(keys, 0))
    for line in lines:
        boxed[line.order.buyer_id] += held[line.pk]
    wanting = {line.order_id for line in lines if not line.ended_at and line.count > gone[line.pk]}
    open_now = open_complaints().filter(line__order__buyer__in=keys)
    unanswered = Counter(open_now.values_list("line__order__buyer", flat=True))
    owed = sums_of(orders)
    of: dict[int, list[Order]] = defaultdict(list)
    for order in orders:
        of[order.buyer_id].append(order)
    last = _last_days(keys)
    return {
        key: Dealt(
            len(of[key]),
            sum(order.pk in wanting for order in of[key]),
            sum((owed[order.pk].owed for order in of[key]), Decimal()),
            sum(owed[order.pk].owed != 0 for order in of[key]),
            boxed[key],
            unanswered[key],
            last.get(key),
        )
        for key in keys
    }


@dataclass(frozen=True, slots=True)
class BuyerView:
    """A buyer whole."""

    buyer: Buyer
    dealt: Dealt
    orders: Sequence[tuple[Order, Sums]]  # the latest first
    sales: Sequence[tuple[Movement, int | None]]  # what went to the buyer, and its receipt; the latest first


def view(buyer: int) -> BuyerView:
    """Return a buyer whole, by number.

    Raises
    ------
    Unknown
        If there is none.
    """
    if (who := Buyer.objects.filter(pk=buyer).first()) is None:
        raise Unknown(say("There is no buyer {buyer}.", buyer=buyer))
    orders = list(who.orders.order_by("-number").prefetch_related("lines__variety"))
    owed = sums_of(orders)
    gone = Movement.objects.filter(sale__buyer=who, reversed_by=None)
    sales = gone.select_related("lot__variety", "sale__line__order").order_by("-number")
    on = receipts_by_sale()
    return BuyerView(
        who,
        dealt_with([who])[who.pk],
        [(one, owed[one.pk]) for one in orders],
        [(one, on.get(one.number)) for one in sales],
    )
