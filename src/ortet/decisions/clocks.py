"""Clocks that run by temperature alone: reserve burnt, chill banked, callus formed. One run for each distinct history."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import floor

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.course import PATTERN_H, Courses, place_air
from ortet.decisions.laying import Traits, traits
from ortet.science import chill, reserve, species, thermal_time
from ortet.wood.holding import Climate, Holding

__all__ = [
    "Breath",
    "Chill",
    "Clocks",
    "breathe",
    "callus_clock",
    "chill_clock",
    "run_clocks",
    "season_start",
]

Array = NDArray[np.float64]

PATTERN_DAYS = PATTERN_H / 24


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


def callus_clock(courses: Courses, kinds: Sequence[Traits]) -> tuple[Array, Array]:
    """Return callus progress along each course for each kind of wood.

    Returns
    -------
    so_far : ndarray, shape (kinds, courses, hours + 1)
        Share of the median cutting's need. [-]
    a_day : ndarray, shape (kinds, courses)
        Progress a day while the store goes on. [1/d]
    """
    so_far = np.zeros((len(kinds), len(courses.keys), courses.hours + 1))
    a_day = np.zeros((len(kinds), len(courses.keys)))
    for number, kind in enumerate(kinds):
        low, best, high, days = kind.callus
        so_far[number, :, 1:] = thermal_time.thermal_progress(
            courses.wood_c.T, t_min=low, t_opt=best, t_max=high, days_at_optimum=days, running=True
        )
        onward = thermal_time.thermal_progress(
            courses.pattern_wood_c.T, t_min=low, t_opt=best, t_max=high, days_at_optimum=days
        )
        a_day[number] = onward / PATTERN_DAYS
    return so_far, a_day


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
        return float(self.first + int(np.searchsorted(self.so_far[history], portions)))


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
                f"The record of {site} begins {days} days into autumn: chill is at least this."
                if days > 1
                else ""
            )
        else:
            where = f"at {site}" if site else "where the mother plant stands"
            said.append(f"No weather is recorded {where}: chill counts from the day the wood was taken.")
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
    """All clocks of a season; callus by kind of wood, course and hour."""

    courses: Courses
    course: NDArray[np.int64]  # (holdings,)
    taken: NDArray[np.int64]  # (holdings,): row of the hour it was taken
    breaths: dict[float, Breath]
    chill: Chill
    kinds: list[str]
    callus_so_far: Array  # (kinds, courses, hours + 1)
    callus_a_day: Array  # (kinds, courses)


def run_clocks(
    holdings: Sequence[Holding], course: NDArray[np.int64], courses: Courses, climates: Mapping[str, Climate]
) -> Clocks:
    """Run all clocks to now."""
    kinds = list(dict.fromkeys(h.species for h in holdings))
    so_far, a_day = callus_clock(courses, [traits(kind) for kind in kinds])
    return Clocks(
        courses,
        course,
        np.array([courses.index(h.taken) for h in holdings], dtype=np.int64),
        {q10: breathe(courses, q10) for q10 in {traits(kind).q10 for kind in kinds}},
        chill_clock([h.site for h in holdings], [h.taken for h in holdings], course, courses, climates),
        kinds,
        so_far,
        a_day,
    )
