"""Water, free water and oxygen in a closed bag of wood.

The wood gives vapour to the bag's air through its bark, the bag's air loses it through film and closure, and what
the film cannot hold as vapour lies on it as free water. All functions work on whole arrays; the last axes are
usually (cases, bags), with hours in front. Water flows in g h-1, conductances in g h-1 Pa-1, oxygen in mL.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.air import saturation_vapour_pressure

__all__ = [
    "CLOSURES",
    "PACKINGS",
    "POLYMERS",
    "Closure",
    "Flows",
    "Packing",
    "Polymer",
    "Water",
    "advance",
    "applies",
    "bare_loss",
    "bark_conductance",
    "closure_leak",
    "film_factor",
    "film_permeance",
    "flows",
    "headspace_ml",
    "in_series",
    "oxygen_after",
    "oxygen_factor",
    "oxygen_needed",
    "oxygen_permeance",
    "steady_loss",
    "wood_temperature",
]

Array = NDArray[np.float64]

PRESSURE_PA = 101_325.0
GAS_CONSTANT = 8.314462618  # J mol-1 K-1
WATER_G_PER_MOL = 18.015
KELVIN = 273.15
ACTIVITY = 0.99  # live wood at -0.1 to -2.1 MPa holds 98.4 to 99.9 % (Kelvin); 0.99 is -1.3 MPa at 2 °C
FREE_AIR_OXYGEN = 0.2095  # share of dry air
O2_ML_PER_CO2_MG = 0.5093  # 22,414 mL / 44.01 g at a respiratory quotient of 1
LAG_H = 2.0  # bundles lag the air by 0.5 to 3 h [common practice]
DRY_HOURS = 4.0  # dry hours on end that break a spell of wetness: the rule in use with Broome et al. 1995
FILM_UM = 25.4
FILM_EA = (
    26_000.0,
    36_500.0,
)  # water, oxygen; nine polyethylene films, 0 to 23 °C, Moyls et al. 1998 [published]
WATER_REF_C, OXYGEN_REF_C = 38.0, 25.0
COLDEST_C, WARMEST_C = -2.0, 30.0  # beyond, wood freezes or buds die: nothing here was measured there


@dataclass(frozen=True, slots=True)
class Polymer:
    """What a film of 25.4 µm lets through, and how sure that is."""

    water: float  # at 38 °C [g m-2 d-1 Pa-1]
    oxygen: float  # at 25 °C [mL m-2 d-1 atm-1]
    mark: str
    source: str


_TABLE = "Food Package Engineering, Biosystems Engineering series, Table 11.2 p. 345, middle of the range"
POLYMERS: Mapping[str, Polymer] = MappingProxyType(
    {
        "LDPE": Polymer(3.895e-3, 7000.0, "published", f"{_TABLE}; oxygen 4,650 to 9,300"),
        "HDPE": Polymer(1.17e-3, 2700.0, "published", f"{_TABLE}; oxygen 1,550 to 3,875"),
        "PP": Polymer(1.69e-3, 2500.0, "memory", f"Water, cast film: {_TABLE}; oxygen from memory"),
        "PET": Polymer(3.895e-3, 70.0, "memory", f"Water: {_TABLE}; oxygen from memory"),
    }
)
FILM_SPREAD = (
    0.3  # sd of ln: suppliers' figures are off by 17 to 74 %, Moyls et al. 1998; we allow half either way
)


@dataclass(frozen=True, slots=True)
class Closure:
    """How a bag is shut, as the slit through which as much would diffuse; common practice, no measurement found."""

    opening_mm: float  # area of the slit over the length of its way [mm]
    spread: float  # sd of ln opening
    why: str


CLOSURES: Mapping[str, Closure] = MappingProxyType(
    {
        "heat-seal": Closure(0.01, 1.2, "a pinhole or a crease in the seam"),
        "knot": Closure(0.05, 1.2, "1 mm2 over 20 mm of twisted film"),
        "zip": Closure(0.15, 1.2, "300 mm by 5 µm over 10 mm of track"),
        "fold": Closure(3.0, 1.0, "300 mm by 1 mm over 100 mm of folded film"),
        "open": Closure(90.0, 0.7, "300 mm by 30 mm over 100 mm of slack film"),
    }
)
# Diffusion in still air near 2 °C, for 1 mm of slit: water 2.23e-5 m2 s-1 over Rv T, oxygen 1.80e-5 m2 s-1. [memory]
LEAK_WATER = 2.23e-5 * 1e-3 / (461.5 * 275.15) * 3600.0 * 1000.0  # g h-1 Pa-1 per mm
LEAK_OXYGEN = 1.80e-5 * 1e-3 * 3600.0 * 1e6  # mL h-1 atm-1 per mm


@dataclass(frozen=True, slots=True)
class Packing:
    """What lies between the cuttings; while it holds water it gives vapour in the wood's place."""

    conductance: float  # of bark area around it [mmol m-2 s-1]
    why: str


