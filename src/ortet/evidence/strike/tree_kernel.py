"""One look at the tree of varieties, mother plants and batches, compiled: fit.py says what it is for and where it is called.

Batches lie sorted by variety, then by mother plant; `mothers_of[j]` to `mothers_of[j + 1]` are the mother plants of variety
j, `batches_of[k]` to `batches_of[k + 1]` the batches of mother plant k. What differs within one batch only, its own luck e, is
summed out by adaptive Gauss-Hermite quadrature (Naylor & Smith 1982), so that few cuttings are no worse than many.
"""

from __future__ import annotations

from math import exp, factorial, log, pi, sqrt

import numpy as np
from numba import types
from numpy.typing import NDArray

from ortet.science.compiled import compiled, part

__all__ = ["bend", "climb"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]
F1, F2, F3 = types.float64[::1], types.float64[:, ::1], types.float64[:, :, ::1]
I1 = types.int64[::1]


FACTORS = tuple(1.0 / factorial(n) for n in range(8, -1, -1))
ODD = tuple(1.0 / n for n in range(21, 0, -2))


@part
def _exp(y):  # type: ignore[no-untyped-def]
    """Return e^y for y from -40 to 40, to 2e-13 of it, in arithmetic that the compiler lays out for four at once."""
    x = y * (1.0 / 512.0)
    e = 0.0
    for factor in FACTORS:
        e = e * x + factor
    for _ in range(9):
        e *= e
    return e


@part
def _soft(small):  # type: ignore[no-untyped-def]
    """Return ln(1 + small) for small from 0 to 1, to 4e-12, likewise: twice the series of artanh at small / (2 + small)."""
    z = small / (2.0 + small)
    square = z * z
    out = 0.0
    for factor in ODD:
        out = out * square + factor
    return 2.0 * z * out


@part
def _curve(n, t, sure):  # type: ignore[no-untyped-def]
    """Return minus the bend of a batch's log posterior by its luck, at a logit of t."""
    p = 1.0 / (1.0 + exp(-t))
    return n * p * (1.0 - p) + sure


@part
def _height(y, n, eta, sd, start, nodes, weights, w):  # type: ignore[no-untyped-def]
    """Return ln L of a batch at eta, and where e is likeliest; leave in `w` how likely each node is."""
    sure, e = 1.0 / (sd * sd), start
    for _ in range(30):
        p = 1.0 / (1.0 + exp(-(eta + e)))
        curve = n * p * (1.0 - p) + sure
        step = (y - n * p - e * sure) / curve
        e += min(max(step, -2.0), 2.0)
        if step * step * curve < 1e-4:  # the next step would be far smaller still
            break
    wide = sqrt(2.0 / _curve(n, eta + e, sure))
    for q in range(len(nodes)):
        here = e + wide * nodes[q]
        t = eta + here
        w[q] = y * t - n * (max(t, 0.0) + _soft(_exp(-min(abs(t), 40.0)))) - 0.5 * here * here * sure
    top = w[0]
    for q in range(len(nodes)):
        w[q] = weights[q] * _exp(min(max(w[q] - top, -40.0), 40.0))
    whole = 0.0
    for q in range(len(nodes)):
        whole += w[q]
    return top + log(whole * wide / (sd * sqrt(2.0 * pi))), e


@part
def _luck(y, n, eta, sd, start, nodes, weights, w):  # type: ignore[no-untyped-def]
    """Return ln L of a batch at eta, its slope, minus its bend, and where e is likeliest; binomial coefficient left out.

    Slope and bend come from mean and variance of e, E(e) / sd^2 and (1 - var(e) / sd^2) / sd^2: the quadrature knows them better
    than the same through n p, which falls off a cliff where all of very many rooted.
    """
    sure = 1.0 / (sd * sd)
    value, e = _height(y, n, eta, sd, start, nodes, weights, w)
    wide = sqrt(2.0 / _curve(n, eta + e, sure))
    whole = mean = square = 0.0
    for q in range(len(nodes)):
        whole += w[q]
        mean += w[q] * nodes[q]
        square += w[q] * nodes[q] * nodes[q]
    mean /= whole
    variance = wide * wide * (square / whole - mean * mean)
    return value, (e + wide * mean) * sure, max((1.0 - variance * sure) * sure, 1e-9), e


