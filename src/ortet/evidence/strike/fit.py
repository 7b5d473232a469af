"""The posterior of strike rates: Laplace's parabola, mended where it strays, summed over how far things differ.

Given the spreads, the log posterior of levels, effects, varieties and mother plants is laid against a parabola at its top
(Tierney & Kadane 1986); a batch's own luck is summed out beforehand. Each variety is then corrected along the line on which
its rate moves the rest, and so is the weight of the spreads. Over the spreads a Gauss-Hermite grid is laid about their likeliest
values, finer where they are less known. docs/science/strike-rates.md tells it equation by equation.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations, product
from math import prod

import numpy as np
from numpy.typing import NDArray

from ortet.science.compiled import spread

from .asked import WIDE, Table

__all__ = ["Node", "explore"]

Array = NDArray[np.float64]

NONE = 1e-3  # the spread that stands for none [logit]
LEVELS = ("variety", "mother", "batch", "handling")
WORTH = 40  # varieties that are worth a thread
Z = np.linspace(-5.0, 5.0, 21)
NORMAL = np.exp(-0.5 * Z * Z)
STEP = 0.1  # of the natural log of a spread, for differences
SURE = 0.06  # sd of the natural log of a spread below which one value stands for it


def _hermite(size: int) -> tuple[Array, Array]:
    """Return Gauss-Hermite nodes, the middle first, and weights."""
    nodes, weights = np.polynomial.hermite.hermgauss(size)
    order = np.argsort(np.abs(nodes), kind="stable")
    return np.ascontiguousarray(nodes[order]), np.ascontiguousarray(weights[order])


NODES, _plain = _hermite(8)
WEIGHTS = _plain * np.exp(NODES**2)
FEW, _plain = _hermite(7)
FEW_WEIGHTS = _plain / np.sqrt(np.pi)


@dataclass(frozen=True, slots=True)
class Node:
    """What is believed where the spreads have given values; L is 1 + effects, D species + effects."""

    sds: Array  # variety, mother, batch, handling
    log_weight: float
    effects: Array  # (D,): levels of the species, then effects
    doubt: Array  # (D, D)
    rate: Array  # (varieties,) of the usual batch [logit]
    sd: Array  # (varieties,)
    off: Array  # (varieties, 21): ln(exact / normal) at Z standard deviations
    with_effects: Array  # (varieties, c): covariance with the effects
    own: Array  # (varieties,): 1 - variance left / variance before, the level being known
    mother: Array  # (mothers, 3): mean, variance, covariance with the variety's rate


class _Climber:
    """Finds the top of the posterior for given spreads, each time from where it was last."""

    def __init__(self, table: Table) -> None:
        self.table = table
        c, v, m, n = len(table.columns), len(table.varieties), len(table.mothers), len(table.struck)
        self.c, self.kinds = c, len(table.species)
        self.effects = np.concatenate([table.level, np.zeros(c)])
        self.v, self.m, self.middle = np.zeros(v), np.zeros(m), np.zeros(n)
        self.bends, self.slopes = np.zeros((v, 1 + c, 1 + c)), np.zeros((v, 1 + c))
        self.of_variety, self.with_variety = np.zeros((v, 2)), np.zeros((v, 1 + c))
        self.of_mother, self.with_mother = np.zeros((m, 2)), np.zeros((m, 1 + c))
        self.per_batch, self.value = np.zeros((n, 2)), np.zeros(v)
        self.prior_mean = self.effects.copy()
        self.enough = 1e-5 * (
            1.0 + v / 10.0
        )  # squared standard deviations from the top, all unknowns together

    def prior(self, sds: Array) -> Array:
        """Return the precision of levels and effects, (D,)."""
        wide = np.where(self.table.is_level, sds[3], self.table.spreads.effect)
        return np.concatenate([1.0 / self.table.doubt, 1.0 / wide**2])

    def climb(self, sds: Array) -> tuple[float, Array]:
        """Go to the top; return the log of the evidence by Laplace's parabola, and the bend of levels and effects."""
        prior = self.prior(sds)
        for _ in range(100):
            self._look(sds)
            slope, bend = self._gathered()
            slope -= prior * (self.effects - self.prior_mean)
            bend[np.diag_indices_from(bend)] += prior
            move = np.asarray(np.linalg.solve(bend, slope), dtype=np.float64)
            near = float(
                slope @ move
                + (self.of_variety[:, 1] ** 2 / self.of_variety[:, 0]).sum()
                + (self.of_mother[:, 1] ** 2 / self.of_mother[:, 0]).sum()
            )
            if near < self.enough:
                break
            self._move(move, sds)
        else:
            raise ArithmeticError(
                "The strike rates did not settle. Please report the counts; nothing was changed."
            )
        away = self.effects - self.prior_mean
        height = self.value.sum() - 0.5 * away @ (prior * away)
        height += 0.5 * near  # what the last step, not taken, would add
        height += 0.5 * np.log(prior).sum() - 0.5 * np.linalg.slogdet(bend)[1]
        return float(height), bend

    def _look(self, sds: Array) -> None:
        from .tree_kernel import climb

        t = self.table
        effect = np.ascontiguousarray(self.effects[self.kinds :])
        base = self.effects[t.kind_of]
        spread(
            lambda begin, end: climb(
                begin, end, t.mothers_of, t.batches_of, t.rooted, t.struck, t.x, effect, base, self.v, self.m, sds[0], sds[1],
                sds[2], NODES, WEIGHTS, self.middle, self.bends, self.slopes, self.of_variety, self.with_variety,
                self.of_mother, self.with_mother, self.per_batch, self.value,
            ),
            len(self.v),
            WORTH,
        )  # fmt: skip

    def _gathered(self) -> tuple[Array, Array]:
        """Return slope and bend by levels and effects, (D,) and (D, D)."""
        k, first = self.kinds, self.table.varieties_of[:-1]
        bends = np.add.reduceat(self.bends, first, axis=0)
        slopes = np.add.reduceat(self.slopes, first, axis=0)
        bend = np.zeros((k + self.c, k + self.c))
        bend[np.arange(k), np.arange(k)] = bends[:, 0, 0]
        bend[:k, k:] = bends[:, 0, 1:]
        bend[k:, :k] = bends[:, 0, 1:].T
        bend[k:, k:] = bends[:, 1:, 1:].sum(axis=0)
        return np.concatenate([slopes[:, 0], slopes[:, 1:].sum(axis=0)]), bend

    def _move(self, move: Array, sds: Array) -> None:
        near = self.local(move[np.newaxis, :])
        v = (self.of_variety[:, 1] - (self.with_variety * near).sum(axis=1)) / self.of_variety[:, 0]
        of = self.table.variety_of_mother
        own = self.of_mother[:, 0] - 1.0 / sds[1] ** 2
        m = (self.of_mother[:, 1] - own * v[of] - (self.with_mother * near[of]).sum(axis=1)) / self.of_mother[
            :, 0
        ]
        far = max(np.abs(v).max() + np.abs(m).max(), np.abs(move).max())
        share = min(1.0, 3.0 / far)  # far from the top a parabola points too far
        self.effects = self.effects + share * move
        self.v, self.m = self.v + share * v, self.m + share * m

    def local(self, whole: Array) -> Array:
        """Return of rows (1 or varieties, D) what concerns each variety: its level and the effects, (varieties, 1 + c)."""
        at = np.arange(len(self.table.kind_of)) if len(whole) > 1 else 0
        level = whole[at, self.table.kind_of]
        return np.column_stack([level, np.broadcast_to(whole[:, self.kinds :], (len(level), self.c))])

    def node(self, sds: Array) -> Node:
        """Return what is believed for given spreads, corrected for what the parabola misses."""
        t, k = self.table, self.kinds
        height, bend = self.climb(sds)
        doubt = np.asarray(np.linalg.inv(bend), dtype=np.float64)
        turn = -self.with_variety / self.of_variety[:, :1]  # how v answers to its level and the effects
        u = turn.copy()
        u[:, 0] += 1.0
        whole = np.zeros((len(u), k + self.c))
        whole[np.arange(len(u)), t.kind_of] = u[:, 0]
        whole[:, k:] = u[:, 1:]
        covariance = whole @ doubt  # of the rate with levels and effects
        near = self.local(covariance)
        variance = (u * near).sum(axis=1) + 1.0 / self.of_variety[:, 0]
        sd = np.sqrt(variance)
        off = self._off(sds, near / variance[:, np.newaxis], sd)
        weight = NORMAL * np.exp(off)
        total = weight.sum(axis=1)
        height += float(np.log(total / NORMAL.sum()).sum())
        shift = sd * (weight @ Z) / total
        moved = covariance * (shift / variance)[:, np.newaxis]
        effects = self.effects + moved.sum(axis=0)
        others = (whole * (moved.sum(axis=0) - moved)).sum(axis=1)
        rate = self.effects[t.kind_of] + self.v + others
        return Node(
            sds,
            height,
            effects,
            doubt,
            rate,
            sd,
            off,
            np.ascontiguousarray(covariance[:, k:]),
            1.0 - 1.0 / (self.of_variety[:, 0] * sds[0] ** 2),
            self._mothers(sds, doubt, near, variance, (others + shift) / variance),
        )

    def _off(self, sds: Array, along: Array, sd: Array) -> Array:
        from .tree_kernel import bend

        t, of = self.table, self.table.variety_of_mother[self.table.mother_of_batch]
        effect = self.effects[self.kinds :]
        eta = self.effects[t.kind_of[of]] + self.v[of] + self.m[t.mother_of_batch] + t.x @ effect
        moves = 1.0 + (t.x * along[of, 1:]).sum(axis=1)
        off = np.zeros((len(sd), Z.size))
        spread(
            lambda begin, end: bend(
                begin, end, t.mothers_of, t.batches_of, t.rooted, t.struck, eta, moves, self.per_batch, sd, sds[1], sds[2],
                self.middle, NODES, WEIGHTS, FEW, FEW_WEIGHTS, off,
            ),
            len(sd),
            WORTH,
        )  # fmt: skip
        return off

    def _mothers(self, sds: Array, doubt: Array, near: Array, variance: Array, moved: Array) -> Array:
        """Return mean, variance and covariance with the variety's rate of each mother plant, (mothers, 3)."""
        of, bend = self.table.variety_of_mother, self.of_mother[:, 0]
        own = (bend - 1.0 / sds[1] ** 2) / bend
        answer = self.with_mother / bend[:, np.newaxis]
        with_v = variance - near[:, 0]  # covariance of v and the rate
        with_rate = -(own * with_v[of] + (answer * near[of]).sum(axis=1))
        turn = self.with_variety / self.of_variety[:, :1]
        k = self.kinds
        kind = self.table.kind_of
        block = np.empty((len(kind), 1 + self.c, 1 + self.c))
        block[:, 0, 0] = doubt[kind, kind]
        block[:, 0, 1:] = doubt[kind, k:]
        block[:, 1:, 0] = doubt[kind, k:]
        block[:, 1:, 1:] = doubt[k:, k:]
        pull = answer - own[:, np.newaxis] * turn[of]  # of level and effects on m, v answering
        left = np.einsum("ma,mab,mb->m", pull, block[of], pull) + own**2 / self.of_variety[of, 0] + 1.0 / bend
        return np.column_stack([self.m + with_rate * moved[of], left, with_rate])