PACKINGS: Mapping[str, Packing] = MappingProxyType(
    {
        "none": Packing(0.0, "water closed in with bare wood lies free on it and on the film"),
        "dry paper": Packing(50.0, "still air over wet paper, far above bark; common practice"),
        "damp paper": Packing(50.0, "still air over wet paper, far above bark; common practice"),
        "moist moss": Packing(50.0, "still air over wet moss, far above bark; common practice"),
        "moist sawdust": Packing(50.0, "still air over wet sawdust, far above bark; common practice"),
    }
)


def film_permeance(polymer: str, thickness_um: ArrayLike, layers: ArrayLike, film_c: ArrayLike) -> Array:
    """Return the water that a film lets through.

    Parameters
    ----------
    polymer : str
        A key of `POLYMERS`.
    thickness_um : array_like
        One layer, above 0. [µm]
    layers : array_like, broadcasts
        Layers on top of each other, 1 and up.
    film_c : array_like, broadcasts
        Temperature of the film, 0 to 40. [°C]

    Returns
    -------
    ndarray, the broadcast shape
        Permeance. [g m-2 d-1 Pa-1]

    Raises
    ------
    KeyError, ValueError
        If the polymer is not known, or a thickness or number of layers is not above 0.

    References
    ----------
    Activation energy 26.0 kJ/mol: Moyls et al. 1998, Trans. ASAE, nine polyethylene films. [published] We use it for
    PP and PET too, for want of better. Inverse in thickness and layers: Fick's law.
    """
    return np.asarray(_polymer(polymer).water * _thin(thickness_um, layers) * _arrhenius(film_c, 0))


def oxygen_permeance(polymer: str, thickness_um: ArrayLike, layers: ArrayLike, film_c: ArrayLike) -> Array:
    """Return the oxygen that a film lets through; parameters, errors and source as in `film_permeance`.

    Returns
    -------
    ndarray, the broadcast shape
        Permeance; activation energy 36.5 kJ/mol. [mL m-2 d-1 atm-1]
    """
    return np.asarray(_polymer(polymer).oxygen * _thin(thickness_um, layers) * _arrhenius(film_c, 1))


def closure_leak(closure: str) -> tuple[float, float]:
    """Return what passes a closure besides the film: water [g h-1 Pa-1] and oxygen [mL h-1 atm-1].

    A slit in still air: ``D A / (Rv T l)`` and ``D A / l``. Sizes of slits are common practice; weighings tell better.
    """
    try:
        slit = CLOSURES[closure].opening_mm
    except KeyError:
        raise KeyError(f"no closure {closure!r}. Known: {', '.join(CLOSURES)}") from None
    return LEAK_WATER * slit, LEAK_OXYGEN * slit


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
        [g h-1 Pa-1]
    """
    per_m2 = np.asarray(mmol, dtype=np.float64) * (1e-3 * WATER_G_PER_MOL * 3600.0 / PRESSURE_PA)
    return np.asarray(per_m2 * np.asarray(bark_m2, dtype=np.float64))


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
        Loss, negative where the air gives water to the wood. [g h-1]

    References
    ----------
    ``E = g A (aw es(T) - e) / P``, e.g. Wolfe 2020, Biol. Lett. 16:20200263. [published]
    """
    inside = np.asarray(activity) * saturation_vapour_pressure(wood_c)
    return np.asarray(bark_conductance(mmol, bark_m2) * (inside - np.asarray(outside_pa, dtype=np.float64)))


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

    Notes
    -----
    ``e = (Gb aw es + Gf e_out) / (Gb + Gf)``, loss ``Gf (e - e_out)``. The air itself stores next to nothing: 3 L at
    2 °C hold 17 mg.
    """
    given, passed, out = (np.asarray(x, dtype=np.float64) for x in (bark, leak, outside_pa))
    wood = np.asarray(activity) * saturation_vapour_pressure(wood_c)
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
    """
    air = np.asarray(air_c, dtype=np.float64)
    hours = len(air)
    keeps = float(np.exp(-1.0 / lag_h))
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
    given, passed = np.asarray(source, dtype=np.float64), np.asarray(leak, dtype=np.float64)
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
    free = np.maximum(water.free + share * wood.onto, 0.0)
    if lost.min(initial=0.0) < 0.0:
        free -= (share > 0.0) * np.minimum(lost, 0.0)
        np.maximum(lost, 0.0, out=lost)
    spell, dry = _spell(water.spell, water.dry, share, step)
    return Water(lost, free, water.held, spell, dry)


