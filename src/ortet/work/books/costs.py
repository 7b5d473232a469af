"""What one saleable plant of each variety cost, as far as the book knows it on a day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from ortet.decisions.costs import PARTS, Charge, Form, Heap, Part, Reckoned, Stage, reckon
from ortet.ledger.models import Expense, Nursery, Outlay, Sale, Why
from ortet.wood.speech import say

from .account import Booked, Stay, booked_until, stays
from .spending import minutes_on
from .years import Year, season_of_day

__all__ = ["CostRow", "Costs", "cost_on", "costs"]

WEEK = Decimal(7)
HOUR = Decimal(60)


@dataclass(frozen=True, slots=True)
class CostRow:
    """Cuttings or plants of one variety, sold in the year or on hand at its end, and what they cost."""

    variety: str
    form: Form
    sold: int
    on_hand: int
    parts: Mapping[Part, Decimal]
    bench_weeks: Decimal = Decimal()  # of the whole variety: weeks on the bench times cuttings

    @property
    def count(self) -> int:
        """How many there are of them, sold and on hand."""
        return self.sold + self.on_hand

    @property
    def total(self) -> Decimal:
        """What they cost together."""
        return sum(self.parts.values(), Decimal())

    @property
    def each(self) -> Decimal | None:
        """What one costs, not rounded; None where there is none."""
        return self.total / self.count if self.count else None


@dataclass(frozen=True, slots=True)
class Costs:
    """All that was spent by the end of a year or by today, and who carries it."""

    year: Year
    until: date
    currency: str
    rows: tuple[CostRow, ...]
    dead: Mapping[str, Decimal]  # by variety: of what all died, so that none lived to carry it
    sold_before: Decimal  # carried by what was sold before the year
    unplaced: Decimal  # spent, and nothing was handled that could bear it
    left_out: Decimal  # wages paid, where labour is reckoned by the minutes
    spent: Mapping[Part, Decimal]
    minutes: Mapping[str, tuple[Decimal, bool]]  # of a hundred, by deed, and whether the grower noted them
    unknown: tuple[str, ...]

    @property
    def total(self) -> Decimal:
        """All that was spent or reckoned, wages left out apart."""
        return sum(self.spent.values(), Decimal())

    @property
    def of_rows(self) -> Decimal:
        """What the rows carry together."""
        return sum((row.total for row in self.rows), Decimal())


def cost_on(day: date) -> Reckoned:
    """Return what was on hand, sold and dead by the end of a day, each with its cost."""
    return _asked(day)[0]


def costs(year: Year) -> Costs:
    """Return what each variety cost: of what was sold in a year and what is on hand at its end, or today."""
    until = min(year.last, Nursery.get().today())
    found, said = _asked(until)
    weeks: dict[str, Decimal] = defaultdict(Decimal)
    of_number = {one.flow.number: one.flow.variety for one in said.booked}
    for stay in said.stays:
        weeks[of_number[stay.struck]] += stay.cutting_days / WEEK
    before = [heap for heap in found.sold if heap.day and heap.day < year.first]
    return Costs(
        year=year,
        until=until,
        currency=Nursery.get().currency,
        rows=tuple(_rows(found, year, weeks)),
        dead={variety: sum(cost.values(), Decimal()) for variety, cost in sorted(found.dead.items())},
        sold_before=sum((heap.total for heap in before), Decimal()),
        unplaced=sum(found.unplaced.values(), Decimal()),
        left_out=said.left_out,
        spent=found.spent,
        minutes=said.minutes,
        unknown=tuple(said.unknown),
    )


def _rows(found: Reckoned, year: Year, weeks: Mapping[str, Decimal]) -> Iterable[CostRow]:
    groups: dict[tuple[str, Form], list[Heap]] = defaultdict(list)
    for heap in (*found.on_hand, *(heap for heap in found.sold if heap.day in year)):
        groups[heap.variety, heap.form].append(heap)
    order = [Form.PLANT, Form.CUTTING, Form.GROWING]
    for variety, form in sorted(groups, key=lambda key: (key[0].casefold(), order.index(key[1]))):
        heaps = groups[variety, form]
        yield CostRow(
            variety,
            form,
            sum(heap.count for heap in heaps if heap.day),
            sum(heap.count for heap in heaps if not heap.day),
            {part: sum((heap.cost[part] for heap in heaps), Decimal()) for part in PARTS},
            weeks.get(variety, Decimal()),
        )


@dataclass(frozen=True, slots=True)
class _Said:
    """What a reckoning rests on."""

    booked: Sequence[Booked]
    stays: Sequence[Stay]
    minutes: Mapping[str, tuple[Decimal, bool]]
    left_out: Decimal
    unknown: Sequence[str]


def _asked(day: date) -> tuple[Reckoned, _Said]:
    nursery, booked = Nursery.get(), booked_until(day)
    stood, minutes = stays(booked, day), minutes_on(day)
    charges, left_out = _spent(day, booked, stood, minutes, nursery)
    unknown = _unknown(booked, stood, charges, nursery)
    charges += _labour(booked, minutes, nursery) + _heat(stood, charges, nursery)
    found = reckon([one.flow for one in booked], charges, nursery.currency)
    return found, _Said(booked, stood, minutes, left_out, unknown)


def _handled(booked: Sequence[Booked]) -> list[Booked]:
    """Return the deeds at which cuttings were handled and went on living."""
    return [one for one in booked if one.flow.to_stage not in (Stage.BECAME, Stage.GONE)]


def _worked(booked: Sequence[Booked], minutes: Mapping[str, tuple[Decimal, bool]]) -> dict[int, Decimal]:
    """Return the minutes of each deed."""
    return {
        one.flow.number: one.flow.count * minutes[one.why][0] / 100
        for one in booked
        if one.flow.to_stage is not Stage.BECAME and one.why in minutes
    }


def _labour(
    booked: Sequence[Booked], minutes: Mapping[str, tuple[Decimal, bool]], nursery: Nursery
) -> list[Charge]:
    if nursery.wage is None:
        return []
    worked = _worked(booked, minutes)
    return [Charge(sum(worked.values(), Decimal()) * nursery.wage / HOUR, Part.LABOUR, worked)]


def _heat(stood: Sequence[Stay], charges: Sequence[Charge], nursery: Nursery) -> list[Charge]:
    """Return the heat of each batch at the price of a kilowatt-hour, in seasons for which no bill is in the book."""
    if nursery.kwh_price is None:
        return []
    billed = {number for charge in charges if charge.part is Part.BENCH for number in charge.on}
    return [
        Charge(stay.kwh * nursery.kwh_price, Part.BENCH, {stay.struck: Decimal(1)})
        for stay in stood
        if stay.kwh and stay.struck not in billed
    ]


def _spent(
    day: date,
    booked: Sequence[Booked],
    stood: Sequence[Stay],
    minutes: Mapping[str, tuple[Decimal, bool]],
    nursery: Nursery,
) -> tuple[list[Charge], Decimal]:
    """Return the expenses to the end of a day as charges, and the wages that are left out."""
    bills = list(Expense.objects.filter(on__lte=day).select_related("variety", "batch__place", "order"))
    gone = {bill.reverses_id for bill in bills if bill.reverses_id}
    of_order: dict[int, list[int]] = defaultdict(list)
    for number, order in Sale.objects.filter(line__isnull=False).values_list(
        "movement__number", "line__order__number"
    ):
        of_order[order].append(number)
    charges, left_out = [], Decimal()
    borne_by = _Bearers(booked, stood, _worked(booked, minutes), of_order)
    for bill in bills:
        if bill.reverses_id or bill.pk in gone:
            continue
        amount = bill.net + (Decimal() if nursery.tax_number else bill.tax)
        if bill.outlay == Outlay.WAGES and nursery.wage is not None:
            left_out += amount
            continue
        part, on = borne_by.of(bill)
        charges.append(Charge(amount, part, on))
    return charges, left_out


@dataclass(frozen=True, slots=True)
class _Bearers:
    """Who bears what: the movements of a season, by what an expense was for."""

    booked: Sequence[Booked]
    stood: Sequence[Stay]
    worked: Mapping[int, Decimal]
    of_order: Mapping[int, Sequence[int]]
    made: dict[tuple[str, str, int], dict[int, Decimal]] = field(default_factory=dict)

    def of(self, bill: Expense) -> tuple[Part, dict[int, Decimal]]:
        """Return which part of the cost an expense is, and the movements that bear it with their weights.

        The weights are the very same object for all that is borne alike, so that it is spread in one go.
        """
        season = season_of_day(bill.on)
        if bill.order:
            part, key = Part.OWN, ("order", str(bill.order.number), 0)
        elif bill.batch:
            part, key = Part.OWN, ("batch", bill.batch.place.code, 0)
        elif bill.variety:
            part, key = Part.OWN, ("variety", bill.variety.name, season)
        elif bill.outlay in (Outlay.HEAT, Outlay.WAGES):
            part = Part.BENCH if bill.outlay == Outlay.HEAT else Part.LABOUR
            key = (str(bill.outlay), "", season)
        else:
            part, key = Part.SHARED, ("sold" if bill.outlay == Outlay.POSTAGE else "handled", "", season)
        if key not in self.made:
            self.made[key] = self._weights(*key)
        return part, self.made[key]

    def _weights(self, borne_by: str, name: str, season: int) -> dict[int, Decimal]:
        of_season = [one for one in self.booked if one.season == season]
        match borne_by:
            case "order":
                numbers = set(self.of_order.get(int(name), ()))
                return self._counted(one for one in self.booked if one.flow.number in numbers)
            case "batch":
                return self._counted(one for one in self.booked if one.flow.to_place == name)
            case "variety":
                of_it = [one for one in _handled(self.booked) if one.flow.variety == name]
                return self._counted([one for one in of_it if one.season == season] or of_it)
            case Outlay.HEAT:
                return {stay.struck: stay.cutting_days for stay in self.stood if stay.season == season}
            case Outlay.WAGES:
                known = {one.flow.number for one in of_season}
                return {number: time for number, time in self.worked.items() if number in known}
            case "sold":
                return self._counted(one for one in of_season if one.why == Why.SOLD)
        return self._counted(_handled(of_season))

    def _counted(self, booked: Iterable[Booked]) -> dict[int, Decimal]:
        return {one.flow.number: Decimal(one.flow.count) for one in booked}


def _unknown(
    booked: Sequence[Booked], stood: Sequence[Stay], charges: Sequence[Charge], nursery: Nursery
) -> list[str]:
    """Return in sentences what is not known and therefore in no cost."""
    said = []
    if nursery.wage is None:
        said.append(say("What an hour of work is reckoned at: no labour is in these costs but wages paid."))
    if not any(charge.part in (Part.SHARED, Part.OWN) for charge in charges):
        said.append(say("What was spent: no expense is noted."))
    if nursery.kwh_price is None and any(stay.kwh for stay in stood):
        said.append(say("The price of a kilowatt-hour: no heat is in these costs but what was billed."))
    lacking = sorted({stay.unknown for stay in stood if stay.unknown})
    said += [
        say("{what}: the heat of its batches is not in.", what=one[0].upper() + one[1:]) for one in lacking
    ]
    return said
