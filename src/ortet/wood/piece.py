"""Pieces of a shoot: how the knife is led, and what one cut leaves in the hand."""

import math
from dataclasses import dataclass

from .cutting import Cutting
from .speech import say, to_say

__all__ = ["Knife", "Piece"]


@dataclass(frozen=True, slots=True)
class Knife:
    """How a shoot is cut.

    Parameters
    ----------
    kerf_mm
        Wood lost in a cut: nothing for a knife, a millimetre or two for a saw. [mm]
    below_mm
        From a piece's lowest node down to its base cut. [mm]
    above_mm
        From its top node up to its top cut. [mm]

    Notes
    -----
    Where an internode is too short for both, the cut divides it in their proportion.
    5 and 15 mm are common practice: just under a node, a thumb's breadth above one.
    """

    kerf_mm: float = 0.0
    below_mm: float = 5.0
    above_mm: float = 15.0

    def __post_init__(self) -> None:
        for what, mm in (
            (to_say("kerf"), self.kerf_mm),
            (to_say("below"), self.below_mm),
            (to_say("above"), self.above_mm),
        ):
            if not (0 <= mm <= 200):
                raise ValueError(say("{what} {mm:g} mm: give 0 to 200", what=say(what), mm=mm))


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece that a plan cuts, from one place of its shoot to another."""

    grade: str
    first_node: int  # counted from 1 at the base
    last_node: int
    from_mm: float
    to_mm: float
    base_mm: float  # diameters at its ends
    tip_mm: float
    has_tip: bool  # whether it ends in the shoot's own tip
    value: float

    def __post_init__(self) -> None:
        if not 1 <= self.first_node <= self.last_node:
            raise ValueError(
                say(
                    "nodes {first} to {last}: a piece has a node at least",
                    first=self.first_node,
                    last=self.last_node,
                )
            )
        if not 0 <= self.from_mm < self.to_mm < math.inf:
            raise ValueError(
                say("from {start:g} to {end:g} mm: a piece has a length", start=self.from_mm, end=self.to_mm)
            )

    @property
    def nodes(self) -> int:
        """How many nodes it has."""
        return self.last_node - self.first_node + 1

    @property
    def length_mm(self) -> float:
        """From cut to cut. [mm]"""
        return self.to_mm - self.from_mm

    def cutting(self) -> Cutting:
        """Return it as a cutting by itself; where a node swells at its upper end, as thick there as at its base."""
        return Cutting(self.length_mm, self.base_mm, min(self.base_mm, self.tip_mm), self.nodes)