@compiled(
    types.void(
        types.int64, types.int64, I1, I1, F1, F1, F2, F1, F1, F1, F1, types.float64, types.float64, types.float64, F1, F1,
        F1, F3, F2, F2, F2, F2, F2, F2, F1,
    )
)  # fmt: skip
def climb(
    begin: int, end: int, mothers_of: Whole, batches_of: Whole, y: Array, n: Array, x: Array, effect: Array, base: Array,
    v: Array, m: Array, sd_v: float, sd_m: float, sd_b: float, nodes: Array, weights: Array,
    middle: Array, bends: Array, slopes: Array, of_variety: Array, with_variety: Array, of_mother: Array, with_mother: Array,
    per_batch: Array, value: Array,
) -> None:  # fmt: skip
    """Write slope and bend of the log posterior of varieties `begin` to `end`, their own unknowns eliminated.

    Parameters
    ----------
    x : (batches, c); effect : (c,); base : (varieties,); v : (varieties,); m : (mothers,)
        Measures and their effects; the species' level; where varieties and mother plants stand. [logit]
    sd_v, sd_m, sd_b : float
        Spread of varieties, mother plants, batches. [logit]
    middle : (batches,)
        Where each batch's luck was last found likeliest; kept for the next call.
    bends, slopes : (varieties, 1 + c, 1 + c), (varieties, 1 + c)
        Out: minus the second and the first derivative by (base, effect), after elimination.
    of_variety : (varieties, 2); with_variety : (varieties, 1 + c)
        Out: bend and slope by v after the mother plants are eliminated; its bend with (base, effect).
    of_mother : (mothers, 2); with_mother : (mothers, 1 + c)
        Out: the same of m.
    per_batch : (batches, 2)
        Out: slope and bend by eta.
    value : (varieties,)
        Out: log posterior without the terms of (base, effect), minus half the log determinants eliminated.
    """
    c = len(effect)
    sure_v, sure_m = 1.0 / (sd_v * sd_v), 1.0 / (sd_m * sd_m)
    row, w_q = np.empty(1 + c), np.empty(len(nodes))
    row[0] = 1.0
    for j in range(begin, end):
        bend, slope, near_v = bends[j], slopes[j], with_variety[j]
        bend[:, :] = 0.0
        slope[:] = 0.0
        near_v[:] = 0.0
        bend_v, slope_v, total = sure_v, -v[j] * sure_v, -0.5 * v[j] * v[j] * sure_v
        for k in range(mothers_of[j], mothers_of[j + 1]):
            near_m = with_mother[k]
            near_m[:] = 0.0
            own, pull = 0.0, 0.0
            for i in range(batches_of[k], batches_of[k + 1]):
                eta = base[j] + v[j] + m[k]
                for a in range(c):
                    row[1 + a] = x[i, a]
                    eta += x[i, a] * effect[a]
                height, g, w, middle[i] = _luck(y[i], n[i], eta, sd_b, middle[i], nodes, weights, w_q)
                per_batch[i, 0], per_batch[i, 1] = g, w
                total += height
                own += w
                pull += g
                for a in range(1 + c):
                    part_a = w * row[a]
                    near_m[a] += part_a
                    slope[a] += g * row[a]
                    for b in range(a + 1):
                        bend[a, b] += part_a * row[b]
            total -= 0.5 * m[k] * m[k] * sure_m
            bend_m, slope_m = own + sure_m, pull - m[k] * sure_m
            of_mother[k, 0], of_mother[k, 1] = bend_m, slope_m
            total -= 0.5 * log(bend_m / sure_m)
            bend_v += own - own * own / bend_m
            slope_v += pull - own * slope_m / bend_m
            for a in range(1 + c):
                near_v[a] += near_m[a] - own * near_m[a] / bend_m
                slope[a] -= near_m[a] * slope_m / bend_m
                for b in range(a + 1):
                    bend[a, b] -= near_m[a] * near_m[b] / bend_m
        of_variety[j, 0], of_variety[j, 1] = bend_v, slope_v
        total -= 0.5 * log(bend_v / sure_v)
        for a in range(1 + c):
            slope[a] -= near_v[a] * slope_v / bend_v
            for b in range(a + 1):
                bend[a, b] -= near_v[a] * near_v[b] / bend_v
                bend[b, a] = bend[a, b]
        value[j] = total


