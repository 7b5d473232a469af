"""The compiled part of cutting: where cuts may fall on a shoot, the best pieces by a
dynamic programme over its nodes, and rules of thumb followed.

Import it inside functions only: it brings in Numba.
"""

# mypy: disable-error-code="no-untyped-def, no-untyped-call"
# The compiler finds the types itself.

from typing import Any

import numpy as np
from numba import types

from ortet.science.compiled import compiled

__all__ = ["SLACK_MM", "cut_all", "fits", "follow_rules", "lay_cuts"]

I0, F0, B0 = types.int64, types.float64, types.boolean
I1, I2, F1, F2 = types.int64[::1], types.int64[:, ::1], types.float64[::1], types.float64[:, ::1]
N1, N2 = types.int32[::1], types.int32[:, ::1]
# what is only read may be read-only
G1, G2 = (types.Array(types.float64, n, "C", readonly=True) for n in (1, 2))
CUTS = (I1, F2, F1, F1, F1, F1)  # starts, ends, and where each cut falls and how thick the wood is there

# Columns of a table of grades
LEAST_NODES, MOST_NODES, LEAST_MM, MOST_MM, LEAST_BASE, MOST_BASE, LEAST_TIP, MOST_TIP, TIP = range(9)
NO, MAY, MUST = 0, 1, 2
TIE = 1e-9
SLACK_MM = 1e-6  # as in wood.grade; written here because the cache of compiled code sees this file alone
# A rule as a row of numbers: these, then for each run its least thickness, nodes and grade, the thickest run first.
# Nodes below nothing: at least so many, and on until the piece has its grade's least length.
SKIP, DROP, THIN, STOP, RUNS, FIRST = range(6)


@compiled(types.void(I1, G1, F0, F0, F0, F2, F1, F1, F1, F1, F1))
def lay_cuts(starts, packed, kerf, below, above, ends, thick, base_at, base_mm, top_at, top_mm):
    """Set where the cut below each node and the cut above it fall, and how thick the wood is there; NaN for nowhere.

    `packed` is each shoot's `Shoot.packed`, end to end. It also sets `ends` (shoots, 4): length, diameter at the base,
    diameter at the tip, whether the tip is its own; and `thick` (nodes,), the diameters at the nodes.
    """
    for shoot in range(len(starts) - 1):
        first, stop = starts[shoot], starts[shoot + 1]
        here = 4 * shoot + 2 * first
        ends[shoot] = packed[here : here + 4]
        nodes = packed[here + 4 - first :]  # node k's place is nodes[k]
        thick[first:stop] = packed[here + 4 + stop - first : here + 4 + 2 * (stop - first)]
        length = ends[shoot, 0]
        place, width = 0.0, ends[shoot, 1]
        for k in range(first, stop):  # below node k
            gap = nodes[k] - place
            up, down = above, below
            if k == first:
                down = min(below, gap)
            else:
                room = gap - kerf
                if room <= 0.0:
                    top_at[k - 1] = np.nan
                    base_at[k] = np.nan
                    place, width = nodes[k], thick[k]
                    continue
                if up + down > room:
                    up, down = up * room / (up + down), down * room / (up + down)
                top_at[k - 1] = place + up
                top_mm[k - 1] = width + (thick[k] - width) * up / gap
            base_at[k] = nodes[k] - down
            base_mm[k] = thick[k] + (width - thick[k]) * (down / gap if gap > 0.0 else 0.0)
            place, width = nodes[k], thick[k]
        gap = length - place
        last = stop - 1
        if above < gap - kerf - SLACK_MM:  # room to cut the end off
            top_at[last] = place + above
            top_mm[last] = width + (ends[shoot, 2] - width) * above / gap
        elif ends[shoot, 3] == 0.0:
            top_at[last] = length
            top_mm[last] = ends[shoot, 2]
        else:
            top_at[last] = np.nan


@compiled(B0(G2, I0, I0, F0, F0, F0, B0))
def fits(grades, g, nodes, length, base, tip, has_tip):
    """Whether a piece is of a grade."""
    return (
        length > SLACK_MM
        and grades[g, LEAST_NODES] <= nodes <= grades[g, MOST_NODES]
        and grades[g, LEAST_MM] - SLACK_MM <= length <= grades[g, MOST_MM] + SLACK_MM
        and grades[g, LEAST_BASE] - SLACK_MM <= base <= grades[g, MOST_BASE] + SLACK_MM
        and grades[g, LEAST_TIP] - SLACK_MM <= min(tip, base) <= grades[g, MOST_TIP] + SLACK_MM
        and (grades[g, TIP] != NO if has_tip else grades[g, TIP] != MUST)
    )


