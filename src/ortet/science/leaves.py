"""Leaves from the buds: the heat they need falls as chill gathers, and they feel the air, not the base.

Chill goes on in the bag, and so does what it saves in heat. Heat on the mother plant counts from the hour in which
her buds had their chill; from the striking on all heat counts, whether the chill was enough or not.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number
from ortet.science.chill import chill_portions
from ortet.science.climate import hourly
from ortet.science.heat import growing_degree_hours

__all__ = ["heat_needed", "leaf_progress", "winter_so_far"]


def heat_needed(
    chill: ArrayLike, *, heat: ArrayLike, heat_unchilled: ArrayLike, overlap: ArrayLike
) -> NDArray[np.float64]:
    """Return the heat that the median cutting needs to open its buds.

    Parameters
    ----------
    chill : array_like
        Chill so far. [portions]
    heat : array_like, broadcasts with chill
        Need once chill is plentiful. [°C h]
    heat_unchilled : array_like
        Need of buds that had no chill at all. [°C h]
    overlap : array_like
        Chill over which the difference falls to 37 %. [portions]

    Returns
    -------
    ndarray, the broadcast shape
        ``heat + (heat_unchilled - heat) exp(-chill / overlap)``; NaN stays NaN. [°C h]

    Raises
    ------
    ValueError
        If chill is negative, or unless ``0 < heat <= heat_unchilled`` and ``overlap > 0``.

    References
    ----------
    Chill overlap: Pope, Da Silva, Brown & DeJong 2014, Agric. For. Meteorol. 198-199:15-23. [published, read at
    second hand: theirs begins at the chill requirement; going on below it is ours]
    That it does better than chill and heat one after the other, for apple at 14 places: Darbyshire et al. 2017,
    “A global evaluation of apple flowering phenology models”. [published, abstract read]
    """
    c, least = number(chill, "Chill", 0.0, unit="portions"), number(heat, "Heat", unit="°C h")
    most, fold = (
        number(heat_unchilled, "Heat, unchilled", unit="°C h"),
        number(overlap, "Overlap", unit="portions"),
    )
    if not (np.all(least > 0) and np.all(most >= least) and np.all(fold > 0)):
        raise ValueError(
            f"Heat {least}, unchilled {most} °C h, overlap {fold} portions: the first must be above 0 and not "
            "exceed the second, the overlap must be above 0."
        )
    return np.asarray(least + (most - least) * np.exp(-c / fold))


def winter_so_far(
    air_c: ArrayLike, *, chill_needed: float, t_base: float = 4.0, t_opt: float = 25.0, t_crit: float = 36.0
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return what wood cut after each hour would bring along: chill, and heat since its buds were free.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        The mother plant's weather from leaf fall on; NaN counts as neither. [°C]
    chill_needed : float
        Chill from which heat begins to count on the mother plant. [portions]
    t_base, t_opt, t_crit : float
        The temperatures of `growing_degree_hours`. [°C]

    Returns
    -------
    chill, heat : ndarray, shape (..., hours)
        Running chill [portions] and running heat [°C h].
    """
    chill = chill_portions(air_c, running=True)
    per_hour = np.diff(
        growing_degree_hours(air_c, t_base=t_base, t_opt=t_opt, t_crit=t_crit, running=True), prepend=0.0
    )
    return chill, np.asarray(np.cumsum(np.where(chill >= chill_needed, per_hour, 0.0), axis=-1))


def leaf_progress(
    air_c: ArrayLike,
    *,
    heat: ArrayLike,
    heat_unchilled: ArrayLike,
    overlap: ArrayLike,
    chill_before: ArrayLike = 0.0,
    heat_before: ArrayLike = 0.0,
    t_base: float = 4.0,
    t_opt: float = 25.0,
    t_crit: float = 36.0,
    running: bool = False,
) -> NDArray[np.float64]:
    """Return heat had over heat needed, from the striking on.

    Parameters
    ----------
    air_c : array_like, shape (..., hours)
        Air at the buds, hour by hour; NaN counts as neither chill nor heat. [°C]
    heat, heat_unchilled, overlap : array_like, shape () or (...)
        The need, as in `heat_needed`. [°C h, °C h, portions]
    chill_before, heat_before : array_like, shape () or (...)
        What the wood brought along, as `winter_so_far` gives it. [portions, °C h]
    t_base, t_opt, t_crit : float
        The temperatures of `growing_degree_hours`. [°C]
    running : bool
        Return the progress after each hour, shape (..., hours), rather than the last one.

    Returns
    -------
    ndarray, shape (...) or (..., hours)
        Progress: at 1.0 half the cuttings are in leaf; it never falls. [-]

    Raises
    ------
    ValueError
        As `heat_needed` and `growing_degree_hours` do, or if `heat_before` is negative.
    """
    c, h, least, most, fold = (
        np.asarray(x, dtype=np.float64)[..., np.newaxis]
        for x in (chill_before, heat_before, heat, heat_unchilled, overlap)
    )
    if np.any(h < 0):
        raise ValueError(f"Heat {np.nanmin(h):g} °C h is below 0.")
    t = hourly(air_c)
    warmth = h + growing_degree_hours(t, t_base=t_base, t_opt=t_opt, t_crit=t_crit, running=True)
    need = heat_needed(c + chill_portions(t, running=True), heat=least, heat_unchilled=most, overlap=fold)
    progress = np.asarray(warmth / need)
    return progress if running else np.asarray(progress[..., -1])
