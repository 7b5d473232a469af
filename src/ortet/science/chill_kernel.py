"""The Dynamic Model hour by hour, compiled. chill.py holds its constants, its sources and what to call."""

from __future__ import annotations

from math import exp, factorial, isnan, log

import numpy as np
from numba import types
from numpy.typing import NDArray

from ortet.science.compiled import compiled, part

__all__ = ["bank", "portions"]

Array = NDArray[np.float64]
Numbers = types.UniTuple(types.float64, 6)  # type: ignore[no-untyped-call]
Given = types.Array(types.float64, 2, "C", readonly=True)


TOGETHER = 512  # hours
MIDDLE = 37.0  # (e1 - e0) / T lies about it
FACTORS = tuple(1.0 / factorial(n) for n in range(8, -1, -1))


@part
def _exp(y: float) -> float:
    """Return e^y for y from -40 to 40, to 2e-13 of it: Taylor's series of e^(y/512), squared nine times.

    The library's own is a call for each number; this is arithmetic that the compiler lays out for four at once.
    """
    x = y * (1.0 / 512.0)
    e = 0.0
    for factor in FACTORS:
        e = e * x + factor
    for _ in range(9):
        e *= e
    return e


@compiled(
    types.int64(types.int64, types.int64, Given, Numbers, types.float64, types.float64, types.float64[:, ::1])
)
def portions(
    begin: int,
    end: int,
    air_c: Array,
    constants: tuple[float, ...],
    lowest_c: float,
    highest_c: float,
    total: Array,
) -> int:
    """Write the chill portions of some series; return one that holds an impossible temperature, or -1.

    Parameters
    ----------
    begin, end : int
        Which series.
    air_c : ndarray, shape (series, hours)
        NaN for a gap. [°C]
    constants : tuple of float
        slope, Tf, a0, a1, e0, e1.
    lowest_c, highest_c : float
        What air can be. [°C]
    total : ndarray, shape (series, hours) or (series, 1)
        The total after each hour, or the last one alone. [portions]
    """
    slope, t_f, a0, a1, e0, e1 = constants
    middle, hours, running = a0 / a1 * exp(MIDDLE), air_c.shape[1], total.shape[1] == air_c.shape[1]
    full, kept = np.empty(TOGETHER), np.empty(TOGETHER)
    strange = -1
    for series in range(begin, end):
        product = banked = 0.0
        for first in range(0, hours, TOGETHER):
            row = air_c[series, first : min(first + TOGETHER, hours)]
            for hour in range(len(row)):  # no branch in here, so that the machine does four at once
                by_kelvin = 1.0 / (row[hour] + 273.0)
                full[hour] = middle * _exp((e1 - e0) * by_kelvin - MIDDLE)
                kept[hour] = _exp(-_exp(log(a1) - e1 * by_kelvin))
            for hour in range(len(row)):
                t = row[hour]
                if not isnan(t):
                    if t < lowest_c or t > highest_c:
                        strange = series
                    product = full[hour] - (full[hour] - product) * kept[hour]
                    if product >= 1.0:
                        gives = product / (1.0 + exp(-slope * t_f * (t + 273.0 - t_f) / (t + 273.0)))
                        banked += gives
                        product -= gives
                if running:
                    total[series, first + hour] = banked
        if not running:
            total[series, 0] = banked
    return strange


@compiled(types.void(types.int64, types.int64, Given, Given, Given, types.float64[:, ::1]))
def bank(begin: int, end: int, share: Array, grown: Array, kept: Array, banked: Array) -> None:
    """Write what each hour of some series banks, from an empty product on; all of shape (hours, series)."""
    product = np.zeros(end - begin)
    for hour in range(len(share)):
        for series in range(begin, end):
            has = product[series - begin] * kept[hour, series] + grown[hour, series]
            gives = share[hour, series] * has if has >= 1.0 else 0.0
            banked[hour, series] = gives
            product[series - begin] = has - gives
