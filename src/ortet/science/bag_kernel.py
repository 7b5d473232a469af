"""Bags carried through the hours of a record, compiled: bag.advance hour by hour, and what is done to a bag in between.

Arithmetic and units are those of bag.py; docs/science/bag.md tells it equation by equation, and a test holds the two
together. Pressures come as differences: `lift` over the wood, `rise` over open water, each less at the film; `pull` at
the film less outside. [Pa]
"""

from __future__ import annotations

from math import floor, inf
from typing import Any

import numpy as np
from numba import from_dtype, types
from numpy.typing import NDArray

from ortet.science.bag import BAG, CHANGED, DEED, LOOKED, WEIGHED, WIPED
from ortet.science.compiled import compiled, part

__all__ = ["carry", "mean_flows"]

Array = NDArray[np.float64]
Row = Any  # one of an array of BAG or of DEED
Bags = types.Array(from_dtype(BAG), 1, "C")
Deeds = types.Array(from_dtype(DEED), 1, "C")
NEVER = 2**62
SEEN_WET_H = 1.0  # water that is seen has lain there this long at least


@part
def _wet_share(free: float, onto: float) -> float:
    """Return the share of a step in which the film is wet, given what a wet film would gain in it."""
    return 1.0 if onto >= 0.0 else min(free / -onto, 1.0)


@part
def _spell(spell: float, dry: float, share: float, step: float, dry_hours: float) -> tuple[float, float]:
    """Return the spell of wetness and the dry hours after a step that is wet for a share of it, then dry."""
    wet_for = share * step
    dry = (0.0 if wet_for > 0.0 else dry) + step - wet_for
    return (0.0 if dry >= dry_hours else spell + wet_for), dry


@part
def _joint(source: float, leak: float) -> float:
    """Return the conductance of two in a row."""
    return source * leak / max(source + leak, 1e-300)


@part
def _draw_on_packing(
    free: float, held: float, spell: float, dry: float, source: float, over: float, leak: float, pull: float,
    step: float, dry_hours: float,
) -> tuple[float, float, float, float, float]:  # fmt: skip
    """Return free and held water, spell and dry hours once the packing has run out or the step is over, and what is left of it."""
    from_dry, from_wet = _joint(source, leak) * (over + pull), source * over
    onto = from_wet - leak * pull
    wet_for = step * _wet_share(free, onto * step)
    lasts = held / from_wet if from_wet > 0.0 else inf
    if lasts > wet_for:
        lasts = wet_for + (held - from_wet * wet_for) / from_dry if from_dry > 0.0 else inf
    first = min(step, lasts)
    share = _wet_share(free, onto * first)
    used = first * (from_dry + share * (from_wet - from_dry))
    held = 0.0 if first < step else max(held - used, 0.0)
    spell, dry = _spell(spell, dry, share, first, dry_hours)
    return max(free + onto * first, 0.0), held, spell, dry, step - first


