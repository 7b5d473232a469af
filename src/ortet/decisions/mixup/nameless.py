"""Whose is a bag, bundle or tray without a name: the lots that it may be, by count, thickness, kind and place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import erf, exp, log, pi, sqrt

from ortet.wood.speech import say

__all__ = ["Nameless", "Owner", "Whose", "whose"]

# How likely wood is to be where it was found, against wood that the book has there: our choice.
NEAR = {"here": 1.0, "was here": 0.2, "not found": 0.5, "elsewhere": 0.02}
EXACT = 0.7  # a count agrees with the book to the cutting so often [our choice]
MISCOUNT = 0.03  # else it is off by this share, or by two, whichever is more
PART = 0.05  # or the bundle is only a part of what the book has there
MISCALLED = 0.02  # the kind of wood is told wrong
THICKNESS = 0.15  # sd of ln of a lot's usual thickness over what is measured on a few of it
STRANGER = 0.02  # it is of no lot in the book: against one lot that lies here


@dataclass(frozen=True, slots=True)
class Nameless:
    """What was found without a name."""

    count: int
    species: str = ""  # nothing where it cannot be told
    base_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Owner:
    """A lot, or what of it is in one place, that it may be."""

    species: str
    base_mm: float
    count: int
    near: str  # a key of NEAR


@dataclass(frozen=True, slots=True)
class Whose:
    """How likely it is each, and how likely none of them."""

    chances: tuple[float, ...]  # of the owners, in their order
    none: float


def _of_count(found: int, booked: int) -> float:
    """Return the chance of counting so many where the book has so many."""
    spread = max(2.0, MISCOUNT * booked)
    off = 0.5 * (
        erf((found - booked + 0.5) / spread / sqrt(2)) - erf((found - booked - 0.5) / spread / sqrt(2))
    )
    part = 1.0 / booked if found <= booked else 0.0
    return EXACT * (found == booked) + (1.0 - EXACT - PART) * off + PART * part


def _of_thickness(measured: float | None, usual: float) -> float:
    if measured is None:
        return 1.0
    z = log(measured / usual) / THICKNESS
    return exp(-0.5 * z * z) / (THICKNESS * sqrt(2 * pi))


def whose(found: Nameless, owners: Sequence[Owner]) -> Whose:
    """Return how likely a nameless bundle is of each lot.

    Raises
    ------
    ValueError
        If nothing was counted, or the thickness is none.

    Notes
    -----
    Bayes' rule: how near the book has the lot, times the chance of the count, of the thickness and of the kind told. What is
    of no lot in the book has any count up to twice the largest here and any thickness from 2 to 30 mm.
    """
    if found.count < 1:
        raise ValueError(say("{count} cuttings: count what lies there; at least one does", count=found.count))
    if found.base_mm is not None and not 0.5 <= found.base_mm <= 100:
        raise ValueError(say("{base_mm:g} mm at the base is no cutting's thickness", base_mm=found.base_mm))
    weights = [
        NEAR[owner.near]
        * _of_count(found.count, owner.count)
        * _of_thickness(found.base_mm, owner.base_mm)
        * (1.0 if found.species in ("", owner.species) else MISCALLED)
        for owner in owners
    ]
    most = max([found.count, *(owner.count for owner in owners)])
    thickness = 1.0 if found.base_mm is None else 1.0 / log(30 / 2)
    stranger = STRANGER * thickness / (2 * most)
    total = sum(weights) + stranger
    return Whose(tuple(weight / total for weight in weights), stranger / total)
