"""All that plans are made from, read from the book once: wood and its forecast, wishes, mother plants, benches.

Reckoning takes seconds, and nobody may have to wait for it to book a deed. So plans are drafted first, and booked together
in one short turn, if nothing else was booked since the book was read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from django.contrib.auth.models import User
from django.db.models import Max, Model, Sum
from django.utils import timezone

from ortet.ledger.booking import Refused, how_far, turn
from ortet.ledger.models import (
    BenchSetup,
    MotherLimit,
    MotherPlant,
    Movement,
    Nursery,
    OrderLine,
    Pick,
    Plan,
    PlanKind,
    Purpose,
    Target,
    Variety,
    Why,
)
from ortet.ledger.packed import packed, sold
from ortet.wood.speech import say
from ortet.work.growing.batches import batches_struck
from ortet.work.learnt import learnt_steps
from ortet.work.rights import stopped
from ortet.work.today import season_forecast

if TYPE_CHECKING:
    from ortet.decisions.forecast import Forecasts, LotForecast
    from ortet.decisions.take import Beta, Step
    from ortet.ledger.stock import Season

Wish = TypeVar("Wish", OrderLine, Target)

__all__ = ["Desk", "Draft", "day_of", "latest", "made", "monday"]

WINTER = timedelta(days=270)  # wood taken within this long is of one winter
TRIES = 3  # to reckon between two deeds of others


def day_of(hour: float) -> date:
    """Return the day of an hour since 1970, in the zone that is active."""
    return timezone.localtime(datetime.fromtimestamp(hour * 3600, tz=timezone.get_default_timezone())).date()


def monday(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def latest(kind: PlanKind | str) -> Plan | None:
    """Return the plan of a kind that counts, or None."""
    return Plan.objects.filter(kind=kind).order_by("-at", "-id").first()


@dataclass(frozen=True)
class Draft:
    """A plan with its parts, not booked yet."""

    plan: Plan
    parts: Sequence[Model]


@dataclass
class Desk:
    """What lies on the desk when the season is planned."""

    now: datetime
    nursery: Nursery = field(default_factory=Nursery.get)
    far: str = field(default_factory=how_far)  # the book when it was read
    drafts: dict[PlanKind, Draft] = field(default_factory=dict)

    @property
    def today(self) -> date:
        """The day, in the grower's zone."""
        return self.now.astimezone(self.nursery.tz).date()

    @cached_property
    def _wood(self) -> tuple[Season, Forecasts]:
        return season_forecast(self.now)

    def read(self) -> None:
        """Read everything now, rather than when it is first asked for."""
        for name, part in vars(Desk).items():
            if isinstance(part, cached_property):
                getattr(self, name)

    @property
    def season(self) -> Season:
        """The wood on hand, its bags and climates."""
        return self._wood[0]

    @property
    def forecasts(self) -> list[LotForecast]:
        """How the wood on hand will fare, lot by place."""
        return list(self._wood[1])

    @cached_property
    def lines(self) -> list[OrderLine]:
        """The lines of orders that are still wanted, each with what of it was neither sold nor packed yet as its count."""
        rows = OrderLine.objects.filter(ended_at=None, last_day__gte=self.today)
        wanted = rows.prefetch_related("order__buyer", "variety", "substitutes__variety")
        done = sold() + packed()
        free = [line for line in wanted if line.variety_id not in self.stopped]
        return _left_of(free, lambda line: done[line.pk])

    @cached_property
    def stopped(self) -> dict[int, str]:
        """Why lines of a protected variety are left out, by the variety's key in the book."""
        return stopped(self.today)

    @cached_property
    def left_out(self) -> list[OrderLine]:
        """The lines that are still wanted and stop, since their variety is protected."""
        rows = OrderLine.objects.filter(ended_at=None, last_day__gte=self.today, variety__in=self.stopped)
        done = sold() + packed()
        return _left_of([*rows.select_related("order__buyer", "variety")], lambda line: done[line.pk])

    @cached_property
    def missed(self) -> list[OrderLine]:
        """The lines that are still wanted though their window has closed."""
        rows = OrderLine.objects.filter(ended_at=None, last_day__lt=self.today)
        return list(rows.select_related("order__buyer", "variety"))

    @cached_property
    def targets(self) -> list[Target]:
        """What the nursery itself still wants: of plants, those that were not potted since they were wanted."""
        wanted = list(
            Target.objects.filter(ended_at=None).select_related("variety").order_by("priority", "number")
        )
        potted = Movement.objects.filter(why=Why.POTTED, reversed_by=None).order_by("at", "number")
        rows = list(potted.values_list("pk", "lot__variety", "at", "count"))
        left = {pk: count for pk, _, _, count in rows}

        def came(target: Target) -> int:
            count = 0
            for pk, variety, at, _ in rows if target.purpose == Purpose.PLANTS else []:
                if variety == target.variety_id and at >= target.at:
                    some = min(left[pk], target.count - count)
                    count, left[pk] = count + some, left[pk] - some
            return count

        return _left_of(wanted, came)

    @cached_property
    def mothers(self) -> list[MotherPlant]:
        """The mother plants."""
        return list(MotherPlant.objects.select_related("variety", "site"))

    @cached_property
    def limits(self) -> dict[int, int]:
        """What each mother plant may give in a winter, where that was noted; by its key in the book."""
        return dict(MotherLimit.objects.order_by("at", "id").values_list("mother_id", "cuttings"))

    @cached_property
    def taken(self) -> dict[int, int]:
        """What was taken from each mother plant this winter; what was corrected does not count."""
        since = self.now - WINTER
        out = Movement.objects.filter(why=Why.TAKEN, at__gte=since, at__lte=self.now, reversed_by=None)
        return dict(
            out.order_by().values("lot__mother").annotate(sum=Sum("count")).values_list("lot__mother", "sum")
        )

    @cached_property
    def movements(self) -> int:
        """How many movements the book holds."""
        return Movement.objects.aggregate(last=Max("number"))["last"] or 0

    @cached_property
    def _picks_before(self) -> list[Pick]:
        plan = latest(PlanKind.ALLOT)
        if plan is None:
            return []
        parts = "line__order__buyer", "line__variety", "target", "lot", "place", "mother"
        return list(plan.picks.select_related(*parts))

    @property
    def picks(self) -> list[Pick]:
        """Who gets what: as drafted, else as the plan that counts has it."""
        draft = self.drafts.get(PlanKind.ALLOT)
        return [one for one in draft.parts if isinstance(one, Pick)] if draft else self._picks_before

    def draft(
        self, kind: PlanKind, by: User, said: Mapping[str, object], parts: Sequence[Model] = ()
    ) -> None:
        """Keep a plan of this moment to be booked with the others; its parts are not saved yet."""
        plan = Plan(kind=kind, at=self.now, by=by, movements=self.movements, said=dict(said))
        for part in parts:
            part.plan = plan  # type: ignore[attr-defined]
        self.drafts[kind] = Draft(plan, parts)

    @cached_property
    def set_already(self) -> dict[str, dict[str, int]]:
        """The cuttings of each variety that stand on each bench that is set up: they are on their way to be plants."""
        benches = {setup.place.name for setup in self.setups.values()}
        there: dict[str, dict[str, int]] = {name: {} for name in benches}
        lying = [(one.place, one.variety, one.count) for one in self.forecasts]
        for bench, variety, count in [*lying, *self.struck]:
            if bench in benches and count:
                there[bench][variety] = there[bench].get(variety, 0) + count
        return there

    @cached_property
    def struck(self) -> list[tuple[str, str, int]]:
        """Bench, variety and cuttings of each batch that still stands."""
        return [
            (one.bench, one.variety, one.here)
            for one in batches_struck()
            if one.here and one.craft == "strike"
        ]

    @cached_property
    def learnt(self) -> dict[str, dict[str, Step]]:
        """The steps that counts know better than what is usual, by variety and name of step."""
        return learnt_steps(self.kinds)

    @cached_property
    def kinds(self) -> dict[str, str]:
        """The species of each variety."""
        return dict(Variety.objects.values_list("name", "species"))

    def strike(self, variety: str) -> Beta:
        """Return the share of a variety that is reckoned to root: as counted, or as is usual."""
        from ortet.decisions.take import Beta, usual_steps

        steps = usual_steps(self.kinds[variety], "rooting", self.learnt[variety])
        share = next(step.share for step in steps if step.name == "strike")
        assert isinstance(share, Beta)
        return share

    @cached_property
    def setups(self) -> dict[int, BenchSetup]:
        """What each bench can do, by the bench's key in the book."""
        rows = BenchSetup.objects.select_related("place").order_by("at", "id")
        return {row.place_id: row for row in rows}


