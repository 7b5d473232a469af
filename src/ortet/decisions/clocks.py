"""Clocks that run by temperature alone: reserve burnt, chill banked, callus and roots formed. One run for each distinct history."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import floor

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.decisions.course import PATTERN_H, Courses, place_air
from ortet.decisions.laying import traits
from ortet.decisions.pacing import CALLUS, ROOTS, Paces, Warmth, learn, step
from ortet.evidence.pace import Told
from ortet.science import chill, reserve, species
from ortet.science.thermal_time import share_done
from ortet.wood.holding import Climate, Holding
from ortet.wood.speech import say

__all__ = [
    "Breath",
    "Chill",
    "Clocks",
    "Growth",
    "breathe",
    "chill_clock",
    "grow",
    "run_clocks",
    "season_start",
]

Array = NDArray[np.float64]

PATTERN_DAYS = PATTERN_H / 24
ROOTS_ABOVE = (
    2.0  # roots are told where the store's mean lies so far above the least they grow at [K, our choice]
)


@dataclass(frozen=True, slots=True)
class Breath:
    """How fast wood breathes along each course, as a factor of its rate at 5 °C, for one Q10."""

    so_far: Array  # (hours + 1, courses): sum of hourly factors [h]
    by_day: Array  # (days, courses): mean factor of each day
    onward: Array  # (courses,): mean factor while the store goes on

    def between(self, first: NDArray[np.int64], last: NDArray[np.int64], course: NDArray[np.int64]) -> Array:
        """Return the factor summed over hours from one row to another, for each of many."""
        return np.asarray(self.so_far[last, course] - self.so_far[first, course])


def breathe(courses: Courses, q10: float) -> Breath:
    """Return how fast wood of a Q10 breathes along each course."""

    def factor(wood_c: Array) -> Array:
        return reserve.respiration(wood_c, rate_ref=1.0, t_ref=species.RESPIRATION_AT_C, q10=q10)

    hourly = factor(courses.wood_c)
    so_far = np.concatenate([np.zeros((1, hourly.shape[1])), np.cumsum(hourly, axis=0)])
    edges = np.minimum(np.arange(0, courses.hours + 24, 24), courses.hours)
    edges = np.unique(edges)
    by_day = np.diff(so_far[edges], axis=0) / np.diff(edges)[:, np.newaxis]
    return Breath(so_far, by_day, factor(courses.pattern_wood_c).mean(0))


@dataclass(frozen=True, slots=True)
class Growth:
    """How far callus, or roots, have come for each holding, and at which pace its kind goes."""

    pair: NDArray[np.int64]  # (holdings,): row of its species on its course; -1 where it is too cold to tell
    so_far: Array  # (pairs, hours + 1): share of the usual median need [-]
    a_day: Array  # (pairs,): progress a day while the store goes on [1/d]
    came: NDArray[np.int64]  # (holdings,): row of the hour it came to its place
    before: Array  # (holdings,): progress from the day it was taken until then [-]
    speed: Array  # (3, holdings): times the usual pace: likely slowest, likely, likely quickest
    never: Array  # (holdings,): share that never does [0-1]
    spread: Array  # (holdings,): sd of the natural log of a cutting's time
    told: list[Told | None]  # what the pace was learnt from

    def run(self, holding: ArrayLike, row: ArrayLike = -1) -> Array:
        """Return the progress of holdings at the hour of a row, at the usual pace."""
        number = np.asarray(holding)
        pair, rows = self.pair[number], np.asarray(row)
        return np.asarray(
            self.before[number] + self.so_far[pair, rows] - self.so_far[pair, self.came[number]]
        )

    def share(self, progress: Array, holding: ArrayLike) -> Array:
        """Return the share that has callused or rooted, slowest to quickest, shape (3, ...)."""
        number = np.asarray(holding)
        speed = self.speed[:, number]
        speed = speed.reshape(*speed.shape, *(1,) * (progress.ndim - number.ndim))
        return share_done(speed * progress, self.spread[number], never=self.never[number])


def grow(
    what: str,
    holdings: Sequence[Holding],
    course: NDArray[np.int64],
    courses: Courses,
    paces: Paces,
    warmth: Warmth,
) -> Growth:
    """Return how far callus or roots have come. Roots are told where the store is warm enough for them to come."""
    pairs: dict[tuple[str, int], int] = {}
    mean_c = courses.pattern_wood_c.mean(0)
    pair = np.full(len(holdings), -1, dtype=np.int64)
    for number, held in enumerate(holdings):
        key = held.species, int(course[number])
        if what == CALLUS or mean_c[key[1]] >= step(held.species, what).t_min + ROOTS_ABOVE:
            pair[number] = pairs.setdefault(key, len(pairs))
    so_far, a_day = np.zeros((len(pairs), courses.hours + 1)), np.zeros(len(pairs))
    for kind in dict.fromkeys(kind for kind, _ in pairs):
        of = step(kind, what)
        rows = [row for (other, _), row in pairs.items() if other == kind]
        mine = [at for other, at in pairs if other == kind]
        so_far[rows, 1:] = of.progress(courses.wood_c[:, mine].T, running=True)
        a_day[rows] = of.progress(courses.pattern_wood_c[:, mine].T) / PATTERN_DAYS
    told = [paces.of(held.species, what, held.lot, held.variety) for held in holdings]
    return Growth(
        pair,
        so_far,
        a_day,
        np.array(
            [courses.index(held.since if held.before else held.taken) for held in holdings], dtype=np.int64
        ),
        np.array(
            [
                warmth.progress(held.species, what, held.before, held.taken, held.since)
                if held.before and pair[number] >= 0
                else 0.0
                for number, held in enumerate(holdings)
            ]
        ),
        np.array([_speed(one, held.species, what) for one, held in zip(told, holdings, strict=True)]).T,
        np.array([one.never[1] if one else 0.0 for one in told]),
        np.array([step(held.species, what).spread for held in holdings]),
        told,
    )


def _speed(told: Told | None, kind: str, what: str) -> tuple[float, float, float]:
    """Return how many times the usual pace: likely slowest, likely, likely quickest."""
    if told:
        quick, middle, slow = told.days
        return 1.0 / slow, 1.0 / middle, 1.0 / quick
    low, high = species.species(kind).range(f"{what}_days")
    return step(kind, what).days / high, 1.0, step(kind, what).days / low


@dataclass(frozen=True, slots=True)
class Chill:
    """Chill of each distinct (site, day taken, course)."""

    row: NDArray[np.int64]  # (holdings,): which history is whose
    first: int  # hour of the first column [h since 1970]
    so_far: NDArray[np.float32]  # (histories, hours + 1): portions
    a_day: Array  # (histories,): portions a day while the store goes on
    said: list[str]  # for each history what is missing

    def reached(self, history: int, portions: float) -> float:
        """Return the hour at which a history that has so much had it."""
        # sought as what the row holds: sought as anything else, the whole row would be turned into that first
        sought = self.so_far.dtype.type(portions)
        return float(self.first + int(np.searchsorted(self.so_far[history], sought)))


def season_start(taken: float) -> int:
    """Return the hour from which chill counts: 1 September, or 1 March for wood taken from mid April to August."""
    day = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(hours=taken)
    if (4, 15) <= (day.month, day.day) < (9, 1):
        start = datetime(day.year, 3, 1, tzinfo=UTC)
    else:
        start = datetime(day.year if day.month >= 9 else day.year - 1, 9, 1, tzinfo=UTC)
    return int(start.timestamp() // 3600)


def chill_clock(
    sites: Sequence[str | None],
    taken: Sequence[float],
    course: NDArray[np.int64],
    courses: Courses,
    climates: Mapping[str, Climate],
) -> Chill:
    """Return the chill of each holding: on the mother plant from autumn until it was taken, then in store.

    Days are taken as whole: wood of one site, one day and one course shares a history.
    """
    keys = [(s, floor(t) // 24 * 24, int(c)) for s, t, c in zip(sites, taken, course, strict=True)]
    distinct = {key: row for row, key in enumerate(dict.fromkeys(keys))}
    first = min(season_start(day) for _, day, _ in distinct)
    first = min(first, courses.first)
    end = courses.first + courses.hours
    empty = chill.rates(np.array([[np.nan]]))
    parts = [np.full((end - first, len(distinct)), float(part[0, 0])) for part in empty]
    in_store = chill.rates(courses.wood_c)
    known: dict[str, tuple[Array, ...]] = {}
    late: dict[str, int] = {}
    said = []
    for (site, day, at), row in distinct.items():
        record = climates.get(site) if site else None
        cut = min(max(day, courses.first), end) - first  # from here on the course
        if site and record is not None and np.isfinite(record.air_c).any():
            if site not in known:
                air_c = place_air(record, site, first, end - first).air_c.copy()
                began = record.first_hour + int(np.flatnonzero(np.isfinite(record.air_c))[0])
                air_c[: max(began - first, 0)] = np.nan
                known[site] = chill.rates(air_c[:, np.newaxis])
                late[site] = first + int(np.argmax(np.isfinite(air_c)))
            start = season_start(day) - first
            for part, here in zip(parts, known[site], strict=True):
                part[start:cut, row] = here[start:cut, 0]
            days = max(late[site] - season_start(day), 0) // 24
            said.append(
                say(
                    "The record of {site} begins {days} days into autumn: chill is at least this.",
                    site=site,
                    days=days,
                )
                if days > 1
                else ""
            )
        else:
            where = say("at {site}", site=site) if site else say("where the mother plant stands")
            said.append(
                say(
                    "No weather is recorded {where}: chill counts from the day the wood was taken.",
                    where=where,
                )
            )
        for part, here in zip(parts, in_store, strict=True):
            part[cut:, row] = here[cut + first - courses.first :, at]
    banked = np.cumsum(chill.bank(*parts), axis=0).T
    so_far = np.concatenate([np.zeros((len(distinct), 1)), banked], axis=1).astype(np.float32)
    twice = np.concatenate([courses.pattern_wood_c, courses.pattern_wood_c]).T
    running = chill.chill_portions(twice, running=True)
    a_day = (running[:, -1] - running[:, PATTERN_H - 1]) / PATTERN_DAYS
    which = np.array([at for _, _, at in distinct], dtype=np.int64)
    return Chill(np.array([distinct[key] for key in keys], dtype=np.int64), first, so_far, a_day[which], said)


@dataclass(slots=True)
class Clocks:
    """All clocks of a season."""

    courses: Courses
    course: NDArray[np.int64]  # (holdings,)
    taken: NDArray[np.int64]  # (holdings,): row of the hour it was taken
    breaths: dict[float, Breath]
    chill: Chill
    callus: Growth
    roots: Growth


def run_clocks(
    holdings: Sequence[Holding], course: NDArray[np.int64], courses: Courses, climates: Mapping[str, Climate]
) -> Clocks:
    """Run all clocks to now."""
    kinds = dict.fromkeys(h.species for h in holdings)
    seen = dict.fromkeys(one for found in dict.fromkeys(h.seen for h in holdings) for one in found)
    now = float(courses.first + courses.hours)
    first = min([h.taken for h in holdings] + [one.taken for one in seen])
    warmth = Warmth(climates, first, now)
    paces = learn(seen, climates, now, warmth)
    return Clocks(
        courses,
        course,
        np.array([courses.index(h.taken) for h in holdings], dtype=np.int64),
        {q10: breathe(courses, q10) for q10 in {traits(kind).q10 for kind in kinds}},
        chill_clock([h.site for h in holdings], [h.taken for h in holdings], course, courses, climates),
        grow(CALLUS, holdings, course, courses, paces, warmth),
        grow(ROOTS, holdings, course, courses, paces, warmth),
    )
