"""Water and free water in a closed bag of wood.

The wood gives vapour to the bag's air through its bark, the bag's air loses it through film and closure, and what
the film cannot hold as vapour lies on it as free water. All functions work on whole arrays; the last axes are
usually (cases, bags), with hours in front. Water flows in g h-1, conductances in g h-1 Pa-1. What film lets through
stands in film.py, oxygen in oxygen.py; bag_kernel.py takes many bags through many hours of a record.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.air import saturation_vapour_pressure
from ortet.science.checked import number, share
from ortet.science.climate import HIGHEST_C, LOWEST_C
from ortet.science.film import CLOSURES, PACKINGS, POLYMERS

__all__ = [
    "BAG",
    "CHANGED",
    "CLOSURES",
    "DEED",
    "LOOKED",
    "PACKINGS",
    "POLYMERS",
    "WEIGHED",
    "WIPED",
    "Flows",
    "Water",
    "advance",
    "applies",
    "bare_loss",
    "bark_conductance",
    "flows",
    "in_series",
    "steady_loss",
    "wood_temperature",
]

Array = NDArray[np.float64]

PRESSURE_PA = 101_325.0
WATER_G_PER_MOL = 18.015
ACTIVITY = 0.99  # live wood at -0.1 to -2.1 MPa holds 98.4 to 99.9 % (Kelvin); 0.99 is -1.3 MPa at 2 °C
LAG_H = 2.0  # bundles lag the air by 0.5 to 3 h [common practice]
DRY_HOURS = 4.0  # dry hours on end that break a spell of wetness: the rule in use with Broome et al. 1995
OUTSIDE = "Vapour pressure outside"
COLDEST_C, WARMEST_C = -2.0, 30.0  # beyond, wood freezes or buds die: nothing here was measured there

CHANGED, WEIGHED, LOOKED, WIPED = range(4)  # what is done to a bag, in this order within one hour
DEED = np.dtype(
    [
        ("bag", np.int64),
        ("hour", np.int64),  # of the record; what is done in an hour is done at its beginning
        ("kind", np.int64),
        ("number", np.int64),  # which weighing
        ("grams", np.float64),  # wood in it from then on; free water seen at least, 0 for none
        ("bark_share", np.float64),  # bark from then on, as a share of that at the start
    ]
)
BAG = np.dtype(
    [
        ("course", np.int64),  # which record it goes through
        ("start", np.float64),  # hour of the record in which it was closed [h]
        ("bark", np.float64),  # its usual conductance at the start [g h-1 Pa-1]
        ("wood_g", np.float64),
        ("bark_share", np.float64),  # bark as a share of that at the start
        ("packing", np.float64),  # its conductance [g h-1 Pa-1]
        ("soaked", np.bool_),  # packing gives like open water: nobody has found it barely moist
        ("reset", np.float64),  # hour of the last closing, wiping or dry look
    ]
)


def bark_conductance(mmol: ArrayLike, bark_m2: ArrayLike) -> Array:
    """Return what passes an area of bark.

    Parameters
    ----------
    mmol : array_like
        Conductance of the bark; 1 is 0.640 g m-2 h-1 kPa-1. [mmol m-2 s-1]
    bark_m2 : array_like, broadcasts
        Area. [m2]

    Returns
    -------
    ndarray, the broadcast shape
        NaN stays NaN. [g h-1 Pa-1]

    Raises
    ------
    ValueError
        If one is negative or endless.
    """
    per_m2 = number(mmol, "Conductance of bark", 0.0, unit="mmol/m²/s") * (
        1e-3 * WATER_G_PER_MOL * 3600.0 / PRESSURE_PA
    )
    return np.asarray(per_m2 * number(bark_m2, "Bark", 0.0, unit="m²"))


def bare_loss(
    mmol: ArrayLike,
    bark_m2: ArrayLike,
    wood_c: ArrayLike,
    outside_pa: ArrayLike,
    activity: ArrayLike = ACTIVITY,
) -> Array:
    """Return what wood loses that lies in no bag.

    Parameters
    ----------
    mmol, bark_m2 : array_like
        As in `bark_conductance`.
    wood_c : array_like
        Temperature of the wood. [°C]
    outside_pa : array_like
        Vapour pressure of the air. [Pa]
    activity : array_like
        Humidity that the wood holds over itself. [0-1]

    Returns
    -------
    ndarray, the broadcast shape
        Loss, negative where the air gives water to the wood; NaN stays NaN. [g h-1]

    Raises
    ------
    ValueError
        If a conductance, area or pressure is negative or endless, or the activity outside 0 to 1.

    References
    ----------
    ``E = g A (aw es(T) - e) / P``, e.g. Wolfe 2020, Biol. Lett. 16:20200263. [published]
    """
    inside = share(activity, "Activity") * saturation_vapour_pressure(wood_c)
    return np.asarray(
        bark_conductance(mmol, bark_m2) * (inside - number(outside_pa, OUTSIDE, 0.0, unit="Pa"))
    )


def steady_loss(
    bark: ArrayLike,
    leak: ArrayLike,
    wood_c: ArrayLike,
    film_c: ArrayLike,
    outside_pa: ArrayLike,
    activity: ArrayLike = ACTIVITY,
) -> tuple[Array, Array]:
    """Return what a bag loses once its air is steady, and the vapour pressure of that air.

    Parameters
    ----------
    bark, leak : array_like
        Conductance of the bark, and of film and closure together. [g h-1 Pa-1]
    wood_c, film_c : array_like
        Temperatures. [°C]
    outside_pa : array_like
        Vapour pressure outside. [Pa]
    activity : array_like
        Humidity that the wood holds over itself. [0-1]

    Returns
    -------
    loss : ndarray, the broadcast shape
        Through film and closure. [g h-1]
    inside_pa : ndarray
        Never above saturation at the film: there free water forms. [Pa]

    Raises
    ------
    ValueError
        If a conductance or pressure is negative or endless, both conductances are 0, or the activity is outside 0 to 1.

    Notes
    -----
    ``e = (Gb aw es + Gf e_out) / (Gb + Gf)``, loss ``Gf (e - e_out)``. The air itself stores next to nothing: 3 L at
    2 °C hold 17 mg.
    """
    given, passed = number(bark, "Bark", 0.0, unit="g/h/Pa"), number(leak, "Leak", 0.0, unit="g/h/Pa")
    number(given + passed, "Bark and leak together", 0.0, above=True, unit="g/h/Pa")
    out = number(outside_pa, OUTSIDE, 0.0, unit="Pa")
    wood = share(activity, "Activity") * saturation_vapour_pressure(wood_c)
    inside = np.minimum((given * wood + passed * out) / (given + passed), saturation_vapour_pressure(film_c))
    return np.asarray(passed * (inside - out)), np.asarray(inside)


def wood_temperature(air_c: ArrayLike, lag_h: float = LAG_H) -> Array:
    """Return the temperature of wood that follows the air with a lag.

    Parameters
    ----------
    air_c : array_like, shape (hours, ...)
        Hourly means, without gaps. Hours come first here. [°C]
    lag_h : float
        Time constant of a bundle. [h]

    Returns
    -------
    ndarray, same shape
        Hourly means; in the first hour the wood is as warm as the air. [°C]

    References
    ----------
    ``dT/dt = (T_air - T) / lag``; 0.5 to 3 h. [common practice]

    Raises
    ------
    ValueError
        If an hour has no temperature (fill gaps first) or none in °C, or the lag is not above 0.
    """
    hint = "Hours come first here. Was °F meant?"
    air = np.atleast_1d(number(air_c, "Temperature", LOWEST_C, HIGHEST_C, unit="°C", hint=hint))
    if np.isnan(air).any():
        raise ValueError(
            f"Hour {np.argwhere(np.isnan(air))[0][0]} has no temperature. Fill the gaps of the record first."
        )
    hours = len(air)
    if not hours:
        return air
    keeps = float(np.exp(-1.0 / number(lag_h, "Lag", 0.0, above=True, unit="h")))
    reach = min(hours, int(40.0 * lag_h) + 1)  # after 40 time constants nothing is left
    kernel = (1.0 - keeps) * keeps ** np.arange(reach)
    flat = (air - air[:1]).reshape(hours, -1)
    wood = np.empty_like(flat)
    for column in range(flat.shape[1]):
        wood[:, column] = np.convolve(flat[:, column], kernel)[:hours]
    return np.asarray(wood.reshape(air.shape) + air[:1])


def applies(wood_c: ArrayLike) -> NDArray[np.bool_]:
    """Tell in which hours this model holds: wood from -2 to 30 °C; below it freezes, above it is harmed. NaN does not."""
    wood = np.asarray(wood_c, dtype=np.float64)
    return np.asarray((wood >= COLDEST_C) & (wood <= WARMEST_C))


@dataclass(slots=True)
class Flows:
    """Flows of water while conditions last, in g h-1: from a source with the film dry, with it wet, and onto the film."""

    dry: Array
    wet: Array
    onto: Array  # what a wet film gains; negative: it dries

    def mean(self) -> Flows:
        """Return the mean over the first axis."""
        return Flows(self.dry.mean(0), self.wet.mean(0), self.onto.mean(0))

    def over(self, hours: ArrayLike) -> Flows:
        """Return what flows in so many hours. [g]"""
        step = np.asarray(hours, dtype=np.float64)
        return Flows(self.dry * step, self.wet * step, self.onto * step)


@dataclass(slots=True)
class Water:
    """Where the water of each bag is."""

    lost: Array  # from the wood since the bag was closed [g]
    free: Array  # on film and wood [g]
    held: Array  # by the packing [g]
    spell: Array  # hours wet since the last four dry hours on end [h]
    dry: Array  # dry hours on end [h]


def in_series(source: ArrayLike, leak: ArrayLike) -> Array:
    """Return the conductance of two in a row, 0 where either is. [g h-1 Pa-1]"""
    given, passed = number(source, "Source", 0.0, unit="g/h/Pa"), number(leak, "Leak", 0.0, unit="g/h/Pa")
    return np.asarray(given * passed / np.maximum(given + passed, 1e-300))


def flows(
    source: Array,
    leak: Array,
    source_pa: Array,
    film_pa: Array,
    outside_pa: Array,
    joint: Array | None = None,
) -> Flows:
    """Return the flows of water in steady air.

    Parameters
    ----------
    source : ndarray
        Conductance of bark or packing. [g h-1 Pa-1]
    leak : ndarray
        Conductance of film and closure. [g h-1 Pa-1]
    source_pa : ndarray
        Vapour pressure over the wood (activity times saturation) or over wet packing. [Pa]
    film_pa : ndarray
        Saturation at the film's temperature: with free water on it, that of the bag's air. [Pa]
    outside_pa : ndarray
        Vapour pressure outside. [Pa]
    joint : ndarray, optional
        ``in_series(source, leak)``, where it is at hand.

    Returns
    -------
    Flows
        ``dry = Gs Gf / (Gs + Gf) (es - e_out)``, ``wet = Gs (es - ef)``, ``onto = wet - Gf (ef - e_out)``. Where `onto`
        is above 0 a dry film becomes wet: the same condition as a steady pressure above saturation.
    """
    both = in_series(source, leak) if joint is None else joint
    wet = source * (source_pa - film_pa)
    return Flows(both * (source_pa - outside_pa), wet, wet - leak * (film_pa - outside_pa))


def advance(water: Water, wood: Flows, packing: Flows | None, hours: ArrayLike) -> Water:
    """Return where the water is some hours later.

    Parameters
    ----------
    water : Water
        As it is now.
    wood, packing : Flows
        Flows from the wood, and from the packing while it holds water; None where no bag has any.
    hours : array_like, broadcasts with the state
        Length of the step, 0 and up: exact for any length as long as the flows last. [h]

    Returns
    -------
    Water

    Notes
    -----
    A film that dries goes dry inside the step, and packing that runs out leaves the rest of the step to the wood.
    Wood takes up no more water than it has lost; what it refuses stays on the film.
    """
    step = np.asarray(hours, dtype=np.float64)
    if packing is not None and np.any(water.held > 0):
        water, step = _draw_on_packing(water, packing, step)
    if step.ndim or step != 1.0:
        wood = wood.over(step)
    if not water.free.any() and wood.onto.max(initial=-1.0) < 0.0:  # dry and staying dry
        dry = water.dry + step
        lost = np.maximum(water.lost + wood.dry, 0.0)
        return Water(lost, water.free + 0.0 * lost, water.held, water.spell * (dry < DRY_HOURS), dry)
    share = _wet_share(water.free, wood.onto)
    lost = water.lost + wood.dry + share * (wood.wet - wood.dry)
    free = np.maximum(water.free + wood.onto, 0.0)  # below 0: it dried on the way
    if lost.min(initial=0.0) < 0.0:
        free -= (share > 0.0) * np.minimum(lost, 0.0)
        np.maximum(lost, 0.0, out=lost)
    spell, dry = _spell(water.spell, water.dry, share, step)
    return Water(lost, free, water.held, spell, dry)


def _draw_on_packing(water: Water, packing: Flows, step: Array) -> tuple[Water, Array]:
    """Return the state once the packing has run out or the step is over, and what is left of the step."""
    wet_for = step * _wet_share(water.free, packing.over(step).onto)
    with np.errstate(divide="ignore", invalid="ignore"):
        while_wet = np.where(packing.wet > 0, water.held / packing.wet, np.inf)
        once_dry = wet_for + np.where(
            packing.dry > 0, (water.held - packing.wet * wet_for) / packing.dry, np.inf
        )
    lasts = np.where(while_wet <= wet_for, while_wet, once_dry)
    first = np.where(water.held > 0, np.minimum(step, lasts), 0.0)
    drawn_first = packing.over(first)
    share = _wet_share(water.free, drawn_first.onto)
    used = drawn_first.dry + share * (drawn_first.wet - drawn_first.dry)
    held = np.where(first < step, 0.0, np.maximum(water.held - used, 0.0))
    free = np.maximum(water.free + drawn_first.onto, 0.0)
    spell, dry = _spell(water.spell, water.dry, share, first)
    return Water(water.lost + 0.0 * held, free, held, spell, dry), step - first


def _wet_share(free: Array, onto: Array) -> Array:
    """Return the share of a step in which the film is wet, given what a wet film would gain in it. [g]"""
    share = free / np.maximum(-onto, 1e-200)
    np.minimum(share, 1.0, out=share)
    return np.asarray(np.maximum(share, onto >= 0.0))


def _spell(spell: Array, dry: Array, share: Array, step: Array) -> tuple[Array, Array]:
    """Return the spell of wetness and the dry hours after a step that is wet for a share of it, then dry."""
    wet_for = share * step if step.ndim or step != 1.0 else share
    dry_now = dry * (wet_for == 0.0)
    dry_now += step
    dry_now -= wet_for
    spell_now = spell + wet_for
    spell_now *= dry_now < DRY_HOURS
    return spell_now, dry_now
