"""Every sale with its price and its rate of tax."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import timezone

from ortet.ledger.models import Movement, Nursery, Replacement, Sale
from ortet.wood.money import rounded

__all__ = ["Sold", "sold"]


@dataclass(frozen=True, slots=True)
class Sold:
    """Cuttings or plants that went to a buyer, and have not come back."""

    movement: int
    day: date
    lot: str
    variety: str
    count: int
    price: Decimal | None  # of one, without tax; None: nobody said
    net: Decimal
    percent: Decimal | None  # of tax; None: none is charged
    buyer: int  # by which the book knows who has them
    tax_note: str = ""
    order: int | None = None
    line: int | None = None
    is_free: bool = False  # a swap, or what makes a complaint good
    taken_back: date | None = None  # the day on which the movement was corrected


def sold(*, with_taken_back: bool = False, order: int | None = None) -> list[Sold]:
    """Return every sale in the order in which they were booked.

    Parameters
    ----------
    with_taken_back : bool
        Whether sales whose movement was corrected are among them.
    order : int, optional
        Only what went for this order.
    """
    nursery = Nursery.get()
    rows = Sale.objects.select_related("movement__lot__variety", "line__order").order_by("movement__number")
    if order is not None:
        rows = rows.filter(line__order__number=order)
    back = dict(Movement.objects.filter(reverses__sale__isnull=False).values_list("reverses__number", "at"))
    made_good = set(Replacement.objects.values_list("order", flat=True))
    found = []
    for row in rows:
        moved, line = row.movement, row.line
        if (taken_back := back.get(moved.number)) and not with_taken_back:
            continue
        free = bool(line and (line.order.is_swap or (row.price is None and line.order_id in made_good)))
        price = Decimal() if free else row.price
        percent = nursery.tax_percent if line is None or line.tax_percent is None else line.tax_percent
        found.append(
            Sold(
                movement=moved.number,
                day=timezone.localdate(moved.at),
                lot=moved.lot.code,
                variety=moved.lot.variety.name,
                count=moved.count,
                price=price,
                net=rounded(moved.count * (price or Decimal()), nursery.currency),
                percent=None if free else percent,
                buyer=row.buyer_id,
                tax_note=line.tax_note if line else "",
                order=line.order.number if line else None,
                line=line.position if line else None,
                is_free=free,
                taken_back=timezone.localdate(taken_back) if taken_back else None,
            )
        )
    return found
