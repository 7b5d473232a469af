"""A good plan for the benches by taking parts of it away and putting them back better, many thousand times.

Compiled; import it inside a function. It gives the exact programme a plan to start from and to measure itself by. The
same input gives the same plan: its coin is a counter, not the clock. Tables are few and of few kinds, and are laid out
before the loop: each kind of array, and each made inside it, costs the compiler a good part of a second.
"""

from __future__ import annotations

from math import exp, inf

import numpy as np
from numba import types
from numpy.typing import NDArray

from ortet.science.compiled import compiled, part

__all__ = ["search"]

Array = NDArray[np.float64]
Index = NDArray[np.int64]

I0, F0 = types.int64, types.float64
I1, I2, I3 = types.int64[::1], types.int64[:, ::1], types.int64[:, :, ::1]
F1, F2, F3 = types.float64[::1], types.float64[:, ::1], types.float64[:, :, ::1]

OUT = -1  # stands nowhere
DRAWN = 8  # parts drawn at random in one turn, at most; one may be drawn twice
# rows of `parts`: its batch, whether it must stay, its way now, in the plan gone on from, and in the best plan
BATCH, HELD, HERE, KEPT, BEST = range(5)
# columns of `ways`: where, at which of the bench's heats, from which week, for how many, and how many parts stand there
BENCH, LEVEL, WEEK, WEEKS, MANY = range(5)
# columns of `each` batch: what a part costs that stands nowhere, what each further way of it costs, cells of a part
NOWHERE, SPLIT, CELLS = range(3)
# of `heats`, by bench and week: how many parts stand there, and at which heat
COUNT, AT = range(2)


@part
def _coin(state: Index) -> float:
    """Return the next number from 0 to below 1: Lehmer's generator modulo 2**31 - 1 (Park & Miller 1988)."""
    state[0] = state[0] * 48271 % 2147483647
    return state[0] / 2147483647.0  # type: ignore[no-any-return]


@part
def _dearer(way: int, cells: float, ways: Index, cap: Array, heat: Array, used: Array, heats: Index) -> float:
    """Return what more heat a part costs that is put there; inf where it does not fit."""
    more = 0.0
    bench, level = ways[way, BENCH], ways[way, LEVEL]
    for week in range(ways[way, WEEK], ways[way, WEEK] + ways[way, WEEKS]):
        if used[bench, week] + cells > cap[bench] + 1e-9:
            return inf
        if heats[COUNT, bench, week] == 0:
            more += heat[bench, level, week]
        elif heats[AT, bench, week] != level:
            return inf
    return more


@part
def _put(way: int, cells: float, sign: int, ways: Index, heat: Array, used: Array, heats: Index) -> float:
    """Put a part there, or with sign -1 take it away; return the change in heat."""
    change = 0.0
    bench, level = ways[way, BENCH], ways[way, LEVEL]
    ways[way, MANY] += sign
    for week in range(ways[way, WEEK], ways[way, WEEK] + ways[way, WEEKS]):
        if sign > 0 and heats[COUNT, bench, week] == 0:
            change += heat[bench, level, week]
            heats[AT, bench, week] = level
        heats[COUNT, bench, week] += sign
        used[bench, week] += sign * cells
        if sign < 0 and heats[COUNT, bench, week] == 0:
            change -= heat[bench, level, week]
            used[bench, week] = 0.0
    return change


@part
def _saved(way: int, batch: int, ways: Index, cost: Array, each: Array) -> float:
    """Return what a part costs there beside what it costs standing nowhere, without heat."""
    split = each[batch, SPLIT] if ways[way, MANY] == 0 else 0.0
    return cost[way] - each[batch, NOWHERE] + split  # type: ignore[no-any-return]


@part
def _draw(turn: int, parts: Index, ways: Index, used: Array, gone: Index, state: Index) -> int:
    """Choose what is taken away; return how many: at first what stands nowhere, then some, a batch, or a bench for weeks."""
    size, picked, kind = parts.shape[1], 0, _coin(state)
    if turn > 0 and kind < 0.4:
        most = 1 + int(_coin(state) * DRAWN)
        for _ in range(most):
            i = int(_coin(state) * size)
            if parts[HELD, i] == 0 and (parts[HERE, i] != OUT or _coin(state) < 0.5):
                gone[picked] = i
                picked += 1
    elif turn > 0 and kind < 0.6:
        batch = parts[BATCH, int(_coin(state) * size)]
        for i in range(size):
            if parts[HELD, i] == 0 and parts[BATCH, i] == batch:
                gone[picked] = i
                picked += 1
    else:
        bench, begin = int(_coin(state) * used.shape[0]), int(_coin(state) * used.shape[1])
        end = begin + 1 + int(_coin(state) * 7)
        for i in range(size):
            way = parts[HERE, i]
            if parts[HELD, i] != 0:
                continue
            if way == OUT:
                goes = turn == 0 or _coin(state) < 0.7
            else:
                ends = ways[way, WEEK] + ways[way, WEEKS]
                goes = turn > 0 and ways[way, BENCH] == bench and ways[way, WEEK] < end and ends > begin
            if goes:
                gone[picked] = i
                picked += 1
    return picked


