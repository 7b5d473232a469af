"""Bags side by side in columns, carried from the hour each was closed to now.

All bags take each hour's step together; what is done to a bag in that hour is done first.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import floor

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.course import Courses
from ortet.science import bag
from ortet.science.air import saturation_vapour_pressure
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
from ortet.science.span import Packing, Reads, Span, advance_hours
from ortet.wood.holding import Bag, Wrap

__all__ = ["Columns", "Event", "History", "carry", "carry_oxygen", "future_flows", "lay_column"]

Array = NDArray[np.float64]
Which = NDArray[np.int64]

DAY = 24
BARE = 1000.0  # bare wood is a bag that lets through this many times what the bark does
DROPLETS_G_M2, POOLED_G_M2 = (
    2.0,
    10.0,
)  # free water on film that shows droplets, that runs together [common practice]
SEEN_WET_H = 1.0  # water that is seen has lain there this long at least


@dataclass(frozen=True, slots=True)
class Event:
    """Something done to a bag, or read of it, in a certain hour; in one hour in this order."""

    row: int  # hours since the courses' first
    order: int  # 0 wood in or out, 1 weighed, 2 looked at, 3 wiped
    column: int
    number: int = 0  # which weighing
    wood_g: float = 0.0
    bark_share: float = 1.0
    seen: str = ""


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
    events: list[Event] = field(default_factory=list)
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

    first: int  # the courses' first hour [h since 1970]
    water: bag.Water  # now, (cases, bags)
    wood_g: Array  # now, as reckoned when it was taken (bags,)
    bark_share: Array  # bark now as a share of that at the start (bags,)
    loss_g: Array  # water that had left the bag at each weighing (cases, weighings) [g]
    reset: Array  # hour of the last closing, wiping or dry look (bags,) [h since 1970]
    packing: Array  # its conductance now (bags,) [g h-1 Pa-1]
    soaked: NDArray[np.bool_]  # it gives like open water: nobody has found it barely moist (bags,)
    at: list[float]  # end of each day [h since 1970]
    lost: list[NDArray[np.float32]]  # from the wood, (cases, bags) a day [g]
    spell: list[NDArray[np.float32]]  # [h]
    wood_by_day: list[Array] = field(default_factory=list)  # (bags,) a day [g]


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
        How many weighings the events hold.
    live : ndarray, shape (cases, bags)
        Which cases of which bags are carried; the others hold nothing of use.
    """
    bark_usual, film, closure = (
        f * c for f, c in zip(factors, (columns.bark, columns.film, columns.closure), strict=True)
    )
    shape = np.broadcast_shapes(bark_usual.shape, film.shape)
    lost, spell, dry = np.zeros((3, *shape))
    water = bag.Water(lost, live * columns.free_g, live * columns.held_g, spell, dry)
    history = History(
        courses.first,
        water,
        columns.wood_g.copy(),
        np.ones(columns.size),
        np.zeros((shape[0], weighings)),
        columns.start.copy(),
        columns.packing.copy(),
        np.ones(columns.size, dtype=np.bool_),
        [],
        [],
        [],
    )
    events: dict[int, list[Event]] = defaultdict(list)
    for event in sorted(columns.events, key=lambda event: (event.row, event.order)):
        events[event.row].append(event)
    over_water = saturation_vapour_pressure(courses.wood_c)
    over_wood, at_film = bag.ACTIVITY * over_water, saturation_vapour_pressure(courses.air_c)
    by_warmth = film_factor(courses.air_c)
    for day in range(*_days(columns, courses)):
        rows = slice(day * DAY, min((day + 1) * DAY, courses.hours))
        air = Span(over_wood[rows], at_film[rows], courses.outside_pa[rows], over_water[rows])
        leak = by_warmth[rows].mean(0)[columns.course] * film + closure
        hour = courses.first + np.arange(rows.start, rows.stop, dtype=np.float64)
        today = [event for row in range(rows.start, rows.stop) for event in events.get(row, ())]
        started = columns.start < hour[-1] + 1.0
        cut = np.flatnonzero(started & ((columns.start > hour[0]) | (now < hour[-1] + 1.0)))
        lasts = np.clip(
            np.minimum(hour + 1.0, now)[:, np.newaxis] - np.maximum(hour[:, np.newaxis], columns.start[cut]),
            0.0,
            1.0,
        )
        work = _Day(columns, history, air, bark_usual * history.bark_share, leak, rows.start, live)
        work.run(np.flatnonzero(started), dict(zip(cut.tolist(), lasts.T, strict=True)), today)
        history.at.append(min(float(hour[-1]) + 1.0, now))
        history.lost.append(history.water.lost.astype(np.float32))
        history.wood_by_day.append(history.wood_g.copy())
        history.spell.append(history.water.spell.astype(np.float32))
    for row in [row for row in events if row >= courses.hours]:  # done in the hour that has only begun
        for event in events[row]:
            _apply(event, history, columns)
    return history


