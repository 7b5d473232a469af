"""Solutions for dips and hormones: strengths turned into one another, stock and water, what is left of them later.

Everything meets in grams of the agent in a litre. A label's per cent says little until it says of what, and by mass or
by volume: `WRITTEN` lists the ways in which labels count.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number, share

__all__ = [
    "ACID_SHARE",
    "CHLORINE_PER_HYPOCHLORITE",
    "CLEAN_HALF_LIFE_DAYS",
    "PURE_DENSITY",
    "WRITTEN",
    "Written",
    "as_written",
    "grams_per_litre",
    "grams_to_weigh",
    "half_life",
    "hypochlorous_share",
    "mixed",
    "share_left",
    "stock_volume",
    "time_above",
    "water_parts",
]

Array = NDArray[np.float64]

# Molar masses from the IUPAC abridged atomic weights of 2021. [g mol-1, published]
CHLORINE, HYPOCHLORITE = 70.90, 74.44  # Cl2, NaOCl
IBA, K_IBA = 203.24, 241.33  # C12H13NO2, C12H12KNO2
NAA, K_NAA = 186.21, 224.30  # C12H10O2, C12H9KO2
CHLORINE_PER_HYPOCHLORITE = CHLORINE / HYPOCHLORITE  # 0.9525 g of available chlorine in a gram of NaOCl
ACID_SHARE = {"IBA": 1.0, "K-IBA": IBA / K_IBA, "NAA": 1.0, "K-NAA": NAA / K_NAA}  # g of acid in a gram
PURE_DENSITY = {"ethanol": 0.7893, "isopropanol": 0.7855}  # at 20 °C [kg L-1, published: handbook tables]

# Rutala et al. 1998: 40 to 50 % left after 30 days at 20 °C, thin mixes, clean, not closed up in the dark; the middle, 45 %
CLEAN_HALF_LIFE_DAYS = 30.0 * np.log(2.0) / -np.log(0.45)
COLDEST_C, WARMEST_C = 0.0, 35.0


@dataclass(frozen=True, slots=True)
class Written:
    """One way to write a strength: grams in a litre for each unit of it."""

    per_unit: float
    by_mass: bool = False  # times the liquid's own density
    by_volume: bool = False  # times the pure agent's density
    of_chlorine: bool = False  # counts available chlorine, not sodium hypochlorite

    @property
    def most(self) -> float:
        """The number that would be the pure thing."""
        return 1000.0 / self.per_unit if self.per_unit < 10.0 else 100.0


WRITTEN = {
    "% by mass": Written(10.0, by_mass=True),
    "% by volume": Written(10.0, by_volume=True),
    "% weight in volume": Written(10.0),
    "g/L": Written(1.0),
    "mg/L": Written(0.001),
    "ppm": Written(0.001),
    "% available chlorine": Written(10.0, by_mass=True, of_chlorine=True),
    "trade %": Written(10.0, of_chlorine=True),
    "g/L available chlorine": Written(1.0, of_chlorine=True),
    "mg/L available chlorine": Written(0.001, of_chlorine=True),
    "ppm available chlorine": Written(0.001, of_chlorine=True),
}


def _not_below(value: ArrayLike, name: str, least: float = 0.0) -> Array:
    return number(value, name, least, hint=f"It must be {least:g} or more.")


def _above_nothing(value: ArrayLike, name: str) -> Array:
    return number(value, name, 0.0, above=True)


def _factor(written: str, density: ArrayLike, pure: ArrayLike | None) -> Array:
    """Return grams of agent in a litre for one unit as written. [g L-1]"""
    if written not in WRITTEN:
        raise ValueError(f"{written!r} is no way to write a strength; write one of {', '.join(WRITTEN)}.")
    way = WRITTEN[written]
    factor: Array = np.asarray(way.per_unit, dtype=np.float64)
    if way.by_mass:
        factor = factor * _above_nothing(density, "Density")
    if way.by_volume:
        if pure is None:
            raise ValueError(f"{written} needs the density of the pure agent.")
        factor = factor * _above_nothing(pure, "Density of the pure agent")
    return factor / CHLORINE_PER_HYPOCHLORITE if way.of_chlorine else factor


def grams_per_litre(
    amount: ArrayLike, written: str, *, density: ArrayLike = 1.0, pure: ArrayLike | None = None
) -> Array:
    """Return the strength that a label writes, as grams of the agent in a litre.

    Parameters
    ----------
    amount : array_like
        The number on the label, 0 to that of the pure thing. [as written]
    written : str
        How it is written: a key of `WRITTEN`.
    density : array_like
        Of the liquid, for what is written by mass. 1 is what leaflets reckon with. [kg L-1]
    pure : array_like, optional
        Density of the pure agent, for what is written by volume: see `PURE_DENSITY`. [kg L-1]

    Returns
    -------
    ndarray, the broadcast shape
        Agent in a litre; of sodium hypochlorite where chlorine was written; NaN stays NaN. [g L-1]

    Raises
    ------
    ValueError
        If the amount is negative or more than the pure thing, or `written` is unknown.

    References
    ----------
    Trade per cent is g of available chlorine in 100 mL; by mass = g/L / (10 density): Handbook of Chlorination 1972, as
    quoted in a maker's product profile. [published, at second hand]
    """
    number = _not_below(amount, "A strength of")
    factor = _factor(written, density, pure)
    if np.any(number > WRITTEN[written].most):
        raise ValueError(
            f"{float(number.max()):g} {written} is more than the pure thing. 1 % is 10,000 ppm: was ppm meant?"
        )
    return np.asarray(number * factor)


def as_written(
    strength: ArrayLike, written: str, *, density: ArrayLike = 1.0, pure: ArrayLike | None = None
) -> Array:
    """Return a strength in g/L as a label would write it: `grams_per_litre` turned round. [as written]"""
    return np.asarray(_not_below(strength, "A strength of") / _factor(written, density, pure))


def stock_volume(stock: ArrayLike, target: ArrayLike, volume: ArrayLike) -> Array:
    """Return how much stock makes a volume of the target strength.

    Parameters
    ----------
    stock, target : array_like
        Strengths, both in the same unit. [any]
    volume : array_like
        What is wanted. [any]

    Returns
    -------
    ndarray, the broadcast shape
        Stock, in the unit of the volume; water fills it up to the volume. [unit of volume]

    Raises
    ------
    ValueError
        If the target is stronger than the stock, or any of them is not above 0.

    Notes
    -----
    ``V1 = V2 C2 / C1``. Exact where strengths count by volume of the mix and water fills up to the mark.
    """
    strong, weak = _above_nothing(stock, "Stock of strength"), _above_nothing(target, "Target of strength")
    if np.any(weak > strong):
        raise ValueError("The target is stronger than the stock: water makes nothing stronger.")
    return np.asarray(_above_nothing(volume, "Volume") * weak / strong)


def water_parts(stock: ArrayLike, target: ArrayLike) -> Array:
    """Return the parts of water to one part of stock: stock / target - 1. [parts]"""
    return 1.0 / stock_volume(stock, target, 1.0) - 1.0


def mixed(stock: ArrayLike, parts: ArrayLike, water: ArrayLike) -> Array:
    """Return the strength of so many parts of stock + so many parts of water. [unit of stock]"""
    of_stock = _above_nothing(parts, "Parts of stock")
    return np.asarray(
        _not_below(stock, "Stock of strength") * of_stock / (of_stock + _not_below(water, "Parts of water"))
    )


def grams_to_weigh(
    strength: ArrayLike, litres: ArrayLike, *, purity: ArrayLike = 1.0, acid_share: ArrayLike = 1.0
) -> Array:
    """Return how much powder or salt a volume needs.

    Parameters
    ----------
    strength : array_like
        Wanted, counted as the acid (or as the chlorine). [g L-1]
    litres : array_like
        Of the finished solution. [L]
    purity : array_like
        Share of the powder that is the agent. [0-1]
    acid_share : array_like
        Grams of acid in a gram of the agent, as `ACID_SHARE` gives it for a salt. [0-1]

    Returns
    -------
    ndarray, the broadcast shape
        NaN stays NaN. [g]

    Raises
    ------
    ValueError
        If strength or volume is not above 0, or a share lies outside 0 to 1: 98 % is 0.98.
    """
    good = share(purity, "Purity", above=True) * share(acid_share, "Share of acid", above=True)
    return np.asarray(_above_nothing(strength, "A strength of") * _above_nothing(litres, "Volume") / good)


def hypochlorous_share(ph: ArrayLike, water_c: ArrayLike = 20.0) -> Array:
    """Return the share of free chlorine that stands as hypochlorous acid, the quicker form, not as hypochlorite.

    Parameters
    ----------
    ph : array_like
        0 to 14; below about 4 chlorine gas forms, which this leaves out. [pH]
    water_c : array_like, broadcasts with ph
        0 to 35; measured from 5. [°C]

    Returns
    -------
    ndarray, the broadcast shape
        [0-1]

    Raises
    ------
    ValueError
        Outside 0 to 14 or 0 to 35 °C.

    Notes
    -----
    ``1 / (1 + 10^(pH - pKa))``, ``pKa = 3000 / T - 10.0686 + 0.0253 T``, for thin solutions. It explains; it is no
    reason to lower a pH: acid sets chlorine gas free.

    References
    ----------
    Morris 1966, J. Phys. Chem. 70:3798-3805, 5 to 35 °C. [memory; agrees within 0.05 with eq. A-55 of the US EPA's Water
    Treatment Plant model]
    """
    acidity = number(ph, "A pH of", 0.0, 14.0)
    celsius = number(
        water_c,
        "Water of",
        COLDEST_C,
        WARMEST_C,
        unit="°C",
        hint="The equation holds there only. Was °F meant?",
    )
    kelvin = celsius + 273.15
    pka = 3000.0 / kelvin - 10.0686 + 0.0253 * kelvin
    return np.asarray(1.0 / (1.0 + 10.0 ** (acidity - pka)))


def half_life(left: ArrayLike, time: ArrayLike) -> Array:
    """Return the half-life that leaves a share, above 0 and below 1, after a time: two readings give it. [unit of time]"""
    there = share(left, "Share left", above=True)
    if np.any(there == 1.0):
        raise ValueError("Nothing was lost in that time: no half-life can be told.")
    return np.asarray(_above_nothing(time, "Time") * np.log(2.0) / -np.log(there))


def share_left(time: ArrayLike, half: ArrayLike = CLEAN_HALF_LIFE_DAYS) -> Array:
    """Return the share of a clean solution left after a time.

    Parameters
    ----------
    time : array_like
        Since it was mixed, in the unit of `half`: days as it stands. [d]
    half : array_like
        Half-life. The default is that of thin, clean bleach in see-through or open vessels. [d]

    Returns
    -------
    ndarray, the broadcast shape
        First order, ``2^(-time / half)``. Sap, soil and bark spend chlorine far faster than this, at no known rate. [0-1]

    References
    ----------
    Rutala, Cole, Thomann & Weber 1998, Infect. Control Hosp. Epidemiol. 19:323-327: 40 to 50 % left at 30 days, 20 °C; in
    closed brown bottles 97 to 100 %. [published] First order is our choice.
    """
    return np.asarray(2.0 ** (-_not_below(time, "Time") / _above_nothing(half, "Half-life")))


def time_above(start: ArrayLike, least: ArrayLike, half: ArrayLike) -> Array:
    """Return how long a solution stays at or above the least that will do; 0 where it starts below. [unit of half]"""
    ratio = _above_nothing(start, "Strength at the start") / _above_nothing(least, "Least strength")
    return np.asarray(np.maximum(_above_nothing(half, "Half-life") * np.log2(ratio), 0.0))
