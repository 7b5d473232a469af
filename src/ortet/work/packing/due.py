"""What is to be packed, sent and answered for, as plain values for Today."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Min

from ortet.decisions.outgoing import Open, ToAnswer, ToPack
from ortet.ledger.models import Nursery, Order, OrderLine, Packing, Parcel, PlanKind
from ortet.ledger.packed import contents, lying, packed, sold
from ortet.work.plan.desk import latest

from .after import open_complaints

__all__ = ["to_answer", "to_pack", "to_send"]


def _day(at: datetime) -> date:
    return at.astimezone(Nursery.get().tz).date()


def _posted_on() -> dict[object, date | None]:
    """Return the day on which the plan that counts posts each order."""
    plan = latest(PlanKind.POST)
    return dict(plan.postings.order_by("-day").values_list("order", "day")) if plan else {}


@dataclass(slots=True)
class _Order:
    """What an order still lacks, summed over its open lines."""

    number: int
    buyer: str
    first_day: date
    last_day: date
    lacks: int = 0
    packed: int = 0


def _lacking(today: date) -> dict[object, _Order]:
    """Return the orders of which something is wanted on a day and not packed yet, by their keys.

    Read as plain rows: thousands of lines as objects would cost more than all the rest of Today.
    """
    held, gone = packed(), sold()
    rows = OrderLine.objects.filter(ended_at=None, first_day__lte=today, last_day__gte=today).order_by()
    found: dict[object, _Order] = {}
    for line, order, number, buyer, count, first, last in rows.values_list(
        "pk", "order", "order__number", "order__buyer__name", "count", "first_day", "last_day"
    ):
        lacks = count - held[line] - gone[line]
        one = found.setdefault(order, _Order(number, buyer, first, last))
        one.packed += held[line]
        if lacks > 0:
            one.last_day = min(one.last_day, last) if one.lacks else last
            one.lacks += lacks
    return {order: one for order, one in found.items() if one.lacks}


def to_pack(today: date) -> Iterator[ToPack]:
    """Yield the orders of which something is wanted on this day, and which no plan posts."""
    planned = _posted_on()
    for order, one in _lacking(today).items():
        if order not in planned:
            yield ToPack(one.number, one.buyer, one.lacks, one.packed, (), one.last_day)


def _left(order: Order) -> int:
    """Return how many cuttings of an order are still to be picked."""
    lines = list(order.lines.filter(ended_at=None))
    keys = [line.pk for line in lines]
    done = packed(keys) + sold(keys)
    return sum(max(0, line.count - done[line.pk]) for line in lines)


def to_send() -> Iterator[Open]:
    """Yield the parcels in which something lies and that were not sent yet."""
    planned = _posted_on()
    for parcel in Parcel.objects.filter(sending=None).select_related("order__buyer", "place"):
        held = lying(parcel)
        if not held:
            continue
        inside = contents(parcel)
        first = Packing.objects.filter(movement__to_place=parcel.place_id, movement__reversed_by=None)
        yield Open(
            parcel=parcel.number,
            order=parcel.order.number,
            buyer=parcel.order.buyer.name,
            count=sum(held.values()),
            left=_left(parcel.order),
            lots=tuple(dict.fromkeys(one.lot.code for one in inside)),
            since=_day(first.aggregate(first=Min("movement__at"))["first"]),
            post_on=planned.get(parcel.order_id),
            last_day=min(one.line.last_day for one in inside),
        )


def to_answer() -> Iterator[ToAnswer]:
    """Yield the complaints that are not answered yet."""
    for one in open_complaints():
        yield ToAnswer(
            order=one.line.order.number,
            line=str(one.line),
            buyer=one.line.order.buyer.name,
            variety=one.line.variety.name,
            count=one.count,
            what=one.get_what_display(),
            since=_day(one.at),
        )
