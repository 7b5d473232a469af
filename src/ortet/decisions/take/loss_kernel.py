"""One stage's loss as compiled loops: of m cuttings, how many come through.

Each row is walked outwards from its likeliest count by the ratio of neighbours and divided by its own sum. So nothing
over- or underflows, no log gamma is subtracted from another, and the error stays near the steps times 1e-16. The ratio of
j + 1 of m to j of m is a factor of j times a factor of m - j - 1, so both are tables and the walk divides nothing.
"""

from __future__ import annotations

import numpy as np
from numba import types
from numpy.typing import NDArray

from ortet.science.compiled import compiled, part

__all__ = ["Array", "Counts", "chance_at", "fewest", "ratios", "thin"]

Array = NDArray[np.float64]
Counts = NDArray[np.int64]
I0, F0, I1, F1 = types.int64, types.float64, types.int64[::1], types.float64[::1]
F2, F3 = types.float64[:, ::1], types.float64[:, :, ::1]
FAINT = 1e-18  # beside the likeliest count; what is lower is left out where the rest of the row is lower still: below 1e-13 in all


def ratios(a: float, b: float, share: bool, size: int) -> Array:
    """Return the tables for rows of fewer than `size` cuttings: of j, of m - j - 1, and one over each, shape (4, size).

    `share` tells a known share `a` (and `b` = 1 - a) from a Beta(a, b).
    """
    j = np.arange(size, dtype=np.float64)
    rise = a / b / (j + 1.0) if share else (a + j) / (j + 1.0)
    rest = j + 1.0 if share else (j + 1.0) / (b + j)
    return np.stack([rise, rest, 1.0 / rise, 1.0 / rest])


@part
def _start(m: int, a: float, b: float, share: bool) -> tuple[int, bool]:
    """Return a count to start from and whether it is the row's one peak; a vague Beta may have one at either end."""
    if share:
        return min(m, int((m + 1) * a)), True
    if a + b <= 2.0:
        return 0, False
    peak = np.ceil((m * (a - 1.0) - b + 1.0) / (a + b - 2.0))
    return int(min(max(peak, 0.0), float(m))), True


@part
def _chance_of(m: int, a: float, b: float, share: bool, table: Array, then: Array, least: int) -> float:
    """Return the chance of success from m cuttings, if j that come through succeed with chance ``then[j]``, 0 below `least`."""
    start, one_peak = _start(m, a, b, share)
    total, good = 1.0, then[start] if start >= least else 0.0
    weight = 1.0
    for j in range(start, m):
        weight *= table[0, j] * table[1, m - j - 1]
        total += weight
        if j + 1 >= least:
            good += weight * then[j + 1]
        if one_peak and weight < FAINT:
            break
    weight = 1.0
    for j in range(start - 1, -1, -1):
        weight *= table[2, j] * table[3, m - j - 1]
        total += weight
        if j >= least:
            good += weight * then[j]
        if one_peak and weight < FAINT:
            break
    return good / total


@compiled(F0(I0, I0, F2, F3, F2, I1))
def chance_at(taken: int, target: int, links: Array, tables: Array, then: Array, known: Counts) -> float:
    """Return the chance to reach the target with so many taken.

    `links` is (stages, 3): a, b, whether it is a known share. ``then[k, m]`` is the chance with m after all but the last k
    stages, filled as far as ``known[k]``; row 0 is 1 from the target on.
    """
    if taken < target:
        return 0.0
    last = len(links) - 1
    for k in range(last):
        a, b, share = links[k, 0], links[k, 1], links[k, 2] > 0.0
        for m in range(max(known[k + 1], target), taken + 1):
            then[k + 1, m] = _chance_of(m, a, b, share, tables[k], then[k], target)
        known[k + 1] = max(known[k + 1], taken + 1)
    a, b, share = links[last, 0], links[last, 1], links[last, 2] > 0.0
    chance: float = _chance_of(taken, a, b, share, tables[last], then[last], target)
    return chance


@compiled(types.Tuple((I0, F0))(I0, F2, F3, F2, I1, F0, I0, I0))  # type: ignore[no-untyped-call]
def fewest(
    target: int, links: Array, tables: Array, then: Array, known: Counts, asked: float, guess: int, most: int
) -> tuple[int, float]:
    """Return the fewest cuttings with at least the chance asked, and their chance; -1 if `most` have less. It only rises."""
    low, high = target - 1, min(max(guess, target), most)
    step = 1 + high // 16
    while chance_at(high, target, links, tables, then, known) < asked:
        if high >= most:
            return -1, 0.0
        low, high = high, min(high + step, most)
        step *= 2
    step = 1 + high // 16
    while high - low > step + 1 and chance_at(high - step, target, links, tables, then, known) >= asked:
        high, step = high - step, 2 * step
    low = max(low, high - step) if high - low > step + 1 else low
    while high - low > 1:
        middle = (low + high) // 2
        if chance_at(middle, target, links, tables, then, known) >= asked:
            high = middle
        else:
            low = middle
    return high, chance_at(high, target, links, tables, then, known)


@compiled(F1(F1, F0, F0, types.boolean, F2))
def thin(held: Array, a: float, b: float, share: bool, table: Array) -> Array:
    """Return the distribution of what comes through, given that of what goes in; both over 0 to n."""
    out = np.zeros(held.size)
    row = np.zeros(held.size)
    for m in range(held.size):
        if held[m] <= 0.0:
            continue
        start, one_peak = _start(m, a, b, share)
        row[start], total, low, high = 1.0, 1.0, start, start
        for j in range(start, m):
            row[j + 1] = row[j] * (table[0, j] * table[1, m - j - 1])
            total, high = total + row[j + 1], j + 1
            if one_peak and row[j + 1] < FAINT:
                break
        for j in range(start - 1, -1, -1):
            row[j] = row[j + 1] * (table[2, j] * table[3, m - j - 1])
            total, low = total + row[j], j
            if one_peak and row[j] < FAINT:
                break
        for j in range(low, high + 1):
            out[j] += held[m] * row[j] / total
    return out
