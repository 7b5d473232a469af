"""Roots at the base: how far along, in what share of the cuttings, and after how many days.

Roots run on thermal time as callus does, but on the temperature of the medium round the base. From cutting to
cutting the time varies log-normally, and a share never roots, however long one waits.
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.callus import callus_progress, share_callused
from ortet.science.response import temperature_response

__all__ = ["days_to_root", "root_progress", "share_rooted"]


def root_progress(
    base_c: ArrayLike,
    *,
    t_min: ArrayLike,
    t_opt: ArrayLike,
    t_max: ArrayLike,
    days_at_optimum: ArrayLike,
    running: bool = False,
) -> NDArray[np.float64]:
    """Return thermal time at the base as a share of the median cutting's need.

    Parameters
    ----------
    base_c : array_like, shape (..., hours)
        Temperature of the medium at the base, hour by hour; NaN counts as no progress. [°C]
    t_min, t_opt, t_max : array_like, shape () or (...)
        Cardinal temperatures of rooting. [°C]
    days_at_optimum : array_like, shape () or (...)
        Days at `t_opt` until half of the cuttings that can root show a root. [d]
    running : bool
        Return the progress after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Progress: at 1.0 half of the cuttings that can root have done so. [-]

    Raises
    ------
    ValueError
        Unless ``t_min < t_opt < t_max`` and the days are above 0.

    References
    ----------
    Response: Wang & Engel 1998. Rooting by thermal time at the base: Zalesny, Bauer & Riemenschneider 2004, Silvae
    Genet. 53:154-160 (poplar, degree days of the soil). [published]
    """
    return callus_progress(
        base_c, t_min=t_min, t_opt=t_opt, t_max=t_max, days_at_optimum=days_at_optimum, running=running
    )


def share_rooted(progress: ArrayLike, spread: ArrayLike, *, never: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return the share of all cuttings that have rooted.

    Parameters
    ----------
    progress : array_like
        Thermal time as a share of the median cutting's need, 0 and above. [-]
    spread : array_like, broadcasts with progress
        Standard deviation of the natural log of the time that a cutting takes. [-]
    never : array_like, broadcasts with progress
        Share that never roots. [0-1]

    Returns
    -------
    ndarray, the broadcast shape
        ``(1 - never) Phi(ln(progress) / spread)``; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        If progress is negative, the spread not above 0, or `never` outside 0 to 1.
    """
    lost = np.asarray(never, dtype=np.float64)
    if np.any((lost < 0) | (lost > 1)):
        raise ValueError(f"The share that never roots must lie in 0 to 1, not {lost}.")
    return np.asarray((1.0 - lost) * share_callused(progress, spread))


def days_to_root(
    base_c: ArrayLike,
    *,
    t_min: ArrayLike,
    t_opt: ArrayLike,
    t_max: ArrayLike,
    days_at_optimum: ArrayLike,
    spread: ArrayLike,
    share: float = 0.5,
) -> NDArray[np.float64]:
    """Return after how many days at a steady temperature a share of the cuttings that can root have done so.

    Parameters
    ----------
    base_c : array_like
        Steady temperature of the medium. [°C]
    t_min, t_opt, t_max : array_like, broadcast with base_c
        Cardinal temperatures of rooting. [°C]
    days_at_optimum : array_like
        Days at `t_opt` until half have rooted. [d]
    spread : array_like
        Standard deviation of the natural log of that time. [-]
    share : float
        The share asked for: 0.5 is the median. [0-1, ends left out]

    Returns
    -------
    ndarray, the broadcast shape
        Days; infinite where it is too cold or too hot to root. [d]

    Raises
    ------
    ValueError
        Unless ``t_min < t_opt < t_max`` and the share lies between 0 and 1.
    """
    if not 0.0 < share < 1.0:
        raise ValueError(f"The share must lie between 0 and 1, not {share:g}.")
    rate = temperature_response(base_c, t_min, t_opt, t_max)
    slow = np.exp(np.asarray(spread, dtype=np.float64) * NormalDist().inv_cdf(share))
    with np.errstate(divide="ignore"):
        return np.asarray(np.asarray(days_at_optimum, dtype=np.float64) * slow / rate)