def explore(table: Table) -> tuple[list[Node], Array]:
    """Return the nodes of a grid over the spreads, their `log_weight` such that the weights sum to 1, and what they hide.

    What they hide is the variance of the natural log of each spread along axes on which the grid has one point, (4,).
    """
    climber = _Climber(table)
    given = [getattr(table.spreads, name) for name in LEVELS]
    if not table.is_level.any():
        given[3] = None
    held = [(at, *pair) for at, pair in enumerate(given) if pair is not None]
    free = [at for at, _, _ in held]
    centre, wide = np.array([np.log(middle) for _, middle, _ in held]), np.array([sd for _, _, sd in held])

    def sds(log_sd: Array) -> Array:
        out = np.full(4, NONE)
        out[free] = np.exp(log_sd)
        return out

    def before(log_sd: Array) -> float:
        return float(-0.5 * (((log_sd - centre) / wide) ** 2 + np.exp(2.0 * log_sd) / WIDE**2).sum())

    about, bend = _rough_top(lambda at: climber.climb(sds(at))[0] + before(at), centre, 1.0 / wide**2)
    top, axes = _fine_top(lambda at: climber.node(sds(at)).log_weight + before(at), about, bend)
    found = [(climber.node(sds(at)), at, log_share) for at, log_share in _grid(top, axes)]
    whole = np.array([node.log_weight + before(at) + log_share for node, at, log_share in found])
    whole -= whole.max()
    whole -= np.log(np.exp(whole).sum())
    hidden = np.zeros(4)
    hidden[free] = axes**2 @ (np.array(_points(axes)) == 1)
    nodes = [replace(node, log_weight=float(log)) for (node, _, _), log in zip(found, whole, strict=True)]
    return nodes, hidden


