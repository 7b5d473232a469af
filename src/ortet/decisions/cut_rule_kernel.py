"""The compiled part of rules of thumb: follow many rules on a sample of shoots.

Import it inside functions only: it brings in Numba.
"""

# mypy: disable-error-code="no-untyped-def"
# The compiler finds the types itself.

import numpy as np
from numba import njit

from ortet.decisions.cut_kernel import LEAST_MM, fits
from ortet.wood.grade import SLACK_MM

__all__ = ["follow_rules"]

# A rule as a row of numbers: these, then for each run its least thickness, nodes and grade, the thickest run first.
# Nodes below nothing: at least so many, and on until the piece has its grade's least length.
SKIP, DROP, THIN, RUNS, FIRST = range(5)


@njit(cache=True, nogil=True)
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
                    if fits(grades[g], every, to - base_at[start], base, tip, with_tip):
                        counts[r, g] += 1
                        worth[r] += values[g]
                start += every
