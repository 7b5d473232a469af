"""Oxygen in a closed bag: what film and closure let in, what the wood takes up."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number, share

__all__ = ["FREE_AIR_OXYGEN", "headspace_ml", "oxygen_after", "oxygen_needed"]

Array = NDArray[np.float64]

FREE_AIR_OXYGEN = 0.2095  # share of dry air
O2_ML_PER_CO2_MG = 0.5093  # 22,414 mL / 44.01 g at a respiratory quotient of 1


def oxygen_needed(co2_mg_per_kg_h: ArrayLike, wood_kg: ArrayLike) -> Array:
    """Return the oxygen that wood takes up; NaN stays NaN, what is negative or endless is refused. [mL h-1]

    ``0.5093 mL`` for each mg CO2 given off, at a respiratory quotient of 1 (22.41 L per 44.01 g).
    """
    given = number(co2_mg_per_kg_h, "Respiration", 0.0, unit="mg/kg/h")
    return np.asarray(O2_ML_PER_CO2_MG * given * number(wood_kg, "Wood", 0.0, unit="kg"))


def headspace_ml(film_m2: ArrayLike, wood_g: ArrayLike) -> Array:
    """Return the air in a loosely filled bag: 12.5 L per m2 of film less the wood, at least a fifth. [mL, common practice]"""
    full = 12_500.0 * number(film_m2, "Film", 0.0, unit="m²")
    return np.asarray(np.maximum(full - number(wood_g, "Wood", 0.0, unit="g"), 0.2 * full))


def oxygen_after(
    at_first: ArrayLike, needed: ArrayLike, conductance: ArrayLike, air_ml: ArrayLike, hours: ArrayLike
) -> Array:
    """Return the oxygen in a bag some hours later.

    Parameters
    ----------
    at_first : array_like
        Oxygen at the start, as a share of the air. [0-1]
    needed : array_like
        What the wood takes up. [mL h-1]
    conductance : array_like
        Of film and closure together, above 0. [mL h-1 atm-1]
    air_ml : array_like
        Air in the bag. [mL]
    hours : array_like
        [h]; infinite gives the steady share.

    Returns
    -------
    ndarray, the broadcast shape
        Oxygen, 0 where none is left: there the wood ferments; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        If the share lies outside 0 to 1, conductance or air is not above 0, or need or hours are negative.

    Notes
    -----
    ``V dx/dt = G (0.2095 - x) - U``: from the start towards ``0.2095 - U / G`` at the rate ``G / V``. That wood takes up
    less as oxygen falls is left out, so the forecast errs on the safe side.
    """
    open_to = number(conductance, "Conductance", 0.0, above=True, unit="mL/h/atm")
    steady = FREE_AIR_OXYGEN - number(needed, "Oxygen needed", 0.0, unit="mL/h") / open_to
    air = number(air_ml, "Air in the bag", 0.0, above=True, unit="mL")
    left = np.exp(-open_to / air * number(hours, "Hours", 0.0, endless=True))
    start = share(at_first, "Oxygen")
    return np.asarray(np.clip(steady + (start - steady) * left, 0.0, FREE_AIR_OXYGEN))
