"""Callus on the cut: how far along, and in what share of the cuttings.

Callus runs on thermal time. One day at the best temperature moves a cutting 1/D of its way, D being the median
days at that temperature; from cutting to cutting the time varies log-normally.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.climate import add_up, hourly
from ortet.science.response import temperature_response

__all__ = ["callus_progress", "share_callused"]

# Abramowitz & Stegun 1964, eq. 7.1.26: erf on 0 and above, |error| <= 1.5e-7
ERF_P = 0.3275911
ERF_A = (0.254829592, -0.284496736, 1.421413741, -1.453152027, 1.061405429)


def callus_progress(
    air_c: ArrayLike,
    *,
    t_min: ArrayLike,
    t_opt: ArrayLike,
    t_max: ArrayLike,
    days_at_optimum: ArrayLike,
    running: bool = False,
) -> NDArray[np.float64]:
    """Return thermal time as a share of the median cutting's need.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Temperature at the cut, hour by hour; NaN counts as no progress. [°C]
    t_min, t_opt, t_max : array_like, shape () or (...)
        Cardinal temperatures of callus. [°C]
    days_at_optimum : array_like, shape () or (...)
        Days in which half the cuttings callus at `t_opt`. [d]
    running : bool
        Return the progress after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Progress: at 1.0 half the cuttings have callused. [-]

    Raises
    ------
    ValueError
        Unless ``t_min < t_opt < t_max`` and the days are above 0.

    References
    ----------
    Response: Wang & Engel 1998. That callus follows thermal time is an assumption; science/callus.md says what
    speaks for it. [common practice]
    """
    days = np.asarray(days_at_optimum, dtype=np.float64)
    if not np.all(days > 0):
        raise ValueError(f"Days at the optimum must be above 0, not {days}.")
    low, best, high = (np.asarray(x, dtype=np.float64)[..., np.newaxis] for x in (t_min, t_opt, t_max))
    rate = temperature_response(hourly(air_c), low, best, high) / (24.0 * days[..., np.newaxis])
    return add_up(np.nan_to_num(rate, nan=0.0), running)


def share_callused(progress: ArrayLike, spread: ArrayLike) -> NDArray[np.float64]:
    """Return the share of cuttings that have callused.

    Parameters
    ----------
    progress : array_like
        Thermal time as a share of the median cutting's need, 0 and above. [-]
    spread : array_like, broadcasts with progress
        Standard deviation of the natural log of the time that a cutting takes. [-]

    Returns
    -------
    ndarray, the broadcast shape
        Share, right to 1e-7; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        If progress is negative or the spread is not above 0.

    References
    ----------
    Log-normal: ``Phi(ln(progress) / spread)``; erf by Abramowitz & Stegun 1964, eq. 7.1.26. [published]
    """
    p, s = np.asarray(progress, dtype=np.float64), np.asarray(spread, dtype=np.float64)
    if np.any(p < 0):
        raise ValueError(f"Progress {np.nanmin(p):g} is below 0.")
    if not np.all(s > 0):
        raise ValueError(f"The spread must be above 0, not {s}.")
    with np.errstate(divide="ignore"):
        z = np.log(p) / (s * np.sqrt(2.0))
    size = np.minimum(np.abs(z), 30.0)  # exp(-900) is 0, and inf - inf is kept out
    t = 1.0 / (1.0 + ERF_P * size)
    a1, a2, a3, a4, a5 = ERF_A
    tail = 0.5 * t * (a1 + t * (a2 + t * (a3 + t * (a4 + t * a5)))) * np.exp(-(size**2))
    return np.asarray(np.where(z > 0, 1.0 - tail, tail))
