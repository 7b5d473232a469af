"""The difference between two shares, blocks kept apart: estimate and interval, and how sure one must be to speak.

What is compared is always inside one block, where warmth, wood and day are alike; blocks are then averaged.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import lgamma, log, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.thermal_time import share_done

__all__ = ["Difference", "critical", "difference", "unlikeness"]

Array = NDArray[np.float64]
STEPS = 30  # halvings of the interval from -1 to 1: below 1e-8
LEAST = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class Difference:
    """How many more of one treatment than of the check, as shares; each of shape (cases,); NaN where nothing compares."""

    check: Array  # share of the check, averaged over blocks
    other: Array
    middle: Array  # other - check
    low: Array
    high: Array
    score: Array  # how far the counts lie from no difference, in standard errors


@lru_cache(maxsize=256)
def critical(level: float, comparisons: int = 1, freedom: float = float("inf")) -> float:
    """Return how many standard errors a difference must reach, several treatments being compared with one check.

    Parameters
    ----------
    level : float
        Share of trials without any difference that may say there is one. [0-1]
    comparisons : int
        Treatments besides the check, each counted on as many cuttings as it.
    freedom : float
        Degrees of freedom of the standard error; inf where it is known.

    Returns
    -------
    float
        Student's t for one treatment, Dunnett's |t| for several.

    Raises
    ------
    ValueError
        Unless the level lies within 0 to 1, comparisons are 1 or more, and freedom is 1 or more.

    References
    ----------
    Dunnett 1955, J. Am. Stat. Assoc. 50:1096-1121: P(all |t| <= c) = E[(Phi(z + sqrt2 c s) - Phi(z - sqrt2 c s))^k] over
    a normal z and s = sqrt(chi2 / freedom), here by Gauss-Legendre quadrature. [published]
    """
    if not 0.0 < level < 1.0 or comparisons < 1 or not freedom >= 1:
        raise ValueError(
            f"level {level:g}, comparisons {comparisons}, freedom {freedom:g}: the level lies within 0 to 1, the others are 1 or more."
        )
    node, weight = np.polynomial.legendre.leggauss(64)
    z = 8.0 * node
    of_z = weight * np.exp(-0.5 * z**2)
    of_z /= of_z.sum()
    s, of_s = _of_error(freedom, node, weight)
    low, high = 0.0, 1.0

    def inside(c: float) -> float:
        reach = sqrt(2.0) * c * s[:, np.newaxis]
        held = (_below(z + reach) - _below(z - reach)) ** comparisons
        return float(of_s @ held @ of_z)

    while inside(high) < 1.0 - level:
        high *= 2.0
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if inside(middle) < 1.0 - level else (low, middle)
    return (low + high) / 2.0


def _below(z: Array) -> Array:
    """Return the standard normal distribution; to 1.5e-7."""
    return share_done(np.exp(z), 1.0)


def _of_error(freedom: float, node: Array, weight: Array) -> tuple[Array, Array]:
    """Return values of an estimated standard error over the true one, and how likely each is."""
    if freedom == float("inf"):
        return np.ones(1), np.ones(1)
    reach = 7.0 / sqrt(2.0 * freedom)
    first, last = max(0.0, 1.0 - reach), 1.0 + reach
    s = first + (last - first) * (node + 1.0) / 2.0
    half = freedom / 2.0
    log_density = (freedom - 1.0) * np.log(s) - half * s**2 + half * log(half) - lgamma(half)
    density = weight * np.exp(log_density - log_density.max())
    return s, density / density.sum()


def _under(delta: Array, y1: Array, n1: Array, y0: Array, n0: Array) -> tuple[Array, Array]:
    """Return the likeliest shares (other, check) of each block if they differed by delta."""
    n = n1 + n0
    l2 = (n1 + 2.0 * n0) * delta - n - y1 - y0
    l1 = (n0 * delta - n - 2.0 * y0) * delta + y1 + y0
    l0 = y0 * delta * (1.0 - delta)
    third = l2 / (3.0 * n)
    q = third**3 - l1 * l2 / (6.0 * n**2) + l0 / (2.0 * n)
    p = np.where(q < 0.0, -1.0, 1.0) * np.sqrt(np.maximum(third**2 - l1 / (3.0 * n), 0.0))
    turn = np.clip(q / np.where(np.abs(p) < LEAST, LEAST, p) ** 3, -1.0, 1.0)
    check = 2.0 * p * np.cos((np.pi + np.arccos(turn)) / 3.0) - third
    check = np.clip(check, np.maximum(0.0, -delta), np.minimum(1.0, 1.0 - delta))
    return check + delta, check


def difference(
    other: ArrayLike,
    of_other: ArrayLike,
    check: ArrayLike,
    of_check: ArrayLike,
    *,
    errors: ArrayLike,
    inflation: float = 1.0,
) -> Difference:
    """Return by how much two treatments differ within blocks.

    Parameters
    ----------
    other, of_other, check, of_check : array_like, shape (cases, blocks)
        Rooted and struck under the treatment and under the check; a block with nothing struck of either is left out.
    errors : array_like, shape () or (cases,)
        Standard errors to either side, from `critical`.
    inflation : float
        How many times more plots differ than chance among cuttings makes them. [-]

    Returns
    -------
    Difference

    Notes
    -----
    Blocks weigh ``n1 n0 / (n1 + n0)`` (Mantel-Haenszel). The interval holds all differences that the score test of
    Miettinen & Nurminen does not refuse, so it never leaves -1 to 1 and stands where all or none rooted.

    References
    ----------
    Miettinen & Nurminen 1985, Statistics in Medicine 4:213-226; the cubic in closed form: its appendix. [published]
    """
    y1, n1, y0, n0 = np.broadcast_arrays(*(np.atleast_2d(np.asarray(x, dtype=np.float64)) for x in (other, of_other, check, of_check)))  # fmt: skip
    compares = (n1 > 0) & (n0 > 0)
    y1, n1, y0, n0 = (np.where(compares, x, here) for x, here in ((y1, 0.0), (n1, 1.0), (y0, 0.0), (n0, 1.0)))
    weight = np.where(compares, n1 * n0 / (n1 + n0), 0.0)
    whole = weight.sum(axis=1)
    per = weight / np.where(whole > 0, whole, np.nan)[:, np.newaxis]
    mean_other, mean_check = (per * y1 / n1).sum(axis=1), (per * y0 / n0).sum(axis=1)
    middle = mean_other - mean_check

    def score(delta: Array) -> Array:
        p1, p0 = _under(delta[:, np.newaxis], y1, n1, y0, n0)
        n = n1 + n0
        variance = (p1 * (1 - p1) / n1 + p0 * (1 - p0) / n0) * n / (n - 1.0)
        error = np.sqrt(np.maximum(inflation * (per**2 * variance).sum(axis=1), LEAST))
        return np.asarray((middle - delta) / error)

    reach = np.asarray(errors, dtype=np.float64)
    ends = []
    for side in (1.0, -1.0):
        inner, outer = np.where(np.isfinite(middle), middle, 0.0), np.full_like(middle, -side)
        for _ in range(STEPS):
            between = (inner + outer) / 2.0
            held = side * score(between) <= reach
            inner, outer = np.where(held, between, inner), np.where(held, outer, between)
        ends.append(np.where(np.isfinite(middle), inner, np.nan))
    return Difference(mean_check, mean_other, middle, ends[0], ends[1], score(np.zeros_like(middle)))


def unlikeness(
    other: ArrayLike, of_other: ArrayLike, check: ArrayLike, of_check: ArrayLike
) -> tuple[float, int]:
    """Return how unlike the blocks' differences are, and its degrees of freedom.

    Parameters
    ----------
    other, of_other, check, of_check : array_like, shape (blocks,)
        As for `difference`, of blocks in which it should be the same.

    Returns
    -------
    tuple of float and int
        Cochran's Q, the sum of squared deviations over their variances were all cuttings independent; blocks that tell something, less one.
        Its mean is its freedom where plots differ by chance alone.

    References
    ----------
    Cochran 1954, Biometrics 10:417-451. [published]
    """
    y1, n1, y0, n0 = (np.asarray(x, dtype=np.float64) for x in (other, of_other, check, of_check))
    pooled = (y1 + y0) / np.maximum(n1 + n0, 1.0)
    tells = (n1 > 0) & (n0 > 0) & (pooled > 0) & (pooled < 1)
    if tells.sum() < 2:
        return 0.0, 0
    y1, n1, y0, n0, pooled = (x[tells] for x in (y1, n1, y0, n0, pooled))
    variance = pooled * (1 - pooled) * (1 / n1 + 1 / n0) * (n1 + n0) / (n1 + n0 - 1.0)
    found, weight = y1 / n1 - y0 / n0, 1.0 / variance
    mean = (weight * found).sum() / weight.sum()
    return float((weight * (found - mean) ** 2).sum()), int(tells.sum()) - 1
