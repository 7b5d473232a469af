"""What is packed: questions about parcels to the book."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Sum

from .batches import Sale
from .lots import Lot
from .orders import Order, OrderLine
from .places import Kind, Place
from .selling import Packing, Parcel

__all__ = ["Packed", "contents", "lying", "open_parcel", "packed", "sold"]

FEW = 200  # lines that are asked for by their keys; of more, all that was packed or sold is read


@dataclass(frozen=True, slots=True)
class Packed:
    """Cuttings of a lot that were put in a parcel for a line, out of one place."""

    line: OrderLine
    lot: Lot
    count: int
    bag: Place  # where they lay before: a bag, a bench, a standing ground
    at: datetime  # when they were packed, the last of them
    numbers: tuple[int, ...]  # of the movements that packed them


def contents(parcel: Parcel) -> list[Packed]:
    """Return what was put in a parcel and not taken out again, line by line; the same before and after it is sent."""
    rows = (
        Packing.objects.filter(movement__to_place=parcel.place_id, movement__reversed_by=None)
        .select_related("line__order", "line__variety", "movement__lot__variety", "movement__from_place")
        .order_by("line__position", "movement__number")
    )
    groups: dict[tuple[int, int, int], list[Packing]] = {}
    for row in rows:
        groups.setdefault((row.line_id, row.movement.lot_id, row.movement.from_place_id), []).append(row)
    return [
        Packed(
            line=some[0].line,
            lot=some[0].movement.lot,
            count=sum(one.movement.count for one in some),
            bag=some[0].movement.from_place,
            at=max(one.movement.at for one in some),
            numbers=tuple(one.movement.number for one in some),
        )
        for some in groups.values()
    ]


def lying(parcel: Parcel) -> Counter[tuple[int, int]]:
    """Return how many cuttings lie in a parcel now, by line and lot: what was packed less what left with it."""
    held: Counter[tuple[int, int]] = Counter()
    for one in contents(parcel):
        held[one.line.pk, one.lot.pk] += one.count
    gone = Sale.objects.filter(movement__from_place=parcel.place_id, movement__reversed_by=None)
    for line, lot, count in gone.values_list("line", "movement__lot", "movement__count"):
        held[line, lot] -= count
    return +held


def packed(lines: Sequence[OrderLine] | None = None) -> Counter[int]:
    """Return how many cuttings lie packed for each line (of these at least; of all) and were not sent yet, by the line's key."""
    packings = Packing.objects.filter(movement__reversed_by=None).order_by()
    sales = Sale.objects.filter(
        movement__from_place__kind=Kind.PARCEL, movement__reversed_by=None, line__isnull=False
    ).order_by()
    if lines is not None and len(keys := [line.pk for line in lines]) <= FEW:
        packings, sales = packings.filter(line__in=keys), sales.filter(line__in=keys)
    held = Counter(dict(packings.values_list("line").annotate(sum=Sum("movement__count"))))
    held.subtract(dict(sales.values_list("line").annotate(sum=Sum("movement__count"))))
    return +held


def sold(lines: Sequence[OrderLine] | None = None) -> Counter[int]:
    """Return how many cuttings or plants went out for each line (of these at least; of all), by the line's key."""
    sales = Sale.objects.filter(movement__reversed_by=None, line__isnull=False).order_by()
    if lines is not None and len(keys := [line.pk for line in lines]) <= FEW:
        sales = sales.filter(line__in=keys)
    return Counter(dict(sales.values_list("line").annotate(sum=Sum("movement__count"))))


def open_parcel(order: Order) -> Parcel | None:
    """Return the parcel of an order that was begun and not sent yet, if there is one."""
    return order.parcels.filter(sending=None).select_related("place").order_by("-number").first()
