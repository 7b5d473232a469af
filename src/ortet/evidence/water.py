"""What weighings tell of a bag's leak.

A bag leaks through film, closure and bark, each known only roughly beforehand. The three are laid along one line z, a
standard normal: at z = 0 all are at their usual values, at z = 1 all leak more, by so much that ln loss varies as if
they were independent. The bag is computed at a few places on that line, and weighings say where on it the bag lies.
What the wood weighed when it was taken (from its measures) and the weight of the bag itself are unknown too, and are
integrated out exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["FINE", "NODES", "Belief", "between", "leak_line", "scale_error", "weigh_in"]

Array = NDArray[np.float64]

NODES = np.linspace(-3.0, 4.5, 7)  # where bags are computed: beyond 4 lie torn bags
FINE = np.linspace(-3.0, 4.5, 151)
WOOD_SPREAD = 0.10  # sd of wood's weight reckoned from length and thickness, as a share [common practice]


def leak_line(
    bark: ArrayLike,
    film: ArrayLike,
    closure: ArrayLike,
    *,
    bark_spread: ArrayLike,
    film_spread: ArrayLike,
    closure_spread: ArrayLike,
    z: ArrayLike = NODES,
) -> tuple[Array, Array, Array]:
    """Return by which factors bark, film and closure leak more at places on the line.

    Parameters
    ----------
    bark, film, closure : array_like, shape (bags,)
        Usual conductances. [g h-1 Pa-1]
    bark_spread, film_spread, closure_spread : array_like, shape () or (bags,)
        Standard deviations of the natural logs. [-]
    z : array_like, shape (places,) or (places, bags)
        Places on the line. [-]

    Returns
    -------
    three ndarrays, shape (places, bags)
        Factors, 1 at z = 0. [-]

    Notes
    -----
    With ``q = leak / (bark + leak)`` the loss of a dry bag answers bark by q and leak by 1 - q. Moving all three
    together would widen the prior from ``sqrt(sum d^2)`` to ``sum d``, so each spread is shortened by the ratio.
    """
    b, f, c, sb, sf, sc = (
        np.asarray(x, dtype=np.float64)
        for x in (bark, film, closure, bark_spread, film_spread, closure_spread)
    )
    leak = f + c
    q, p = leak / (b + leak), f / leak
    parts = np.stack(np.broadcast_arrays(q * sb, (1 - q) * p * sf, (1 - q) * (1 - p) * sc))
    short = np.sqrt((parts**2).sum(0)) / parts.sum(0)
    at = np.asarray(z, dtype=np.float64)
    at = at[:, np.newaxis] if at.ndim == 1 else at
    return np.exp(at * short * sb), np.exp(at * short * sf), np.exp(at * short * sc)


def scale_error(gross_g: ArrayLike) -> Array:
    """Return the standard deviation of a weighing: 0.5 g or 0.2 %, whichever is more. [g, common practice]"""
    return np.asarray(np.maximum(0.5, 0.002 * np.asarray(gross_g, dtype=np.float64)))


def between(z: ArrayLike) -> Array:
    """Return the weights that make a value at z out of the values at `NODES`, by a cubic spline.

    Parameters
    ----------
    z : array_like, any shape
        Places on the line, held to its ends. [-]

    Returns
    -------
    ndarray, shape (..., nodes)
    """
    at = np.clip(np.asarray(z, dtype=np.float64), NODES[0], NODES[-1])
    step = NODES[1] - NODES[0]
    left = np.clip(((at - NODES[0]) / step).astype(np.int64), 0, len(NODES) - 2)
    b = (at - NODES[left]) / step
    a = 1.0 - b
    ones, curves = np.eye(len(NODES)), _curvatures()
    return np.asarray(
        a[..., np.newaxis] * ones[left]
        + b[..., np.newaxis] * ones[left + 1]
        + ((a**3 - a)[..., np.newaxis] * curves[left] + (b**3 - b)[..., np.newaxis] * curves[left + 1])
        * (step**2 / 6.0)
    )


def _curvatures() -> Array:
    """Return the matrix from values at the nodes to second derivatives there; the third runs on across the ends' nodes."""
    n, step = len(NODES), NODES[1] - NODES[0]
    stiff, bends = np.zeros((n, n)), np.zeros((n, n))
    for row in range(1, n - 1):
        stiff[row, row - 1 : row + 2] = np.array([1.0, 4.0, 1.0]) * step / 6.0
        bends[row, row - 1 : row + 2] = np.array([1.0, -2.0, 1.0]) / step
    stiff[0, :3] = stiff[-1, -3:] = 1.0, -2.0, 1.0
    return np.asarray(np.linalg.solve(stiff, bends))


