"""A shoot as a value: nodes at their places along it, and how thick it is there."""

import math
from bisect import bisect_right
from dataclasses import dataclass, field
from struct import pack

from .speech import say

__all__ = ["Shoot"]

MOST_NODES = 500  # more is a slip of the finger


@dataclass(frozen=True, slots=True)
class Shoot:
    """One season's growth as it came off the mother plant, before it is cut up.

    Parameters
    ----------
    nodes_mm
        Places of the nodes, from the cut at the base, rising. [mm]
    diameters_mm
        Diameters over the bark at the nodes; between them it runs in straight lines. [mm]
    length_mm
        From the cut at the base to the end. [mm]
    base_mm, tip_mm
        Diameters at the cut and at the end. [mm]
    has_tip
        Whether the end is the shoot's own tip, rather than a cut.
    name, variety
        What the grower calls it.
    """

    nodes_mm: tuple[float, ...]
    diameters_mm: tuple[float, ...]
    length_mm: float
    base_mm: float
    tip_mm: float
    has_tip: bool = True
    name: str = ""
    variety: str = ""
    # length, base, tip and whether it has its tip, all nodes, all diameters, as 64-bit floats: thousands of shoots are laid
    # side by side faster so
    packed: bytes = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not (self.length_mm > 0 and math.isfinite(self.length_mm)):
            raise ValueError(say("length {length:g} mm: a shoot has a length", length=self.length_mm))
        if not self.base_mm >= self.tip_mm > 0 or not math.isfinite(self.base_mm):
            raise ValueError(
                say(
                    "base {base:g} mm, tip {tip:g} mm: the base is the thick end",
                    base=self.base_mm,
                    tip=self.tip_mm,
                )
            )
        if not 1 <= len(self.nodes_mm) <= MOST_NODES:
            raise ValueError(
                say("{nodes} nodes: a shoot has 1 to {most}", nodes=len(self.nodes_mm), most=MOST_NODES)
            )
        if len(self.diameters_mm) != len(self.nodes_mm):
            raise ValueError(
                say(
                    "{nodes} nodes and {diameters} diameters: give one each",
                    nodes=len(self.nodes_mm),
                    diameters=len(self.diameters_mm),
                )
            )
        before = -1.0
        for place, thick in zip(self.nodes_mm, self.diameters_mm, strict=True):
            if not (before < place <= self.length_mm and place >= 0):
                raise ValueError(
                    say(
                        "a node at {place:g} mm: nodes rise from 0 to the length, {length:g} mm",
                        place=place,
                        length=self.length_mm,
                    )
                )
            if not (thick > 0 and math.isfinite(thick)):
                raise ValueError(
                    say(
                        "{thick:g} mm thick at {place:g} mm: a shoot has a thickness",
                        thick=thick,
                        place=place,
                    )
                )
            before = place
        numbers = self.length_mm, self.base_mm, self.tip_mm, self.has_tip, *self.nodes_mm, *self.diameters_mm
        object.__setattr__(self, "packed", pack(f"{len(numbers)}d", *numbers))

    @classmethod
    def even(
        cls,
        length_mm: float,
        base_mm: float,
        tip_mm: float,
        nodes: int,
        *,
        has_tip: bool = True,
        name: str = "",
        variety: str = "",
    ) -> "Shoot":
        """Return a shoot of even internodes and even taper, half an internode below the first node and above the last."""
        if nodes < 1:
            raise ValueError(say("{nodes} nodes: a shoot has 1 to {most}", nodes=nodes, most=MOST_NODES))
        places = tuple((k + 0.5) * length_mm / nodes for k in range(nodes))
        thick = tuple(base_mm + (tip_mm - base_mm) * (k + 0.5) / nodes for k in range(nodes))
        return cls(places, thick, length_mm, base_mm, tip_mm, has_tip, name, variety)

    def diameter_at(self, place_mm: float) -> float:
        """Return how thick it is at a place. [mm]"""
        at = bisect_right(self.nodes_mm, place_mm)
        left, thick_left = (self.nodes_mm[at - 1], self.diameters_mm[at - 1]) if at else (0.0, self.base_mm)
        right, thick_right = (
            (self.nodes_mm[at], self.diameters_mm[at])
            if at < len(self.nodes_mm)
            else (self.length_mm, self.tip_mm)
        )
        if right <= left:
            return thick_left
        share = min(max((place_mm - left) / (right - left), 0.0), 1.0)
        return thick_left + share * (thick_right - thick_left)
