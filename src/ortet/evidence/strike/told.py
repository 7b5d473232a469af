"""What strike rates say: a distribution each, what it rests on, and what the next batch may bring."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.wood.speech import say, say_many

from .asked import Column

__all__ = ["Effect", "Rate", "Share", "Spread", "effect_of", "next_shares", "quantiles", "share_of"]

Array = NDArray[np.float64]

ENDS = (0.05, 0.5, 0.95)
NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
WEIGHTS = _WEIGHTS / _WEIGHTS.sum()
LEAST = 1e-6  # a share nearer to 0 or 1 is written as this far from it, so that a Beta can be laid on it


@dataclass(frozen=True, slots=True)
class Share:
    """A share that is known as if `a` had rooted and `b` had not."""

    a: float
    b: float

    @property
    def mean(self) -> float:
        """The share expected. [0-1]"""
        return self.a / (self.a + self.b)

    @property
    def cuttings(self) -> float:
        """Cuttings that what is known is worth."""
        return self.a + self.b


@dataclass(frozen=True, slots=True)
class Rate:
    """The share that roots of a variety's usual batch, and of its next one; intervals hold 90 in 100."""

    low: float
    median: float
    high: float
    next_batch: Share
    own: float  # weights of what it rests on: own counts, other counts of the grower's, the species' usual share; sum 1
    others: float
    prior: float
    batches: int  # counted of this variety, or of this mother plant where it was asked for
    struck: int
    rooted: int
    of: str  # what was counted: "this variety", "this mother plant", or nothing
    kind: str  # the species
    logits: Array  # evenly spaced, and how likely each is; both of shape (101,)
    density: Array
    stray: float  # variance of single batches about the usual one [logit²]

    @property
    def shares(self) -> Array:
        """The points of `density` as shares, (101,). [0-1]"""
        return share_of(self.logits)

    @property
    def next_low(self) -> float:
        """Of next batches, 95 in 100 lie above it. [0-1]"""
        return self._next()[0]

    @property
    def next_high(self) -> float:
        """Of next batches, 95 in 100 lie below it. [0-1]"""
        return self._next()[2]

    def _next(self) -> tuple[float, float, float]:
        middle = float(self.density @ self.logits)
        sd = float(np.sqrt(self.density @ (self.logits - middle) ** 2 + self.stray))
        grid = np.linspace(middle - 6 * sd, middle + 6 * sd, 201)
        wide = max(np.sqrt(self.stray), grid[1] - grid[0])
        blurred = np.exp(-0.5 * ((grid[:, np.newaxis] - self.logits) / wide) ** 2) @ self.density
        low, median, high = quantiles(grid[np.newaxis], (blurred / blurred.sum())[np.newaxis])[0].tolist()
        return low, median, high

    @property
    def words(self) -> str:
        """What it rests on, in one or two sentences."""
        rests = say("the usual share of {kind}", kind=say(self.kind))
        if not self.batches and not self.others:
            return say("Nothing of this kind was counted yet: it rests on {what} alone.", what=rests)
        parts = []
        if self.batches:
            parts.append(
                say_many(
                    "{count} batch of {of} ({rooted} of {struck} rooted; weight {own:.0%})",
                    "{count} batches of {of} ({rooted} of {struck} rooted; weight {own:.0%})",
                    self.batches,
                    of=say(self.of),
                    rooted=self.rooted,
                    struck=self.struck,
                    own=self.own,
                )
            )
        if self.others >= 0.005:
            parts.append(
                say("your other counts of {kind} ({weight:.0%})", kind=say(self.kind), weight=self.others)
            )
        if self.prior >= 0.005:
            parts.append(say("{what} ({weight:.0%})", what=rests, weight=self.prior))
        joined = say(" and on ").join(parts)
        if self.batches:
            return say("Rests on {what}.", what=joined)
        return say("None of {of} was counted; it rests on {what}.", of=say(self.of), what=joined)


@dataclass(frozen=True, slots=True)
class Effect:
    """What a measure, handling or treatment does, by its step; the interval holds 90 in 100."""

    kind: str  # "measure", "handling" or "treatment"
    name: str
    words: str  # the step: "4 weeks longer in store"
    low: float  # [logit]
    median: float
    high: float
    points: tuple[float, float, float]  # plants per hundred, at the average rate
    batches: int  # of which it is known


@dataclass(frozen=True, slots=True)
class Spread:
    """How far varieties, mother plants, batches, or handlings differ: a standard deviation; the interval holds 90 in 100."""

    low: float  # [logit]
    median: float
    high: float
    points: float  # plants per hundred about the average rate, at the median


def share_of(logit: Array) -> Array:
    """Return the share of a logit. [0-1]"""
    return np.asarray(1.0 / (1.0 + np.exp(-logit)))


def next_shares(logits: Array, density: Array, stray: ArrayLike) -> list[Share]:
    """Return next batches' shares as Betas of the same mean and variance.

    Parameters
    ----------
    logits, density : ndarray, shape (n, g)
        Rates of usual batches.
    stray : array_like, shape (n,) or scalar
        Variance of single batches about them. [logit²]
    """
    wide = np.sqrt(np.broadcast_to(np.asarray(stray, dtype=np.float64), len(logits)))
    share = share_of(logits[:, :, np.newaxis] + wide[:, np.newaxis, np.newaxis] * NODES)
    share = np.clip(share, LEAST, 1.0 - LEAST)
    weight = density[:, :, np.newaxis] * WEIGHTS
    mean = (weight * share).sum(axis=(1, 2))
    spread = (weight * (share - mean[:, np.newaxis, np.newaxis]) ** 2).sum(axis=(1, 2))
    known = np.maximum(mean * (1.0 - mean) / np.maximum(spread, 1e-12) - 1.0, 1e-3)
    return [
        Share(a, b) for a, b in zip((mean * known).tolist(), ((1.0 - mean) * known).tolist(), strict=True)
    ]


def quantiles(logits: Array, density: Array) -> Array:
    """Return the shares below which 5, 50 and 95 in 100 lie, (n, 3), of evenly spaced logits and densities, (n, g)."""
    step = logits[:, 1] - logits[:, 0]
    below = np.cumsum(density, axis=1)
    out = np.empty((len(logits), len(ENDS)))
    for row, (line, last) in enumerate(zip(logits, below, strict=True)):
        out[row] = np.interp(ENDS, last, line + step[row] / 2)
    return share_of(out)


def effect_of(column: Column, mean: float, sd: float, at: float) -> Effect:
    """Return an effect from mean and standard deviation of its logit, told at an average rate `at`. [logit]"""
    low, median, high = mean - 1.6449 * sd, mean, mean + 1.6449 * sd
    here = 1.0 / (1.0 + exp(-at))
    a, b, c = (100.0 * (1.0 / (1.0 + exp(-(at + one))) - here) for one in (low, median, high))
    return Effect(column.kind, column.name, column.words, low, median, high, (a, b, c), column.batches)