def _draw_on_packing(water: Water, packing: Flows, step: Array) -> tuple[Water, Array]:
    """Return the state once the packing has run out or the step is over, and what is left of the step."""
    whole = packing.over(step)
    drawn = whole.dry + _wet_share(water.free, whole.onto) * (whole.wet - whole.dry)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(water.held > 0, np.where(drawn > 0, np.minimum(water.held / drawn, 1.0), 1.0), 0.0)
    first = step * part
    drawn_first = packing.over(first)
    share = _wet_share(water.free, drawn_first.onto)
    used = drawn_first.dry + share * (drawn_first.wet - drawn_first.dry)
    held = np.where(part < 1.0, 0.0, np.maximum(water.held - used, 0.0))
    free = np.maximum(water.free + share * drawn_first.onto, 0.0)
    spell, dry = _spell(water.spell, water.dry, share, first)
    return Water(water.lost + 0.0 * held, free, held, spell, dry), step - first


def _wet_share(free: Array, onto: Array) -> Array:
    """Return the share of a step in which the film is wet, given what a wet film would gain in it. [g]"""
    share = free / np.maximum(-onto, 1e-200)
    np.minimum(share, 1.0, out=share)
    return np.asarray(np.maximum(share, onto >= 0.0))


def _spell(spell: Array, dry: Array, share: Array, step: Array) -> tuple[Array, Array]:
    """Return the spell of wetness and the dry hours after a step that is wet for a share of it, then dry."""
    wet_for = share * step
    dry_now = dry * (wet_for == 0.0)
    dry_now += step
    dry_now -= wet_for
    spell_now = spell + wet_for
    spell_now *= dry_now < DRY_HOURS
    return spell_now, dry_now


def oxygen_needed(co2_mg_per_kg_h: ArrayLike, wood_kg: ArrayLike) -> Array:
    """Return the oxygen that wood takes up. [mL h-1]

    ``0.5093 mL`` for each mg CO2 given off, at a respiratory quotient of 1 (22.41 L per 44.01 g).
    """
    return np.asarray(O2_ML_PER_CO2_MG * np.asarray(co2_mg_per_kg_h) * np.asarray(wood_kg), dtype=np.float64)


def headspace_ml(film_m2: ArrayLike, wood_g: ArrayLike) -> Array:
    """Return the air in a loosely filled bag: 12.5 L per m2 of film less the wood, at least a fifth. [mL, common practice]"""
    full = 12_500.0 * np.asarray(film_m2, dtype=np.float64)
    return np.asarray(np.maximum(full - np.asarray(wood_g, dtype=np.float64), 0.2 * full))


def oxygen_after(
    share: ArrayLike, needed: ArrayLike, conductance: ArrayLike, air_ml: ArrayLike, hours: ArrayLike
) -> Array:
    """Return the oxygen in a bag some hours later.

    Parameters
    ----------
    share : array_like
        Oxygen at the start. [0-1]
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
        Oxygen, 0 where none is left: there the wood ferments. [0-1]

    Notes
    -----
    ``V dx/dt = G (0.2095 - x) - U``: from the start towards ``0.2095 - U / G`` at the rate ``G / V``. That wood takes up
    less as oxygen falls is left out, so the forecast errs on the safe side.
    """
    open_to = np.asarray(conductance, dtype=np.float64)
    steady = FREE_AIR_OXYGEN - np.asarray(needed, dtype=np.float64) / open_to
    left = np.exp(-open_to / np.asarray(air_ml, dtype=np.float64) * np.asarray(hours, dtype=np.float64))
    return np.asarray(
        np.clip(steady + (np.asarray(share, dtype=np.float64) - steady) * left, 0.0, FREE_AIR_OXYGEN)
    )


def _polymer(polymer: str) -> Polymer:
    try:
        return POLYMERS[polymer]
    except KeyError:
        raise KeyError(f"no film {polymer!r}. Known: {', '.join(POLYMERS)}") from None


def _thin(thickness_um: ArrayLike, layers: ArrayLike) -> Array:
    through = np.asarray(thickness_um, dtype=np.float64) * np.asarray(layers, dtype=np.float64)
    if not np.all(through > 0):
        raise ValueError(f"Film {thickness_um!r} µm in {layers!r} layers: both must be above 0.")
    return np.asarray(FILM_UM / through)


def film_factor(film_c: ArrayLike) -> Array:
    """Return how much more water a film lets through than at 38 °C, by its temperature. [-]"""
    return _arrhenius(film_c, 0)


def oxygen_factor(film_c: ArrayLike) -> Array:
    """Return how much more oxygen a film lets through than at 25 °C, by its temperature. [-]"""
    return _arrhenius(film_c, 1)


def _arrhenius(film_c: ArrayLike, gas: int) -> Array:
    """Return how much more a film lets through than at its reference: 0 water (38 °C), 1 oxygen (25 °C)."""
    reference = KELVIN + (WATER_REF_C, OXYGEN_REF_C)[gas]
    kelvin = np.asarray(film_c, dtype=np.float64) + KELVIN
    return np.asarray(np.exp(FILM_EA[gas] / GAS_CONSTANT * (1.0 / reference - 1.0 / kelvin)))
