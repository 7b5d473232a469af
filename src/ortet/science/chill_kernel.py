"""The Dynamic Model hour by hour, compiled. chill.py holds its constants, its sources and what to call."""

from __future__ import annotations

from math import exp, isnan

import numpy as np
from numba import types
from numpy.typing import NDArray

from ortet.science.compiled import compiled

__all__ = ["bank", "portions"]

Array = NDArray[np.float64]
Numbers = types.UniTuple(types.float64, 6)  # type: ignore[no-untyped-call]
Given = types.Array(types.float64, 2, "C", readonly=True)


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
    running = total.shape[1] == air_c.shape[1]
    strange = -1
    for series in range(begin, end):
        product = banked = 0.0
        for hour in range(air_c.shape[1]):
            t = air_c[series, hour]
            if not isnan(t):
                if t < lowest_c or t > highest_c:
                    strange = series
                kelvin = t + 273.0
                full = a0 / a1 * exp((e1 - e0) / kelvin)
                product = full - (full - product) * exp(-a1 * exp(-e1 / kelvin))
                if product >= 1.0:
                    gives = product / (1.0 + exp(-slope * t_f * (kelvin - t_f) / kelvin))
                    banked += gives
                    product -= gives
            if running:
                total[series, hour] = banked
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