@dataclass(slots=True)
class _Day:
    """The bags and the air of one day."""

    columns: Columns
    history: History
    air: Span
    bark: Array  # (cases, bags)
    leak: Array
    row: int  # of its first hour
    live: NDArray[np.bool_]

    def run(self, mine: Which, lasts: Mapping[int, Array], events: Sequence[Event]) -> None:
        """Carry bags through the day, those to which something is done in it in parts.

        Parameters
        ----------
        lasts : mapping of int to ndarray, shape (hours,)
            How much of each hour counts for bags that were closed in it; all of it for others. [h]
        """
        hours = len(self.air.outside)
        edges: dict[int, list[int]] = {}
        for column in sorted({event.column for event in events if event.order != 1}):
            rows = {event.row - self.row for event in events if event.column == column}
            edges[column] = [0, *sorted(rows), hours]
        weighed = [event for event in events if event.column not in edges]
        for part in range(max(map(len, edges.values()), default=2) - 1):
            here = {column: edge for column, edge in edges.items() if part < len(edge) - 1}
            counts = {} if part else dict(lasts)
            for column, edge in here.items():
                inside = np.zeros(hours)
                inside[edge[part] : edge[part + 1]] = 1.0
                counts[column] = inside * lasts.get(column, 1.0)
            for event in events if part else ():
                if event.column in here and event.row - self.row == here[event.column][part]:
                    _apply(event, self.history, self.columns)
            self.carry(np.array(list(here)) if part else mine, counts, [] if part else weighed)

    def carry(self, mine: Which, lasts: Mapping[int, Array], weighed: Sequence[Event]) -> None:
        """Carry some bags, and note what those have lost that are weighed."""
        if not mine.size:
            return
        cases, size = self.bark.shape
        course, air, history = self.columns.course, self.air, self.history
        if lasts:
            cut = np.array(list(lasts))
            whole = np.ones_like(air.outside)
            over_wood, at_film, outside, over_water = (
                np.concatenate([pressure, pressure[:, course[cut]]], axis=1)
                for pressure in (air.over_wood, air.at_film, air.outside, air.over_water)
            )
            counted = np.concatenate([whole, np.stack(list(lasts.values()), axis=1)], axis=1)
            air = Span(over_wood, at_film, outside, over_water, counted)
            course = course.copy()
            course[cut] = whole.shape[1] + np.arange(cut.size)
        begin = np.arange(cases)[:, np.newaxis] * size
        water, packing, reads = history.water, None, None
        if water.held.any():
            packing = Packing(np.tile(history.packing, cases), np.tile(history.soaked, cases))
        if weighed:
            numbers, columns = ([getattr(e, name) for e in weighed] for name in ("number", "column"))
            reads = Reads(
                (begin + columns).reshape(-1), np.tile([event.row - self.row for event in weighed], cases)
            )
            history.loss_g[:, numbers] = _left(water, self.columns, columns)
        left = advance_hours(
            bag.Water(*(a.reshape(-1) for a in (water.lost, water.free, water.held, water.spell, water.dry))),
            self.bark.reshape(-1),
            self.leak.reshape(-1),
            air,
            np.tile(course, cases),
            (begin + mine)[self.live[:, mine]],
            packing,
            reads,
        )
        if weighed:
            history.loss_g[:, numbers] += left.reshape(cases, -1)


