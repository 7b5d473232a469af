"""The pick walk: which wood to fetch for which order, in the order in which the bags stand."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

from django.db.models import QuerySet, prefetch_related_objects

from ortet.ledger.models import (
    Balance,
    Lot,
    Nursery,
    OrderLine,
    Place,
    Plan,
    PlanKind,
    Standing,
)
from ortet.ledger.packed import packed, sold
from ortet.ledger.places import WOOD
from ortet.ledger.slices import in_slices
from ortet.wood.naming import by_number
from ortet.wood.speech import say
from ortet.work.orders import find_order
from ortet.work.plan.desk import latest, monday
from ortet.work.plan.due import picked_since
from ortet.work.rights import stopped

__all__ = ["Stop", "due_until", "halted_lines", "walk"]

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Stop:
    """One bag to open on the walk, and what to take out of it for one line."""

    store: str  # the cold place in which the bag stands; nothing where the wood lies bare
    place: Place
    lot: Lot
    count: int  # still to be picked
    there: int  # of the lot in the place, by the book
    line: OrderLine
    day: date  # from which it can be picked
    pick: int | None  # the plan's; None: chosen from what lies on hand
    note: str = ""

    @property
    def key(self) -> str:
        """What tells it from the other stops of a walk."""
        return f"{self.line.pk}-{self.lot.code}-{self.place.code}"

    @property
    def name(self) -> str:
        """What the grower calls the lot: the mark, else the code."""
        return self.lot.mark or str(self.lot)

    @property
    def is_short(self) -> bool:
        """Whether the book has less there than is to be picked."""
        return self.there < self.count


def due_until(today: date) -> date:
    """Return the last day of the week: what can be picked until then is on the walk."""
    return monday(today) + WEEK - timedelta(days=1)


def walk(order: int | None = None, *, today: date | None = None) -> list[Stop]:
    """Return what is to be picked of an order, or what is due this week; cold place by cold place, bag by bag.

    Where the plan that counts says who gets what, it is followed. A line that it does not know of gets what lies on hand and is
    promised to nobody else, the wood taken first before the rest. Protected varieties without leave are left out: `halted_lines`.

    Raises
    ------
    Unknown
        If there is no such order.
    """
    nursery = Nursery.get()
    today = today or nursery.today()
    lines = _lines(order, today)
    halted = stopped(today)
    left = _left(lines)
    there = _lying()
    plan = latest(PlanKind.ALLOT)
    known = set(plan.picks.values_list("line", flat=True)) if plan else set()
    short = _short_in(plan) if plan else set()
    unknown = [line for line in _read(lines, left.keys() - known) if str(line) not in short]
    # what is promised to others counts only where a line is to be served of what nobody is promised
    promises = _promises(plan, None if unknown else left.keys())
    until = None if order is not None else due_until(today)
    stops = [one for one in _planned(promises, lines, left, there, until) if one.lot.variety_id not in halted]
    stops += _on_hand(unknown, left, there, promises, today, halted)
    return _in_shed_order(stops)


def halted_lines(order: int | None = None, *, today: date | None = None) -> list[tuple[OrderLine, str]]:
    """Return the lines of a walk that lack something and may not be picked, each with the sentence that says why."""
    nursery = Nursery.get()
    today = today or nursery.today()
    why = stopped(today)
    lines = _lines(order, today).filter(variety__in=why)
    return [(line, why[line.variety_id]) for line in _read(lines, _left(lines))]


def _lines(order: int | None, today: date) -> QuerySet[OrderLine]:
    rows = OrderLine.objects.filter(ended_at=None)
    if order is not None:
        return rows.filter(order=find_order(order))
    return rows.filter(first_day__lte=due_until(today), last_day__gte=today)


def _left(lines: QuerySet[OrderLine]) -> Counter[int]:
    """Return the cuttings still to be picked, by the line's key, of each line of which there are some."""
    left = Counter(dict(lines.order_by().values_list("pk", "count")))
    keys = list(left)
    left.subtract(packed(keys))
    left.subtract(sold(keys))
    return +left


def _read(lines: QuerySet[OrderLine], keys: Iterable[int]) -> list[OrderLine]:
    """Return some of the lines, order by order. Thousands that are packed already are not read at all."""
    of_these = in_slices(lines.order_by().select_related("order__buyer", "variety"), "pk", keys)
    return sorted(of_these, key=lambda line: (line.order.number, line.position))


def _lying() -> dict[tuple[int, int], int]:
    """Return the dormant wood on hand, by lot and place."""
    rows = Balance.objects.filter(count__gt=0, place__kind__in=WOOD)
    return {(lot, place): count for lot, place, count in rows.values_list("lot", "place", "count")}