@compiled(types.void(*CUTS, G2, G1, F1, N2, N1, N2, I2, F2, I2))
def _cut_all(
    starts, ends, base_at, base_mm, top_at, top_mm, grades, values, worth, counts, how_many, pieces, of_size, best, came
):  # fmt: skip
    """Cut each shoot; `of_size` (nodes of a piece + 1, grades + 1) holds how many grades take it, and which.

    The last two, (2, nodes + 1), are room for the programme: the value and wood up to a node, and what led to it.
    """
    widest = len(of_size) - 1
    for shoot in range(len(starts) - 1):
        at = starts[shoot]
        size = starts[shoot + 1] - at
        for stop in range(1, size + 1):
            best[0, stop], best[1, stop], came[0, stop] = best[0, stop - 1], best[1, stop - 1], -1
            last = at + stop - 1
            for with_tip in range(2 if stop == size and ends[shoot, 3] != 0.0 else 1):
                to, tip = (ends[shoot, 0], ends[shoot, 2]) if with_tip else (top_at[last], top_mm[last])
                if np.isnan(to):
                    continue
                for start in range(stop - 1, max(stop - widest, 0) - 1, -1):
                    base = base_at[at + start]
                    if np.isnan(base):
                        continue
                    length = to - base
                    for k in range(of_size[stop - start, 0]):
                        g = of_size[stop - start, k + 1]
                        if best[0, start] + values[g] < best[0, stop] - TIE or not fits(
                            grades, g, stop - start, length, base_mm[at + start], tip, with_tip == 1
                        ):
                            continue
                        sum_value, sum_used = best[0, start] + values[g], best[1, start] + length
                        if sum_value > best[0, stop] + TIE or sum_used > best[1, stop] + TIE:
                            best[0, stop], best[1, stop] = sum_value, sum_used
                            came[0, stop], came[1, stop] = start, 2 * g + with_tip
        worth[shoot] = best[0, size]
        for g in range(len(grades)):
            counts[shoot, g] = 0
        number, stop = 0, size
        while stop > 0:  # from the top down, then turned round
            if came[0, stop] < 0:
                stop -= 1
                continue
            pieces[at + number, 0], pieces[at + number, 1] = came[0, stop], stop - 1
            pieces[at + number, 2], pieces[at + number, 3] = came[1, stop] // 2, came[1, stop] % 2
            counts[shoot, came[1, stop] // 2] += 1
            number += 1
            stop = came[0, stop]
        for k in range(number // 2):
            for part in range(4):
                one, other = at + k, at + number - 1 - k
                pieces[one, part], pieces[other, part] = pieces[other, part], pieces[one, part]
        how_many[shoot] = number


def cut_all(*given: Any) -> None:
    """Cut each shoot for the most value, of equals for the most wood used.

    Given are the cuts, the grades and their values, then `worth`, `counts`, `how_many` and `pieces`. It sets
    `worth` (shoots,), `counts` (shoots, grades), `how_many` pieces (shoots,), and `pieces` (nodes, 4): first and last
    node counted within the shoot, grade, whether with the tip; a shoot's pieces stand from its first node on.
    """
    starts, grades, values = given[0], given[6], given[7]
    most = max(1, int(np.diff(starts).max(initial=1)))
    widest = min(int(max(1, grades[:, MOST_NODES].max(initial=1))), most)
    of_size = np.zeros((widest + 1, len(grades) + 1), np.int64)
    for size in range(
        1, widest + 1
    ):  # the grades that take a piece of so many nodes, and are worth something
        takes = (values > 0.0) & (grades[:, LEAST_NODES] <= size) & (size <= grades[:, MOST_NODES])
        of_size[size, 0] = takes.sum()
        of_size[size, 1 : 1 + of_size[size, 0]] = np.flatnonzero(takes)
    room = np.zeros((2, most + 1)), np.zeros((2, most + 1), np.int64)
    _cut_all(*given, of_size, *room)


@compiled(types.void(*CUTS, G1, G2, G1, I1, G2, F1, I2))
def follow_rules(
    starts, ends, base_at, base_mm, top_at, top_mm, thick, grades, values, chosen, rules, worth, counts
):
    """Follow each rule on the chosen shoots.

    Sets `worth` (rules,), what its pieces are worth, and `counts` (rules, grades + 1): the pieces that are of the grade they
    were cut for, and in the last column all pieces cut.
    """
    size = len(grades)
    for r in range(len(rules)):
        worth[r] = 0.0
        for g in range(size + 1):
            counts[r, g] = 0
        rule = rules[r]
        runs = int(rule[RUNS])
        for number in range(len(chosen)):
            shoot = chosen[number]
            stop = starts[shoot + 1] - int(rule[DROP])
            while stop > starts[shoot] and thick[stop - 1] < rule[THIN]:
                stop -= 1
            start = starts[shoot] + int(rule[SKIP])
            while start < stop:
                run = 0
                base = base_mm[start]
                if base < rule[STOP] - 1e-9:
                    break
                while run < runs - 1 and (np.isnan(base) or base < rule[FIRST + 3 * run] - 1e-9):
                    run += 1
                every, g = int(rule[FIRST + 3 * run + 1]), int(rule[FIRST + 3 * run + 2])
                if every < 0:
                    every = -every
                    enough = base_at[start] + grades[g, LEAST_MM] - SLACK_MM
                    while start + every <= stop and top_at[start + every - 1] < enough:
                        every += 1
                if start + every > stop:
                    break
                last = start + every - 1
                to, tip, with_tip = top_at[last], top_mm[last], False
                if np.isnan(to) and last == starts[shoot + 1] - 1:
                    to, tip, with_tip = ends[shoot, 0], ends[shoot, 2], True
                if not (np.isnan(base_at[start]) or np.isnan(to)):
                    counts[r, size] += 1
                    if fits(grades, g, every, to - base_at[start], base, tip, with_tip):
                        counts[r, g] += 1
                        worth[r] += values[g]
                start += every
