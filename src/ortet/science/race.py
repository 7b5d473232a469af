"""The race on the bench: roots driven by the base against leaves driven by the air.

Leaves that come long before roots use up the wood's reserve and water, and the cutting dies. `race` plays it at
steady temperatures, for whole arrays of base, air and striking day at once; `race_on_record` on hourly records.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number
from ortet.science.chill import chill_portions
from ortet.science.climate import hourly
from ortet.science.heat import growing_degree_hours
from ortet.science.leaves import heat_needed, leaf_progress
from ortet.science.response import temperature_response
from ortet.science.species import Species
from ortet.science.thermal_time import share_done, thermal_progress

__all__ = ["Pace", "Race", "race", "race_on_record"]

STEP_HOURS = 12
DAYS = 180


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a kind of wood roots and comes into leaf; names and units as in `species.UNITS`."""

    roots_t_min: float
    roots_t_opt: float
    roots_t_max: float
    roots_days: float
    roots_spread: float
    heat_t_base: float
    heat_t_opt: float
    heat_t_crit: float
    leaf_heat: float
    leaf_heat_unchilled: float
    chill_overlap: float
    leaf_spread: float
    carry_days: float

    def __post_init__(self) -> None:
        if not (self.roots_days > 0 and self.roots_spread > 0 and self.leaf_spread > 0):
            raise ValueError("the days to root and both spreads must be above 0")
        if not self.carry_days >= 0:
            raise ValueError(f"the reserve cannot carry leaves for {self.carry_days:g} days")

    @classmethod
    def of(cls, wood: Species) -> Pace:
        """Return the pace of a species; `dataclasses.replace` puts a grower's own figures in."""
        return cls(**{field.name: wood.value(field.name) for field in fields(cls)})


@dataclass(frozen=True, slots=True)
class Race:
    """How the race goes, day by day; days count from the striking.

    The shapes of roots and leaves are those of what drives them: with `base_c` of shape (b, 1, 1) and air, chill and
    heat that broadcast to (1, a, d), roots are (b, 1, 1, steps), leaves (1, a, d, steps) and `too_early` (b, a, d).
    """

    days: NDArray[np.float64]
    root_progress: NDArray[np.float64]
    leaf_progress: NDArray[np.float64]
    too_early: NDArray[np.float64]
    pace: Pace

    @property
    def rooted(self) -> NDArray[np.float64]:
        """Share rooted of the cuttings that can root, shape (..., steps)."""
        return share_done(self.root_progress, self.pace.roots_spread)

    @property
    def leafed(self) -> NDArray[np.float64]:
        """Share in leaf, shape (..., steps)."""
        return share_done(self.leaf_progress, self.pace.leaf_spread)

    def root_days(self, share: float = 0.5) -> NDArray[np.float64]:
        """Return after how many days a share of the cuttings that can root have done so; inf if not in time. [d]"""
        return _reached(self.root_progress, self.days, share, self.pace.roots_spread)

    def leaf_days(self, share: float = 0.5) -> NDArray[np.float64]:
        """Return after how many days a share of the cuttings is in leaf; inf if not in time. [d]"""
        return _reached(self.leaf_progress, self.days, share, self.pace.leaf_spread)


def race(
    base_c: ArrayLike,
    air_c: ArrayLike,
    *,
    chill: ArrayLike,
    heat: ArrayLike,
    pace: Pace,
    days: int = DAYS,
) -> Race:
    """Play the race at steady temperatures.

    Parameters
    ----------
    base_c : array_like
        Temperature of the medium at the base. [°C]
    air_c : array_like, broadcasts with base_c
        Temperature of the air at the buds. [°C]
    chill, heat : array_like, broadcast with base_c and air_c
        What the wood brings along on its day of striking: `leaves.winter_so_far`. [portions, °C h]
    pace : Pace
        The wood, `Pace.of(species("grape"))`.
    days : int
        How long to follow it. [d]

    Returns
    -------
    Race
        `too_early` [0-1] has the broadcast shape of all four: of the cuttings that can root, the share whose leaves
        come more than `pace.carry_days` before their roots. Leaves not out on the last day count as not early.

    Raises
    ------
    ValueError
        If a temperature is none in °C or NaN, chill or heat is NaN or negative, or `days` is not above 0.

    Notes
    -----
    Roots and leaves of one cutting are taken as independent. With `carry_days` 0 and steady temperatures too warm to
    chill, ``too_early = Phi((ln M_roots - ln M_leaves) / sqrt(s_roots^2 + s_leaves^2))``, M the median days.
    """
    if days <= 0:
        raise ValueError(f"Follow the race for more than {days} days.")
    c, h = number(chill, "Chill", 0.0, unit="portions"), number(heat, "Heat", 0.0, unit="°C h")
    base, air, c, h = (np.asarray(x, dtype=np.float64)[..., np.newaxis] for x in (base_c, air_c, c, h))
    hourly(base), hourly(air)
    if any(np.isnan(x).any() for x in (base, air, c, h)):
        raise ValueError(
            "Base, air, chill and heat must all be known; a record with gaps goes to race_on_record."
        )
    at = np.arange(0, days * 24 + 1, STEP_HOURS) / 24.0
    rate = temperature_response(base, pace.roots_t_min, pace.roots_t_opt, pace.roots_t_max) / pace.roots_days
    per_hour = _heat(air, pace).reshape(air.shape)
    need = heat_needed(
        c + _steady_chill(air, at),
        heat=pace.leaf_heat,
        heat_unchilled=pace.leaf_heat_unchilled,
        overlap=pace.chill_overlap,
    )
    return _play(at, rate * at, (h + per_hour * 24.0 * at) / need, pace)


