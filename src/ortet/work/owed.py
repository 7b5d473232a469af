"""What is owed for an order: a pure sum over its lines, carriage, tax and payments, and the same read from the book.

What stands on a receipt counts as it stands there, whatever rate is usual since. What else was sold counts at the price it was
sold for, what is still wanted at the line's price. Each line's net is rounded to the currency's smallest unit, halves away from
nothing; tax is reckoned once for each rate, on the sum under it, as receipts do it. Money that went back for a complaint is not
owed again: it makes something good, and stands apart from what was paid for the order.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from ortet.ledger.models import Nursery, Order, OrderLine, Payment, Replacement, Sale
from ortet.ledger.readings import readings_that_count
from ortet.ledger.slices import in_slices
from ortet.wood.money import Rate, rounded, taxed, together

from .books.receipts import ReceiptValues, standing

__all__ = ["Part", "Sums", "add_up", "sums", "sums_of"]


@dataclass(frozen=True, slots=True)
class Part:
    """So many at a price, under a rate of tax."""

    count: int
    price: Decimal | None  # of one, without tax; None: nobody said
    percent: Decimal | None  # of tax; None: none is charged


@dataclass(frozen=True, slots=True)
class Sums:
    """What an order comes to, in the nursery's currency."""

    net: Decimal
    tax: Decimal
    gross: Decimal
    paid: Decimal  # less what went back, but for what went back to make a complaint good
    owed: Decimal  # below nothing: more was paid than is due
    unpriced: int = 0  # cuttings that nobody gave a price

    @property
    def over(self) -> Decimal:
        """What was paid beyond what is due."""
        return max(Decimal(), -self.owed)


def add_up(
    parts: Iterable[Part],
    carriage: tuple[Decimal, Decimal | None],
    paid: Decimal,
    currency: str,
    on_receipts: Sequence[Rate] = (),
) -> Sums:
    """Return what parts, carriage (with its rate of tax) and payments come to.

    Parameters
    ----------
    parts
        Lines as they are reckoned: each is rounded by itself.
    carriage
        What the buyer pays for posting, and the per cent of tax on it.
    on_receipts
        What stands on receipts and is therefore in neither of these.
    """
    parts = list(parts)
    nets = [(rounded(one.count * one.price, currency), one.percent) for one in parts if one.price is not None]
    rates = [*on_receipts, *taxed([*nets, carriage], currency, on_receipts)]
    net = sum((rate.net for rate in rates), Decimal())
    tax = sum((rate.tax for rate in rates), Decimal())
    bare = sum(one.count for one in parts if one.price is None)
    return Sums(net, tax, net + tax, paid, net + tax - paid, bare)


def sums(order: Order) -> Sums:
    """Return what an order comes to, and what of it is owed; nothing for a swap."""
    return sums_of([order])[order.pk]


def sums_of(orders: Sequence[Order]) -> dict[object, Sums]:
    """Return what orders come to, by their keys; one read of the book for all of them."""
    nursery = Nursery.get()
    keys = [order.pk for order in orders]
    free = set(
        Replacement.objects.values_list("order", flat=True)
    )  # what makes a complaint good has no price
    lines: dict[object, list[OrderLine]] = defaultdict(list)
    every = OrderLine.objects.select_related("variety").order_by("position")
    for line in in_slices(every, "order", keys):
        lines[line.order_id].append(line)
    sold: dict[object, list[_Gone]] = defaultdict(list)
    gone = Sale.objects.filter(movement__reversed_by=None).order_by("movement__number")
    rows = gone.values_list(
        "line__order", "line", "price", "movement__lot__variety__name", "movement__count", "movement__number"
    )
    for key, *row in in_slices(rows, "line__order", keys):
        sold[key].append(_Gone(*row))
    on_paper = _on_paper(orders, {one.movement for its in sold.values() for one in its})
    paid: dict[object, Decimal] = defaultdict(Decimal)
    payments = readings_that_count(Payment).filter(complaint=None).values_list("order", "amount")
    for key, amount in in_slices(payments, "order", keys):
        paid[key] += amount
    found: dict[object, Sums] = {}
    for order in orders:
        papers = on_paper[order.number]
        done = {number for one in papers for number in one.sales}
        asked = [] if order.is_swap else _parts(lines[order.pk], sold[order.pk], done, nursery.tax_percent)
        if order.pk in free:
            asked = [replace(part, price=part.price or Decimal()) for part in asked]
        is_charged = (asked or papers) and not any(one.carriage for one in papers)
        carriage = order.carriage if is_charged and order.carriage else Decimal()
        rate = nursery.tax_percent if carriage else None
        said = together(rate for one in papers for rate in one.rates)
        found[order.pk] = add_up(asked, (carriage, rate), paid[order.pk], nursery.currency, said)
    return found


@dataclass(frozen=True, slots=True)
class _Gone:
    """A sale that stands."""

    line: int
    price: Decimal | None
    variety: str
    count: int
    movement: int


def _on_paper(orders: Sequence[Order], standing_sales: set[int]) -> dict[int, list[ReceiptValues]]:
    """Return by order's number the receipts that count: not cancelled, and nothing on them was taken back since."""
    found: dict[int, list[ReceiptValues]] = defaultdict(list)
    for one in standing(orders):
        if one.order is not None and standing_sales.issuperset(one.sales):
            found[one.order].append(one)
    return found


def _parts(
    lines: Sequence[OrderLine], sold: Sequence[_Gone], done: set[int], usual: Decimal | None
) -> list[Part]:
    """Return what was sold of each line and stands on no receipt, at its price, and what is still wanted at the line's."""
    parts = []
    for line in lines:
        percent = usual if line.tax_percent is None else line.tax_percent
        its = [one for one in sold if one.line == line.pk]
        counts: dict[tuple[Decimal | None, str], int] = defaultdict(int)
        for one in its:
            if one.movement not in done:
                counts[one.price, one.variety] += one.count
        left = 0 if line.ended_at else max(0, line.count - sum(one.count for one in its))
        if left:
            counts[line.price, line.variety.name] += left
        parts += [Part(count, price, percent) for (price, _), count in counts.items()]
    return parts
