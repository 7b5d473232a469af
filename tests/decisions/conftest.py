"""A store to keep bags in: plain values, one line a bag."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from ortet.decisions.forecast import Forecasts, forecast
from ortet.decisions.today import Task, tasks
from ortet.wood.cutting import Cutting
from ortet.wood.holding import Bag, Climate, Content, Holding, Inspection, Stay, Weighing, Wrap

NOW = 492_300.0  # 28 February 2026, 12:00 UTC [h since 1970]
CUTTING = Cutting(200.0, 8.0, 8.0, 5)  # 10.05 g


@dataclass
class Store:
    """What a forecast is made from, built up bag by bag."""

    now: float = NOW
    holdings: list[Holding] = field(default_factory=list)
    bags: list[Bag] = field(default_factory=list)
    climates: dict[str, Climate] = field(default_factory=dict)

    def climate(self, place: str, air_c, humidity=0.8, *, ends_before_h: int = 0) -> None:
        """Record a place up to some hours before now."""
        air = np.asarray(air_c, dtype=float)
        first = int(self.now) - ends_before_h - len(air)
        self.climates[place] = Climate(place, first, air, np.full(len(air), humidity))

    def bag(
        self,
        name: str,
        *,
        count: int = 40,
        species: str = "blackcurrant",
        days: float = 60.0,
        film: tuple[str, float, int] = ("LDPE", 50.0, 1),
        closure: str = "knot",
        packing: tuple[str, float] = ("none", 0.0),
        stays: tuple[tuple[str, float], ...] = (("Fridge", 1e4),),
        weighed: tuple[tuple[float, float], ...] = (),
        looks: tuple[Inspection, ...] = (),
        opened: tuple[float, ...] = (),
        wiped: tuple[float, ...] = (),
        site: str | None = None,
        lots: int = 1,
        code: str | None = None,
        mark: str = "",
    ) -> float:
        """Close a bag so many days ago; times are days ago. Return what its wood weighed. [g]"""
        at = self.now - days * 24.0
        wood = lots * count * CUTTING.mass_g(1000.0)
        self.bags.append(
            Bag(
                name,
                name,
                Wrap(*film, 0.24, closure, *packing),
                at,
                tuple(Stay(place, self.now - ago * 24.0) for place, ago in stays),
                (Content(at, wood, lots * count * CUTTING.bark_m2),),
                30.0,
                tuple(self.now - ago * 24.0 for ago in opened),
                tuple(self.now - ago * 24.0 for ago in wiped),
                tuple(Weighing(self.now - ago * 24.0, grams) for ago, grams in weighed),
                looks,
            )
        )
        for number in range(lots):
            lot = code or (f"{name}-{number}" if lots > 1 else f"lot {name}")
            self.holdings.append(
                Holding(
                    lot, "Anon", species, name, count, "rooting", "A", CUTTING, at - 2.0, site, name, at, mark
                )
            )
        return wood

    def bare(self, place: str, *, count: int = 20, species: str = "blackcurrant", days: float = 5.0) -> None:
        """Lay wood bare in a place."""
        at = self.now - days * 24.0
        lot = f"bare {len(self.holdings)}"
        self.holdings.append(
            Holding(lot, "Anon", species, place, count, "rooting", "A", CUTTING, at, None, None, at)
        )

    def forecast(self, **asked) -> Forecasts:
        """Carry it all forward."""
        return forecast(self.holdings, self.bags, self.climates, now=self.now, **asked)

    def today(self, **asked) -> list[Task]:
        """Say what to do."""
        return tasks(self.forecast(), self.holdings, self.bags, now=self.now, **asked)


@pytest.fixture
def store() -> Store:
    """A store with a fridge at a steady 2 °C and 50 % recorded for 120 days."""
    new = Store()
    new.climate("Fridge", np.full(120 * 24, 2.0), 0.5)
    return new