class _Promise(NamedTuple):
    """What the plan gives for one line, or target, out of one bag."""

    pick: int
    lot: int
    place: int
    line: int | None
    day: date
    why: str
    left: int  # still to be picked


def _promises(plan: Plan | None, lines: Collection[int] | None) -> list[_Promise]:
    """Return what the plan gives of what lies on hand, to some lines or (None) to all lines and targets.

    Thousands of picks as objects would cost more than all the rest.
    """
    if plan is None:
        return []
    done = picked_since(plan)
    fields = "pk", "lot", "place", "line", "day", "why", "count"
    rows = plan.picks.filter(lot__isnull=False).values_list(*fields)
    read = rows.iterator() if lines is None else in_slices(rows, "line", lines)
    found = []
    for one in sorted(map(_Promise._make, read), key=lambda one: (one.day, one.pick)):
        key = one.lot, one.place, one.line or 0
        off = min(done[key], one.left)
        done[key] -= off
        found.append(one._replace(left=one.left - off))
    return found


def _short_in(plan: Plan) -> set[str]:
    """Return the lines that the plan could give nothing or not enough: what is left is promised elsewhere."""
    return {one["wish"] for one in plan.said.get("short", [])}


def _planned(
    promises: Sequence[_Promise],
    lines: QuerySet[OrderLine],
    left: Counter[int],
    there: dict[tuple[int, int], int],
    until: date | None,
) -> Iterable[Stop]:
    due = [one for one in promises if one.line in left and not (until and one.day > until)]
    wanted = {line.pk: line for line in _read(lines, {one.line for one in due if one.line})}
    lots = Lot.objects.select_related("variety").in_bulk({one.lot for one in due})
    places = Place.objects.in_bulk({one.place for one in due})
    for one in due:
        line = wanted[one.line or 0]
        count = min(one.left, left[line.pk])
        if count > 0:
            left[line.pk] -= count
            lies = there.get((one.lot, one.place), 0)
            yield Stop("", places[one.place], lots[one.lot], count, lies, line, one.day, one.pick, one.why)


def _on_hand(
    lines: Sequence[OrderLine],
    left: Counter[int],
    there: dict[tuple[int, int], int],
    promises: Sequence[_Promise],
    today: date,
    halted: Collection[int],
) -> Iterable[Stop]:
    """Yield wood for lines that no plan knows: of the variety, else of one taken in its place; the oldest first."""
    if not lines:
        return
    prefetch_related_objects(lines, "substitutes")
    free = dict(there)
    for one in promises:  # what is promised stays where it is
        free[one.lot, one.place] = free.get((one.lot, one.place), 0) - one.left
    varieties = {line.variety_id for line in lines}
    varieties |= {other.variety_id for line in lines for other in line.substitutes.all()}
    lots = (
        Lot.objects.filter(variety__in=varieties, balances__count__gt=0).select_related("variety").distinct()
    )
    of: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots.order_by("taken_at", "pk"):
        of[lot.variety_id].append(lot)
    places = dict(in_slices(Place.objects.values_list("pk", "name"), "pk", {place for _, place in free}))
    objects = Place.objects.in_bulk(places)
    cells: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for key in sorted(free):
        cells[key[0]].append(key)
    for line in sorted(lines, key=lambda one: (one.last_day, one.priority, one.order.number, one.position)):
        grades = [grade for grade in line.grades.split(",") if grade]
        instead = [other.variety_id for other in line.substitutes.all()]
        if line.variety_id in halted:
            continue
        for variety in (line.variety_id, *(one for one in instead if one not in halted)):
            for lot in of[variety]:
                if lot.use != line.use or (grades and lot.grade not in grades):
                    continue
                for key in cells[lot.pk]:
                    count = min(free[key], left[line.pk])
                    if count > 0:
                        free[key] -= count
                        left[line.pk] -= count
                        note = (
                            ""
                            if variety == line.variety_id
                            else say("in place of {variety}", variety=line.variety)
                        )
                        day = max(line.first_day, today)
                        yield Stop("", objects[key[1]], lot, count, there[key], line, day, None, note)


def _in_shed_order(stops: Sequence[Stop]) -> list[Stop]:
    """Return the stops with the cold place of each bag, so that a walk ends at one door before it goes to the next."""
    rows = Standing.objects.order_by("since", "id").values_list("bag_id", "store__name")
    stands = dict(in_slices(rows, "bag", {stop.place.pk for stop in stops}))
    placed = [replace(stop, store=stands.get(stop.place.pk, "")) for stop in stops]
    return sorted(
        placed,
        key=lambda one: (
            by_number(one.store),
            by_number(one.place.name),
            by_number(one.name),
            one.line.order.number,
            one.line.position,
        ),
    )
