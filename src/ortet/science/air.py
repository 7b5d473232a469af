"""Vapour in the air: saturation, dew point, deficit, and the humidity that living wood holds.

Saturation follows Hyland & Wexler (1983) as printed in ASHRAE Fundamentals 2017, ch. 1, eq. 5 (ice) and
eq. 6 (liquid water). The two curves meet at the triple point, 0.01 °C, and that is where we change over.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number, share

__all__ = [
    "dew_point",
    "humidity_over_water",
    "saturation_vapour_pressure",
    "vapour_pressure_deficit",
]

KELVIN = 273.15
TRIPLE_POINT_C = 0.01
GAS_CONSTANT = 8.314462618  # J mol-1 K-1, exact in SI since 2019
MOLAR_VOLUME_WATER = 1.8018e-5  # m3 mol-1 of liquid water near 4 °C
LOWEST_C, HIGHEST_C = -100.0, 200.0  # where Hyland & Wexler gave their fits


def saturation_vapour_pressure(air_c: ArrayLike) -> NDArray[np.float64]:
    """Return the vapour pressure of saturated air, over ice below 0.01 °C and over water above.

    Parameters
    ----------
    air_c : array_like, any shape
        Temperature, -100 to 200. [°C]

    Returns
    -------
    ndarray, same shape
        Saturation vapour pressure; NaN stays NaN. [Pa]

    Raises
    ------
    ValueError
        If a temperature lies outside -100 to 200 °C.

    References
    ----------
    ASHRAE Fundamentals 2017, ch. 1, eq. 5 and 6; Hyland & Wexler 1983, ASHRAE Trans. 89(2A):500-519. [published]
    """
    kelvin = _kelvin(air_c)
    return np.asarray(np.exp(np.where(kelvin < KELVIN + TRIPLE_POINT_C, _ln_ice(kelvin), _ln_water(kelvin))))


def dew_point(air_c: ArrayLike, humidity: ArrayLike) -> NDArray[np.float64]:
    """Return the temperature at which this air begins to wet (or, below 0.01 °C, to frost) a surface.

    Parameters
    ----------
    air_c : array_like, broadcasts with humidity
        Air temperature. [°C]
    humidity : array_like, broadcasts with air_c
        Relative humidity with respect to `saturation_vapour_pressure`, so over ice below 0.01 °C. [0-1]

    Returns
    -------
    ndarray, the broadcast shape
        Dew or frost point; NaN stays NaN; -100 where the air is drier than the curve reaches. [°C]

    Raises
    ------
    ValueError
        If a humidity lies outside 0 to 1, or a temperature outside -100 to 200 °C.

    Notes
    -----
    The saturation curve is inverted by Newton's method in ln e against 1/T, in which it is nearly a straight
    line: five steps bring it to rounding error. Ice and water are inverted each on its own curve.
    """
    wet = share(humidity, "Humidity")
    with np.errstate(divide="ignore"):
        ln_e = np.log(saturation_vapour_pressure(air_c) * wet)
    floor = float(_ln_ice(np.asarray(KELVIN + LOWEST_C)))
    ln_e = np.maximum(ln_e, floor)  # NaN passes through maximum
    over_ice = ln_e < float(_ln_ice(np.asarray(KELVIN + TRIPLE_POINT_C)))
    inverse = np.where(over_ice, 1.0 / (KELVIN - 20.0), 1.0 / (KELVIN + 20.0)) + 0.0 * ln_e
    for _ in range(5):
        kelvin = 1.0 / inverse
        now = np.where(over_ice, _ln_ice(kelvin), _ln_water(kelvin))
        slope = np.where(over_ice, _slope_ice(kelvin), _slope_water(kelvin)) * -(kelvin**2)
        inverse = inverse - (now - ln_e) / slope
    return np.asarray(1.0 / inverse - KELVIN)


def vapour_pressure_deficit(air_c: ArrayLike, humidity: ArrayLike) -> NDArray[np.float64]:
    """Return how much more vapour the air could hold.

    Parameters
    ----------
    air_c : array_like, broadcasts with humidity
        Air temperature. [°C]
    humidity : array_like, broadcasts with air_c
        Relative humidity. [0-1]

    Returns
    -------
    ndarray, the broadcast shape
        Vapour pressure deficit; NaN stays NaN. [Pa]

    Raises
    ------
    ValueError
        If a humidity lies outside 0 to 1, or a temperature outside -100 to 200 °C.

    References
    ----------
    ASHRAE Fundamentals 2017, ch. 1, eq. 5, 6 and 22. [published]
    """
    return np.asarray(saturation_vapour_pressure(air_c) * (1.0 - share(humidity, "Humidity")))


def humidity_over_water(psi_mpa: ArrayLike, air_c: ArrayLike) -> NDArray[np.float64]:
    """Return the humidity that water at a given potential holds over itself (Kelvin).

    Parameters
    ----------
    psi_mpa : array_like, broadcasts with air_c
        Water potential, 0 or below; living dormant wood lies near -0.1 to -2.1. [MPa]
    air_c : array_like, broadcasts with psi_mpa
        Temperature. [°C]

    Returns
    -------
    ndarray, the broadcast shape
        Relative humidity over liquid water; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        If a potential lies above 0 or is endless, or a temperature outside -100 to 200 °C.

    References
    ----------
    ln h = psi Vw / (R T), e.g. Schreiber & Schönherr 2009, ch. 4: 50 % at 25 °C is -95 MPa. [published]
    """
    psi = number(psi_mpa, "Water potential", most=0.0, unit="MPa", hint="Give it with its minus sign.")
    return np.asarray(np.exp(psi * 1e6 * MOLAR_VOLUME_WATER / (GAS_CONSTANT * _kelvin(air_c))))


def _kelvin(air_c: ArrayLike) -> NDArray[np.float64]:
    celsius = number(air_c, "Temperature", LOWEST_C, HIGHEST_C, unit="°C", hint="Give degrees Celsius.")
    return np.asarray(celsius + KELVIN)


def _ln_ice(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Hyland & Wexler 1983, ice, eq. 5: ln of pressure in Pa at t in kelvin."""
    poly = 6.3925247 + t * (-9.677843e-3 + t * (6.2215701e-7 + t * (2.0747825e-9 + t * -9.484024e-13)))
    return np.asarray(-5.6745359e3 / t + poly + 4.1635019 * np.log(t))


def _slope_ice(t: NDArray[np.float64]) -> NDArray[np.float64]:
    poly = -9.677843e-3 + t * (2 * 6.2215701e-7 + t * (3 * 2.0747825e-9 + t * 4 * -9.484024e-13))
    return np.asarray(5.6745359e3 / t**2 + poly + 4.1635019 / t)


def _ln_water(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Hyland & Wexler 1983, liquid water, eq. 6: ln of pressure in Pa at t in kelvin."""
    poly = 1.3914993 + t * (-4.8640239e-2 + t * (4.1764768e-5 + t * -1.4452093e-8))
    return np.asarray(-5.8002206e3 / t + poly + 6.5459673 * np.log(t))


def _slope_water(t: NDArray[np.float64]) -> NDArray[np.float64]:
    poly = -4.8640239e-2 + t * (2 * 4.1764768e-5 + t * 3 * -1.4452093e-8)
    return np.asarray(5.8002206e3 / t**2 + poly + 6.5459673 / t)