def _left(water: bag.Water, columns: Columns, at: list[int]) -> Array:
    """Return the water that has left some bags, shape (cases, bags). [g]"""
    started_with = columns.held_g[at] + columns.free_g[at]
    return np.asarray(water.lost[:, at] + started_with - water.free[:, at] - water.held[:, at])


def _days(columns: Columns, courses: Courses) -> tuple[int, int]:
    """Return the first day in which a column starts, and the day after the last."""
    return max(floor(columns.start.min()) - courses.first, 0) // DAY, -(-courses.hours // DAY)


def _apply(event: Event, history: History, columns: Columns) -> None:
    """Do to one column what was done to its bag; water seen or not seen corrects what was computed."""
    column = at = event.column
    water = history.water
    if event.order == 0:
        before = history.wood_g[column]
        if event.wood_g < before:
            water.lost[:, at] *= event.wood_g / before  # what is taken out takes its share along
        history.wood_g[column] = event.wood_g
        history.bark_share[column] = event.bark_share
    elif event.order == 1:
        history.loss_g[:, event.number] = _left(water, columns, [at])[:, 0]
    elif event.order == 2 and event.seen == "none":
        water.lost[:, at] = np.maximum(
            water.lost[:, at] - water.free[:, at], 0.0
        )  # so it never left the wood
        water.free[:, at] = water.spell[:, at] = 0.0
        history.reset[column] = history.first + event.row
        # packing in which nothing wet is found is barely moist: as humid as the wood, and it gives no faster
        history.packing[column] = columns.bark[column] * history.bark_share[column]
        history.soaked[column] = False
    elif event.order == 2:
        seen = columns.film_m2[column] * (POOLED_G_M2 if event.seen == "pooled" else DROPLETS_G_M2)
        more = np.maximum(seen - water.free[:, at], 0.0)
        water.lost[:, at] += more
        water.free[:, at] += more
        water.spell[:, at] = np.maximum(water.spell[:, at], SEEN_WET_H)
        water.dry[:, at] = 0.0
    elif event.order == 3:
        water.free[:, at] = water.spell[:, at] = 0.0
        water.held[:, at] = 0.0  # wet packing is taken out, or changed for some that is barely moist
        history.reset[column] = history.first + event.row


def future_flows(
    columns: Columns, courses: Courses, factors: tuple[Array, Array, Array], history: History
) -> tuple[bag.Flows, bag.Flows]:
    """Return the mean flows from wood and from moist packing while the store goes on like its last fourteen days."""
    bark, film, closure = (
        f * c
        for f, c in zip(
            factors, (columns.bark * history.bark_share, columns.film, columns.closure), strict=True
        )
    )
    means: list[list[bag.Flows]] = [[], []]
    over_water = saturation_vapour_pressure(courses.pattern_wood_c)
    at_film = saturation_vapour_pressure(courses.pattern_air_c)
    by_warmth = film_factor(courses.pattern_air_c)
    activity = np.where(history.soaked, 1.0, bag.ACTIVITY)
    step = 48
    for row in range(0, len(over_water), step):
        rows = slice(row, row + step)
        water, film_pa, outside, factor = (
            a[rows][:, np.newaxis, columns.course]
            for a in (over_water, at_film, courses.pattern_outside_pa, by_warmth)
        )
        leak = factor * film + closure
        means[0].append(bag.flows(bark, leak, bag.ACTIVITY * water, film_pa, outside).mean())
        if history.water.held.any():
            means[1].append(bag.flows(history.packing, leak, activity * water, film_pa, outside).mean())
    return _average(means[0]), _average(means[1] or means[0])


def _average(parts: Sequence[bag.Flows]) -> bag.Flows:
    return bag.Flows(
        *(np.mean([getattr(part, name) for part in parts], axis=0) for name in ("dry", "wet", "onto"))
    )


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