COARSE, FINE = 2, 7  # points of a table on either side of its middle
NEAR = 1.5  # a table that reaches less far is as good as a polynomial of the fourth degree [logit]


@part
def _read(table, half, place):  # type: ignore[no-untyped-def]
    """Return a table's value between its points by Lagrange's polynomial: the quartic of 5 points, else a cubic."""
    place = min(max(place, 0.0), 2.0 * half)
    if half == COARSE:
        f = place - 2.0
        return (
            table[0] * ((f + 1.0) * f * (f - 1.0) * (f - 2.0) / 24.0)
            - table[1] * ((f + 2.0) * f * (f - 1.0) * (f - 2.0) / 6.0)
            + table[2] * ((f + 2.0) * (f + 1.0) * (f - 1.0) * (f - 2.0) / 4.0)
            - table[3] * ((f + 2.0) * (f + 1.0) * f * (f - 2.0) / 6.0)
            + table[4] * ((f + 2.0) * (f + 1.0) * f * (f - 1.0) / 24.0)
        )
    low = min(max(int(place), 1), 2 * half - 2)
    f = place - low
    return (
        table[low - 1] * (-f * (f - 1.0) * (f - 2.0) / 6.0)
        + table[low] * ((f + 1.0) * (f - 1.0) * (f - 2.0) / 2.0)
        + table[low + 1] * (-(f + 1.0) * f * (f - 2.0) / 2.0)
        + table[low + 2] * ((f + 1.0) * f * (f - 1.0) / 6.0)
    )


@compiled(
    types.void(
        types.int64, types.int64, I1, I1, F1, F1, F1, F1, F2, F1, types.float64, types.float64, F1, F1, F1, F1, F1, F2,
    )
)  # fmt: skip
def bend(
    begin: int, end: int, mothers_of: Whole, batches_of: Whole, y: Array, n: Array, eta: Array, along: Array, per_batch: Array,
    sd: Array, sd_m: float, sd_b: float, middle: Array, nodes: Array, weights: Array, few: Array, few_weights: Array,
    off: Array,
) -> None:  # fmt: skip
    """Write how far each variety's log likelihood, mother plants summed out, strays from the parabola laid at its top.

    Parameters
    ----------
    eta, along : (batches,)
        Where each batch stands, and how far it moves when its variety's rate moves by one, its mother plant held. [logit]
    sd : (varieties,)
        Standard deviation of the variety's rate by the parabola. [logit]
    nodes, weights; few, few_weights
        Gauss-Hermite, for a batch's luck and for a mother plant.
    off : (varieties, g)
        Out: ln(exact / parabola) at -5 to 5 standard deviations.
    """
    table, w_q = np.empty(2 * FINE + 1), np.empty(len(nodes))
    g_size = off.shape[1]
    for j in range(begin, end):
        off[j, :] = 0.0
        for k in range(mothers_of[j], mothers_of[j + 1]):
            own = pull = moved = 0.0
            for i in range(batches_of[k], batches_of[k + 1]):
                own += per_batch[i, 1]
                pull += per_batch[i, 0]
                moved += per_batch[i, 1] * along[i]
            moved /= own
            bend_m = own + 1.0 / (sd_m * sd_m)
            kept = 1.0 - own / bend_m
            reach = 5.5 * sqrt((moved * kept * sd[j]) ** 2 + 1.0 / bend_m) + 1e-9
            half = COARSE if reach < NEAR else FINE
            step = reach / half
            for h in range(2 * half + 1):
                t = (h - half) * step
                table[h] = -pull * t + 0.5 * own * t * t
            for i in range(batches_of[k], batches_of[k + 1]):
                top, start = 0.0, middle[i]
                for turn in range(2 * half + 1):
                    h = half + turn if turn <= half else 2 * half - turn
                    if turn == half + 1:
                        start = middle[i]
                    height, start = _height(
                        y[i], n[i], eta[i] + (h - half) * step, sd_b, start, nodes, weights, w_q
                    )
                    if turn == 0:
                        top = height
                    table[h] += height - top
            wide = sqrt(2.0 / bend_m)
            for g in range(g_size):
                delta = sd[j] * (10.0 * g / (g_size - 1) - 5.0)
                whole = 0.0
                for q in range(len(few)):
                    at = moved * delta * kept + wide * few[q]
                    whole += few_weights[q] * exp(_read(table, half, at / step + half))
                off[j, g] += log(whole)