@dataclass(frozen=True, slots=True)
class Belief:
    """Where on the line each bag lies."""

    weight: Array  # (fine, bags), sums to 1
    heavier: Array  # (fine, bags): how much heavier than reckoned the wood is, given z, as a share

    def quantile(self, share: float) -> Array:
        """Return the z below which a share of the probability lies, shape (bags,)."""
        step = FINE[1] - FINE[0]
        below = np.cumsum(self.weight, axis=0)
        index = np.argmax(below >= share, axis=0)
        bag = np.arange(below.shape[1])
        before = below[index, bag] - self.weight[index, bag]
        inside = (share - before) / np.maximum(self.weight[index, bag], 1e-300)
        return np.asarray(FINE[index] + (inside - 0.5) * step)

    def heavier_at(self, z: ArrayLike) -> Array:
        """Return how much heavier than reckoned the wood is at z, shape (bags,)."""
        place = np.clip((np.asarray(z) - FINE[0]) / (FINE[1] - FINE[0]), 0, len(FINE) - 1)
        bag = np.arange(self.heavier.shape[1])
        return np.asarray(self.heavier[np.rint(place).astype(np.int64), bag])


def weigh_in(
    bags: int,
    bag: ArrayLike,
    gross_g: ArrayLike,
    wood_g: ArrayLike,
    change_g: ArrayLike,
    tare_spread: ArrayLike,
) -> Belief:
    """Return what weighings leave probable.

    Parameters
    ----------
    bags : int
        How many bags there are; one without weighings keeps its prior.
    bag : array_like of int, shape (weighings,)
        Which bag was weighed.
    gross_g : array_like, shape (weighings,)
        What the scale said, less the weight of the empty bag. [g]
    wood_g : array_like, shape (weighings,)
        Wood in the bag as reckoned when it was taken. [g]
    change_g : array_like, shape (nodes, weighings)
        Predicted weight less `wood_g` at each of `NODES`: mostly negative. [g]
    tare_spread : array_like, shape (bags,)
        Standard deviation of the empty bag's weight. [g]

    Returns
    -------
    Belief

    Notes
    -----
    Weight = wood (1 + d) + t + change(z) + scale error, d ~ N(0, 0.1), t ~ N(0, tare_spread). For each z the two
    unknowns are linear and normal, so they are integrated out in closed form; z runs over a grid.
    """
    prior = np.exp(-0.5 * FINE**2)
    which = np.asarray(bag, dtype=np.int64)
    gross, wood = np.asarray(gross_g, dtype=np.float64), np.asarray(wood_g, dtype=np.float64)
    log_like, heavier = np.zeros((len(FINE), bags)), np.zeros((len(FINE), bags))
    if which.size:
        order = np.argsort(which, kind="stable")
        which, gross, wood = which[order], gross[order], wood[order]
        here, first = np.unique(which, return_index=True)
        precision = 1.0 / scale_error(gross) ** 2
        miss = (
            gross - wood - between(FINE) @ np.asarray(change_g, dtype=np.float64)[:, order]
        )  # (fine, weighings)

        def by_bag(of_weighings: Array) -> Array:
            return np.add.reduceat(of_weighings, first, axis=-1)

        # sums over each bag's weighings: information on d and t, and their pull at each z
        dd = by_bag(precision * wood**2) + WOOD_SPREAD**-2
        tt = by_bag(precision) + np.asarray(tare_spread, dtype=np.float64)[here] ** -2
        dt = by_bag(precision * wood)
        pull_d, pull_t = by_bag(miss * (precision * wood)), by_bag(miss * precision)
        squares = by_bag(miss**2 * precision)
        inverse = 1.0 / (dd * tt - dt**2)
        explained = inverse * (tt * pull_d**2 - 2.0 * dt * pull_d * pull_t + dd * pull_t**2)
        log_like[:, here] = -0.5 * (squares - explained)
        heavier[:, here] = inverse * (tt * pull_d - dt * pull_t)
    log_like -= log_like.max(axis=0)
    weight = prior[:, np.newaxis] * np.exp(log_like)
    return Belief(weight / weight.sum(axis=0), heavier)
