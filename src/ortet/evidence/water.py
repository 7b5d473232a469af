"""What weighings tell of a bag's leak.

A bag leaks through film, closure and bark, each known only roughly beforehand. The three are laid along one line z, a
standard normal: at z = 0 all are at their usual values, at z = 1 all leak more, by so much that ln loss varies as if
they were independent. The bag is computed at a few places on that line, and weighings say where on it the bag lies.
What the wood weighed when it was taken (from its measures), the weight of the bag itself and how much carbon the wood
breathes out are unknown too, and are integrated out exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erfc, pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["FINE", "NODES", "Belief", "between", "blend", "leak_line", "places", "scale_error", "weigh_in"]

Array = NDArray[np.float64]

NODES = np.array([-2.6, -1.3, 0.0, 1.0, 2.0, 3.0, 4.5])  # where bags are computed: beyond 3 lie torn bags
FINE = np.linspace(-2.6, 4.5, 72)
TORN_FROM, TORN = 2.0, 2.0  # beyond two standard deviations a closure opens faster: a tear, a forgotten knot
SMALL_G = 1e-3  # losses are taken between nodes on a log scale that begins here [g]
BREATH_SPREAD = 1.0  # sd of breathing as a share of the usual: it may be a third or four times of it
WIPED_SPREAD_G = (
    20.0  # sd of what a wiping takes off or adds: cloth, droplets, packing changed [common practice]
)
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
    together would widen the prior from ``sqrt(sum d^2)`` to ``sum d``, so each spread is shortened by the ratio. Beyond
    z = 2, one bag in 44, the closure opens by a further ``exp(2 (z - 2))``, so that a torn bag is on the line too.
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
    torn = TORN * np.maximum(at - TORN_FROM, 0.0) * (c > 0)
    return np.exp(at * short * sb), np.exp(at * short * sf), np.exp(at * short * sc + torn)


def scale_error(gross_g: ArrayLike) -> Array:
    """Return the standard deviation of a weighing: 0.5 g or 0.2 %, whichever is more. [g, common practice]"""
    return np.asarray(np.maximum(0.5, 0.002 * np.asarray(gross_g, dtype=np.float64)))


def between(z: ArrayLike, *, straight: bool = False) -> Array:
    """Return the weights that make a value at z out of the values at `NODES`.

    Parameters
    ----------
    z : array_like, any shape
        Places on the line, held to its ends. [-]
    straight : bool
        Go in straight lines; else by cubics through the nodes whose slopes are those of parabolas through three nodes.

    Returns
    -------
    ndarray, shape (..., nodes)
    """
    at = np.clip(np.asarray(z, dtype=np.float64), NODES[0], NODES[-1])
    left = np.clip(np.searchsorted(NODES, at, side="right") - 1, 0, len(NODES) - 2)
    step = (NODES[left + 1] - NODES[left])[..., np.newaxis]
    b = (at[..., np.newaxis] - NODES[left][..., np.newaxis]) / step
    ones = np.eye(len(NODES))
    if straight:
        return np.asarray((1.0 - b) * ones[left] + b * ones[left + 1])
    first, last = (1 + 2 * b) * (1 - b) ** 2, b**2 * (3 - 2 * b)
    bend = b * (1 - b) ** 2 * _slopes(0)[left] - b**2 * (1 - b) * _slopes(-2)[left + 1]
    return np.asarray(first * ones[left] + last * ones[left + 1] + step * bend)


def _slopes(from_node: int) -> Array:
    """Return the matrix from values at the nodes to slopes there, each of the parabola through the three nearest.

    Where tearing begins the line has a kink: there the three nodes begin `from_node` away, all on one side.
    """
    n = len(NODES)
    out = np.zeros((n, n))
    for node in range(n):
        begin = node + from_node if NODES[node] == TORN_FROM else min(max(node - 1, 0), n - 3)
        three = begin + np.arange(3)
        powers = (NODES[three] - NODES[node])[:, np.newaxis] ** np.arange(3)
        out[node, three] = np.linalg.inv(powers)[1]
    return out


def places(weighed: NDArray[np.bool_], shares: Sequence[float]) -> tuple[Array, NDArray[np.bool_]]:
    """Return where on the line to compute each bag, and which of these places are needed; each (nodes, bags).

    A weighed bag is computed at `NODES`; one without weighings keeps its prior, so only at these shares of it.
    """
    prior = weigh_in(1, [], [], [], np.zeros((len(NODES), 0)), np.ones(1))
    z = np.repeat(NODES[:, np.newaxis], len(weighed), axis=1)
    live = np.repeat(np.ones((len(NODES), 1), dtype=np.bool_), len(weighed), axis=1)
    z[:, ~weighed], live[len(shares) :, ~weighed] = 0.0, False
    for row, share in enumerate(shares):
        z[row, ~weighed] = prior.quantile(share)
    return z, live


def blend(weights: Array, losses: ArrayLike) -> Array:
    """Return losses between the nodes, on a log scale: ``exp(sum w ln(loss + 1 mg)) - 1 mg``, never below 0.

    Parameters
    ----------
    weights : ndarray, shape (..., nodes)
        From `between`.
    losses : array_like, shape (nodes, ...)
        With weights of shape (cases, bags, nodes), (nodes, bags) gives (cases, bags). [g]
    """
    logs = np.log(np.maximum(np.asarray(losses, dtype=np.float64), 0.0) + SMALL_G)
    # einsum, since a matrix product wakes threads that cost more than they save
    mixed = np.einsum("cbn,nb->cb" if weights.ndim == 3 else "cn,nb->cb", weights, logs)
    return np.asarray(np.maximum(np.exp(mixed) - SMALL_G, 0.0))


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
    loss_g: ArrayLike,
    tare_spread: ArrayLike,
    breath_g: ArrayLike = 0.0,
    wiped: ArrayLike = 0,
    wiped_spread: ArrayLike = WIPED_SPREAD_G,
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
    loss_g : array_like, shape (nodes, weighings)
        Water that has left the bag by then at each of `NODES`. [g]
    tare_spread : array_like, shape (bags,)
        Standard deviation of the empty bag's weight. [g]
    breath_g : array_like, shape () or (weighings,)
        What breathing usually takes off by then: carbon out, water stays. [g]
    wiped : array_like of int, shape () or (weighings,)
        How often the bag had been wiped by then; each wiping begins a new baseline.
    wiped_spread : array_like, shape () or (bags,)
        Standard deviation of how far a new baseline lies from the old. [g]

    Returns
    -------
    Belief

    Notes
    -----
    Weight = wood (1 + d) + t - loss(z) - breath (1 + r) + b + scale error with d ~ N(0, 0.1), t ~ N(0, tare_spread),
    r ~ N(0, 1) and, after each wiping, its own b ~ N(0, wiped_spread). For each z the unknowns are linear and normal,
    so they are integrated out in closed form; z runs over a grid.
    """
    prior = np.exp(-0.5 * FINE**2)
    prior[0] += (
        0.5 * erfc(-FINE[0] / sqrt(2.0)) * sqrt(2.0 * pi) / (FINE[1] - FINE[0])
    )  # what lies beyond the end
    which = np.asarray(bag, dtype=np.int64)
    log_like, heavier = np.zeros((len(FINE), bags)), np.zeros((len(FINE), bags))
    if which.size:
        order = np.argsort(which, kind="stable")
        gross, wood, breath = (
            np.broadcast_to(np.asarray(x, dtype=np.float64), which.shape)[order]
            for x in (gross_g, wood_g, breath_g)
        )
        here, first = np.unique(which[order], return_index=True)
        precision = 1.0 / scale_error(gross) ** 2
        miss = gross - wood + breath + blend(between(FINE), np.asarray(loss_g, dtype=np.float64)[:, order])
        times = np.broadcast_to(np.asarray(wiped, dtype=np.int64), which.shape)[order]
        after = times[:, np.newaxis] == np.arange(1, times.max() + 1)
        unknown = np.column_stack(
            [wood, np.ones_like(wood), -breath, after]
        )  # (weighings, 3 and the wipings)
        spread = np.stack(
            [
                np.full(here.size, WOOD_SPREAD),
                np.asarray(tare_spread, dtype=np.float64)[here],
                np.full(here.size, BREATH_SPREAD),
                *np.tile(np.broadcast_to(wiped_spread, bags)[here], (after.shape[1], 1)),
            ]
        )

        def by_bag(of_weighings: Array) -> Array:
            return np.add.reduceat(of_weighings, first, axis=0)

        # information on the unknowns, and their pull at each z
        known = by_bag(precision[:, None, None] * unknown[:, :, None] * unknown[:, None, :])
        each = np.arange(len(spread))
        known[:, each, each] += spread.T**-2
        pull = by_bag(
            (precision[:, None] * unknown)[:, :, None] * miss.T[:, None, :]
        )  # (bags, unknowns, fine)
        best = np.linalg.solve(known, pull)
        squares = by_bag(precision[:, None] * miss.T**2)
        log_like[:, here] = -0.5 * (squares - (best * pull).sum(1)).T
        heavier[:, here] = best[:, 0].T
    log_like -= log_like.max(axis=0)
    weight = prior[:, np.newaxis] * np.exp(log_like)
    return Belief(weight / weight.sum(axis=0), heavier)
