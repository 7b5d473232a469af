"""The compiled part of matching. Import it inside functions only: it brings in Numba."""

# mypy: disable-error-code="no-untyped-def"
# The compiler finds the types itself.

import numpy as np
from numba import types

from ortet.science.compiled import compiled

__all__ = ["match_sorted"]

F1 = types.float64[::1]
NEITHER, LEAVE_SCION, LEAVE_STOCK, PAIR = range(4)
SLACK_MM = 1e-9


@compiled(types.void(F1, F1, types.float64, types.float64, types.int64[::1]))
def match_sorted(scions, stocks, thicker, thinner, partner):
    """Set each scion's stock, or -1; both lists rise. Most pairs first, then the least sum of differences."""
    n, m = len(scions), len(stocks)
    way = np.zeros((n + 1, m + 1), np.int8)
    pairs_before, sum_before = np.zeros(m + 1, np.int64), np.zeros(m + 1)
    pairs, total = np.zeros(m + 1, np.int64), np.zeros(m + 1)
    for i in range(1, n + 1):
        pairs[0], total[0], way[i, 0] = 0, 0.0, LEAVE_SCION
        for j in range(1, m + 1):
            pairs[j], total[j], way[i, j] = pairs_before[j], sum_before[j], LEAVE_SCION
            if pairs[j - 1] > pairs[j] or (pairs[j - 1] == pairs[j] and total[j - 1] < total[j]):
                pairs[j], total[j], way[i, j] = pairs[j - 1], total[j - 1], LEAVE_STOCK
            apart = scions[i - 1] - stocks[j - 1]
            if -thinner - SLACK_MM <= apart <= thicker + SLACK_MM:
                more, sum_with = pairs_before[j - 1] + 1, sum_before[j - 1] + abs(apart)
                if more > pairs[j] or (more == pairs[j] and sum_with < total[j]):
                    pairs[j], total[j], way[i, j] = more, sum_with, PAIR
        pairs_before, pairs = pairs, pairs_before
        sum_before, total = total, sum_before
    i, j = n, m
    while i > 0 and j > 0:
        if way[i, j] == PAIR:
            partner[i - 1] = j - 1
            i, j = i - 1, j - 1
        elif way[i, j] == LEAVE_STOCK:
            j -= 1
        else:
            i -= 1