def _left_of(wanted: list[Wish], came: Callable[[Wish], int]) -> list[Wish]:
    """Return the wishes that are not met yet, each with what is left of it as its count; nothing of it is saved."""
    for wish in wanted:
        wish.count -= came(wish)
        if isinstance(wish, OrderLine):
            wish.least = min(wish.least, wish.count)
    return [wish for wish in wanted if wish.count > 0]


def made(
    reckon: Callable[[Desk], None], now: datetime | None = None
) -> tuple[datetime, dict[PlanKind, Plan]]:
    """Draft plans and book them, all or none; anew where another deed was booked meanwhile. Return their moment and them.

    Raises
    ------
    Refused
        If `reckon` refuses, or the book changed each time before the plans were ready.
    """
    for _ in range(TRIES):
        nursery = Nursery.get()
        desk = Desk(now or nursery.now(), nursery)
        desk.read()
        reckon(desk)
        with turn():
            if how_far() != desk.far:
                continue
            for draft in desk.drafts.values():
                draft.plan.save(force_insert=True)
                if draft.parts:
                    type(draft.parts[0])._default_manager.bulk_create(draft.parts)
        return desk.now, {kind: draft.plan for kind, draft in desk.drafts.items()}
    raise Refused(
        say(
            "Other deeds were booked each of the {times} times that this was reckoned. Plan again in a quieter moment. "
            "Nothing was planned.",
            times=TRIES,
        )
    )
