"""Winter chill by three published reckonings: chilling hours, Utah units, chill portions.

An hour with no temperature (NaN) banks nothing, and the Dynamic Model holds its state over it: a total over a
record with gaps is a lower bound. `missing_hours` counts the gaps so that it can be said.
"""

from __future__ import annotations

from math import prod

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.climate import HIGHEST_C, LOWEST_C, add_up, hourly
from ortet.science.compiled import spread

__all__ = ["bank", "chill_portions", "chilling_hours", "missing_hours", "rates", "utah_units"]

# Richardson, Seeley & Walker 1974: upper edge of each class [°C] and what one hour in it is worth
UTAH_EDGES = np.array([1.4, 2.4, 9.1, 12.4, 15.9, 18.0])
UTAH_WORTH = np.array([0.0, 0.5, 1.0, 0.5, 0.0, -0.5, -1.0])

# The Dynamic Model's constants as in Luedeling et al. 2009
SLOPE, T_F = 1.6, 277.0
A0, A1 = 1.395e5, 2.567e18
E0, E1 = 4153.5, 12888.8

WORTH_A_THREAD = 100_000  # hours


def missing_hours(air_c: ArrayLike) -> NDArray[np.int64]:
    """Return how many hours of a record hold no temperature.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Hourly temperature, NaN where nothing was recorded. [°C]

    Returns
    -------
    ndarray of int, shape (...)
        Hours that banked nothing. [h]
    """
    return np.asarray(np.isnan(hourly(air_c)).sum(axis=-1), dtype=np.int64)


def chilling_hours(air_c: ArrayLike, *, running: bool = False) -> NDArray[np.float64]:
    """Return the hours from 0 to 7.2 °C, both ends counted.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Hourly temperature; NaN counts as no chill. [°C]
    running : bool
        Return the total after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Chilling hours. [h]

    References
    ----------
    Weinberger 1950, Proc. Am. Soc. Hort. Sci. 56:122-128 (the rule of 45 °F); the lower end at 0 °C is common
    practice.
    """
    t = hourly(air_c)
    return add_up((t >= 0.0) & (t <= 7.2), running)


def utah_units(air_c: ArrayLike, *, running: bool = False) -> NDArray[np.float64]:
    """Return Utah chill units: warm hours take some of the chill away.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Hourly temperature; NaN counts as no chill. [°C]
    running : bool
        Return the total after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Chill units, counted from the first hour given; a warm autumn makes them negative. [Utah units]

    References
    ----------
    Richardson, Seeley & Walker 1974, HortScience 9:331-332. [published]
    """
    t = hourly(air_c)
    worth = UTAH_WORTH[np.searchsorted(UTAH_EDGES, t, side="left")]
    return add_up(np.where(np.isnan(t), 0.0, worth), running)


def chill_portions(air_c: ArrayLike, *, running: bool = False) -> NDArray[np.float64]:
    """Return chill portions by the Dynamic Model.

    A short-lived product builds up in the cold and melts in the warm; whenever it is full, a share of it is
    banked for good.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Hourly temperature. Over NaN nothing is banked, and the product neither grows nor melts. [°C]
    running : bool
        Return the total after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Chill portions, counted from an empty product in the first hour. [portions]

    Notes
    -----
    With T in kelvin as Celsius + 273: ``sr = exp(slope Tf (T - Tf) / T)``, ``xi = sr / (1 + sr)``,
    ``xs = a0/a1 exp((e1 - e0)/T)``, ``k = a1 exp(-e1/T)``. Each hour ``E = xs - (xs - S) exp(-k)``, where S is last
    hour's E, less its share xi if it had reached 1; the hour banks ``xi E`` if E reaches 1.

    References
    ----------
    Fishman, Erez & Couvillon 1987, J. Theor. Biol. 124:473-483 and 126:309-321; constants as in Luedeling et al.
    2009, Agric. For. Meteorol. 149:1854-1864. [published]
    """
    from ortet.science.chill_kernel import portions

    # an array is looked over as it is computed, so that a large one is read once
    t = np.atleast_1d(np.asarray(air_c if isinstance(air_c, np.ndarray) else hourly(air_c), dtype=np.float64))
    series = np.ascontiguousarray(t.reshape(prod(t.shape[:-1]), t.shape[-1]))
    total = np.empty((len(series), t.shape[-1] if running else 1))
    given = series, (SLOPE, T_F, A0, A1, E0, E1), LOWEST_C, HIGHEST_C, total
    strange = spread(
        lambda begin, end: portions(begin, end, *given), len(series), WORTH_A_THREAD // (t.shape[-1] + 1)
    )
    if max(strange) >= 0:
        hourly(series[max(strange)])  # says what is wrong
    return total.reshape(t.shape if running else t.shape[:-1])


def rates(air_c: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Return for each hour, hours first, the share banked, what the product gains, and the share of it that stays. [-]"""
    kelvin = air_c + 273.0
    share = 1.0 / (1.0 + np.exp(-SLOPE * T_F * (kelvin - T_F) / kelvin))
    full = A0 / A1 * np.exp((E1 - E0) / kelvin)
    kept = np.exp(-A1 * np.exp(-E1 / kelvin))
    grown = full * (1.0 - kept)
    gap = np.isnan(air_c)
    return np.where(gap, 0.0, share), np.where(gap, 0.0, grown), np.where(gap, 1.0, kept)


def bank(
    share: NDArray[np.float64], grown: NDArray[np.float64], kept: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the portions that each hour banks, shape (hours, series), from an empty product on."""
    from ortet.science.chill_kernel import bank as bank_kernel

    given = [np.ascontiguousarray(part, dtype=np.float64) for part in (share, grown, kept)]
    banked = np.empty_like(given[0])
    spread(
        lambda begin, end: bank_kernel(begin, end, *given, banked),
        banked.shape[1],
        WORTH_A_THREAD // (len(banked) + 1),
    )
    return banked
