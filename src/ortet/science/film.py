"""What film, closures and packing let through, water and oxygen alike."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number

__all__ = [
    "CLOSURES",
    "PACKINGS",
    "POLYMERS",
    "Closure",
    "Packing",
    "Polymer",
    "closure_leak",
    "film_factor",
    "film_permeance",
    "oxygen_factor",
    "oxygen_permeance",
]

Array = NDArray[np.float64]

GAS_CONSTANT = 8.314462618  # J mol-1 K-1
KELVIN = 273.15
FILM_UM = 25.4
# water, oxygen [J mol-1]; nine polyethylene films, 0 to 23 °C, Moyls et al. 1998 [published]
FILM_EA = 26_000.0, 36_500.0
WATER_REF_C, OXYGEN_REF_C = 38.0, 25.0
FILM_C = -60.0, 70.0  # what records of a place may say


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
        "PP": Polymer(1.69e-3, 3100.0, "published", f"Cast film: {_TABLE}; oxygen 2,330 to 3,880"),
        "PET": Polymer(3.895e-3, 70.0, "published", f"{_TABLE}; oxygen 47 to 93"),
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
# Diffusion in still air at 2 °C, for 1 mm of slit. Water over Rv T: 2.23e-5 m2 s-1 [memory]; printed
# are 0.219 cm2 s-1 at 0 °C (tables for engineers) and 0.242 at 20 °C (CRC Handbook, after Marrero & Mason 1972), which by the power
# 1.81 make 2.22e-5 and 2.16e-5. Oxygen: 1.80e-5 m2 s-1 [memory].
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
        Temperature of the film; measured from 0 to 40, refused outside -60 to 70. [°C]

    Returns
    -------
    ndarray, the broadcast shape
        Permeance. [g m-2 d-1 Pa-1]

    Raises
    ------
    KeyError, ValueError
        If the polymer is not known, a thickness or number of layers is not above 0, or a temperature is out of range.

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


def _polymer(polymer: str) -> Polymer:
    try:
        return POLYMERS[polymer]
    except KeyError:
        raise KeyError(f"no film {polymer!r}. Known: {', '.join(POLYMERS)}") from None


def _thin(thickness_um: ArrayLike, layers: ArrayLike) -> Array:
    thick = number(thickness_um, "Thickness", 0.0, above=True, unit="µm")
    return np.asarray(FILM_UM / (thick * number(layers, "Layers", 0.0, above=True)))


def film_factor(film_c: ArrayLike) -> Array:
    """Return how much more water a film lets through than at 38 °C, by its temperature, -60 to 70 °C. [-]"""
    return _arrhenius(film_c, 0)


def oxygen_factor(film_c: ArrayLike) -> Array:
    """Return how much more oxygen a film lets through than at 25 °C, by its temperature, -60 to 70 °C. [-]"""
    return _arrhenius(film_c, 1)


def _arrhenius(film_c: ArrayLike, gas: int) -> Array:
    """Return how much more a film lets through than at its reference: 0 water (38 °C), 1 oxygen (25 °C)."""
    reference = KELVIN + (WATER_REF_C, OXYGEN_REF_C)[gas]
    celsius = number(film_c, "Temperature of the film", *FILM_C, unit="°C", hint="Was °F meant?")
    kelvin = celsius + KELVIN
    return np.asarray(np.exp(FILM_EA[gas] / GAS_CONSTANT * (1.0 / reference - 1.0 / kelvin)))
