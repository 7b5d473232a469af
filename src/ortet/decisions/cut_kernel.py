"""The compiled part of cutting: where cuts may fall on a shoot, and the best pieces by a dynamic programme over its nodes.

Import it inside functions only: it brings in Numba.
"""

# mypy: disable-error-code="no-untyped-def"
# The compiler finds the types itself.

import numpy as np
from numba import njit

from ortet.wood.grade import SLACK_MM

__all__ = ["cut_all", "fits", "lay_cuts"]

# Columns of a table of grades
LEAST_NODES, MOST_NODES, LEAST_MM, MOST_MM, LEAST_BASE, MOST_BASE, LEAST_TIP, MOST_TIP, TIP = range(9)
NO, MAY, MUST = 0, 1, 2
TIE = 1e-9


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True)
def fits(grade, nodes, length, base, tip, has_tip):
    return (
        length > SLACK_MM
        and grade[LEAST_NODES] <= nodes <= grade[MOST_NODES]
        and grade[LEAST_MM] - SLACK_MM <= length <= grade[MOST_MM] + SLACK_MM
        and grade[LEAST_BASE] - SLACK_MM <= base <= grade[MOST_BASE] + SLACK_MM
        and grade[LEAST_TIP] - SLACK_MM <= min(tip, base) <= grade[MOST_TIP] + SLACK_MM
        and (grade[TIP] != NO if has_tip else grade[TIP] != MUST)
    )


@njit(cache=True, nogil=True)
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
                    for g in range(len(grades)):
                        if (
                            values[g] <= 0.0
                            or best[start] + values[g] < best[stop] - TIE
                            or not fits(
                                grades[g], stop - start, length, base_mm[at + start], tip, with_tip == 1
                            )
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
