"""Spring heat: growing degree hours."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import in_order
from ortet.science.climate import add_up, hourly

__all__ = ["growing_degree_hours"]


def growing_degree_hours(
    air_c: ArrayLike, *, t_base: float = 4.0, t_opt: float = 25.0, t_crit: float = 36.0, running: bool = False
) -> NDArray[np.float64]:
    """Return growing degree hours by the asymmetric cosine curve (ASYMCUR).

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Hourly temperature; NaN counts as no heat, so a total over gaps is a lower bound. [°C]
    t_base, t_opt, t_crit : float
        Below the base and above the critical temperature nothing is counted; at the optimum an hour counts
        ``t_opt - t_base``. [°C]
    running : bool
        Return the total after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Growing degree hours. [°C h]

    Raises
    ------
    ValueError
        Unless ``t_base < t_opt < t_crit``, or as `climate.hourly` does.

    References
    ----------
    Anderson, Richardson & Kesner 1986, Acta Hort. 184:71-78, with the stress factor at 1. [published]
    """
    in_order("Temperatures of heat", t_base=t_base, t_opt=t_opt, t_crit=t_crit)
    t = hourly(air_c)
    span = t_opt - t_base
    rising = span / 2 * (1 + np.cos(np.pi + np.pi * (t - t_base) / span))
    falling = span * (1 + np.cos(np.pi / 2 + np.pi / 2 * (t - t_opt) / (t_crit - t_opt)))
    heat = np.where(t <= t_opt, rising, falling)
    return add_up(np.where((t >= t_base) & (t <= t_crit), heat, 0.0), running)
