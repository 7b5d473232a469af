"""What is packed: questions about parcels to the book."""

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Sum

from .batches import Sale
from .lots import Lot
from .orders import Order, OrderLine
from .places import Kind, Place
from .selling import Packing, Parcel
from .slices import in_slices

__all__ = ["Packed", "contents", "contents_of", "lying", "open_parcel", "packed", "sold"]

WITH = "line__order", "line__variety", "movement__lot__variety", "movement__from_place"
ONE_BY_ONE = 10  # parcels whose packings are read in one question, each with all that belongs to it
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
    return contents_of([parcel])[parcel.place_id]


def contents_of(parcels: Collection[Parcel]) -> dict[int, list[Packed]]:
    """Return the contents of each of some parcels, by its key."""
    rows = Packing.objects.filter(movement__reversed_by=None).order_by("line__position", "movement__number")
    if len(parcels) > ONE_BY_ONE:  # of many parcels each order, variety, lot and place is read once
        rows = rows.select_related("line", "movement").prefetch_related(*WITH)
    else:
        rows = rows.select_related(*WITH)
    boxes = [one.place_id for one in parcels]
    groups: dict[tuple[int, int, int, int], list[Packing]] = {}
    for row in in_slices(rows, "movement__to_place", boxes):
        moved = row.movement
        groups.setdefault((moved.to_place_id, row.line_id, moved.lot_id, moved.from_place_id), []).append(row)
    found: dict[int, list[Packed]] = {box: [] for box in boxes}
    for (box, *_), some in groups.items():
        found[box].append(
            Packed(
                line=some[0].line,
                lot=some[0].movement.lot,
                count=sum(one.movement.count for one in some),
                bag=some[0].movement.from_place,
                at=max(one.movement.at for one in some),
                numbers=tuple(one.movement.number for one in some),
            )
        )
    return found


def lying(parcel: Parcel) -> Counter[tuple[int, int]]:
    """Return how many cuttings lie in a parcel now, by line and lot: what was packed less what left with it."""
    held: Counter[tuple[int, int]] = Counter()
    for one in contents(parcel):
        held[one.line.pk, one.lot.pk] += one.count
    gone = Sale.objects.filter(movement__from_place=parcel.place_id, movement__reversed_by=None)
    for line, lot, count in gone.values_list("line", "movement__lot", "movement__count"):
        held[line, lot] -= count
    return +held


def packed(lines: Collection[int] | None = None) -> Counter[int]:
    """Return how many cuttings lie packed for each line (of these keys at least; of all) and were not sent yet, by the line's key."""
    packings = Packing.objects.filter(movement__reversed_by=None).order_by()
    sales = Sale.objects.filter(
        movement__from_place__kind=Kind.PARCEL, movement__reversed_by=None, line__isnull=False
    ).order_by()
    if lines is not None and len(lines) <= FEW:
        packings, sales = packings.filter(line__in=lines), sales.filter(line__in=lines)
    held = Counter(dict(packings.values_list("line").annotate(sum=Sum("movement__count"))))
    held.subtract(dict(sales.values_list("line").annotate(sum=Sum("movement__count"))))
    return +held


def sold(lines: Collection[int] | None = None) -> Counter[int]:
    """Return how many cuttings or plants went out for each line (of these keys at least; of all), by the line's key."""
    sales = Sale.objects.filter(movement__reversed_by=None, line__isnull=False).order_by()
    if lines is not None and len(lines) <= FEW:
        sales = sales.filter(line__in=lines)
    return Counter(dict(sales.values_list("line").annotate(sum=Sum("movement__count"))))


def open_parcel(order: Order) -> Parcel | None:
    """Return the parcel of an order that was begun and not sent yet, if there is one."""
    return order.parcels.filter(sending=None).select_related("place").order_by("-number").first()
