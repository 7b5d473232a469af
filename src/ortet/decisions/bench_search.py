"""A good plan for the benches by taking parts of it away and putting them back better, many thousand times.

Compiled; import it inside a function. It gives the exact programme a plan to start from and to measure itself by. The
same input gives the same plan: its coin is a counter, not the clock.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["search"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

OUT = -1  # stands nowhere
DRAWN = 8  # parts drawn at random in one turn, at most; one may be drawn twice


@njit(cache=True, nogil=True)
def _coin(state: Index) -> float:
    """Return the next number from 0 to below 1: Lehmer's generator modulo 2**31 - 1 (Park & Miller 1988)."""
    state[0] = state[0] * 48271 % 2147483647
    return state[0] / 2147483647.0  # type: ignore[no-any-return]


@njit(cache=True, nogil=True)
def _dearer(
    o: int, cells: float, way: Index, cap: Array, heat: Array, used: Array, count: Index, level: Index
) -> float:
    """Return what more heat a part costs that is put there; inf where it does not fit."""
    more = 0.0
    bench, at = way[o, 0], way[o, 1]
    for week in range(way[o, 2], way[o, 2] + way[o, 3]):
        if used[bench, week] + cells > cap[bench] + 1e-9:
            return np.inf
        if count[bench, week] == 0:
            more += heat[bench, at, week]
        elif level[bench, week] != at:
            return np.inf
    return more


@njit(cache=True, nogil=True)
def _put(
    o: int, cells: float, sign: int, way: Index, heat: Array, used: Array, count: Index, level: Index
) -> float:
    """Put a part there, or with sign -1 take it away; return the change in heat."""
    change = 0.0
    bench, at = way[o, 0], way[o, 1]
    for week in range(way[o, 2], way[o, 2] + way[o, 3]):
        if sign > 0 and count[bench, week] == 0:
            change += heat[bench, at, week]
            level[bench, week] = at
        count[bench, week] += sign
        used[bench, week] += sign * cells
        if sign < 0 and count[bench, week] == 0:
            change -= heat[bench, at, week]
            used[bench, week] = 0.0
    return change


@njit(cache=True, nogil=True)
def search(
    batch_of: Index,  # (parts,) the batch of each part
    held: NDArray[np.bool_],  # (parts,) it must stay where it starts
    start: Index,  # (parts,) the way it takes at first, OUT where it stands nowhere
    first: Index,  # (batches + 1,) where its ways begin
    way: Index,  # (ways, 4) bench, level, week, weeks
    cost: Array,  # (ways,) of one part
    out_cost: Array,  # (batches,) of one part that stands nowhere
    split_cost: Array,  # (batches,) of each way that a batch is split over
    cells: Array,  # (batches,) of one part
    cap: Array,  # (benches,)
    heat: Array,  # (benches, levels, weeks)
    rounds: int,
) -> Index:
    """Return the way of each part, OUT where it stands nowhere, in the cheapest plan found."""
    parts, weeks = len(batch_of), heat.shape[2]
    used, count = np.zeros((len(cap), weeks)), np.zeros((len(cap), weeks), np.int64)
    level, many = np.zeros((len(cap), weeks), np.int64), np.zeros(len(cost), np.int64)
    here, gone, key = np.full(parts, OUT), np.empty(parts + DRAWN, np.int64), np.empty(parts + DRAWN)
    state = np.array([20270203])
    now = 0.0
    for i in range(parts):
        now += out_cost[batch_of[i]]
        if start[i] != OUT:
            b, o = batch_of[i], start[i]
            now += cost[o] - out_cost[b] + (split_cost[b] if many[o] == 0 else 0.0)
            now += _put(o, cells[b], 1, way, heat, used, count, level)
            here[i] = o
            many[o] += 1
    best, least, keep, before = here.copy(), now, here.copy(), now
    warm = 0.1 * np.mean(out_cost) * parts / max(1, len(out_cost))
    for turn in range(rounds):
        # what goes: at first what stands nowhere; then some at random, a batch, or one bench over some weeks
        picked, kind = 0, _coin(state)
        if turn > 0 and kind < 0.4:
            most = 1 + int(_coin(state) * DRAWN)
            for _ in range(most):
                i = int(_coin(state) * parts)
                if not held[i] and (here[i] != OUT or _coin(state) < 0.5):
                    gone[picked] = i
                    picked += 1
        elif turn > 0 and kind < 0.6:
            b = batch_of[int(_coin(state) * parts)]
            for i in range(parts):
                if not held[i] and batch_of[i] == b:
                    gone[picked] = i
                    picked += 1
        else:
            bench, begin = int(_coin(state) * len(cap)), int(_coin(state) * weeks)
            end = begin + 1 + int(_coin(state) * 7)
            for i in range(parts):
                o = here[i]
                stands = o != OUT and way[o, 0] == bench and way[o, 2] < end and way[o, 2] + way[o, 3] > begin
                if not held[i] and (
                    (stands and turn > 0) or (o == OUT and (turn == 0 or _coin(state) < 0.7))
                ):
                    gone[picked] = i
                    picked += 1
        for n in range(picked):
            i = gone[n]
            b, o = batch_of[i], here[i]
            if o != OUT:
                many[o] -= 1
                now += out_cost[b] - cost[o] - (split_cost[b] if many[o] == 0 else 0.0)
                now += _put(o, cells[b], -1, way, heat, used, count, level)
                here[i] = OUT
        by_worth = _coin(state) < 0.4
        for n in range(picked):
            b = batch_of[gone[n]]
            key[n] = -out_cost[b] * (0.5 + _coin(state)) if by_worth else _coin(state)
        for n in range(picked):
            for m in range(n, 0, -1):  # the next by key, sorted in as we go: few, and quick to compile
                if key[m] >= key[m - 1]:
                    break
                key[m], key[m - 1] = key[m - 1], key[m]
                gone[m], gone[m - 1] = gone[m - 1], gone[m]
        for n in range(picked):
            i = gone[n]
            if here[i] != OUT:
                continue  # drawn twice
            b = batch_of[i]
            chosen, price = OUT, 0.0
            for o in range(first[b], first[b + 1]):
                gain = cost[o] - out_cost[b] + (split_cost[b] if many[o] == 0 else 0.0)
                if gain < price and _coin(state) > 0.05:
                    gain += _dearer(o, cells[b], way, cap, heat, used, count, level)
                    if gain < price:
                        chosen, price = o, gain
            if chosen != OUT:
                now += price
                _put(chosen, cells[b], 1, way, heat, used, count, level)
                here[i] = chosen
                many[chosen] += 1
        if now < before - 1e-9 or _coin(state) < np.exp(
            (before - now) / (warm * (1.0 - turn / rounds) + 1e-9)
        ):
            before = now
            keep[:] = here
            if now < least - 1e-9:
                least = now
                best[:] = here
        else:  # back to what it was
            for n in range(picked):
                i = gone[n]
                b = batch_of[i]
                if here[i] != OUT and here[i] != keep[i]:
                    many[here[i]] -= 1
                    _put(here[i], cells[b], -1, way, heat, used, count, level)
                    here[i] = OUT
            for n in range(picked):
                i = gone[n]
                b = batch_of[i]
                if keep[i] != OUT and here[i] != keep[i]:
                    _put(keep[i], cells[b], 1, way, heat, used, count, level)
                    many[keep[i]] += 1
                here[i] = keep[i]
            now = before
    return best