@part
def _order(picked: int, parts: Index, each: Array, gone: Index, key: Array, state: Index) -> None:
    """Put what was taken away in the order in which it goes back: by worth or by chance."""
    by_worth = _coin(state) < 0.4
    for n in range(picked):
        worth = each[parts[BATCH, gone[n]], NOWHERE]
        key[n] = -worth * (0.5 + _coin(state)) if by_worth else _coin(state)
    for n in range(picked):
        for m in range(n, 0, -1):  # the next by key, sorted in as we go: few, and quick to compile
            if key[m] >= key[m - 1]:
                break
            key[m], key[m - 1] = key[m - 1], key[m]
            gone[m], gone[m - 1] = gone[m - 1], gone[m]


@part
def _put_back(
    picked: int, gone: Index, first: Index, parts: Index, ways: Index, cost: Array, each: Array, cap: Array,
    heat: Array, used: Array, heats: Index, state: Index,
) -> float:  # fmt: skip
    """Put each where it costs least now, or leave it out; return the change in cost."""
    change = 0.0
    for n in range(picked):
        i = gone[n]
        if parts[HERE, i] != OUT:
            continue  # drawn twice
        batch = parts[BATCH, i]
        chosen, price = OUT, 0.0
        for way in range(first[batch], first[batch + 1]):
            gain = _saved(way, batch, ways, cost, each)
            if gain < price and _coin(state) > 0.05:
                gain += _dearer(way, each[batch, CELLS], ways, cap, heat, used, heats)
                if gain < price:
                    chosen, price = way, gain
        if chosen != OUT:
            change += price
            _put(chosen, each[batch, CELLS], 1, ways, heat, used, heats)
            parts[HERE, i] = chosen
    return change


@part
def _undo(
    picked: int, gone: Index, parts: Index, ways: Index, each: Array, heat: Array, used: Array, heats: Index
) -> None:
    """Bring what was taken away back to where it was."""
    for n in range(picked):
        i = gone[n]
        here = parts[HERE, i]
        if here != OUT and here != parts[KEPT, i]:
            _put(here, each[parts[BATCH, i], CELLS], -1, ways, heat, used, heats)
            parts[HERE, i] = OUT
    for n in range(picked):
        i = gone[n]
        kept = parts[KEPT, i]
        if kept != OUT and parts[HERE, i] != kept:
            _put(kept, each[parts[BATCH, i], CELLS], 1, ways, heat, used, heats)
        parts[HERE, i] = kept


@compiled(types.void(I0, I1, I2, I2, F1, F2, F1, F3, F2, I3, I1, F1, I1, F0))
def _better(
    rounds: int, first: Index, parts: Index, ways: Index, cost: Array, each: Array, cap: Array, heat: Array,
    used: Array, heats: Index, gone: Index, key: Array, state: Index, warm: float,
) -> None:  # fmt: skip
    """Better the plan in HERE so many times; the best one found is left in BEST."""
    now = 0.0
    for i in range(parts.shape[1]):
        batch, way = parts[BATCH, i], parts[BEST, i]
        now += each[batch, NOWHERE]
        if way != OUT:
            now += _saved(way, batch, ways, cost, each)
            now += _put(way, each[batch, CELLS], 1, ways, heat, used, heats)
        parts[HERE, i] = parts[KEPT, i] = way
    least = before = now
    for turn in range(rounds):
        picked = _draw(turn, parts, ways, used, gone, state)
        for n in range(picked):
            batch, way = parts[BATCH, gone[n]], parts[HERE, gone[n]]
            if way != OUT:
                now += _put(way, each[batch, CELLS], -1, ways, heat, used, heats)
                now -= _saved(way, batch, ways, cost, each)
                parts[HERE, gone[n]] = OUT
        _order(picked, parts, each, gone, key, state)
        now += _put_back(picked, gone, first, parts, ways, cost, each, cap, heat, used, heats, state)
        heat_left = warm * (1.0 - turn / rounds) + 1e-9
        if now < before - 1e-9 or _coin(state) < exp((before - now) / heat_left):
            before = now
            for n in range(picked):
                parts[KEPT, gone[n]] = parts[HERE, gone[n]]
            if now < least - 1e-9:
                least = now
                for i in range(parts.shape[1]):
                    parts[BEST, i] = parts[KEPT, i]
        else:
            _undo(picked, gone, parts, ways, each, heat, used, heats)
            now = before


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
    parts = np.array([batch_of, held, start, start, start], dtype=np.int64)
    ways = np.column_stack([way, np.zeros(len(way), np.int64)]).astype(np.int64)
    each = np.column_stack([out_cost, split_cost, cells]).astype(np.float64)
    benches, weeks = len(cap), heat.shape[2]
    used, heats = np.zeros((benches, weeks)), np.zeros((2, benches, weeks), np.int64)
    gone, key = np.empty(len(batch_of) + DRAWN, np.int64), np.empty(len(batch_of) + DRAWN)
    warm = 0.1 * float(np.mean(out_cost)) * len(batch_of) / max(1, len(out_cost))
    state = np.array([20270203])
    _better(rounds, first, parts, ways, cost, each, cap, heat, used, heats, gone, key, state, warm)
    found: Index = parts[BEST]
    return found
