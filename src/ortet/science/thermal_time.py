"""Thermal time: how far callus at the cut or roots at the base have come, and in what share of the cuttings.

One day at the best temperature moves a cutting 1/D of its way, D being the median days at that temperature. From
cutting to cutting the time varies log-normally, and a share never comes there, however long one waits. Callus and roots
have the same form and numbers of their own, `callus_*` and `roots_*` in species.toml; leaves share the spread.
"""

from __future__ import annotations

from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number
from ortet.science.climate import add_up, hourly
from ortet.science.response import temperature_response

__all__ = ["days_needed", "share_done", "thermal_progress"]

# Abramowitz & Stegun 1964, eq. 7.1.26: erf on 0 and above, |error| <= 1.5e-7
ERF_P = 0.3275911
ERF_A = (0.254829592, -0.284496736, 1.421413741, -1.453152027, 1.061405429)


def thermal_progress(
    t_c: ArrayLike,
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
    t_c : array_like, shape (..., hours)
        Temperature hour by hour, of the medium at the base for roots, at the cut for callus; NaN counts as no
        progress. [°C]
    t_min, t_opt, t_max : array_like, shape () or (...)
        Cardinal temperatures. [°C]
    days_at_optimum : array_like, shape () or (...)
        Days at `t_opt` until half of the cuttings that ever do have callused, or show a root. [d]
    running : bool
        Return the progress after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Progress: at 1.0 half of the cuttings that ever do have done so. [-]

    Raises
    ------
    ValueError
        Unless ``t_min < t_opt < t_max`` and the days are above 0.

    References
    ----------
    Response: Wang & Engel 1998. Rooting by thermal time at the base: Zalesny, Bauer & Riemenschneider 2004, Silvae
    Genet. 53:154-160 (poplar, degree days of the soil). [published] That callus follows it too is an assumption;
    docs/science/callus.md says what speaks for it. [common practice]
    """
    days = number(days_at_optimum, "Days at the optimum")
    if not np.all(days > 0):
        raise ValueError(f"Days at the optimum must be above 0, not {days}.")
    low, best, high = (np.asarray(x, dtype=np.float64)[..., np.newaxis] for x in (t_min, t_opt, t_max))
    rate = temperature_response(hourly(t_c), low, best, high) / (24.0 * days[..., np.newaxis])
    return add_up(np.nan_to_num(rate, nan=0.0), running)


def share_done(progress: ArrayLike, spread: ArrayLike, *, never: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return the share of all cuttings that have callused, rooted or come into leaf.

    Parameters
    ----------
    progress : array_like
        Thermal time, or heat, as a share of the median cutting's need, 0 and above. [-]
    spread : array_like, broadcasts with progress
        Standard deviation of the natural log of what a cutting needs. [-]
    never : array_like, broadcasts with progress
        Share that never does. [0-1]

    Returns
    -------
    ndarray, the broadcast shape
        Share, right to 1.5e-7; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        If progress is negative, the spread not above 0, or `never` outside 0 to 1.

    References
    ----------
    Log-normal: ``(1 - never) Phi(ln(progress) / spread)``; erf by Abramowitz & Stegun 1964, eq. 7.1.26. [published]
    """
    p, s, lost = (np.asarray(x, dtype=np.float64) for x in (progress, spread, never))
    number(s, "The spread")
    if np.any(p < 0):
        raise ValueError(f"Progress {np.nanmin(p):g} is below 0.")
    if not np.all(s > 0):
        raise ValueError(f"The spread must be above 0, not {s}.")
    if np.any((lost < 0) | (lost > 1)):
        raise ValueError(f"The share that never does must lie in 0 to 1, not {lost}.")
    with np.errstate(divide="ignore"):
        z = np.log(p) / (s * np.sqrt(2.0))
    size = np.minimum(np.abs(z), 30.0)  # exp(-900) is 0, and inf - inf is kept out
    t = 1.0 / (1.0 + ERF_P * size)
    a1, a2, a3, a4, a5 = ERF_A
    tail = 0.5 * t * (a1 + t * (a2 + t * (a3 + t * (a4 + t * a5)))) * np.exp(-(size**2))
    return np.asarray((1.0 - lost) * np.where(z > 0, 1.0 - tail, tail))


def days_needed(
    t_c: ArrayLike,
    *,
    t_min: ArrayLike,
    t_opt: ArrayLike,
    t_max: ArrayLike,
    days_at_optimum: ArrayLike,
    spread: ArrayLike,
    share: float = 0.5,
) -> NDArray[np.float64]:
    """Return after how many days at a steady temperature a share of the cuttings that ever do have done so.

    Parameters
    ----------
    t_c : array_like
        Steady temperature. [°C]
    t_min, t_opt, t_max : array_like, broadcast with t_c
        Cardinal temperatures. [°C]
    days_at_optimum : array_like
        Days at `t_opt` until half have. [d]
    spread : array_like
        Standard deviation of the natural log of that time. [-]
    share : float
        The share asked for: 0.5 is the median. [0-1, ends left out]

    Returns
    -------
    ndarray, the broadcast shape
        Days; infinite where it is too cold or too hot. [d]

    Raises
    ------
    ValueError
        Unless ``t_min < t_opt < t_max``, the share lies between 0 and 1, and days and spread are above 0 (NaN stays NaN).
    """
    if not 0.0 < share < 1.0:
        raise ValueError(f"The share must lie between 0 and 1, not {share:g}.")
    rate = temperature_response(t_c, t_min, t_opt, t_max)
    slow = np.exp(number(spread, "The spread", 0.0, above=True) * NormalDist().inv_cdf(share))
    with np.errstate(divide="ignore"):
        return np.asarray(number(days_at_optimum, "Days at the optimum", 0.0, above=True) * slow / rate)
