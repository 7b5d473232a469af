"""What a scale and an eye found in the demo's bags, from a truth that the forecast is not told.

Each bag is carried hour by hour with the same physics as the forecast, but with a leak, a bark and a weight of its own,
drawn once. What is read of it carries the error of a kitchen scale and of a quick look.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from ortet.evidence.water import scale_error
from ortet.science import bag as science
from ortet.science import film
from ortet.science.air import saturation_vapour_pressure
from ortet.science.species import species
from ortet.science.thermal_time import share_done, thermal_progress

from .climate import BARN, CELLAR, NOW, Record, hour_of, local, vapour_pa
from .wood import BAGS, LOTS, BagMade, LotTaken

__all__ = ["GONE", "MOVED", "WIPED", "Look", "Weight", "readings"]

ROUNDS = {  # days on which bags were weighed, in the morning
    "often": (
        "2026-11-14",
        "2026-11-28",
        "2026-12-12",
        "2026-12-22",
        "2027-01-09",
        "2027-01-23",
        "2027-02-06",
    ),
    "monthly": ("2026-12-12", "2027-01-09", "2027-02-06"),
    "once": (),
}
LOOKS = {"b": "2026-11-28", "c": "2026-12-12", "d": "2026-12-19", "e": "2027-01-23", "f": "2027-02-06"}

# Wood that left a bag: bag, when, lot, cuttings. The tale books it; here it leaves the scale.
GONE = (
    ("A1", "2026-12-19 11:10", "26-001", 2),
    ("A2", "2027-01-23 11:05", "26-003", 3),
    ("B5", "2027-01-23 11:20", "26-013", 3),
    ("C3", "2027-01-23 11:40", "26-017", 1),
    ("D1", "2027-01-23 12:10", "26-027", 10),
    ("A5", "2027-02-06 11:15", "26-022", 1),
    ("B3", "2027-02-06 11:25", "26-010", 2),
)
MOVED = (("A4", "2027-01-03 17:20", BARN), ("B7", "2027-01-03 17:25", BARN))  # bags that changed fridges
WIPED = (("B6", "2027-01-23 11:55"),)
MOULD = {("B6", "e"): 2, ("A1", "d"): 2, ("B3", "f"): 2}  # bag and round: mouldy cuttings of its first lot
DRY = {("A2", "e"): 3}
CALLUS_STEPS = (0.05, 0.3, 0.6, 0.9)  # share callused at which the score goes up
LOT = {lot.mark: lot for lot in LOTS}


@dataclass(frozen=True, slots=True)
class Weight:
    """A bag on the scale."""

    bag: str
    at: datetime
    gross_g: float


@dataclass(frozen=True, slots=True)
class Look:
    """What was seen of a lot in a bag."""

    bag: str
    lot: str
    at: datetime
    sound: int
    mouldy: int
    dry: int
    scratch_green: int
    scratch_of: int
    callus: int
    free_water: str


def _held(bag: BagMade, at: float) -> dict[str, int]:
    """Return how many of each lot lie in a bag at an hour."""
    held = dict(bag.contents)
    for name, when, lot, count in GONE:
        if name == bag.name and local(when).timestamp() / 3600 <= at:
            held[lot] -= count
    return held


def _share_left(bag: BagMade, at: float) -> float:
    grams = {lot: LOT[lot].cutting.mass_g() for lot, _ in bag.contents}
    held = _held(bag, at)
    return sum(held[lot] * grams[lot] for lot in held) / sum(
        count * grams[lot] for lot, count in bag.contents
    )


class _Truth:
    """All bags side by side, as they really were."""

    def __init__(self, rng: np.random.Generator, stores: dict[str, Record]):
        self.first = min(int(bag.closed.timestamp() // 3600) for bag in BAGS)
        self.hours = int(NOW.timestamp() // 3600) - self.first
        air, outside = {}, {}
        for name, record in stores.items():
            warm, humid = record.hourly()
            start = self.first - record.first_s // 3600
            air[name] = warm[start : start + self.hours]
            outside[name] = vapour_pa(warm, humid)[start : start + self.hours]
        self.air = self._by_bag(air)
        self.outside = self._by_bag(outside)
        self.closed = np.array([bag.closed.timestamp() / 3600 for bag in BAGS])
        count = len(BAGS)
        drawn = np.exp(rng.standard_normal((3, count)) * np.array([[0.25], [0.2], [0.35]]))
        bark = [sum(LOT[lot].cutting.bark_m2 * n for lot, n in bag.contents) for bag in BAGS]
        kind = [species(LOT[bag.contents[0][0]].species).value("bark_conductance") for bag in BAGS]
        self.bark = science.bark_conductance(kind, bark) * drawn[0]
        self.packing = science.bark_conductance(
            [film.PACKINGS[bag.packing].conductance for bag in BAGS], bark
        )
        self.film_m2 = np.array([2 * bag.width_mm * bag.height_mm / 1e6 for bag in BAGS])
        self.film_drawn = drawn[1] * self.film_m2 / 24.0
        self.closure = np.array([film.closure_leak(bag.closure)[0] * bag.leak for bag in BAGS]) * drawn[2]
        reckoned = [sum(LOT[lot].cutting.mass_g() * n for lot, n in bag.contents) for bag in BAGS]
        self.wood = np.array(reckoned) * (1 + 0.04 * rng.standard_normal(count))
        self._run()

    def _by_bag(self, of: dict[str, np.ndarray]) -> np.ndarray:
        """Return a store's record for each bag, across its move. (hours, bags)"""
        columns = np.stack([of[bag.store] for bag in BAGS], axis=1)
        for name, when, store in MOVED:
            column = [bag.name for bag in BAGS].index(name)
            row = hour_of(when) - self.first
            columns[row:, column] = of[store][row:]
        return columns

    def _run(self) -> None:
        count = len(BAGS)
        wood_c = science.wood_temperature(self.air)
        over_wood = saturation_vapour_pressure(wood_c)
        at_film = saturation_vapour_pressure(self.air)
        leak = self.closure + self.film_drawn * np.stack(
            [
                film.film_permeance(bag.polymer, bag.thickness_um, bag.layers, self.air[:, column])
                for column, bag in enumerate(BAGS)
            ],
            axis=1,
        )
        from_wood = science.flows(self.bark, leak, science.ACTIVITY * over_wood, at_film, self.outside)
        from_packing = science.flows(self.packing, leak, over_wood, at_film, self.outside)
        held = np.array([0.0 if bag.packing == "none" else bag.packing_water_g for bag in BAGS])
        free = np.array([bag.free_g for bag in BAGS])
        zero = np.zeros(count)
        water = science.Water(zero, free, held, zero, zero)
        self.change = np.zeros((self.hours + 1, count))  # weight gained since closing [g]
        self.free, self.lost = np.zeros((2, self.hours + 1, count))
        events = self._events()
        for row in range(self.hours):
            for column, share in events[row]:  # a share left in the bag; none: wiped
                if share is None:
                    self.wiped[column] += water.free[column]
                    water.free[column] = 0.0
                else:
                    water.lost[column] *= share
            open_for = np.clip(self.first + row + 1 - self.closed, 0.0, 1.0)
            wood, packing = (
                science.Flows(each.dry[row], each.wet[row], each.onto[row])
                for each in (from_wood, from_packing)
            )
            water = science.advance(water, wood, packing, open_for)
            self.free[row + 1], self.lost[row + 1] = water.free, water.lost
            self.change[row + 1] = water.free - free + water.held - held - water.lost - self.wiped
        self.wood_c = wood_c

    def _events(self) -> dict[int, list[tuple[int, float | None]]]:
        events: dict[int, list[tuple[int, float | None]]] = defaultdict(list)
        self.wiped = np.zeros(len(BAGS))
        place = {bag.name: column for column, bag in enumerate(BAGS)}
        for name, when, *_ in GONE:
            row = hour_of(when) - self.first
            column, at = place[name], float(hour_of(when) + 1)
            events[row].append((column, _share_left(BAGS[column], at) / _share_left(BAGS[column], at - 2)))
        for name, when in WIPED:
            events[hour_of(when) - self.first].append((place[name], None))
        return events

    def gross_g(self, column: int, at: datetime) -> float:
        """Return what the bag would weigh on a perfect scale. [g]"""
        hour = at.timestamp() / 3600
        wood = self.wood[column] * _share_left(BAGS[column], hour) + BAGS[column].free_g
        return float(BAGS[column].tare_g + wood + self.change[round(hour - self.first), column])

    def callused(self, lot: LotTaken, column: int, at: datetime) -> float:
        """Return the share of a lot's cuttings that have callused in the bag."""
        kind = species(lot.species)
        rows = slice(round(self.closed[column] - self.first), round(at.timestamp() / 3600 - self.first))
        progress = thermal_progress(
            self.wood_c[rows, column],
            t_min=kind.value("callus_t_min"),
            t_opt=kind.value("callus_t_opt"),
            t_max=kind.value("callus_t_max"),
            days_at_optimum=kind.value("callus_days"),
        )
        return float(share_done(progress, kind.value("callus_spread")))


