"""What goes on the bench: what was allotted to own plants, by bench, heat and week; drafted as a plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.contrib.auth.models import User

from ortet.ledger.booking import Refused
from ortet.ledger.models import BenchSetup, Pick, PlanKind, Purpose, Slot
from ortet.wood.speech import say

from .allotting import lot_key, use_by
from .bench_kept import kept
from .desk import Desk, day_of, latest, monday

if TYPE_CHECKING:
    from ortet.decisions.bench import Batch, Bench, Choice, Season
    from ortet.decisions.bench import Plan as Benches
    from ortet.decisions.forecast import LotForecast

__all__ = ["bench_season", "plan_benches"]

WEEKS = 16
TO_STRIKE = timedelta(days=14)  # wood that calluses later than this before it must be used is not waited for
FREE = 16  # cuttings in a tray: a batch of more may be split [common practice]
PRICE_KWH = 0.30  # where the nursery has not noted its own


def _sale(desk: Desk) -> date | None:
    """Return the next day on which the last frost is usually over."""
    if not desk.nursery.last_frost:
        return None
    month, day = map(int, desk.nursery.last_frost.split("-"))
    for year in range(desk.today.year, desk.today.year + 9):
        try:
            there = date(year, month, day)
        except ValueError:  # 29 February
            continue
        if there >= desk.today:
            return there
    return None


def _benches(desk: Desk, first: date) -> list[Bench]:
    """Return the benches with what is free on them; one that is full is none."""
    free = {setup.place.name: setup.cells for setup in desk.setups.values()}
    for name, there in desk.set_already.items():
        free[name] -= sum(there.values())
    return [
        _bench(setup, free[setup.place.name], first)
        for setup in desk.setups.values()
        if free[setup.place.name] > 0
    ]


def _bench(setup: BenchSetup, cells: int, first: date) -> Bench:
    from ortet.decisions.bench import Bench

    mondays = [first + timedelta(days=7 * week) for week in range(2 * WEEKS)]
    closed = (
        week
        for week, day in enumerate(mondays)
        if (setup.first_day and day < setup.first_day) or (setup.last_day and day > setup.last_day)
    )
    return Bench(
        key=setup.place.name,
        cells=cells,
        air_c=(setup.air_c,),
        set_points=tuple(setup.heats),
        watts_per_m2_k=setup.watts_per_k,  # of the whole bench, which counts as one square metre
        closed=frozenset(closed),
    )


def _batches(desk: Desk, picks: list[Pick]) -> list[Batch]:
    fore = {(one.lot, one.place): one for one in desk.forecasts}
    of: dict[tuple[str, str], list[Pick]] = defaultdict(list)
    for pick in picks:
        if pick.lot and pick.place and (pick.lot.code, pick.place.name) in fore:
            of[pick.lot.code, pick.place.name].append(pick)
    return [
        _batch(fore[key], group, desk.strike(fore[key].variety).mean) for key, group in sorted(of.items())
    ]


def _batch(fore: LotForecast, picks: list[Pick], strike: float) -> Batch:
    from ortet.decisions.bench import Batch

    wanted = [pick.target.wanted_by for pick in picks if pick.target and pick.target.wanted_by]
    worth = [float(pick.target.worth or 1) for pick in picks if pick.target]
    now = day_of(fore.now)
    return Batch(
        key=lot_key(fore, fore.place),
        variety=fore.variety,
        species=fore.species,
        count=sum(pick.count for pick in picks),
        ready=_ready(fore) or now,
        chill=(fore.state["chill_portions"].median,),
        use_by=use_by(fore),
        wanted=min(wanted, default=None),
        worth=max(max(worth, default=1.0), 0.01),
        strike=strike,
        tray=FREE,
    )


def _ready(fore: LotForecast) -> date | None:
    """Return the day by which half of it has callused in store; None where that comes too late to be waited for."""
    hour = fore.crossings["callus"].median if "callus" in fore.crossings else None
    last = use_by(fore)
    if hour is None or (last and day_of(hour) > last - TO_STRIKE):
        return None
    return max(day_of(fore.now), day_of(hour))


def _choices(
    season_first: date,
    batches: list[Batch],
    benches: list[Bench],
    also: Sequence[Choice],
    freed: Collection[str],
) -> tuple[Choice, ...]:
    """Return the choices made by hand: the new ones, and those in the plan before that can still be kept."""
    from ortet.decisions.bench import Choice

    before = latest(PlanKind.BENCH)
    if before is None:
        return tuple(also)
    counts = {batch.key: batch.count for batch in batches}
    heats = {bench.key: bench.levels for bench in benches}
    anew = {choice.batch for choice in also}.union(freed)
    still = list(also)
    for slot in before.slots.filter(by_hand=True).select_related("lot", "place", "bench"):
        key = lot_key(slot.lot, slot.place.name)
        week = (slot.start - season_first).days // 7
        if (
            key in counts
            and key not in anew
            and slot.base_c in heats.get(slot.bench.name, ())
            and 0 <= week < WEEKS
        ):
            count = min(slot.count, counts[key])
            still.append(
                Choice(key, slot.bench.name, slot.base_c, week, None if count == counts[key] else count)
            )
    return tuple(still)


def bench_season(desk: Desk, also: Sequence[Choice] = (), freed: Collection[str] = ()) -> Season | None:
    """Return what the benches are planned from; None where there is no bench or nothing to set on one."""
    from ortet.decisions.bench import Season

    picks = [pick for pick in desk.picks if pick.target and pick.target.purpose == Purpose.PLANTS]
    first = monday(desk.today)
    batches = _batches(desk, picks)
    benches = _benches(desk, first)
    if not batches or not benches:
        return None
    return Season(
        tuple(batches),
        tuple(benches),
        first,
        WEEKS,
        sale=_sale(desk),
        fixed=_choices(first, batches, benches, also, freed),
        price_kwh=float(PRICE_KWH if desk.nursery.kwh_price is None else desk.nursery.kwh_price),
    )


def plan_benches(desk: Desk, *, by: User, also: Sequence[Choice] = (), freed: Collection[str] = ()) -> None:
    """Plan when and where what was allotted to own plants is struck; draft the plan.

    Parameters
    ----------
    also : sequence of Choice
        Choices made by hand since the plan before, whose own are kept.
    freed : collection of str
        Batches, by their keys, whose choices are kept no more.

    Raises
    ------
    Refused
        If choices made by hand cannot stand together.
    """
    from ortet.decisions.bench import plan

    season = bench_season(desk, also, freed)
    if season is None:
        why = (
            say("No bench is set up.")
            if not desk.setups
            else say("Nothing on hand is allotted to own plants.")
        )
        desk.draft(PlanKind.BENCH, by, {"unplaced": [], "assumed": [why]})
        return
    try:
        _draft(desk, plan(season, before=_stood(season)), by)
    except ValueError as error:
        raise Refused(say("{error} Nothing was planned.", error=error)) from error


def _stood(season: Season) -> list[Choice]:
    """Return where batches stood in the plan before, so that none moves for next to nothing."""
    from ortet.decisions.bench import Choice

    before = latest(PlanKind.BENCH)
    rows = before.slots.select_related("lot", "place", "bench") if before else ()
    stood = [
        Choice(
            lot_key(slot.lot, slot.place.name),
            slot.bench.name,
            slot.base_c,
            (slot.start - season.first).days // 7,
        )
        for slot in rows
        if slot.start >= season.first
    ]
    return [one for one in stood if one.batch in season.batch and one.bench in season.bench]


def _draft(desk: Desk, plan: Benches, by: User) -> None:
    from ortet.decisions.bench import outcome

    bare = sorted(
        lot_key(one, one.place)
        for one in desk.forecasts
        if lot_key(one, one.place) in plan.season.batch and not _ready(one)
    )
    assumed = list(plan.assumptions)
    if bare:
        assumed.append(
            say(
                "Not callused in store before they must be used, so they callus on the bench, at some risk of rot: {lots}.",
                lots=", ".join(bare),
            )
        )
    said = {
        "unplaced": [
            {"batch": one.batch, "count": one.count, "why": one.why, "relax": list(one.relax)}
            for one in plan.unplaced
        ],
        "conflicts": [f"{one.what} {one.relax}" for one in plan.conflicts],
        "assumed": assumed,
        "heat_cost": plan.heat_cost,
        "gap": plan.gap,
        "season": kept(plan.season),
        "heated": [
            {
                "bench": one.bench,
                "week": one.week,
                "base_c": one.base_c,
                "used": one.used,
                "cells": one.cells,
                "kwh": one.kwh,
                "cost": one.cost,
            }
            for one in plan.heated
        ],
        "batches": {
            one.batch: {"binds": list(one.binds), "changes": list(one.changes)} for one in plan.struck
        },
    }
    wood = {
        lot_key(pick.lot, pick.place.name): (pick.lot, pick.place)
        for pick in desk.picks
        if pick.lot and pick.place
    }
    benches = {setup.place.name: setup.place for setup in desk.setups.values()}
    week = timedelta(days=7)
    later = {
        one.batch: outcome(
            plan.season.batch[one.batch],
            plan.season.bench[one.bench],
            one.base_c,
            one.outcome.start + week,
            plan.season,
        ).risk
        for one in plan.struck
    }
    parts = [
        Slot(
            lot=wood[one.batch][0],
            place=wood[one.batch][1],
            bench=benches[one.bench],
            base_c=one.base_c,
            count=one.count,
            start=one.outcome.start,
            risk=one.outcome.risk,
            risk_later=later[one.batch],
            ready=one.outcome.roots,
            by_hand=one.by_hand,
            why=one.why,
        )
        for one in plan.struck
    ]
    desk.draft(PlanKind.BENCH, by, said, parts)
