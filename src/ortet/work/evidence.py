"""What the counts say, as a grower looks at it: each variety's share with its doubt, what handling did, plan beside outcome."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.utils import timezone

from ortet.ledger.booking import Refused, Unknown
from ortet.ledger.models import Craft, Plan, PlanKind, StrikeReport, Use
from ortet.ledger.readings import readings_that_count
from ortet.science.species import species
from ortet.wood.naming import fold
from ortet.wood.speech import say

from .growing.batches import Struck
from .learnt import STEP, counted_batches, learnt

if TYPE_CHECKING:
    from ortet.evidence.strike import Rate, StrikeRates

__all__ = [
    "SORTS",
    "Outcome",
    "ToldByBuyers",
    "VarietyRate",
    "outcomes",
    "rate_of",
    "rates",
    "seasons",
    "told_by_buyers",
]

SORTS = {
    "variety": lambda row: row.variety.casefold(),
    "batches": lambda row: row.rate.batches,
    "struck": lambda row: row.rate.struck,
    "share": lambda row: row.rate.median,
}
SEASON_BEGINS = 8  # the month: wood struck from August on is of the coming season's year


@dataclass(frozen=True, slots=True)
class VarietyRate:
    """A variety and the share of its cuttings that roots, or of its grafts that take."""

    variety: str
    species: str  # a key of ortet.science.species
    rate: Rate
    usual: float  # what is usual for the species [0-1]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One variety in one season: what the plan reckoned with, and what struck."""

    variety: str
    struck: int
    rooted: int
    planned: float | None  # the share that the plan in force reckoned with; None: there was no plan
    low: float | None  # of a batch, as that plan saw it: 90 in 100 lie between
    high: float | None

    @property
    def share(self) -> float:
        """The share that rooted. [0-1]"""
        return self.rooted / self.struck


@dataclass(frozen=True, slots=True)
class ToldByBuyers:
    """What buyers told of one variety. It teaches no rate: nobody here saw how it was handled."""

    variety: str
    species: str
    parcels: int  # that something was told of
    struck: int
    rooted: int

    @property
    def share(self) -> float:
        """The share that they say rooted. [0-1]"""
        return self.rooted / self.struck


def told_by_buyers(search: str = "", *, craft: Craft = Craft.STRIKE) -> list[ToldByBuyers]:
    """Return what buyers told of the varieties they bought, the last word of each sale, by variety or species."""
    rows = readings_that_count(StrikeReport).filter(movement__reversed_by=None)
    last = {
        row.movement_id: row for row in rows.select_related("movement__lot__variety", "movement__sale__line")
    }
    of: dict[tuple[str, str], list[StrikeReport]] = defaultdict(list)
    for row in last.values():
        sale = getattr(row.movement, "sale", None)
        lot, line = row.movement.lot, sale and sale.line
        is_graft = (line.use if line else lot.use) == Use.GRAFTING
        if is_graft == (craft == Craft.GRAFT):
            of[lot.variety.name, lot.variety.species].append(row)
    return [
        ToldByBuyers(
            variety,
            kind,
            len({row.movement.from_place_id for row in mine}),
            sum(row.struck for row in mine),
            sum(row.rooted for row in mine),
        )
        for (variety, kind), mine in sorted(of.items())
        if all(part in fold(f"{variety} {kind} {species(kind).name}") for part in fold(search).split())
    ]


def _usual(craft: Craft, kind: str) -> float:
    from ortet.decisions.take import Beta, usual_steps

    use = "rooting" if craft == Craft.STRIKE else "grafting"
    shares = [step.share for step in usual_steps(kind, use) if step.name == STEP[craft]]
    return next(share.mean for share in shares if isinstance(share, Beta))


def rates(
    search: str = "", *, sort: str = "variety", craft: Craft = Craft.STRIKE
) -> tuple[list[VarietyRate], StrikeRates]:
    """Return the varieties that were counted, found by name or species, and all that the counts say.

    Raises
    ------
    Refused
        If there is no such order.
    """
    word = sort.removeprefix("-")
    if word not in SORTS:
        raise Refused(
            say("Evidence is not sorted by {word!r}: say {words}.", word=word, words=", ".join(SORTS))
        )
    known = learnt(craft)
    rows = [
        VarietyRate(variety, kind, rate, _usual(craft, kind))
        for variety, kind in known.kinds.items()
        if (rate := known.of(kind, variety))
        and all(part in fold(f"{variety} {kind} {species(kind).name}") for part in fold(search).split())
    ]
    return sorted(rows, key=SORTS[word], reverse=sort.startswith("-")), known.rates


def rate_of(variety: str, craft: Craft = Craft.STRIKE) -> tuple[VarietyRate, list[Struck]]:
    """Return what the counts say of one variety, and the batches they were made on, latest first.

    Raises
    ------
    Unknown
        If none of it was counted to the end.
    """
    found, _ = rates(craft=craft)
    for row in found:
        if fold(row.variety) == fold(variety):
            batches = [one for one in counted_batches(craft) if one.variety == row.variety]
            return row, batches[::-1]
    raise Unknown(
        say(
            "No batch of {variety!r} was counted to the end. Strike some, count them until all are rooted or dead, and it "
            "will be here.",
            variety=variety,
        )
    )


def season_of(at: datetime) -> int:
    """Return the season something belongs to: the year in which its spring lies."""
    here = timezone.localtime(at)
    return here.year + (here.month >= SEASON_BEGINS)


def seasons() -> list[int]:
    """Return the seasons of which something was counted to the end, latest first."""
    return sorted({season_of(one.struck_at) for one in counted_batches()}, reverse=True)


def outcomes(season: int) -> list[Outcome]:
    """Return for each variety struck in a season what the plan in force reckoned with, and what struck."""
    batches = [one for one in counted_batches() if season_of(one.struck_at) == season]
    of: dict[str, list[Struck]] = defaultdict(list)
    for one in batches:
        of[one.variety].append(one)
    planned = _planned(batches)
    found = []
    for variety, mine in sorted(of.items()):
        share, low, high = planned.get(variety, (None, None, None))
        struck, rooted = sum(one.struck for one in mine), sum(one.rooted or 0 for one in mine)
        found.append(Outcome(variety, struck, rooted, share, low, high))
    return found


def _planned(batches: Iterable[Struck]) -> dict[str, tuple[float, float, float]]:
    """Return what the last plan made before the first of these was struck reckoned with, by variety."""
    first = min((one.struck_at for one in batches), default=None)
    plan = (
        Plan.objects.filter(kind=PlanKind.TAKE, at__lte=first).order_by("-at", "-id").first()
        if first
        else None
    )
    if plan is None:
        return {}
    return {
        one["variety"]: tuple(one["strike"])
        for one in plan.said.get("takings", [])
        if one.get("strike") and one["use"] == "rooting"
    }
