"""What lies in the nursery, at what it cost: lot by lot and place by place, so that it can be counted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from ortet.decisions.costs import Form
from ortet.ledger.models import Nursery, Place

from .costs import cost_on
from .years import Year

__all__ = ["Stock", "StockRow", "stock"]


@dataclass(frozen=True, slots=True)
class StockRow:
    """Cuttings or plants of one lot in one place."""

    variety: str
    lot: str
    place: str
    form: Form
    count: int
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Stock:
    """All that was on hand by the end of a day."""

    day: date
    currency: str
    rows: tuple[StockRow, ...]

    @property
    def count(self) -> int:
        """How many cuttings and plants."""
        return sum(row.count for row in self.rows)

    @property
    def cost(self) -> Decimal:
        """What they cost."""
        return sum((row.cost for row in self.rows), Decimal())


def stock(year: Year) -> Stock:
    """Return what was on hand at the end of a year or, where it is not over, of today."""
    nursery = Nursery.get()
    day = min(year.last, nursery.today())
    names = dict(Place.objects.values_list("code", "name"))
    rows = [
        StockRow(heap.variety, heap.lot, names[heap.place], heap.form, heap.count, heap.total)
        for heap in cost_on(day).on_hand
        if heap.count
    ]
    return Stock(
        day,
        nursery.currency,
        tuple(sorted(rows, key=lambda row: (row.variety.casefold(), row.lot, row.place))),
    )
