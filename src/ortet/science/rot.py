"""Grey mould (Botrytis cinerea): how long wood may stay wet.

Two sources for two ranges, and no bridge between them: germination times for the fridge, 0 to 6 °C, and an
infection risk for the bench, 12 to 30 °C. Both come from other tissues than dormant bark; they rank dangers and
do not promise safety.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number, share

__all__ = ["broome_infection", "germination_hours", "wet_index"]

# ln-linear through Petäistö's two times: 52 h at 0 °C, 15 h at 6 °C
HOURS_AT_ZERO, PER_KELVIN = 52.0, np.log(52.0 / 15.0) / 6.0


def germination_hours(film_c: ArrayLike) -> NDArray[np.float64]:
    """Return the hours of wetness in which all grey-mould spores germinate in the cold.

    Parameters
    ----------
    film_c : array_like
        Temperature of the wet surface. [°C]

    Returns
    -------
    ndarray, same shape
        Hours, and NaN outside 0 to 6 °C, where nothing was measured. [h]

    Raises
    ------
    ValueError
        If a temperature is endless.

    References
    ----------
    Petäistö 2006, Baltic Forestry 12(1):24-33: 100 % in 15 h at 6 °C and about 52 h at 0 °C. [published] The
    straight line between them in the logarithm is ours.
    """
    t = number(film_c, "Temperature", unit="°C")
    inside = (t >= 0.0) & (t <= 6.0)
    return np.asarray(np.where(inside, HOURS_AT_ZERO * np.exp(-PER_KELVIN * t), np.nan))


def wet_index(
    wet: ArrayLike, film_c: ArrayLike, *, dry_hours: int = 4, running: bool = False
) -> NDArray[np.float64]:
    """Return how far spores have got towards germination in the present spell of wetness.

    Parameters
    ----------
    wet : array_like, shape (..., hours)
        Whether, or for which share of it, the hour was wet; NaN counts as dry. [0-1]
    film_c : array_like, broadcasts with wet
        Temperature of the wet surface. Below 0 °C it counts as 0, above 6 °C as 6 and the index is then a lower
        bound, since warmer spores are faster. [°C]
    dry_hours : int
        Dry hours on end that set the index back to nothing. [h]
    running : bool
        Return the index after each hour, shape (..., hours), rather than its highest value.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Sum of wet hours over the germination time at each hour's temperature; at 1 germination is complete. [-]

    Raises
    ------
    ValueError
        If a wetness lies outside 0 to 1, a wet hour has no temperature, or a temperature is endless.

    References
    ----------
    Times: `germination_hours`. Start afresh after 4 dry hours: the rule in use with Broome et al. 1995. [common
    practice]
    """
    how_wet = np.nan_to_num(
        np.atleast_1d(share(wet, "Wetness", hint="0 is dry, 1 wet the whole hour.")), nan=0.0
    )
    t, how_wet = np.broadcast_arrays(number(film_c, "Temperature", unit="°C"), how_wet)
    blind = (how_wet > 0) & np.isnan(t)
    if np.any(blind):
        raise ValueError(
            f"Hour {np.argwhere(blind)[0][-1]} is wet and has no temperature. Fill the gaps of the record first."
        )
    step = np.where(how_wet > 0, how_wet / germination_hours(np.clip(t, 0.0, 6.0)), 0.0)
    total = np.cumsum(step, axis=-1)
    hour = np.arange(how_wet.shape[-1])
    last_wet = np.maximum.accumulate(np.where(how_wet > 0, hour, -1), axis=-1)
    forgotten = np.maximum.accumulate(np.where(hour - last_wet >= dry_hours, total, 0.0), axis=-1)
    index = total - forgotten
    return np.asarray(index if running else index.max(axis=-1, initial=0.0))


def broome_infection(wet_hours: ArrayLike, air_c: ArrayLike) -> NDArray[np.float64]:
    """Return the expected share infected after a spell of wetness in the warm.

    Parameters
    ----------
    wet_hours : array_like, broadcasts with air_c
        Length of the spell. [h]
    air_c : array_like, broadcasts with wet_hours
        Mean temperature of the spell, 12 to 30. [°C]

    Returns
    -------
    ndarray, the broadcast shape
        Share infected, of grape berries; NaN stays NaN. [0-1]

    Raises
    ------
    ValueError
        Outside 12 to 30 °C, or if a spell is negative. Below 7.4 °C the published equation turns over and calls
        longer wetness safer, so it must not be used in the fridge: `germination_hours` is meant for that.

    Notes
    -----
    ``logit = -2.647866 - 0.374927 W + 0.061601 W T - 0.001511 W T^2``. With no wetness it still gives 0.066.

    References
    ----------
    Broome, English, Marois, Latorre & Aviles 1995, Phytopathology 85:97-102. [published; read at second hand, and
    the range of 12 to 30 °C from memory]
    """
    use = "There this equation does not hold: for a cold store use germination_hours (0 to 6 °C)."
    t = number(air_c, "Temperature", 12.0, 30.0, unit="°C", hint=use)
    w = number(wet_hours, "Wet hours", 0.0)
    logit = -2.647866 + w * (-0.374927 + t * (0.061601 - 0.001511 * t))
    return np.asarray(1.0 / (1.0 + np.exp(-logit)))
