"""The compiled part of cutting: where cuts may fall on a shoot, the best pieces by a
dynamic programme over its nodes, and rules of thumb followed.

Import it inside functions only: it brings in Numba.
"""

# mypy: disable-error-code="no-untyped-def"
# The compiler finds the types itself.

from typing import Any

import numpy as np
from numba import njit

__all__ = ["SLACK_MM", "compiled", "cut_all", "fits", "follow_rules", "lay_cuts"]

# Division by nothing gives what it gives in NumPy; other threads run meanwhile.
HOW: Any = {"nogil": True, "error_model": "numpy"}


def compiled(function):
    """Compile a function when it is first called, or take what was compiled before from its cache."""
    try:
        return njit(cache=True, **HOW)(function)
    except (OSError, RuntimeError):  # no folder can be written to: for this process only
        return njit(**HOW)(function)


# Columns of a table of grades
LEAST_NODES, MOST_NODES, LEAST_MM, MOST_MM, LEAST_BASE, MOST_BASE, LEAST_TIP, MOST_TIP, TIP = range(9)
NO, MAY, MUST = 0, 1, 2
TIE = 1e-9
SLACK_MM = 1e-6  # as in wood.grade; written here because the cache of compiled code sees this file alone
# A rule as a row of numbers: these, then for each run its least thickness, nodes and grade, the thickest run first.
# Nodes below nothing: at least so many, and on until the piece has its grade's least length.
SKIP, DROP, THIN, STOP, RUNS, FIRST = range(6)


@compiled
def lay_cuts(starts, nodes, thick, ends, kerf, below, above, base_at, base_mm, top_at, top_mm):
    """Set where the cut below each node and the cut above it fall, and how thick the wood is there; NaN for nowhere.

    `ends` is (shoots, 4): length, diameter at the base, diameter at the tip, whether the tip is its own.
    """
    for shoot in range(len(starts) - 1):
        first, stop = starts[shoot], starts[shoot + 1]
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


@compiled
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


@compiled
def cut_all(starts, ends, base_at, base_mm, top_at, top_mm, grades, values, worth, counts, how_many, pieces):
    """Cut each shoot for the most value, of equals for the most wood used.

    Sets `worth` (shoots,), `counts` (shoots, grades), `how_many` pieces (shoots,), and `pieces` (nodes, 4): first and
    last node counted within the shoot, grade, whether with the tip; a shoot's pieces stand from its first node on.
    """
    most = 1
    widest = 1
    for shoot in range(len(starts) - 1):
        most = max(most, starts[shoot + 1] - starts[shoot])
    for g in range(len(grades)):
        widest = max(widest, int(grades[g, MOST_NODES]))
    widest = min(widest, most)
    of_size, how_wide = np.zeros((widest + 1, len(grades)), np.int64), np.zeros(widest + 1, np.int64)
    for size in range(
        1, widest + 1
    ):  # the grades that take a piece of so many nodes, and are worth something
        for g in range(len(grades)):
            if values[g] > 0.0 and grades[g, LEAST_NODES] <= size <= grades[g, MOST_NODES]:
                of_size[size, how_wide[size]] = g
                how_wide[size] += 1
    best, used = np.zeros(most + 1), np.zeros(most + 1)
    came, took = np.zeros(most + 1, np.int32), np.zeros(most + 1, np.int32)
    for shoot in range(len(starts) - 1):
        at = starts[shoot]
        size = starts[shoot + 1] - at
        for stop in range(1, size + 1):
            best[stop], used[stop], came[stop] = best[stop - 1], used[stop - 1], -1
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
                    for k in range(how_wide[stop - start]):
                        g = of_size[stop - start, k]
                        if best[start] + values[g] < best[stop] - TIE or not fits(
                            grades, g, stop - start, length, base_mm[at + start], tip, with_tip == 1
                        ):
                            continue
                        sum_value, sum_used = best[start] + values[g], used[start] + length
                        if sum_value > best[stop] + TIE or sum_used > used[stop] + TIE:
                            best[stop], used[stop] = sum_value, sum_used
                            came[stop], took[stop] = start, 2 * g + with_tip
        worth[shoot] = best[size]
        counts[shoot] = 0
        number, stop = 0, size
        while stop > 0:  # from the top down, then turned round
            if came[stop] < 0:
                stop -= 1
                continue
            pieces[at + number, 0], pieces[at + number, 1] = came[stop], stop - 1
            pieces[at + number, 2], pieces[at + number, 3] = took[stop] // 2, took[stop] % 2
            counts[shoot, took[stop] // 2] += 1
            number += 1
            stop = came[stop]
        for k in range(number // 2):
            for part in range(4):
                one, other = at + k, at + number - 1 - k
                pieces[one, part], pieces[other, part] = pieces[other, part], pieces[one, part]
        how_many[shoot] = number


@compiled
def follow_rules(
    starts, ends, base_at, base_mm, top_at, top_mm, thick, grades, values, chosen, rules, worth, counts
):
    """Follow each rule on the chosen shoots.

    Sets `worth` (rules,), what its pieces are worth, and `counts` (rules, grades + 1): the pieces that are of the grade they
    were cut for, and in the last column all pieces cut.
    """
    size = len(grades)
    worth[:] = 0.0
    counts[:] = 0
    for r in range(len(rules)):
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
