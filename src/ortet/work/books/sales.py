"""What was sold and what is charged beside it, by season or tax year, with its tax kept apart by rate."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from ortet.ledger.models import Expense, Nursery, Outlay, Payment
from ortet.wood.money import Rate, taxed, together

from .receipts import receipts, standing_sales
from .sold import Sold, sold
from .years import Year

__all__ = ["VarietySales", "YearSales", "sales"]


@dataclass(frozen=True, slots=True)
class VarietySales:
    """What was sold of one variety."""

    variety: str
    count: int
    net: Decimal
    given: int  # of them without money: swaps, and what makes a complaint good
    unpriced: int  # of them without a price


@dataclass(frozen=True, slots=True)
class YearSales:
    """What a year or season brought in and what it cost in fees and the like."""

    year: Year
    currency: str
    varieties: tuple[VarietySales, ...]
    carriage: Decimal  # charged on receipts of these days, without tax
    on_receipts: tuple[Rate, ...]  # tax apart by rate, cancelled receipts taken off
    without_receipt: tuple[Rate, ...]  # sold and on no receipt yet, as a receipt would have it
    paid: Decimal  # came in, less what went back
    deposits: Decimal  # of it before anything was sent
    spent: tuple[tuple[str, Decimal, Decimal], ...]  # kind, net and tax of what was spent

    @property
    def net(self) -> Decimal:
        """What the sales come to, without tax and carriage."""
        return sum((row.net for row in self.varieties), Decimal())

    @property
    def charged(self) -> Decimal:
        """Sales and carriage, without tax."""
        return self.net + self.carriage

    @property
    def count(self) -> int:
        """Cuttings and plants sold."""
        return sum(row.count for row in self.varieties)


def sales(year: Year) -> YearSales:
    """Return what was sold, charged, paid and spent in a tax year or a season."""
    nursery = Nursery.get()
    its = [one for one in sold() if one.day in year]
    said = [one for one in receipts() if one.day in year]
    receipted = standing_sales()
    bare = [(one.net, one.percent) for one in its if one.movement not in receipted and not one.is_free]
    at_once = [part.amount for one in said if one.order is None for part in one.paid]
    payments = list(Payment.objects.filter(on__gte=year.first, on__lte=year.last))
    return YearSales(
        year=year,
        currency=nursery.currency,
        varieties=tuple(_by_variety(its)),
        carriage=sum((one.carriage for one in said), Decimal()),
        on_receipts=tuple(together(rate for one in said for rate in one.rates)),
        without_receipt=tuple(taxed(bare, nursery.currency)),
        paid=sum((*(one.amount for one in payments), *at_once), Decimal()),
        deposits=sum((one.amount for one in payments if one.is_deposit), Decimal()),
        spent=tuple(_spent_on(year)),
    )


def _by_variety(its: Sequence[Sold]) -> list[VarietySales]:
    of: dict[str, list[Sold]] = defaultdict(list)
    for one in its:
        of[one.variety].append(one)
    return [
        VarietySales(
            variety,
            sum(one.count for one in rows),
            sum((one.net for one in rows), Decimal()),
            sum(one.count for one in rows if one.is_free),
            sum(one.count for one in rows if one.price is None),
        )
        for variety, rows in sorted(of.items(), key=lambda item: item[0].casefold())
    ]


def _spent_on(year: Year) -> list[tuple[str, Decimal, Decimal]]:
    """Return for each kind of expense its net and its tax in a year; what was reversed takes itself off."""
    nets: dict[str, list[Decimal]] = defaultdict(lambda: [Decimal(), Decimal()])
    for bill in Expense.objects.filter(on__gte=year.first, on__lte=year.last):
        nets[bill.outlay][0] += bill.net
        nets[bill.outlay][1] += bill.tax
    return [
        (str(Outlay(kind).label), nets[kind][0], nets[kind][1]) for kind in Outlay.values if any(nets[kind])
    ]
