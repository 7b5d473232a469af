"""From arrays to what is told of each lot: state, limits, crossings and what they rest on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ortet.decisions import pacing
from ortet.decisions.block import Block
from ortet.decisions.clocks import Clocks, Growth
from ortet.decisions.laying import Traits, traits
from ortet.decisions.outlook import Band, Crossing, Limit, LotForecast, percent
from ortet.decisions.pacing import CALLUS, ROOTS
from ortet.science.film import film_factor
from ortet.science.reserve import HEXOSE_PER_CO2
from ortet.science.species import species
from ortet.wood.holding import Holding
from ortet.wood.speech import say, to_say

__all__ = ["limits_of", "reserve_cases", "tell"]

Array = NDArray[np.float64]

READY = 0.8  # strike when most have callused, pot when most have rooted [common practice]
READY_Z = 0.8416  # 80 in 100 of a standard normal lie below
LOW_OXYGEN = 0.05
GERMINATION = "Petäistö 2006, Baltic Forestry 12:24-33"
FERMENTS = to_say("Below 5 % wood may ferment")


@cache
def limits_of(key: str) -> dict[str, Limit]:
    """Return the limits of a species; those of free water, callus and roots are added for each lot, and the words are said."""
    kind = species(key)

    def limit(name: str, value: float) -> Limit:
        return Limit(value, kind.why(name), kind.known(name).mark)

    return {
        "water_lost": limit("dry_limit", kind.value("dry_limit")),
        "oxygen": Limit(LOW_OXYGEN, FERMENTS, "common practice"),
        "reserve_left": limit("usable_share", 1.0 - kind.value("usable_share")),
        "chill_portions": limit("chill_portions", kind.value("chill_portions")),
    }


@cache
def reserve_cases(kind: Traits) -> Array:
    """Return the share of the reserve burnt in an hour at 5 °C: likely least, likely, likely most. [1/h]"""
    usual = kind.respiration * HEXOSE_PER_CO2 * 1e-6 / kind.dry_share / kind.reserve
    less = np.hypot(kind.respiration_less, kind.reserve_more)
    more = np.hypot(kind.respiration_more, kind.reserve_less)
    return np.asarray(usual * np.exp([-less, 0.0, more]))


def _most(growth: Growth, position: int, what: str) -> Limit:
    """Return the share at which most of the cuttings that ever do have callused, or rooted."""
    why = (
        say("Struck when most cuttings have callused")
        if what == "callus"
        else say("Potted when most cuttings have rooted")
    )
    never = float(growth.never[position])
    if never > 0:
        why += say("; {share} are taken never to, from what you saw and what is usual", share=percent(never))
    return Limit(READY * (1.0 - never), why, "common practice")


def tell(
    block: Block, holdings: Sequence[Holding], clocks: Clocks, now: float, horizon_days: int
) -> Iterator[tuple[int, LotForecast]]:
    """Yield each holding of a block, by position, with its forecast."""
    times = np.arange(0.0, horizon_days + 7.0, 7.0) * 24.0
    col = block.column
    mine = [holdings[position] for position in block.number]
    lost = block.lost_by(times)[:, :, col]
    before = share_before(block, mine)
    lost = np.maximum(lost - before, 0.0)
    dry_limit = np.array([limits_of(h.species)["water_lost"].value for h in mine])
    crossed_dry = _first(now + times, lost, dry_limit)
    _look_back(block, crossed_dry, before, dry_limit, now)
    spell, wet_at, wet_limit = _wet(block, clocks, now)
    airless = _airless(block, now)
    horizon = now + 24.0 * horizon_days
    rate = (lost[1] - lost[0]) if len(times) > 1 else 0.0 * lost[0]
    swing = np.ptp(clocks.courses.air_c[-168:], axis=0)
    means = clocks.courses.pattern_air_c.mean(0)
    by_clock = {
        "reserve_left": _reserve(clocks, block.number, mine, now),
        "chill_portions": _chill(clocks, block.number, mine, now),
        "callus": _grown(clocks.callus, block.number, clocks, now),
        "roots": _grown(clocks.roots, block.number, clocks, now),
    }
    clocked = {what: (_bands(cases), _crossings(at, horizon)) for what, (cases, at) in by_clock.items()}
    dried, dries, drying = _bands(lost[0]), _crossings(crossed_dry, horizon), _bands(rate)
    wet, wets = _bands(spell), _crossings(wet_at, horizon)
    oxygen, ends = _bands(block.oxygen), _crossings(airless, horizon)
    free_g, leaks, likely_free = _bands(block.water.free), _bands(block.leak), block.water.free[1]
    for at, (position, held) in enumerate(zip(block.number, mine, strict=True)):
        column = int(col[at])
        lying = block.lying[column]
        course = int(clocks.course[position])
        kind = traits(held.species)
        limits = dict(limits_of(held.species))
        state = {"water_lost": dried[at]}
        crossings = {"water_lost": dries[at]}
        if lying.bag:
            hours = float(wet_limit[course])
            why = say(
                "Grey mould germinates in {hours:.0f} h of wetness at {mean_c:.1f} °C ({source})",
                hours=hours,
                mean_c=means[course],
                source=GERMINATION,
            )
            limits["oxygen"] = replace(limits["oxygen"], why=say(FERMENTS))
            limits["free_wet_hours"] = Limit(hours, why, "published")
            state["free_wet_hours"] = wet[column]
            crossings["free_wet_hours"] = wets[column]
            state["oxygen"] = oxygen[column]
            crossings["oxygen"] = ends[column]
        else:
            del limits["oxygen"]
        for what, (bands, crossed) in clocked.items():
            if what == "roots" and clocks.roots.pair[position] < 0:
                continue
            if what in ("callus", "roots"):
                limits[what] = _most(getattr(clocks, what), position, what)
            state[what], crossings[what] = bands[at], crossed[at]
        yield (
            position,
            LotForecast(
                held.lot,
                held.variety,
                held.species,
                held.place,
                held.bag,
                lying.key[-1][0],
                held.count,
                now,
                state,
                {what: limits[what] for what in state},
                {what: crossings[what] for what in state},
                free_g[column],
                drying[at],
                leaks[column],
                held.taken + kind.keep_h,
                species(held.species).why("keep_weeks"),
                now - float(spell[1, column])
                if lying.bag and spell[1, column] > 0 and likely_free[column] > 0
                else None,
                float(swing[course]),
                len(lying.bag.weighings) if lying.bag else 0,
                _filled(clocks, course, lying.start),
                _rests_on(block, clocks, position, held, column, now),
                held.mark,
                float(block.water.held[1, column]) if block.history.soaked[column] else 0.0,
                {
                    what: told
                    for what, growth in ((CALLUS, clocks.callus), (ROOTS, clocks.roots))
                    if (told := growth.told[position])
                },
                clocks.chill.said[clocks.chill.row[position]],
                not _unrecorded(clocks, course),
            ),
        )


def share_before(block: Block, held: Sequence[Holding]) -> Array:
    """Return the share that a bag had lost when a lot came to it later, shape (cases, holdings)."""
    out = np.zeros((len(block.smooth), len(held)))
    days = np.array(block.history.at)
    for at, (holding, column) in enumerate(zip(held, block.column, strict=True)):
        if holding.since > block.lying[column].start + 24.0 and len(days):
            day = int(np.searchsorted(days, holding.since, side="right")) - 1
            if day >= 0:
                out[:, at] = block.lost_so_far(column)[:, day]
    return out


def _look_back(block: Block, at: Array, before: Array, limit: Array, now: float) -> None:
    """Put the day of a crossing that lies in the past in place of now."""
    days = np.array(block.history.at)
    for column in np.unique(block.column[(at <= now).any(0)]):
        lost = block.lost_so_far(column)
        for case, holding in np.argwhere((at <= now) & (block.column == column)):
            over = np.flatnonzero(lost[case] - before[case, holding] >= limit[holding])
            if over.size:
                at[case, holding] = min(days[over[0]], now)


def _first(times: Array, values: Array, limit: Array) -> Array:
    """Return when rising values, shape (times, cases, holdings), first reach a limit; infinite if never."""
    reached = values >= limit
    index = np.argmax(reached, axis=0)
    after = np.maximum(index, 1)
    high = np.take_along_axis(values, after[np.newaxis], 0)[0]
    low = np.take_along_axis(values, after[np.newaxis] - 1, 0)[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(high > low, (limit - low) / (high - low), 0.0)
    between = times[after - 1] + np.clip(part, 0.0, 1.0) * (times[after] - times[after - 1])
    return np.where(index > 0, between, np.where(reached[0], times[0], np.inf))


def _wet(block: Block, clocks: Clocks, now: float) -> tuple[Array, Array, Array]:
    """Return hours of the present spell of wetness, when it reaches its limit, and the limit of each course."""
    limit = clocks.courses.limit_hours()
    course = block.columns.course
    film = block.columns.film * film_factor(clocks.courses.pattern_air_c.mean(0))[course]
    tight = block.leak[1] * (film + block.columns.closure) < block.columns.bark
    touching = np.minimum(clocks.courses.wet_spell[-1, course], now - block.history.reset)
    spell = np.maximum(block.water.spell, np.where(tight, touching, 0.0))
    onto = np.where(block.water.held > 0, block.packing.onto, block.wood.onto)
    with np.errstate(divide="ignore", invalid="ignore"):
        lasts = np.where(onto >= 0, np.inf, np.where(block.water.free > 0, block.water.free / -onto, 0.0))
    needs = limit[course] - spell
    at = np.where(needs <= lasts, now + needs, np.inf)
    return spell, at, limit


def _airless(block: Block, now: float) -> Array:
    """Return when oxygen falls to its limit, shape (cases, bags)."""
    above, steady = block.oxygen, block.oxygen_steady
    with np.errstate(divide="ignore", invalid="ignore"):
        hours = np.log((above - steady) / (LOW_OXYGEN - steady)) / block.oxygen_pace
    at = np.where(steady < LOW_OXYGEN, now + hours, np.inf)
    for case, column in np.argwhere(above <= LOW_OXYGEN):
        day = len(block.oxygen_days)
        while day and block.oxygen_days[day - 1][case, column] <= LOW_OXYGEN:
            day -= 1
        at[case, column] = min(block.history.at[min(day, len(block.history.at) - 1)], now)
    return at


def _reserve(
    clocks: Clocks, number: Sequence[int], held: Sequence[Holding], now: float
) -> tuple[Array, Array]:
    """Return the reserve left and when its limit is crossed, each (cases, holdings)."""
    kinds = [traits(h.species) for h in held]
    cases = np.stack([reserve_cases(kind) for kind in kinds], axis=1)
    spare = np.array([1.0 - limits_of(h.species)["reserve_left"].value for h in held])
    course, taken = clocks.course[number], clocks.taken[number]
    run, pace = np.empty(len(held)), np.empty(len(held))
    for q10, breath in clocks.breaths.items():
        mine = np.array([kind.q10 == q10 for kind in kinds])
        run[mine] = breath.so_far[-1, course[mine]] - breath.so_far[taken[mine], course[mine]]
        pace[mine] = breath.onward[course[mine]]
    at = now + (spare / cases - run) / pace
    for case, n in np.argwhere(at <= now):
        rows = clocks.breaths[kinds[n].q10].so_far[taken[n] :, course[n]]
        needed = spare[n] / cases[case, n]
        at[case, n] = clocks.courses.first + taken[n] + int(np.searchsorted(rows - rows[0], needed))
    return np.clip(1.0 - cases * run, 0.0, 1.0), at


def _chill(clocks: Clocks, number: Sequence[int], held: Sequence[Holding], now: float) -> tuple[Array, Array]:
    """Return chill portions and when the least, the usual and the greatest need are met, each (cases, holdings)."""
    needs = np.array([_chill_needs(h.species) for h in held]).T
    row = clocks.chill.row[number]
    have = clocks.chill.so_far[row, -1].astype(np.float64)
    a_day = clocks.chill.a_day[row]
    with np.errstate(divide="ignore"):
        at = np.where(a_day > 1e-9, now + (needs - have) / a_day * 24.0, np.inf)
    known: dict[tuple[int, float], float] = {}
    for case, n in np.argwhere(needs <= have):
        key = int(row[n]), float(needs[case, n])
        if key not in known:
            known[key] = clocks.chill.reached(*key)
        at[case, n] = known[key]
    return np.tile(have, (3, 1)), at


@cache
def _chill_needs(key: str) -> tuple[float, float, float]:
    low, high = species(key).range("chill_portions")
    return low, species(key).value("chill_portions"), high


def _grown(growth: Growth, number: Sequence[int], clocks: Clocks, now: float) -> tuple[Array, Array]:
    """Return the share callused, or rooted, and when most of those that ever do have; each (cases, holdings)."""
    mine = np.asarray(number, dtype=np.int64)
    if not growth.a_day.size:
        return np.zeros((3, mine.size)), np.full((3, mine.size), np.inf)
    run, pace = growth.run(mine), growth.a_day[growth.pair[mine]]
    needed = np.exp(READY_Z * growth.spread[mine]) / growth.speed[:, mine]
    with np.errstate(divide="ignore"):
        at = np.where(pace > 1e-9, now + (needed - run) / pace * 24.0, np.inf)
    for case, n in np.argwhere(needed <= run):
        came = int(growth.came[mine[n]])
        rows = growth.so_far[growth.pair[mine[n]], came:]
        left = needed[case, n] - growth.before[mine[n]]
        at[case, n] = clocks.courses.first + came + int(np.searchsorted(rows - rows[0], left))
    return growth.share(run, mine), at


def _learnt(clocks: Clocks, held: Holding, position: int) -> list[str]:
    """Return in sentences what looks have taught of a lot's pace."""
    return [
        pacing.say(told, held.species, what, held.variety)
        for what, growth in ((CALLUS, clocks.callus), (ROOTS, clocks.roots))
        if growth.pair[position] >= 0 and (told := growth.told[position])
    ]


