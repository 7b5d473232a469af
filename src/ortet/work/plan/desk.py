"""All that plans are made from, read from the book once: wood and its forecast, wishes, mother plants, benches."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from django.contrib.auth.models import User
from django.db.models import Max, Sum
from django.utils import timezone

from ortet.ledger.booking import created
from ortet.ledger.models import (
    BenchSetup,
    MotherLimit,
    MotherPlant,
    Movement,
    Nursery,
    OrderLine,
    Plan,
    PlanKind,
    Target,
    Why,
)
from ortet.work.today import season_forecast

if TYPE_CHECKING:
    from ortet.decisions.forecast import Forecasts, LotForecast
    from ortet.ledger.stock import Season

__all__ = ["Desk", "day_of", "latest", "monday"]

WINTER = timedelta(days=270)  # wood taken within this long is of one winter


def day_of(hour: float) -> date:
    """Return the day of an hour since 1970, in the zone that is active."""
    return timezone.localtime(datetime.fromtimestamp(hour * 3600, tz=timezone.get_default_timezone())).date()


def monday(day: date) -> date:
    """Return the Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def latest(kind: PlanKind | str) -> Plan | None:
    """Return the plan of a kind that counts, or None."""
    return Plan.objects.filter(kind=kind).order_by("-at", "-id").first()


@dataclass
class Desk:
    """What lies on the desk when the season is planned."""

    now: datetime
    nursery: Nursery = field(default_factory=Nursery.get)

    @property
    def today(self) -> date:
        """The day, in the grower's zone."""
        return self.now.astimezone(self.nursery.tz).date()

    @cached_property
    def _wood(self) -> tuple[Season, Forecasts]:
        return season_forecast(self.now)

    def read(self) -> None:
        """Read and carry the wood now, rather than when it is first asked for."""
        assert self._wood

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
        """The lines of orders that are still wanted."""
        rows = OrderLine.objects.filter(ended_at=None, last_day__gte=self.today)
        return list(rows.select_related("order__buyer", "variety").prefetch_related("substitutes__variety"))

    @cached_property
    def missed(self) -> list[OrderLine]:
        """The lines that are still wanted though their window has closed."""
        rows = OrderLine.objects.filter(ended_at=None, last_day__lt=self.today)
        return list(rows.select_related("order__buyer", "variety"))

    @cached_property
    def targets(self) -> list[Target]:
        """What the nursery itself still wants."""
        return list(Target.objects.filter(ended_at=None).select_related("variety"))

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

    def booked(self, kind: PlanKind, by: User, said: Mapping[str, object]) -> Plan:
        """Book a plan of this moment; its parts are added by who made it."""
        last = Movement.objects.aggregate(last=Max("number"))["last"] or 0
        return created(Plan, kind=kind, at=self.now, by=by, movements=last, said=dict(said))

    @cached_property
    def set_already(self) -> dict[str, dict[str, int]]:
        """The cuttings of each variety that stand on each bench that is set up: they are on their way to be plants."""
        benches = {setup.place.name for setup in self.setups.values()}
        there: dict[str, dict[str, int]] = {name: {} for name in benches}
        for one in self.forecasts:
            if one.place in benches:
                there[one.place][one.variety] = there[one.place].get(one.variety, 0) + one.count
        return there

    @cached_property
    def setups(self) -> dict[int, BenchSetup]:
        """What each bench can do, by the bench's key in the book."""
        rows = BenchSetup.objects.select_related("place").order_by("at", "id")
        return {row.place_id: row for row in rows}
