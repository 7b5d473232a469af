"""The account as flows: every movement that stands on a day, and the hours that batches stood on benches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.utils import timezone

from ortet.decisions.costs import Flow, Stage
from ortet.ledger.models import Batch, BenchSetup, Derivation, Kind, Movement, Nursery, Standing
from ortet.wood.speech import say
from ortet.work.evidence import season_of

__all__ = ["Booked", "Stay", "booked_until", "end_of", "stays"]

STAGES = {
    Kind.MOTHER: Stage.SOURCE,
    Kind.SENDER: Stage.SOURCE,
    Kind.BECAME: Stage.BECAME,
    Kind.BENCH: Stage.WOOD,
    Kind.STORE: Stage.WOOD,
    Kind.BAG: Stage.WOOD,
    Kind.BATCH: Stage.GROWING,
    Kind.GROUND: Stage.PLANT,
    Kind.PARCEL: Stage.PACKED,
    Kind.SOLD: Stage.SOLD,
    Kind.GIVEN_UP: Stage.GONE,
    Kind.LOST: Stage.GONE,
}
DAY = Decimal(86_400)  # seconds
KWH = Decimal("0.024")  # of one watt through one day


@dataclass(frozen=True, slots=True)
class Booked:
    """A movement that stands: the flow it is, when, why, and the season it was done in."""

    flow: Flow
    at: datetime
    why: str
    season: int


@dataclass(frozen=True, slots=True)
class Stay:
    """A batch's time on its benches."""

    batch: str
    struck: int  # the number of the movement by which it was struck or grafted
    season: int
    cutting_days: Decimal
    kwh: Decimal | None  # None: not known
    unknown: str = ""  # what is lacking


def end_of(day: date) -> datetime:
    """Return the first moment after a day, in the nursery's zone."""
    return datetime.combine(day + timedelta(days=1), time(), timezone.get_current_timezone())


def booked_until(day: date) -> list[Booked]:
    """Return the movements to the end of a day in the order in which they happened.

    One that was corrected by then is left out together with its correction.
    """
    parents: dict[str, tuple[str, ...]] = defaultdict(tuple)
    for child, parent in Derivation.objects.order_by("id").values_list("child__code", "parent__code"):
        parents[child] += (parent,)
    rows = list(
        Movement.objects.filter(at__lt=end_of(day))
        .order_by("at", "number")
        .values_list(
            "number", "lot__code", "lot__variety__name", "lot__taken_at", "from_place__code", "from_place__kind",
            "to_place__code", "to_place__kind", "count", "at", "why", "reverses__number",
        )
    )  # fmt: skip
    corrected = {row[-1] for row in rows if row[-1]}
    return [
        Booked(
            Flow(
                number=number,
                lot=lot,
                variety=variety,
                season=season_of(taken_at),
                from_place=here,
                from_stage=STAGES[Kind(here_kind)],
                to_place=there,
                to_stage=STAGES[Kind(there_kind)],
                count=count,
                day=timezone.localdate(at),
                parents=parents[lot] if here_kind == Kind.BECAME else (),
            ),
            at,
            why,
            season_of(at),
        )
        for number, lot, variety, taken_at, here, here_kind, there, there_kind, count, at, why, reverses in rows
        if not reverses and number not in corrected
    ]


def stays(booked: Sequence[Booked], day: date) -> list[Stay]:
    """Return the time that each batch had stood on its benches by the end of a day, and the heat it took.

    A mat's heat is its loss for each degree times the degrees its base is above the air, shared among the bench's cells: the
    cells that stood empty bear theirs, and nobody is charged for them.
    """
    until = min(end_of(day), Nursery.get().now())
    setups: dict[int, BenchSetup] = {}
    for one in BenchSetup.objects.select_related("place").order_by("-at", "-id"):
        if one.at < until or one.place_id not in setups:  # the latest by then, else the first noted after
            setups.setdefault(one.place_id, one)
    changes: dict[str, list[tuple[datetime, int, int]]] = defaultdict(list)
    for one_booked in booked:
        flow = one_booked.flow
        if flow.to_stage is Stage.GROWING:
            changes[flow.to_place].append((one_booked.at, flow.count, flow.number))
        if flow.from_stage is Stage.GROWING:
            changes[flow.from_place].append((one_booked.at, -flow.count, flow.number))
    stood: dict[int, list[Standing]] = defaultdict(list)
    for standing in Standing.objects.filter(bag__kind=Kind.BATCH).select_related("store").order_by("since"):
        stood[standing.bag_id].append(standing)
    batches = Batch.objects.select_related("place").order_by("struck_at", "place_id")
    return [
        _stay(batch, changes[batch.place.code], stood[batch.place_id], setups, until)
        for batch in batches
        if batch.place.code in changes
    ]


def _stay(
    batch: Batch,
    changes: list[tuple[datetime, int, int]],
    stood: list[Standing],
    setups: dict[int, BenchSetup],
    until: datetime,
) -> Stay:
    days, kwh, unknown = Decimal(), Decimal(), ""
    for place, standing in enumerate(stood):
        ends = stood[place + 1].since if place + 1 < len(stood) else until
        here = _cutting_days(changes, standing.since, min(ends, until))
        days += here
        setup = setups.get(standing.store_id)
        if batch.base_c is None or not here:
            continue
        if setup is None or not setup.watts_per_k:
            unknown = say("what bench {bench} loses for each degree", bench=standing.store)
            continue
        lift = max(Decimal(str(batch.base_c)) - Decimal(str(setup.air_c)), Decimal())
        kwh += Decimal(str(setup.watts_per_k)) * lift * KWH * here / setup.cells
    number = changes[0][2]
    return Stay(batch.place.name, number, season_of(batch.struck_at), days, None if unknown else kwh, unknown)


def _cutting_days(changes: list[tuple[datetime, int, int]], since: datetime, until: datetime) -> Decimal:
    """Return cuttings times days between two moments."""
    held, total, last = 0, Decimal(), since
    for at, change, _ in [*changes, (until, 0, 0)]:
        now = min(max(at, since), until)
        if now > last:
            total += held * Decimal((now - last).total_seconds()) / DAY
            last = now
        held += change
    return total
