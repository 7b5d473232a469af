"""An invented season of any size, for benchmarks and tests: bags in two fridges, a frosty site, what goes wrong in life."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ortet.wood.cutting import Cutting
from ortet.wood.holding import Bag, Climate, Content, Holding, Inspection, Stay, Weighing, Wrap

__all__ = ["NOW", "Made", "make"]

NOW = 492_300.0  # late February 2026 [h since 1970]
SPECIES = ("grape", "quince", "blackcurrant", "mulberry", "pomegranate", "elder", "gooseberry")


@dataclass(frozen=True)
class Made:
    """What a forecast is made from."""

    holdings: list[Holding]
    bags: list[Bag]
    climates: dict[str, Climate]


def make(bags: int, *, days: int = 104, weighed: bool = True, seed: int = 1) -> Made:
    """Return a season of so many bags with one lot each."""
    rng = np.random.default_rng(seed)
    hours = days * 24
    first = int(NOW) - hours
    climates = {}
    for place, mean in (("Cellar fridge", 2.5), ("Barn fridge", 3.5)):
        air = mean + 0.4 * np.sin(np.arange(hours) / 24 * 2 * np.pi) + rng.normal(0, 0.25, hours)
        air[hours // 2 : hours // 2 + 6] += 5.0  # the door stood ajar
        air[hours // 3 : hours // 3 + 14] = np.nan  # a flat battery
        climates[place] = Climate(place, first, air, np.clip(rng.normal(0.8, 0.05, hours), 0, 1))
    since = first - 90 * 24
    at = np.arange(int(NOW) - since)
    site = 8 - at / 24 * 0.05 + 5 * np.sin(at / 24 * 2 * np.pi) + rng.normal(0, 2, at.size)
    climates["Orchard"] = Climate("Orchard", since, site, np.full(at.size, np.nan))
    holdings, made = [], []
    for n in range(bags):
        base = float(rng.uniform(6, 12))
        cutting = Cutting(200.0, base, base - 1.5, 5)
        count = int(rng.integers(10, 60))
        closed = first + int(rng.integers(0, hours // 3))
        store = ("Cellar fridge", "Barn fridge")[n % 2]
        wood = count * cutting.mass_g(1000.0)
        weighings = ()
        if weighed and n % 3:
            a_day = wood * rng.lognormal(-7.5, 0.5)
            weighings = tuple(
                Weighing(closed + d * 24.0, wood + 20 - a_day * d + rng.normal(0, 0.5))
                for d in (0, 15, 30, 45)
            )
        looks = (Inspection(closed + 500.0, f"L{n}", sound=count, free_water="none"),) if n % 4 == 0 else ()
        wrap = Wrap(
            "LDPE", (25.0, 50.0, 65.0)[n % 3], 1 + n % 2, 0.24, ("fold", "zip", "knot")[n % 3], "none"
        )
        made.append(
            Bag(
                f"B{n}",
                f"Bag {n}",
                wrap,
                float(closed),
                (Stay(store, float(closed)),),
                (Content(float(closed), wood, count * cutting.bark_m2),),
                20.0,
                tuple(look.at for look in looks),
                (),
                weighings,
                looks,
            )
        )
        holdings.append(
            Holding(
                f"L{n}", "Anon", SPECIES[n % 7], f"Bag {n}", count, "rooting", "A", cutting, closed - 3.0,
                "Orchard", f"B{n}", float(closed),
            )
        )  # fmt: skip
    return Made(holdings, made, climates)