def race_on_record(
    base_c: ArrayLike, air_c: ArrayLike, *, chill: ArrayLike, heat: ArrayLike, pace: Pace
) -> Race:
    """Play the race on hourly records of the bench.

    Parameters
    ----------
    base_c, air_c : array_like, shape (..., hours), as many hours in both
        Medium and air from the hour of striking on; NaN counts as standing still. [°C]
    chill, heat : array_like, shape () or (...)
        What the wood brings along. [portions, °C h]
    pace : Pace
        The wood.

    Returns
    -------
    Race
        As `race` gives it, in steps of an hour.

    Raises
    ------
    ValueError
        If the two records differ in length, a temperature is none, or chill or heat is negative.
    """
    base, air = np.atleast_1d(np.asarray(base_c)), np.atleast_1d(np.asarray(air_c))
    if base.shape[-1] != air.shape[-1] or not base.shape[-1]:
        raise ValueError(
            f"{base.shape[-1]} hours of base, {air.shape[-1]} of air: they must be as many, and some."
        )
    roots = thermal_progress(
        base,
        t_min=pace.roots_t_min,
        t_opt=pace.roots_t_opt,
        t_max=pace.roots_t_max,
        days_at_optimum=pace.roots_days,
        running=True,
    )
    needs = {
        "heat": pace.leaf_heat,
        "heat_unchilled": pace.leaf_heat_unchilled,
        "overlap": pace.chill_overlap,
    }
    leaves = leaf_progress(
        air,
        chill_before=chill,
        heat_before=heat,
        **needs,
        t_base=pace.heat_t_base,
        t_opt=pace.heat_t_opt,
        t_crit=pace.heat_t_crit,
        running=True,
    )
    start = np.asarray(heat, dtype=np.float64) / heat_needed(chill, **needs)
    return _play(np.arange(base.shape[-1] + 1) / 24.0, _from(0.0, roots), _from(start, leaves), pace)


def _play(
    at: NDArray[np.float64], roots: NDArray[np.float64], leaves: NDArray[np.float64], pace: Pace
) -> Race:
    """Return the race of two running progresses, shape (..., steps)."""
    out = share_done(leaves, pace.leaf_spread)
    waiting = 1.0 - share_done(_later(roots, pace.carry_days / at[1]), pace.roots_spread)
    opening = np.diff(out, prepend=0.0)
    # leaves that open within a step meet, on average, what waits at its middle; those out at once, what waits at 0
    middle = np.concatenate((waiting[..., :1], (waiting[..., 1:] + waiting[..., :-1]) / 2.0), axis=-1)
    # einsum multiplies and adds without laying the whole broadcast block out in memory
    return Race(at, roots, leaves, np.asarray(np.einsum("...s,...s->...", opening, middle)), pace)


def _later(progress: NDArray[np.float64], steps: float) -> NDArray[np.float64]:
    """Return the progress so many steps later, held at its last value beyond the end."""
    last = progress.shape[-1] - 1
    here = np.minimum(np.arange(last + 1) + steps, last)
    low = np.floor(here).astype(np.int64)
    part = here - low
    return np.asarray(progress[..., low] * (1.0 - part) + progress[..., np.minimum(low + 1, last)] * part)


def _reached(
    progress: NDArray[np.float64], days: NDArray[np.float64], share: float, spread: float
) -> NDArray[np.float64]:
    """Return the day on which the progress that a share needs was reached, shape (...)."""
    if not 0.0 < share < 1.0:
        raise ValueError(f"The share must lie between 0 and 1, not {share:g}.")
    need = float(np.exp(spread * NormalDist().inv_cdf(share)))
    after = np.asarray(np.sum(progress < need, axis=-1, dtype=np.int64))[..., np.newaxis]
    last = progress.shape[-1] - 1
    right, left = np.minimum(after, last), np.clip(after - 1, 0, last)
    high, low = np.take_along_axis(progress, right, -1), np.take_along_axis(progress, left, -1)
    rise = np.where(high > low, high - low, 1.0)
    day = days[left] + (need - low) / rise * (days[right] - days[left])
    day = np.where(after == 0, days[0], np.where(after > last, np.inf, day))
    return np.asarray(day[..., 0])


def _heat(air_c: NDArray[np.float64], pace: Pace) -> NDArray[np.float64]:
    """Return the heat of one hour at each temperature."""
    return growing_degree_hours(
        air_c.reshape(-1, 1), t_base=pace.heat_t_base, t_opt=pace.heat_t_opt, t_crit=pace.heat_t_crit
    )


def _steady_chill(air_c: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the chill that steady air of shape (..., 1) has added by each time, shape (..., steps)."""
    kinds, which = np.unique(air_c[..., 0], return_inverse=True)
    hours = np.rint(at * 24).astype(np.int64)
    record = np.broadcast_to(kinds[:, np.newaxis], (kinds.size, int(hours[-1])))
    chill = _from(0.0, chill_portions(record, running=True))[:, hours]
    return np.asarray(chill[which.reshape(air_c.shape[:-1])])


def _from(start: ArrayLike, running: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a running total with its start put in front."""
    first = np.broadcast_to(np.asarray(start, dtype=np.float64)[..., np.newaxis], (*running.shape[:-1], 1))
    return np.concatenate((first, running), axis=-1)
