"""How fast a process runs at a temperature, between the cold and the heat that stop it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import in_order, number

__all__ = ["temperature_response"]


def temperature_response(
    t_c: ArrayLike, t_min: ArrayLike, t_opt: ArrayLike, t_max: ArrayLike
) -> NDArray[np.float64]:
    """Return the rate at a temperature as a share of the rate at the optimum.

    Parameters
    ----------
    t_c : array_like
        Temperature. [°C]
    t_min, t_opt, t_max : array_like, broadcast with t_c
        Cardinal temperatures: nothing happens at and below the first and at and above the last. [°C]

    Returns
    -------
    ndarray, the broadcast shape
        Rate; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        Unless ``t_min < t_opt < t_max`` everywhere (NaN is none of them), or if a temperature is endless.

    Notes
    -----
    ``f = (2 x^a o^a - x^2a) / o^2a`` with ``x = t - t_min``, ``o = t_opt - t_min`` and
    ``a = ln 2 / ln((t_max - t_min) / o)``. Below a = 1/2, an optimum close to t_min, the curve climbs very steeply.

    References
    ----------
    Wang & Engel 1998, Agric. Systems 58:1-24, eq. 8 to 10. [published; equation numbers from memory]
    """
    t = number(t_c, "Temperature", unit="°C")
    low, best, high = in_order("Cardinal temperatures", t_min=t_min, t_opt=t_opt, t_max=t_max)
    power = np.log(2.0) / np.log((high - low) / (best - low))
    inside = np.clip(t, low, high)  # NaN passes through clip
    climbed = ((inside - low) / (best - low)) ** power
    return np.asarray(np.maximum(2.0 * climbed - climbed**2, 0.0))
