"""What wood burns in store, and what is left of it to grow on."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number, share
from ortet.science.climate import HIGHEST_C, LOWEST_C, add_up, hourly

__all__ = ["hexose_used", "reserve_days", "reserve_left", "respiration"]

RATE = "mg/kg/h"
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
        If a rate is negative, a q10 not above 0, or a temperature none in °C.

    Notes
    -----
    ``r = r_ref q10^((T - T_ref)/10)``. Meant for 0 to 25 °C in air: below freezing it keeps falling smoothly,
    which is a guess, and short of oxygen wood ferments and uses far more sugar for the same carbon dioxide.

    References
    ----------
    Q10 form: Ryan et al. 1995, Oecologia 101:133 (1.7 in autumn conifer wood); Edwards & Hanson 1996, Tree
    Physiol. 16:433 (1.7 and 2.4). [published]
    """
    rate, factor = number(rate_ref, "Respiration", 0.0, unit=RATE), number(q10, "Q10", 0.0, above=True)
    at, known_at = (
        number(t, "Temperature", LOWEST_C, HIGHEST_C, unit="°C", hint="Was °F meant?") for t in (air_c, t_ref)
    )
    warmer = at - known_at
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
        If a share lies outside 0 to 1, or is 0, or what was used is negative.
    """
    stock = _stock(reserve_share, usable_share)
    return np.asarray(np.clip(1.0 - number(used_g_per_kg, "Hexose used", 0.0, unit="g/kg") / stock, 0.0, 1.0))


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

    Raises
    ------
    ValueError
        If the rate is negative, or as in `hexose_used` and `reserve_left`.
    """
    stock = _stock(reserve_share, usable_share)
    a_day = (
        number(rate, "Respiration", 0.0, unit=RATE)
        * 24.0
        * HEXOSE_PER_CO2
        / 1000.0
        / _dry_share(water_content)
    )
    with np.errstate(divide="ignore"):
        return np.asarray(stock / a_day)


def _dry_share(water_content: ArrayLike) -> NDArray[np.float64]:
    return np.asarray(
        number(
            1.0 - share(water_content, "Water content"),
            "The dry share",
            0.0,
            above=True,
            hint="Water must be below 1.",
        )
    )


def _stock(reserve_share: ArrayLike, usable_share: ArrayLike) -> NDArray[np.float64]:
    """Return what may be burnt. [g hexose per kg dry mass]"""
    there = share(reserve_share, "reserve_share", above=True)
    return np.asarray(1000.0 * there * share(usable_share, "usable_share", above=True))
