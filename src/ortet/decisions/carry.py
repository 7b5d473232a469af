"""Bags side by side in columns, each carried from the hour it was closed to now, through what was done to it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cache
from math import floor

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.course import Courses
from ortet.science import bag
from ortet.science.air import saturation_vapour_pressure
from ortet.science.compiled import spread
from ortet.science.film import (
    CLOSURES,
    FILM_SPREAD,
    OXYGEN_REF_C,
    PACKINGS,
    WATER_REF_C,
    closure_leak,
    film_factor,
    film_permeance,
    oxygen_factor,
    oxygen_permeance,
)
from ortet.science.oxygen import FREE_AIR_OXYGEN, headspace_ml, oxygen_after
from ortet.wood.holding import Bag, Wrap

__all__ = ["SEEN_G_M2", "Columns", "Deed", "History", "carry", "carry_oxygen", "future_flows", "lay_column"]

Array = NDArray[np.float64]

DAY = 24
BARE = 1000.0  # bare wood is a bag that lets through this many times what the bark does
SEEN_G_M2 = {
    "none": 0.0,
    "droplets": 2.0,
    "pooled": 10.0,
}  # free water on film that looks so [common practice]
WORTH_A_THREAD = 30  # bags

Deed = tuple[
    int, int, int, int, float, float
]  # the fields of bag.DEED: bag, hour, kind, number, grams, bark share


@dataclass(slots=True)
class Columns:
    """Bags (and bare wood) as columns of arrays, all of shape (bags,)."""

    course: NDArray[np.int64]
    start: Array  # [h since 1970]
    wood_g: Array  # at the start [g]
    bark: Array  # [g h-1 Pa-1]
    film: Array  # at 38 °C [g h-1 Pa-1]
    closure: Array  # [g h-1 Pa-1]
    film_o2: Array  # at 25 °C [mL h-1 atm-1]
    closure_o2: Array  # [mL h-1 atm-1]
    film_m2: Array  # [m2]
    packing: Array  # [g h-1 Pa-1]
    held_g: Array  # water in the packing at the start [g]
    free_g: Array  # free water at the start [g]
    bark_spread: Array  # sd of ln
    film_spread: Array
    closure_spread: Array
    deeds: list[Deed] = field(default_factory=list)
    opened: list[tuple[int, float]] = field(default_factory=list)  # column, hour since 1970

    @property
    def size(self) -> int:
        """How many columns there are."""
        return len(self.course)

    def usual_air_ml(self, wood_g: Array) -> Array:
        """Return the air around this much wood; boundless for bare wood. [mL]"""
        return np.where(self.film_m2 > 0, headspace_ml(self.film_m2, wood_g), 1e12)


def lay_column(
    value: Bag | None, *, wood_g: float, bark_m2: float, conductance: float, bark_spread: float
) -> tuple[float, ...]:
    """Return the numbers of one column from `wood_g` to `closure_spread`, without course and start."""
    bark = float(bag.bark_conductance(conductance, bark_m2))
    if value is None:
        return wood_g, bark, 0.0, BARE * max(bark, 1e-12), 0.0, 1e9, 0.0, 0.0, 0.0, 0.0, bark_spread, 0.0, 0.0
    wrap = value.wrap
    film, leak, film_o2, leak_o2, film_spread, closure_spread = _wrap_numbers(wrap)
    gives = PACKINGS[wrap.packing].conductance
    packing = bark * gives / conductance
    held, free = (wrap.packing_water_g, 0.0) if gives else (0.0, wrap.packing_water_g)
    return (
        *(wood_g, bark, film, leak, film_o2, leak_o2),
        *(wrap.film_m2, packing, held, free, bark_spread, film_spread, closure_spread),
    )


@cache
def _wrap_numbers(wrap: Wrap) -> tuple[float, float, float, float, float, float]:
    """Return what film and closure let through, water then oxygen, and how unsure film and closure are."""
    per_hour = wrap.film_m2 / 24.0
    film = per_hour * float(film_permeance(wrap.polymer, wrap.thickness_um, wrap.layers, WATER_REF_C))
    film_o2 = per_hour * float(oxygen_permeance(wrap.polymer, wrap.thickness_um, wrap.layers, OXYGEN_REF_C))
    leak, leak_o2 = closure_leak(wrap.closure)
    return film, leak, film_o2, leak_o2, FILM_SPREAD, CLOSURES[wrap.closure].spread


@dataclass(slots=True)
class History:
    """Where the water of each column was at the end of each day, and is now."""

    water: bag.Water  # now, (cases, bags)
    wood_g: Array  # now, as reckoned when it was taken (bags,)
    bark_share: Array  # bark now as a share of that at the start (bags,)
    loss_g: Array  # water that had left the bag at each weighing (cases, weighings) [g]
    reset: Array  # hour of the last closing, wiping or dry look (bags,) [h since 1970]
    packing: Array  # its conductance now (bags,) [g h-1 Pa-1]
    soaked: NDArray[np.bool_]  # it gives like open water: nobody has found it barely moist (bags,)
    at: list[float]  # end of each day [h since 1970]
    lost: NDArray[np.float32]  # from the wood (days, cases, bags) [g]
    spell: NDArray[np.float32]  # (days, cases, bags) [h]
    wood_by_day: Array  # (days, bags) [g]


def carry(
    columns: Columns,
    courses: Courses,
    factors: tuple[Array, Array, Array],
    now: float,
    weighings: int,
    live: NDArray[np.bool_],
) -> History:
    """Carry the water of all columns from their start until now.

    Parameters
    ----------
    factors : three ndarrays, shape (cases, bags)
        By which bark, film and closure leak more than usual.
    weighings : int
        How many weighings the deeds hold.
    live : ndarray, shape (cases, bags)
        Which cases of which bags are carried; the others hold nothing of use.
    """
    from ortet.science.bag_kernel import carry as carry_kernel

    first, last = _days(columns, courses)
    bags = np.zeros(columns.size, dtype=bag.BAG)
    bags["course"], bags["start"] = columns.course, columns.start - courses.first
    bags["reset"] = bags["start"]
    bags["bark"], bags["wood_g"], bags["bark_share"] = columns.bark, columns.wood_g, 1.0
    bags["packing"], bags["soaked"] = columns.packing, True
    deeds = np.array(columns.deeds, dtype=bag.DEED)
    deeds = deeds[np.lexsort((deeds["kind"], deeds["hour"], deeds["bag"]))]
    usual = (columns.bark, columns.film, columns.closure)
    nothing = np.zeros(live.shape)
    water = np.stack([nothing, live * columns.free_g, live * columns.held_g, nothing, nothing])
    days = np.zeros((2, last - first, *live.shape), dtype=np.float32)
    after, wood, loss = bags.copy(), np.zeros((last - first, columns.size)), np.zeros((len(live), weighings))
    wood[:] = columns.wood_g
    given = (
        *(bags, after, deeds, np.searchsorted(deeds["bag"], np.arange(columns.size + 1))),
        *(np.stack([f * c for f, c in zip(factors, usual, strict=True)]), live, *_air(courses)),
        *(now - courses.first, bag.DRY_HOURS, water, loss, days, wood),
    )
    spread(lambda begin, end: carry_kernel(begin, end, *given), columns.size, WORTH_A_THREAD)
    ends = courses.first + np.arange(first + 1, last + 1) * float(DAY)
    return History(
        bag.Water(*water),
        after["wood_g"].copy(),
        after["bark_share"].copy(),
        loss,
        courses.first + after["reset"],
        after["packing"].copy(),
        after["soaked"].copy(),
        np.minimum(ends, min(now, courses.first + courses.hours)).tolist(),
        days[0],
        days[1],
        wood,
    )


def _air(courses: Courses) -> tuple[Array, Array]:
    """Return the pressures of each course by the hour as the kernel takes them, and what film lets through on the mean of each day."""
    edges = np.arange(0, courses.hours, DAY)
    by_day = (
        np.add.reduceat(film_factor(courses.air_c), edges)
        / np.diff(edges, append=courses.hours)[:, np.newaxis]
    )
    return _pressures(courses.wood_c, courses.air_c, courses.outside_pa), np.ascontiguousarray(by_day.T)


def _pressures(wood_c: Array, air_c: Array, outside_pa: Array) -> Array:
    """Return lift, pull and rise, shape (courses, hours, 3). [Pa]"""
    over_water, at_film = saturation_vapour_pressure(wood_c), saturation_vapour_pressure(air_c)
    parts = (bag.ACTIVITY * over_water - at_film, at_film - outside_pa, over_water - at_film)
    return np.ascontiguousarray(np.stack(parts).T)


def _days(columns: Columns, courses: Courses) -> tuple[int, int]:
    """Return the first day in which a column starts, and the day after the last."""
    return max(floor(columns.start.min()) - courses.first, 0) // DAY, -(-courses.hours // DAY)


def future_flows(
    columns: Columns, courses: Courses, factors: tuple[Array, Array, Array], history: History
) -> tuple[bag.Flows, bag.Flows]:
    """Return the mean flows from wood and from moist packing while the store goes on like its last fourteen days."""
    from ortet.science.bag_kernel import mean_flows

    bark, film, closure = factors
    leaks = np.stack([film * columns.film, closure * columns.closure])
    air = _pressures(courses.pattern_wood_c, courses.pattern_air_c, courses.pattern_outside_pa)
    opens = np.ascontiguousarray(film_factor(courses.pattern_air_c).T)

    def mean(source: Array, soaked: NDArray[np.bool_]) -> bag.Flows:
        flows = np.empty((3, *source.shape))
        given = (columns.course, leaks, np.ascontiguousarray(source), soaked, air, opens, flows)
        spread(lambda begin, end: mean_flows(begin, end, *given), columns.size, WORTH_A_THREAD)
        return bag.Flows(*flows)

    wood = mean(bark * (columns.bark * history.bark_share), np.zeros(columns.size, dtype=np.bool_))
    if not history.water.held.any():
        return wood, wood
    return wood, mean(np.broadcast_to(history.packing, bark.shape), history.soaked)


def carry_oxygen(
    columns: Columns,
    courses: Courses,
    factors: tuple[Array, Array, Array],
    needed: Array,
    wood_g: Array,
    now: float,
) -> tuple[Array, list[NDArray[np.float32]], Array, Array]:
    """Carry the oxygen of all columns from their start until now.

    Parameters
    ----------
    needed : ndarray, shape (days, cases, bags)
        Oxygen that the wood takes up on each day since the courses' first. [mL h-1]
    wood_g : ndarray, shape (bags,)
        [g]

    Returns
    -------
    now, days, conductance, air_ml
        Oxygen now (cases, bags), at the end of each day, and what the future needs: mean conductance (cases, bags)
        [mL h-1 atm-1] and air (bags,) [mL].
    """
    _, film, closure = factors
    open_to, tight = film * columns.film_o2, closure * columns.closure_o2
    factor = oxygen_factor(courses.air_c)
    air = columns.usual_air_ml(wood_g)
    share = np.full(open_to.shape, FREE_AIR_OXYGEN)
    opened: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for column, at in sorted(columns.opened, key=lambda pair: pair[1]):
        opened[floor(at - courses.first) // DAY].append((column, at))
    days: list[NDArray[np.float32]] = []
    for day in range(*_days(columns, courses)):
        rows = slice(day * DAY, min((day + 1) * DAY, courses.hours))
        begin, end = float(courses.first + rows.start), min(float(courses.first + rows.stop), now)
        since = np.maximum(begin, columns.start)
        for column, at in opened[day]:
            share[:, column] = FREE_AIR_OXYGEN
            since[column] = max(at, since[column])
        conductance = open_to * factor[rows].mean(0)[columns.course] + tight
        hours = np.maximum(end - since, 0.0)
        share = oxygen_after(share, needed[day], conductance, air, hours)
        days.append(share.astype(np.float32))
    onward = open_to * oxygen_factor(courses.pattern_air_c).mean(0)[columns.course] + tight
    return share, days, onward, air
