"""Three levels that lean on one another: a species, its varieties, their lots or batches, reckoned on a grid.

Two numbers are sought on each level: the natural log of how many times the usual days a cutting takes, and the logit of the
share that never does. A third, how far cuttings differ, may be sought too; it is one for the whole species. Lots are summed
out into varieties and varieties into the species, then down again, so no posterior is assumed to be normal.
docs/science/pace.md tells it equation by equation.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "ENDS",
    "LOG_DAYS",
    "LOT_NEVER",
    "LOT_SPREAD",
    "Levels",
    "Prior",
    "Told",
    "moments",
    "quantiles",
    "shares",
    "three",
]

Array = NDArray[np.float64]

LOT_SPREAD = 0.15  # sd of the natural log of a lot's days about its variety's [common practice: our choice]
LOT_NEVER = 0.5  # sd of the logit of a lot's share that never does, about its variety's [our choice]

LOG_DAYS = np.linspace(-2.0, 2.0, 101)  # ln of days over the usual days
BAND_Z = 1.645  # a range holds nine in ten
ENDS = (0.05, 0.5, 0.95)
TINY = 1e-300


@dataclass(frozen=True, slots=True)
class Prior:
    """What is held of a species before any look.

    Attributes
    ----------
    spread : float
        Standard deviation of the natural log of the time that a cutting takes. [-]
    doubt : float
        Standard deviation of the natural log of the usual days: how sure they are for one variety. [-]
    never : float
        Usual share that never does. [0-1]
    never_cuttings : float
        Cuttings that this share is worth: Beta(never n, (1 - never) n).
    spread_doubt : float
        Standard deviation of the natural log of `spread`; 0, and in `learn_pace`, where it is taken as known. [-]
    """

    spread: float
    doubt: float
    never: float
    never_cuttings: float
    spread_doubt: float = 0.0

    def __post_init__(self) -> None:
        if not (self.spread > 0 and self.doubt > 0 and self.never_cuttings > 0 and 0 < self.never < 1):
            raise ValueError(
                f"{self}: spread, doubt and cuttings must be above 0, the share that never does within 0 to 1."
            )
        if not self.spread_doubt >= 0:
            raise ValueError(f"{self}: the doubt of the spread is below 0.")


@dataclass(frozen=True, slots=True)
class Told:
    """What the looks leave probable of one lot, variety or species; three numbers are 5, 50 and 95 in 100."""

    days: tuple[float, float, float]  # times the usual days [-]
    never: tuple[float, float, float]  # share that never does [0-1]
    weight: float  # of the looks against the usual value, in the days: 0 none of theirs, 1 theirs alone
    cuttings: int  # looked at, of this lot or variety
    others: int  # looked at, of others of the species
    scores: int  # looks that gave a score only, of all the species

    @property
    def prior_cuttings(self) -> float:
        """Cuttings that the usual value counts like: with as many looked at, both weigh the same; inf if none was."""
        seen = self.cuttings + self.others
        return seen * (1.0 - self.weight) / self.weight if seen and self.weight > 0 else float("inf")


class Levels:
    """What is believed of a species, and how varieties and lots scatter about it.

    Tables are logs of weights, shape (..., days, never), over `LOG_DAYS` and the logits given.
    """

    def __init__(self, prior: Prior, logit_never: Array) -> None:
        self.logit_never = logit_never
        half = prior.doubt / np.sqrt(2.0)  # half the doubt is between varieties, our choice
        a, b = prior.never * prior.never_cuttings, (1.0 - prior.never) * prior.never_cuttings
        never = shares(logit_never)
        log_beta = 2.0 * (a * np.log(never) + b * np.log1p(-never))  # twice the cuttings: half the doubt
        variance = moments(np.exp(log_beta - log_beta.max()), logit_never)[1]
        self.species = (-0.5 * (LOG_DAYS / half) ** 2)[:, np.newaxis] + log_beta
        self._between = _scatter(LOG_DAYS, half), _scatter(logit_never, np.sqrt(variance))
        self._within = _scatter(LOG_DAYS, LOT_SPREAD), _scatter(logit_never, LOT_NEVER)
        self.species_variance = half**2
        self.variety_variance = 2.0 * half**2
        self.lot_variance = 2.0 * half**2 + LOT_SPREAD**2

    def up_to_variety(self, log_likely: Array) -> Array:
        """Return what a lot's looks say of its variety."""
        return _mixed(log_likely, *self._within)

    def up_to_species(self, log_likely: Array) -> Array:
        """Return what a variety's looks say of its species."""
        return _mixed(log_likely, *self._between)

    def down_to_variety(self, log_weight: Array) -> Array:
        """Return what is believed of a variety, from what is believed of its species."""
        return _mixed(log_weight, self._between[0].T, self._between[1].T)

    def down_to_lot(self, log_weight: Array) -> Array:
        """Return what is believed of a lot, from what is believed of its variety."""
        return _mixed(log_weight, self._within[0].T, self._within[1].T)

    def told(self, log_weight: Array, before: float, mine: int, others: int, scores: int = 0) -> Told:
        """Return a belief in numbers; `before` is the variance of the log days without any look."""
        weight = np.exp(log_weight - log_weight.max())
        weight /= weight.sum()
        weight = weight.reshape(-1, *weight.shape[-2:]).sum(axis=0)
        days, never = weight.sum(axis=1), weight.sum(axis=0)
        left = moments(days, LOG_DAYS)[1] / before
        return Told(
            three(np.exp(quantiles(days, LOG_DAYS))),
            three(shares(quantiles(never, self.logit_never))),
            float(np.clip(1.0 - left, 0.0, 1.0)),
            mine,
            others,
            scores,
        )


def _scatter(grid: Array, spread: float) -> Array:
    """Return the chance of each value (columns) below a value of the level above (rows)."""
    weight = np.exp(-0.5 * ((grid[np.newaxis, :] - grid[:, np.newaxis]) / spread) ** 2)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


def _mixed(log_weight: Array, days: Array, never: Array) -> Array:
    """Return the log of a table, (..., days, never), summed over one level."""
    top = log_weight.max()
    mixed = days @ np.exp(log_weight - top)
    if mixed.shape[-1] > 1:  # where nothing is known of the share that never does, there is nothing to sum
        mixed = mixed @ never.T
    return np.asarray(np.log(np.maximum(mixed, TINY)) + top)


def range_doubt(low: float, high: float) -> float:
    """Return the standard deviation of the natural log of a number that lies between two in nine of ten cases."""
    return log(high / low) / (2.0 * BAND_Z)


def shares(logits: ArrayLike) -> Array:
    """Return the shares, 0 to 1, of logits."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.asarray(logits, dtype=np.float64))))


def moments(weight: ArrayLike, grid: Array) -> tuple[float, float]:
    """Return mean and variance of a weighted grid."""
    share = np.asarray(weight, dtype=np.float64)
    share = share / share.sum()
    mean = float(share @ grid)
    return mean, float(share @ (grid - mean) ** 2)


def quantiles(weight: Array, grid: Array) -> Array:
    """Return the values below which 5, 50 and 95 in 100 lie, each grid point standing for its step."""
    step = grid[1] - grid[0]
    edges = np.append(grid - step / 2, grid[-1] + step / 2)
    return np.asarray(np.interp(ENDS, np.append(0.0, np.cumsum(weight)), edges))


def three(values: Array) -> tuple[float, float, float]:
    """Return three numbers as a tuple."""
    low, middle, high = values.tolist()
    return low, middle, high
