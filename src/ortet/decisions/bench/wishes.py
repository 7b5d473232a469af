"""What a plan for the benches is made from: batches to strike, benches to strike them on, and choices made by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import ceil, inf, isfinite
from types import MappingProxyType

from ortet.science.race import Pace
from ortet.science.species import species
from ortet.wood.speech import say

__all__ = ["Batch", "Bench", "Choice", "Season", "say_base"]

# heat given off by a warm level surface to still air and walls, well lagged below [common practice: 8 to 12]
WATTS_PER_M2_K = 10.0


def say_base(base_c: float | None) -> str:
    """Write a set-point."""
    return say("without heat") if base_c is None else say("at {base_c:g} °C", base_c=base_c)


def _by_week(course: tuple[float, ...], week: int) -> float:
    """Return the value of a week; the last stands for all that follow, the first for all before."""
    return course[min(max(week, 0), len(course) - 1)]


@dataclass(frozen=True, slots=True)
class Batch:
    """Cuttings to be struck together. Chill and heat are what the wood brings along at the start of each week."""

    key: str  # its own, once in a season; the reasons name it
    variety: str
    species: str  # a key of science.species
    count: int
    ready: date  # from this day on enough of it is callused
    chill: tuple[float, ...] = (60.0,)  # by week of the plan, the last for all that follow [portions]
    heat: tuple[float, ...] = (0.0,)  # likewise [°C h]
    use_by: date | None = None  # last day the wood is good for striking; None: beyond the plan
    wanted: date | None = None  # plants are to be ready; None: the season's sale day, if it has one
    grow_days: int = 0  # of growing on, from roots to a plant that can go
    worth: float = 1.0  # of one plant, in the money of the energy
    strike: float = 0.7  # share that roots when nothing goes wrong
    cells: float = 1.0  # of the bench, for one cutting
    tray: int = 0  # cuttings in a tray, if it may be split in whole trays; 0: it stays together
    pace: Pace | None = None  # the grower's own figures; None: the species'

    def __post_init__(self) -> None:
        if self.count < 1 or not self.tray >= 0:
            raise ValueError(f"{self.key}: {self.count} cuttings, trays of {self.tray}. Enter 1 or more.")
        if not self.chill or not self.heat or min(*self.chill, *self.heat, 0.0) < 0:
            raise ValueError(f"{self.key}: chill and heat must be known and not below 0.")
        if not (0.0 < self.strike <= 1.0 and self.cells > 0 and isfinite(self.worth) and self.worth > 0):
            raise ValueError(
                f"{self.key}: strike {self.strike:g}, cells {self.cells:g}, worth {self.worth:g}. Enter a strike "
                "above 0 and up to 1, cells and worth above 0."
            )
        if self.grow_days < 0:
            raise ValueError(f"{self.key}: {self.grow_days} days of growing on. Enter 0 or more.")

    @property
    def speed(self) -> Pace:
        """Its pace: the grower's own figures, or the species'."""
        return self.pace or Pace.of(species(self.species))

    @property
    def parts(self) -> int:
        """Whole trays it can be split in; 1 where it stays together."""
        return ceil(self.count / self.tray) if self.tray else 1

    @property
    def part(self) -> int:
        """Cuttings in one part; the last part may hold fewer."""
        return min(self.tray or self.count, self.count)

    @property
    def part_cells(self) -> float:
        """Cells that one part takes."""
        return self.part * self.cells

    def brings(self, week: int) -> tuple[float, float]:
        """Return chill and heat at the start of a week."""
        return _by_week(self.chill, week), _by_week(self.heat, week)


@dataclass(frozen=True, slots=True)
class Bench:
    """Cells under one mat, which has one set-point at a time; a bench with two mats is two of these."""

    key: str
    cells: int
    air_c: tuple[float, ...]  # mean air at the buds by week of the plan, the last for all that follow [°C]
    name: str = ""
    set_points: tuple[float, ...] = ()  # base temperatures the mat can be set to; none: no mat [°C]
    lift_c: float = inf  # the most the mat can warm above the air [K]
    m2: float = 1.0  # heated
    watts_per_m2_k: float = WATTS_PER_M2_K
    closed: frozenset[int] = frozenset()  # weeks of the plan in which it cannot be used; 0 is the first

    def __post_init__(self) -> None:
        if self.cells < 1 or not self.air_c:
            raise ValueError(
                f"{self.title}: {self.cells} cells, {len(self.air_c)} weeks of air. Enter 1 or more."
            )
        if not (self.lift_c > 0 and self.m2 > 0 and self.watts_per_m2_k >= 0):
            raise ValueError(f"{self.title}: the mat's lift and area must be above 0, its loss not below.")

    @property
    def title(self) -> str:
        """What it is called."""
        return self.name or self.key

    @property
    def levels(self) -> tuple[float | None, ...]:
        """Set-points to choose from; one, None, where there is no mat."""
        return self.set_points or (None,)

    def air(self, week: int) -> float:
        """Return the mean air of a week. [°C]"""
        return _by_week(self.air_c, week)

    def base(self, base_c: float | None, week: int) -> float:
        """Return the base in a week: a mat cannot cool, and lifts no more than it can. [°C]"""
        air = self.air(week)
        return air if base_c is None else min(max(base_c, air), air + self.lift_c)

    def kwh(self, base_c: float | None, week: int) -> float:
        """Return what the mat uses in a week. [kWh]"""
        return self.watts_per_m2_k * self.m2 * (self.base(base_c, week) - self.air(week)) * 0.168


@dataclass(frozen=True, slots=True)
class Choice:
    """A choice made by hand: a batch, or so many of its cuttings, on a bench at a set-point from a week on."""

    batch: str
    bench: str
    base_c: float | None
    week: int  # 0 is the plan's first week
    count: int | None = None  # cuttings; None: all of them

    def __str__(self) -> str:
        return say(
            "{batch} on {bench} {base} in week {week}",
            batch=self.batch,
            bench=self.bench,
            base=say_base(self.base_c),
            week=self.week + 1,
        )


@dataclass(frozen=True)
class Season:
    """All that a plan for the benches is made from."""

    batches: tuple[Batch, ...]
    benches: tuple[Bench, ...]
    first: date  # the first day of the plan
    weeks: int  # in which batches may be struck
    sale: date | None = (
        None  # last frost or sale day: plants of batches with no day of their own are wanted by then
    )
    fixed: tuple[Choice, ...] = ()
    price_kwh: float = 0.30
    most_risk: float = 0.30  # a batch is not struck where more than this share would leaf out too early
    clear: float = 0.9  # share of those that can root, at which a batch leaves the bench
    sure: float = 0.9  # how sure a day is to be met before it counts as met
    late_share: float = 0.1  # of a plant's worth, lost for each week it is late, at most all of it
    early_cost: float = 0.0  # of keeping a plant for a week that is ready before it is wanted
    batch: Mapping[str, Batch] = field(init=False, repr=False, compare=False)
    bench: Mapping[str, Bench] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.weeks < 1:
            raise ValueError(f"A plan of {self.weeks} weeks. Enter 1 or more.")
        if not (0.0 < self.clear < 1.0 and 0.0 < self.sure < 1.0 and 0.0 <= self.most_risk <= 1.0):
            raise ValueError("The shares cleared and sure must lie between 0 and 1, the risk from 0 to 1.")
        if min(self.price_kwh, self.late_share, self.early_cost) < 0:
            raise ValueError("Prices and costs cannot be below 0.")
        for name, ones in (("batch", self.batches), ("bench", self.benches)):
            by_key = {one.key: one for one in ones}
            if len(by_key) < len(ones):
                twice = sorted({one.key for one in ones if sum(o.key == one.key for o in ones) > 1})
                raise ValueError(f"{', '.join(twice)}: named twice. Give each {name} a key of its own.")
            object.__setattr__(self, name, MappingProxyType(by_key))

    def monday(self, week: int) -> date:
        """Return the first day of a week of the plan."""
        return self.first + timedelta(days=7 * week)

    def week_of(self, day: date) -> int:
        """Return the week a day lies in; 0 is the first."""
        return (day - self.first).days // 7

    def wanted(self, batch: Batch) -> date | None:
        """Return the day by which a batch's plants are to be ready."""
        return batch.wanted or self.sale

    def opens(self, batch: Batch, week: int) -> bool:
        """Tell whether a batch is ready, and still good, on a week's first day."""
        day = self.monday(week)
        return batch.ready <= day and (batch.use_by is None or day <= batch.use_by)
