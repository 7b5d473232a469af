"""How far a complaint was answered: what was replaced, what was paid back, and what is left to answer."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from ortet.ledger.models import Complaint, Nursery, Order, OrderLine, Payment, Sale
from ortet.ledger.packed import sold
from ortet.ledger.readings import readings_that_count
from ortet.wood.money import unit
from ortet.wood.speech import say

__all__ = ["Answered", "answered"]


@dataclass(frozen=True, slots=True)
class Answered:
    """What answers a complaint so far."""

    asked: int  # cuttings or plants complained of
    replaced: int  # of them by orders that are still wanted or were sent
    orders: tuple[Order, ...]  # those: each replacement is an order of one line
    paid_back: Decimal
    each: Decimal | None  # what one of them cost with its tax; None: nobody said
    carriage: Decimal  # of the order, with its tax
    currency: str

    @property
    def left(self) -> int:
        """How many may still be replaced: what was paid back answers as many whole ones as it is worth."""
        rest = max(0, self.asked - self.replaced)
        if not self.paid_back:
            return rest
        paid = self.paid_back + unit(self.currency) / 2  # what one comes to is rounded before it is paid
        return max(0, rest - int(paid / self.each)) if self.each else 0

    @property
    def most(self) -> Decimal | None:
        """What may still be paid back: the price of what was not replaced and the carriage; None: as no price is known, any."""
        if not self.each:
            return None if self.asked > self.replaced else max(Decimal(), self.carriage - self.paid_back)
        whole = max(0, self.asked - self.replaced) * self.each + self.carriage
        return max(Decimal(), (whole - self.paid_back).quantize(unit(self.currency), ROUND_CEILING))

    @property
    def is_begun(self) -> bool:
        """Whether anything was done about it."""
        return bool(self.orders or self.paid_back)

    def __str__(self) -> str:
        said = [say("replaced by {order}", order=order) for order in self.orders]
        if self.paid_back:
            said.append(say("{paid:.2f} paid back", paid=self.paid_back))
        return ", ".join(said)


def answered(complaint: Complaint) -> Answered:
    """Return what answers a complaint so far, as the book has it."""
    nursery, line = Nursery.get(), complaint.line
    replacing = list(
        OrderLine.objects.filter(order__replaces__complaint=complaint)
        .select_related("order")
        .order_by("order__number")
    )
    gone = sold([line.pk for line in replacing if line.ended_at]) if replacing else {}
    counts = {one.order: gone[one.pk] if one.ended_at else one.count for one in replacing}
    payments = readings_that_count(Payment).filter(complaint=complaint)
    return Answered(
        complaint.count,
        sum(counts.values()),
        tuple(order for order, count in counts.items() if count),
        -sum((one.amount for one in payments), Decimal()),
        _each(line, nursery.tax_percent),
        (line.order.carriage or Decimal()) * _with(nursery.tax_percent),
        nursery.currency,
    )


def _with(percent: Decimal | None) -> Decimal:
    return 1 + (percent or Decimal()) / 100


def _each(line: OrderLine, usual: Decimal | None) -> Decimal | None:
    """Return the dearest that one of a line was sold for, else what the line asks, with tax."""
    sales = Sale.objects.filter(line=line, movement__reversed_by=None).values_list("price", flat=True)
    prices = [price for price in list(sales) or [line.price] if price is not None]
    if not prices:
        return None
    return max(prices) * _with(usual if line.tax_percent is None else line.tax_percent)
