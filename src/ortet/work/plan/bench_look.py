"""The benches as planned, week by week; and what would come of another bench, heat or week for a batch, at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from ortet.ledger.booking import Refused
from ortet.ledger.models import Lot, Place, Plan, PlanKind, Slot
from ortet.wood.speech import say, short_month

from .allotting import lot_key, lot_name
from .bench_kept import season_of
from .desk import latest, monday

if TYPE_CHECKING:
    from ortet.decisions.bench import Bench, Outcome, Season

__all__ = ["Bar", "Course", "Look", "Standing", "Week", "benches_planned"]

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Bar:
    """A batch on a bench, from the day it is set to the day it leaves."""

    id: int
    key: str
    lot: Lot
    place: Place
    bench: str
    base_c: float | None
    count: int
    start: date
    off: date
    by_hand: bool
    outcome: Outcome

    def covers(self, day: date) -> bool:
        """Whether it stands there in the week of a day."""
        return monday(self.start) <= monday(day) and monday(day) < self.off


@dataclass(frozen=True, slots=True)
class Week:
    """One bench in one week."""

    monday: date
    base_c: float | None
    used: float  # cells
    kwh: float
    cost: float


@dataclass(frozen=True, slots=True)
class Course:
    """One bench through the season."""

    place: Place
    bench: Bench
    bars: list[Bar]
    weeks: list[Week]  # those in which something stands there


@dataclass(frozen=True, slots=True)
class Look:
    """What would come of a choice, and what stands against it."""

    lot: Lot
    place: Place
    bench: Place
    base_c: float | None
    start: date
    count: int
    whole: int
    outcome: Outcome
    planned: Outcome | None  # the same cuttings, as planned; None where the plan finds no place for them
    against: list[str]
    in_the_way: list[str]  # what would have to give way


@dataclass
class Standing:
    """The plan of the benches that counts."""

    plan: Plan
    season: Season
    courses: list[Course] = field(default_factory=list)

    @cached_property
    def bars(self) -> list[Bar]:
        """All batches, bench by bench."""
        return [bar for course in self.courses for bar in course.bars]

    @cached_property
    def wood(self) -> dict[str, tuple[Lot, Place]]:
        """The lot and place of every batch, those without a place on a bench included."""
        allotted = latest(PlanKind.ALLOT)
        rows = (
            allotted.picks.filter(target__isnull=False, lot__isnull=False)
            if allotted
            else Slot.objects.none()
        )
        there = [(row.lot, row.place) for row in rows.select_related("lot__variety", "place")]
        found = {lot_key(lot, place.name): (lot, place) for lot, place in there if lot and place}
        found |= {bar.key: (bar.lot, bar.place) for bar in self.bars}
        return {key: found[key] for key in self.season.batch if key in found}

    @property
    def mondays(self) -> list[date]:
        """The weeks that matter: from the plan's first until the last batch has left."""
        ends = [bar.off for bar in self.bars]
        last = max([*ends, self.season.monday(7)])
        return [self.season.monday(n) for n in range(self.season.week_of(last) + 1)]

    def look(self, key: str, bench: str, base_c: float | None, start: date, count: int | None = None) -> Look:
        """Return what would come of a batch on a bench, at a heat, from a day on.

        Parameters
        ----------
        key : str
            The batch.
        bench : str
            The bench's name.
        base_c : float or None
            What its mat is set to; None where it has none. [°C]
        start : date
            The day it is set.
        count : int, optional
            Cuttings; None: the whole batch.

        Raises
        ------
        Refused
            If the plan has no such batch or bench, or the mat no such heat.
        """
        from ortet.decisions.bench import outcome

        if key not in self.wood:
            raise Refused(say("{key} is in no plan of the benches. Plan the season anew.", key=key))
        course = next((one for one in self.courses if one.bench.key == bench), None)
        if course is None or base_c not in course.bench.levels:
            raise Refused(
                say(
                    "{bench} has no such heat in this plan. Choose one of the list.",
                    bench=bench or say("That bench"),
                )
            )
        batch = self.season.batch[key]
        n = min(count or batch.count, batch.count)
        found = outcome(batch, course.bench, base_c, start, self.season, n)
        own = next((bar for bar in self.bars if bar.key == key), None)
        planned = (
            outcome(batch, self.season.bench[own.bench], own.base_c, own.start, self.season, n)
            if own
            else None
        )
        lot, place = self.wood[key]
        return Look(
            lot,
            place,
            course.place,
            base_c,
            start,
            n,
            batch.count,
            found,
            planned,
            list(found.against),
            self._in_the_way(course, key, found, n * batch.cells),
        )

    def _in_the_way(self, course: Course, key: str, found: Outcome, cells: float) -> list[str]:
        """Return what others on a bench would have to give way in, whose cells or heat the choice needs."""
        others = [bar for bar in course.bars if bar.key != key]
        until = found.off or found.start + WEEK
        weeks = [found.start + n * WEEK for n in range(max(1, -(-(until - found.start).days // 7)))]
        told = []
        for day in weeks:
            taken = sum(bar.count * self.season.batch[bar.key].cells for bar in others if bar.covers(day))
            if taken + cells > course.bench.cells:
                told.append(
                    say(
                        "In the week of {day} {month} {taken:.0f} of {cells} cells are taken, "
                        "and it needs {needed:.0f}.",
                        day=day.day,
                        month=short_month(day),
                        taken=taken,
                        cells=course.bench.cells,
                        needed=cells,
                    )
                )
                break
        odd = [bar for bar in others if bar.base_c != found.base_c and any(bar.covers(day) for day in weeks)]
        if odd:
            names = ", ".join(sorted({lot_name(bar.lot) for bar in odd}))
            heat = say("no heat") if odd[0].base_c is None else f"{odd[0].base_c:g} °C"
            told.append(
                say(
                    "The mat has one heat at a time: {names} stand there at {heat} then.",
                    names=names,
                    heat=heat,
                )
            )
        return told


def benches_planned() -> Standing | None:
    """Return the plan of the benches that counts; None where there is none, or nothing was there to be set.

    Raises
    ------
    Refused
        If the plan was made by an earlier version.
    """
    plan = latest(PlanKind.BENCH)
    if plan is None or not (plan.said.get("season") or plan.slots.exists()):
        return None
    try:
        season = season_of(plan.said["season"])
    except (KeyError, TypeError, ValueError):
        raise Refused(
            say(
                "This plan of the benches was made by an earlier version. Plan the season anew; nothing is lost."
            )
        ) from None
    bars = _bars(plan, season)
    heated: dict[str, list[Week]] = defaultdict(list)
    for row in plan.said.get("heated", ()):
        heated[row["bench"]].append(
            Week(season.monday(row["week"]), row["base_c"], row["used"], row["kwh"], row["cost"])
        )
    places = {place.name: place for place in Place.objects.filter(kind="bench", name__in=season.bench)}
    courses = [
        Course(places[bench.key], bench, [bar for bar in bars if bar.bench == bench.key], heated[bench.key])
        for bench in season.benches
        if bench.key in places
    ]
    return Standing(plan, season, sorted(courses, key=lambda one: not one.bars))


def _bars(plan: Plan, season: Season) -> list[Bar]:
    from ortet.decisions.bench import outcome

    rows: Iterable[Slot] = plan.slots.select_related("lot__variety", "place", "bench").order_by("start", "pk")
    bars = []
    for row in rows:
        key = lot_key(row.lot, row.place.name)
        if key not in season.batch or row.bench.name not in season.bench:
            continue
        bench = season.bench[row.bench.name]
        found = outcome(season.batch[key], bench, row.base_c, row.start, season, row.count)
        off = found.off or row.start + WEEK
        bars.append(
            Bar(
                row.pk,
                key,
                row.lot,
                row.place,
                bench.key,
                row.base_c,
                row.count,
                row.start,
                off,
                row.by_hand,
                found,
            )
        )
    return bars
