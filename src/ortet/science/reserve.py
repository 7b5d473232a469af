"""What wood burns in store, and what is left of it to grow on."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.climate import add_up, hourly

__all__ = ["hexose_used", "reserve_days", "reserve_left", "respiration"]

HEXOSE_PER_CO2 = 180.156 / (6 * 44.0095)  # 0.6823 g hexose burnt per g CO2: C6H12O6 + 6 O2 -> 6 CO2 + 6 H2O


def respiration(
    air_c: ArrayLike, *, rate_ref: ArrayLike, t_ref: ArrayLike, q10: ArrayLike
) -> NDArray[np.float64]:
    """Return the carbon dioxide that wood gives off.

    Parameters
    ----------
    air_c : array_like
        Temperature of the wood. [°C]
    rate_ref : array_like, broadcasts with air_c
        Rate at `t_ref`. [mg CO2 per kg fresh mass and hour]
    t_ref : array_like
        Temperature of that rate. [°C]
    q10 : array_like
        Factor for 10 K more. [-]

    Returns
    -------
    ndarray, the broadcast shape
        Rate; NaN stays NaN. [mg CO2 per kg fresh mass and hour]

    Raises
    ------
    ValueError
        If a rate is negative or a q10 not above 0.

    Notes
    -----
    ``r = r_ref q10^((T - T_ref)/10)``. Meant for 0 to 25 °C in air: below freezing it keeps falling smoothly,
    which is a guess, and short of oxygen wood ferments and uses far more sugar for the same carbon dioxide.

    References
    ----------
    Q10 form: Ryan et al. 1995, Oecologia 101:133 (1.7 in autumn conifer wood); Edwards & Hanson 1996, Tree
    Physiol. 16:433 (1.7 and 2.4). [published]
    """
    rate, factor = np.asarray(rate_ref, dtype=np.float64), np.asarray(q10, dtype=np.float64)
    if np.any(rate < 0):
        raise ValueError(f"A respiration rate cannot be negative: {rate}.")
    if np.any(factor <= 0):
        raise ValueError(f"Q10 must be above 0, not {factor}.")
    warmer = np.asarray(air_c, dtype=np.float64) - np.asarray(t_ref, dtype=np.float64)
    return np.asarray(rate * factor ** (warmer / 10.0))


def hexose_used(
    air_c: ArrayLike,
    *,
    rate_ref: ArrayLike,
    t_ref: ArrayLike,
    q10: ArrayLike,
    water_content: ArrayLike,
    running: bool = False,
) -> NDArray[np.float64]:
    """Return the sugar that wood has burnt over a record.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Temperature of the wood, hour by hour; NaN counts as nothing burnt, so fill gaps first. [°C]
    rate_ref, t_ref, q10 : array_like, shape () or (...)
        As in `respiration`.
    water_content : array_like, shape () or (...)
        Water as a share of fresh mass, 0 to below 1. [-]
    running : bool
        Return what is used after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Hexose used. [g per kg dry mass]

    Raises
    ------
    ValueError
        If the water content lies outside 0 to below 1, or as in `respiration`.
    """
    rate, at, factor, dry = (
        np.asarray(x, dtype=np.float64)[..., np.newaxis]
        for x in (rate_ref, t_ref, q10, _dry_share(water_content))
    )
    co2_mg = respiration(hourly(air_c), rate_ref=rate, t_ref=at, q10=factor)
    return add_up(np.nan_to_num(co2_mg * (HEXOSE_PER_CO2 / 1000.0) / dry, nan=0.0), running)


def reserve_left(
    used_g_per_kg: ArrayLike, *, reserve_share: ArrayLike, usable_share: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Return the share of the usable reserve that is left.

    Parameters
    ----------
    used_g_per_kg : array_like
        Hexose used so far. [g per kg dry mass]
    reserve_share : array_like, broadcasts
        Starch and sugars at the start as a share of dry mass; the change of one into the other in the cold is
        no loss. [-]
    usable_share : array_like, broadcasts
        Share of that reserve that may be used up before growth suffers. [-]

    Returns
    -------
    ndarray, the broadcast shape
        1 at the start, 0 when the usable reserve is gone; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        If a share lies outside 0 to 1, or is 0.
    """
    stock = 1000.0 * _above_zero(reserve_share, "reserve_share") * _above_zero(usable_share, "usable_share")
    return np.asarray(np.clip(1.0 - np.asarray(used_g_per_kg, dtype=np.float64) / stock, 0.0, 1.0))


def reserve_days(
    rate: ArrayLike, *, water_content: ArrayLike, reserve_share: ArrayLike, usable_share: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Return how long the usable reserve lasts at one rate of respiration.

    Parameters
    ----------
    rate : array_like
        Respiration. [mg CO2 per kg fresh mass and hour]
    water_content, reserve_share, usable_share : array_like, broadcast
        As in `hexose_used` and `reserve_left`.

    Returns
    -------
    ndarray, the broadcast shape
        Days; infinite where the rate is 0. [d]
    """
    stock = 1000.0 * _above_zero(reserve_share, "reserve_share") * _above_zero(usable_share, "usable_share")
    a_day = np.asarray(rate, dtype=np.float64) * 24.0 * HEXOSE_PER_CO2 / 1000.0 / _dry_share(water_content)
    with np.errstate(divide="ignore"):
        return np.asarray(stock / a_day)


def _dry_share(water_content: ArrayLike) -> NDArray[np.float64]:
    water = np.asarray(water_content, dtype=np.float64)
    if np.any((water < 0) | (water >= 1)):
        raise ValueError(f"Water content {water} must be a share of fresh mass, 0 to below 1.")
    return np.asarray(1.0 - water)


def _above_zero(share: ArrayLike, name: str) -> NDArray[np.float64]:
    value = np.asarray(share, dtype=np.float64)
    if np.any((value <= 0) | (value > 1)):
        raise ValueError(f"{name} {value} must be a share, above 0 and up to 1.")
    return value
