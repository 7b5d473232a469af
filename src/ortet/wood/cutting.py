"""A cutting as a value: its measures, and what follows from them."""

import math
from dataclasses import dataclass

from .speech import say

__all__ = ["Cutting"]


@dataclass(frozen=True, slots=True)
class Cutting:
    """A piece of a shoot as it left the knife, taken for the frustum of a cone.

    Parameters
    ----------
    length_mm
        From cut to cut. [mm]
    base_mm, tip_mm
        Diameters over the bark at the thick and the thin end. [mm]
    nodes
        Buds or pairs of buds.
    """

    length_mm: float
    base_mm: float
    tip_mm: float
    nodes: int

    def __post_init__(self) -> None:
        if not self.base_mm >= self.tip_mm > 0:
            raise ValueError(
                say(
                    "base {base:g} mm, tip {tip:g} mm: the base is the thick end",
                    base=self.base_mm,
                    tip=self.tip_mm,
                )
            )
        if not self.length_mm > 0:
            raise ValueError(say("length {length:g} mm: a cutting has a length", length=self.length_mm))
        if self.nodes < 0:
            raise ValueError(say("{nodes} nodes: a cutting has none or more", nodes=self.nodes))

    @property
    def bark_m2(self) -> float:
        """Area of the bark, along the slope of the cone. [m2]"""
        slope_mm = math.hypot(self.length_mm, (self.base_mm - self.tip_mm) / 2)
        return math.pi * (self.base_mm + self.tip_mm) / 2 * slope_mm / 1e6

    @property
    def volume_m3(self) -> float:
        """Volume of wood and bark. [m3]"""
        squares = self.base_mm**2 + self.base_mm * self.tip_mm + self.tip_mm**2
        return math.pi / 12 * squares * self.length_mm / 1e9

    def mass_g(self, density: float = 1000.0) -> float:
        """Return the fresh mass of wood of this density [kg/m3]. [g]"""
        return self.volume_m3 * density * 1000