Height = Callable[[Array], float]


def _rough_top(height: Height, start: Array, prior: Array) -> tuple[Array, Array]:
    """Return about where the spreads are likeliest, and minus the second derivatives there; all in natural logs."""
    at, value, unit = start, height(start), np.eye(len(start)) * STEP
    for _ in range(15):
        ahead = np.array([[height(at + step), height(at - step)] for step in unit]).reshape(-1, 2)
        slope = (ahead[:, 0] - ahead[:, 1]) / (2 * STEP)
        bend = np.maximum((2 * value - ahead.sum(axis=1)) / STEP**2, 0.3 * prior)
        move = np.clip(slope / bend, -1.0, 1.0)
        if (move * slope).sum() < 0.02:
            break
        new = height(at + move)
        while new < value and np.abs(move).max() > 1e-3:
            move = move / 2
            new = height(at + move)
        at, value = at + move, new
    whole = np.diag(bend) if len(at) else np.zeros((0, 0))
    for a, b in combinations(range(len(at)), 2):
        both = height(at + unit[a] + unit[b]) + height(at - unit[a] - unit[b])
        whole[a, b] = whole[b, a] = (2 * value - both) / (2 * STEP**2) - (bend[a] + bend[b]) / 2
    return at, whole


def _fine_top(height: Height, at: Array, bend: Array) -> tuple[Array, Array]:
    """Return where the corrected posterior is likeliest, and axes (columns) along which it falls by one sd each."""
    values, vectors = np.linalg.eigh(bend)
    axes = vectors / np.sqrt(np.maximum(values, 0.1))
    middle, shift, scale = height(at), np.zeros(len(at)), np.ones(len(at))
    for a, axis in enumerate(axes.T):
        ahead, behind = height(at + 0.5 * axis), height(at - 0.5 * axis)
        curve = np.clip((2 * middle - ahead - behind) / 0.25, 0.2, 5.0)
        shift[a] = np.clip((ahead - behind) / curve, -2.0, 2.0)
        scale[a] = 1.0 / np.sqrt(curve)
    return at + axes @ shift, axes * scale


def _points(axes: Array) -> list[int]:
    """Return how many points each axis of the grid gets."""
    unsure = [np.linalg.norm(axis) >= SURE for axis in axes.T]
    return [(3 if sum(unsure) > 2 else 5) if one else 1 for one in unsure]


def _grid(top: Array, axes: Array) -> Iterator[tuple[Array, float]]:
    """Give the points of a Gauss-Hermite grid, each with the log of its weight over the normal's density."""
    ticks = []
    for size in _points(axes):
        nodes, weights = np.polynomial.hermite_e.hermegauss(size)
        ticks.append([(z, w / weights.sum()) for z, w in zip(nodes, weights, strict=True)])
    for point in product(*ticks):
        z, weight = np.array([z for z, _ in point]), prod(w for _, w in point)
        yield top + axes @ z, float(np.log(weight) + 0.5 * z @ z)