@part
def _draw_on_wood(
    lost: float, free: float, spell: float, dry: float, bark: float, joint: float, lift: float, leak: float,
    pull: float, step: float, dry_hours: float,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Return lost and free water, spell and dry hours after a step."""
    from_dry = joint * (lift + pull) * step
    onto = (bark * lift - leak * pull) * step
    if free == 0.0 and onto < 0.0:  # dry and staying dry
        dry += step
        return max(lost + from_dry, 0.0), 0.0, (0.0 if dry >= dry_hours else spell), dry
    share = _wet_share(free, onto)
    lost += from_dry + share * (bark * lift * step - from_dry)
    free = max(free + onto, 0.0)  # below 0: it dried on the way
    if lost < 0.0:  # wood takes back no more than it lost
        if share > 0.0:
            free -= lost
        lost = 0.0
    spell, dry = _spell(spell, dry, share, step, dry_hours)
    return lost, free, spell, dry


@part
def _do(
    done: Row, bag: Row, lost: float, free: float, held: float, spell: float, dry: float
) -> tuple[float, float, float, float, float]:
    """Do to a bag what was done to it; water seen or not seen corrects what was computed."""
    if done.kind == CHANGED:
        if done.grams < bag.wood_g:
            lost *= done.grams / bag.wood_g  # what is taken out takes its share along
        bag.wood_g, bag.bark_share = done.grams, done.bark_share
    elif done.kind == LOOKED and done.grams > 0.0:
        more = max(done.grams - free, 0.0)
        lost, free, spell, dry = lost + more, free + more, max(spell, SEEN_WET_H), 0.0
    elif done.kind == LOOKED:  # nothing wet, so it never left the wood
        lost, free, spell = max(lost - free, 0.0), 0.0, 0.0
        # packing in which nothing wet is found is barely moist: as humid as the wood, and it gives no faster
        bag.packing, bag.soaked, bag.reset = bag.bark * bag.bark_share, False, done.hour
    elif done.kind == WIPED:  # wet packing is taken out, or changed for some that is barely moist
        free = spell = held = 0.0
        bag.reset = done.hour
    return lost, free, held, spell, dry


@part
def _carry_one(
    b: int, case: int, bag: Row, deeds: NDArray[np.void], conductance: Array, air: Array, opens: Array, now: float,
    dry_hours: float, water: Array, left: Array, days: NDArray[np.float32], wood_days: Array,
) -> None:  # fmt: skip
    """Carry one bag in one case; `bag` changes as its deeds demand."""
    film, closure = conductance[1, case, b], conductance[2, case, b]
    lost, free, held = water[0, case, b], water[1, case, b], water[2, case, b]
    spell, dry = water[3, case, b], water[4, case, b]
    bark, closed_in = conductance[0, case, b] * bag.bark_share, free + held - lost
    start, hours, unwritten, deed = bag.start, len(air), len(opens) - days.shape[1], 0
    opening = max(floor(start), 0)
    next_deed = deeds[0].hour if len(deeds) else NEVER
    # the day after the last is there for what was done in the hour that has only begun
    for day in range(opening // 24, len(opens) + 1):
        leak = film * opens[min(day, len(opens) - 1)] + closure
        joint = _joint(bark, leak)
        for hour in range(max(24 * day, opening), min(24 * day + 24, hours) if day < len(opens) else NEVER):
            while next_deed <= hour or (hour >= hours and next_deed < NEVER):
                if deeds[deed].kind == WEIGHED:
                    left[case, deeds[deed].number] = closed_in + lost - free - held
                lost, free, held, spell, dry = _do(deeds[deed], bag, lost, free, held, spell, dry)
                bark = conductance[0, case, b] * bag.bark_share
                joint, deed = _joint(bark, leak), deed + 1
                next_deed = deeds[deed].hour if deed < len(deeds) else NEVER
            if hour >= hours:
                break
            step = min(hour + 1.0, now) - max(float(hour), start)
            lift, pull = air[hour, 0], air[hour, 1]
            if held > 0.0 and step > 0.0:
                over = air[hour, 2] if bag.soaked else lift
                free, held, spell, dry, step = _draw_on_packing(
                    free, held, spell, dry, bag.packing, over, leak, pull, step, dry_hours
                )
            if step > 0.0:
                lost, free, spell, dry = _draw_on_wood(
                    lost, free, spell, dry, bark, joint, lift, leak, pull, step, dry_hours
                )
        if unwritten <= day < len(opens):
            days[0, day - unwritten, case, b], days[1, day - unwritten, case, b] = lost, spell
            wood_days[day - unwritten, b] = bag.wood_g
    water[0, case, b], water[1, case, b], water[2, case, b] = lost, free, held
    water[3, case, b], water[4, case, b] = spell, dry


@compiled(
    types.void(
        *(types.int64, types.int64, Bags, Bags, Deeds, types.int64[::1]),
        *(types.float64[:, :, ::1], types.boolean[:, ::1], types.float64[:, :, ::1], types.float64[:, ::1]),
        *(types.float64, types.float64, types.float64[:, :, ::1], types.float64[:, ::1]),
        *(types.float32[:, :, :, ::1], types.float64[:, ::1]),
    )
)
def carry(
    begin: int,
    end: int,
    bags: NDArray[np.void],
    after: NDArray[np.void],
    deeds: NDArray[np.void],
    deeds_from: NDArray[np.int64],
    conductance: Array,
    live: NDArray[np.bool_],
    air: Array,
    opens: Array,
    now: float,
    dry_hours: float,
    water: Array,
    left: Array,
    days: NDArray[np.float32],
    wood_days: Array,
) -> None:
    """Carry some bags from when each was closed until now, through what was done to them.

    Parameters
    ----------
    begin, end : int
        Which bags.
    bags, after : ndarray of BAG, shape (bags,)
        As they were closed; as they are now, written here.
    deeds : ndarray of DEED, sorted by bag, hour and kind
    deeds_from : ndarray of int, shape (bags + 1,)
        Where each bag's deeds begin.
    conductance : ndarray, shape (3, cases, bags)
        Of bark at the start, of film at 38 °C, of the closure. [g h-1 Pa-1]
    live : ndarray of bool, shape (cases, bags)
        Which are wanted; the others are left as they are.
    air : ndarray, shape (courses, hours, 3)
        lift, pull, rise. [Pa]
    opens : ndarray, shape (courses, days)
        What the film lets through as a factor of that at 38 °C.
    now : float
        Hour of the record; what comes after does not count. [h]
    water : ndarray, shape (5, cases, bags)
        lost, free, held, spell, dry as in `bag.Water`, changed here.
    left : ndarray, shape (cases, weighings)
        Water that had left the bag when it was weighed, written here. [g]
    days : ndarray, shape (2, days, cases, bags)
        Lost and spell at the end of each of the last days of the record, written here.
    wood_days : ndarray, shape (days, bags)
        Wood in the bag at the end of each, written here. [g]
    """
    for b in range(begin, end):
        deeds_of_it, course = deeds[deeds_from[b] : deeds_from[b + 1]], bags[b].course
        for case in range(live.shape[0]):
            if live[case, b]:
                after[b] = bags[b]
                _carry_one(
                    b, case, after[b], deeds_of_it, conductance, air[course], opens[course], now, dry_hours, water, left,
                    days, wood_days,
                )  # fmt: skip


@compiled(
    types.void(
        *(types.int64, types.int64, types.int64[::1], types.float64[:, :, ::1], types.float64[:, ::1]),
        *(types.boolean[::1], types.float64[:, :, ::1], types.float64[:, ::1], types.float64[:, :, ::1]),
    )
)
def mean_flows(
    begin: int,
    end: int,
    course: NDArray[np.int64],
    conductance: Array,
    source: Array,
    soaked: NDArray[np.bool_],
    air: Array,
    opens: Array,
    flows: Array,
) -> None:
    """Write what flows on the mean of a record's hours, as `bag.flows` gives it for each.

    Parameters
    ----------
    begin, end : int
        Which bags.
    course : ndarray of int, shape (bags,)
    conductance : ndarray, shape (2, cases, bags)
        Of film at 38 °C, of the closure. [g h-1 Pa-1]
    source : ndarray, shape (cases, bags)
        Conductance of bark or packing. [g h-1 Pa-1]
    soaked : ndarray of bool, shape (bags,)
        The source gives like open water.
    air : ndarray, shape (courses, hours, 3)
        lift, pull, rise. [Pa]
    opens : ndarray, shape (courses, hours)
        What the film lets through as a factor of that at 38 °C.
    flows : ndarray, shape (3, cases, bags)
        dry, wet, onto as in `bag.Flows`, written here. [g h-1]
    """
    for b in range(begin, end):
        record, factor = air[course[b]], opens[course[b]]
        for case in range(len(source)):
            gives, film, closure = source[case, b], conductance[0, case, b], conductance[1, case, b]
            from_dry = from_wet = out = 0.0
            for hour in range(len(record)):
                over, pull = record[hour, 2] if soaked[b] else record[hour, 0], record[hour, 1]
                leak = film * factor[hour] + closure
                from_dry += _joint(gives, leak) * (over + pull)
                from_wet += gives * over
                out += leak * pull
            flows[0, case, b], flows[1, case, b] = from_dry / len(record), from_wet / len(record)
            flows[2, case, b] = (from_wet - out) / len(record)