def _bands(cases: Array) -> list[Band]:
    return [Band(*three) for three in np.sort(cases, axis=0).T.tolist()]


def _crossings(cases: Array, horizon: float) -> list[Crossing]:
    return [
        Crossing(
            None if early > horizon else early,
            None if median > horizon else median,
            None if late > horizon else late,
        )
        for early, median, late in np.sort(cases, axis=0).T.tolist()
    ]


def _filled(clocks: Clocks, course: int, start: float) -> int:
    filled = clocks.courses.filled
    return (
        0
        if _unrecorded(clocks, course)
        else int(filled[-1, course] - filled[clocks.courses.index(start), course])
    )


def _unrecorded(clocks: Clocks, course: int) -> bool:
    return clocks.courses.last_recorded[course] is None


def _rests_on(
    block: Block, clocks: Clocks, position: int, held: Holding, column: int, now: float
) -> tuple[str, ...]:
    """Return in plain sentences what a lot's figures rest on."""
    lying, course = block.lying[column], int(clocks.course[position])
    kind = traits(held.species)
    said = []
    if lying.bag:
        wrap = lying.bag.wrap
        known = sorted(w.at for w in lying.bag.weighings if lying.start - 1.0 <= w.at <= now)
        if len(known) > 1:
            low, usual_times, high = block.leak[:, column]
            said.append(
                say(
                    "Weighed {times} times, last {days:.0f} days ago; the bag leaks {leak:.1f} times what is usual "
                    "({low:.1f} to {high:.1f}).",
                    times=len(known),
                    days=(now - known[-1]) / 24,
                    leak=usual_times,
                    low=low,
                    high=high,
                )
            )
        else:
            once = (
                say("Weighed once: a second weighing will tell how fast it loses.")
                if known
                else say("Never weighed.")
            )
            layers = say("{layers} layers of ", layers=wrap.layers) if wrap.layers > 1 else ""
            said.append(
                say(
                    "{once} The usual leak of {layers}{polymer} {thickness_um:g} µm, closure {closure}, is used.",
                    once=once,
                    layers=layers,
                    polymer=wrap.polymer,
                    thickness_um=wrap.thickness_um,
                    closure=say(wrap.closure),
                )
            )
    else:
        said.append(say("Bare wood: the usual bark of {kind} is used.", kind=say(kind.name)))
    filled = _filled(clocks, course, lying.start)
    if filled:
        said.append(
            say("{hours} h of the record were missing and filled from the days around.", hours=filled)
        )
    if clocks.courses.assumed[course]:
        said.append(clocks.courses.assumed[course])
    strange = clocks.courses.strange
    odd = int(strange[-1, course] - strange[clocks.courses.index(lying.start), course])
    if odd:
        said.append(
            say(
                "{hours} h were colder than -2 °C or warmer than 30 °C: there the figures for water and oxygen do not hold.",
                hours=odd,
            )
        )
    missing = clocks.chill.said[clocks.chill.row[position]]
    if missing:
        said.append(missing)
    learnt = _learnt(clocks, held, position)
    said.extend(learnt)
    usual = (
        say("breathing, reserve and chill need")
        if learnt
        else say("breathing, reserve, chill need and callus")
    )
    said.append(
        say(
            "Usual values for {kind} are used for {usual}; none was measured on this lot.",
            kind=say(kind.name),
            usual=usual,
        )
    )
    if not _unrecorded(clocks, course):
        said.append(say("From now on the store is taken to go on like its last 14 recorded days."))
    return tuple(said)
