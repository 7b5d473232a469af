"""What is to be packed, sent and answered for, as plain values for Today."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime

from django.db.models import Min

from ortet.decisions.outgoing import Open, ToAnswer, ToPack
from ortet.ledger.models import Nursery, OrderLine, Packing, Parcel, PlanKind
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


def _left() -> dict[object, list[tuple[OrderLine, int]]]:
    """Return the lines of each order that lack something yet, with how much."""
    lines = list(OrderLine.objects.filter(ended_at=None).select_related("order__buyer"))
    held, gone = packed(), sold()
    left: dict[object, list[tuple[OrderLine, int]]] = defaultdict(list)
    for line in lines:
        if (lacks := line.count - held[line.pk] - gone[line.pk]) > 0:
            left[line.order_id].append((line, lacks))
    return left


def to_pack(today: date) -> Iterator[ToPack]:
    """Yield the orders of which something is wanted from today on, and which no plan posts."""
    planned, held = _posted_on(), packed()
    for order, lacking in _left().items():
        open_now = [(line, lacks) for line, lacks in lacking if line.first_day <= today <= line.last_day]
        if not open_now or order in planned:
            continue
        first = open_now[0][0].order
        yield ToPack(
            order=first.number,
            buyer=first.buyer.name,
            count=sum(lacks for _, lacks in open_now),
            packed=sum(held[line.pk] for line in first.lines.all()),
            lots=(),
            last_day=min(line.last_day for line, _ in open_now),
        )


def to_send() -> Iterator[Open]:
    """Yield the parcels in which something lies and that were not sent yet."""
    planned, left = _posted_on(), _left()
    for parcel in Parcel.objects.filter(sending=None).select_related("order__buyer", "place"):
        held = lying(parcel)
        if not held:
            continue
        inside = contents(parcel)
        since = Packing.objects.filter(
            movement__to_place=parcel.place_id, movement__reversed_by=None
        ).aggregate(first=Min("movement__at"))["first"]
        yield Open(
            parcel=parcel.number,
            order=parcel.order.number,
            buyer=parcel.order.buyer.name,
            count=sum(held.values()),
            left=sum(lacks for _, lacks in left.get(parcel.order_id, [])),
            lots=tuple(dict.fromkeys(one.lot.code for one in inside)),
            since=_day(since),
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