def _weights(truth: _Truth, rng: np.random.Generator) -> list[Weight]:
    weights = []
    for column, bag in enumerate(BAGS):
        if bag.weighed == "never":
            continue
        times = [bag.closed] + [local(f"{day} 09:{10 + column}") for day in ROUNDS[bag.weighed]]
        for at in (at for at in times if bag.closed <= at):
            true = truth.gross_g(column, at)
            read = true + rng.standard_normal() * float(scale_error(true))
            weights.append(Weight(bag.name, at, round(2 * read) / 2))
    return sorted(weights, key=lambda weight: weight.at)


def _water_seen(grams: float, film_m2: float) -> str:
    if grams < 1.5 * film_m2:
        return "none"
    return "droplets" if grams < 10.0 * film_m2 else "pooled"


def _looks(truth: _Truth, rng: np.random.Generator) -> list[Look]:
    looks = []
    for column, bag in enumerate(BAGS):
        for letter in bag.looked:
            at = local(f"{LOOKS[letter]} 10:{10 + column}")
            row = round(at.timestamp() / 3600 - truth.first)
            lost = truth.lost[row, column] / (truth.wood[column] * _share_left(bag, at.timestamp() / 3600))
            seen = _water_seen(float(truth.free[row, column]), float(truth.film_m2[column]))
            for number, (mark, count) in enumerate(_held(bag, at.timestamp() / 3600).items()):
                scratched = 5 if number == 0 else 3
                chance = 1 / (1 + np.exp(60 * (lost - 0.13)))
                mouldy = MOULD.get((bag.name, letter), 0) if number == 0 else 0
                dry = DRY.get((bag.name, letter), 0) if number == 0 else 0
                score = sum(truth.callused(LOT[mark], column, at) >= step for step in CALLUS_STEPS)
                looks.append(
                    Look(
                        bag.name,
                        mark,
                        at,
                        count - mouldy - dry,
                        mouldy,
                        dry,
                        int(rng.binomial(scratched, chance)),
                        scratched,
                        score,
                        seen,
                    )
                )
    return sorted(looks, key=lambda look: (look.at, look.lot))


def readings(seed: int, cellar: Record, barn: Record) -> tuple[list[Weight], list[Look]]:
    """Return all weighings and inspections of the season, the same for the same seed."""
    rng = np.random.default_rng([seed, 4])
    truth = _Truth(rng, {CELLAR: cellar, BARN: barn})
    return _weights(truth, rng), _looks(truth, rng)
