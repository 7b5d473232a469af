"""What is told of one lot in one place: its state, its limits, the days it crosses them, and what that rests on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ortet.evidence.pace import Told
from ortet.wood.code import is_code, show

__all__ = [
    "QUANTITIES",
    "Band",
    "Crossing",
    "Curve",
    "Limit",
    "LotForecast",
    "hours_or_days",
    "percent",
    "when",
]

Array = NDArray[np.float64]

LONG_H = 72.0  # longer times are written in days
UNCERTAIN = "too uncertain to tell: between now and never"

# quantity: (what a page calls it, its unit, whether its limit is bad news)
QUANTITIES: Mapping[str, tuple[str, str, bool]] = {
    "water_lost": ("water lost", "share of fresh mass", True),
    "free_wet_hours": ("hours of free water", "h since the last dry spell", True),
    "oxygen": ("oxygen in the bag", "share of the bag's air", True),
    "reserve_left": ("reserve left", "share of what was there", True),
    "chill_portions": ("chill", "portions", False),
    "callus": ("callus", "share of cuttings callused", False),
    "roots": ("roots", "share of cuttings rooted", False),
}


@dataclass(frozen=True, slots=True)
class Band:
    """A value and the band that holds it nine times in ten."""

    low: float
    median: float
    high: float


@dataclass(frozen=True, slots=True)
class Limit:
    """A value at which something happens to the wood."""

    value: float
    why: str  # what it rests on
    mark: str  # published, memory, common practice


@dataclass(frozen=True, slots=True)
class Crossing:
    """When a limit is crossed [h since 1970]: nine times in ten between early and late; None: not in sight.

    An hour before now says that it has been crossed.
    """

    early: float | None
    median: float | None
    late: float | None

    def chance_by(self, hour: float) -> float:
        """Return the chance that it is crossed by an hour: straight lines through 5, 50 and 95 in 100."""
        early, median, late = (np.inf if at is None else at for at in (self.early, self.median, self.late))
        if hour < early:
            return 0.0
        if hour < median:
            return 0.05 if median == np.inf else 0.05 + 0.45 * (hour - early) / max(median - early, 1e-9)
        if hour < late:
            return 0.5 if late == np.inf else 0.5 + 0.45 * (hour - median) / max(late - median, 1e-9)
        return 1.0


@dataclass(frozen=True, slots=True)
class Curve:
    """One quantity of one lot, day by day, past and future."""

    what: str
    title: str
    unit: str
    at: Array  # (n,) [h since 1970]
    low: Array  # (n,)
    median: Array
    high: Array
    now: float  # [h since 1970]
    limit: Limit
    crossing: Crossing


@dataclass(frozen=True, slots=True)
class LotForecast:
    """One lot in one place, as far as can be told now."""

    lot: str
    variety: str
    species: str
    place: str  # the bag's name, or the place where the wood lies bare
    bag: str | None  # code of the bag
    store: str  # the place whose climate it meets
    count: int
    now: float  # [h since 1970]
    state: Mapping[str, Band]  # by quantity, as in QUANTITIES
    limits: Mapping[str, Limit]
    crossings: Mapping[str, Crossing]
    free_g: Band  # free water in the bag [g]
    loss_a_week: Band  # water, share of fresh mass a week, while the store goes on [1/week]
    leak: Band  # of bag and bark, as a factor of the usual [-]
    keep_until: float  # the usual weeks in a cold store end [h since 1970]
    keep_why: str
    wet_since: float | None  # free water has lain there since about this hour [h since 1970]
    swing_c: float  # between the warmest and the coldest hour of the last seven days [K]
    weighed: int  # how often
    filled_hours: int  # hours of its record that were missing and filled
    rests_on: tuple[str, ...]  # plain sentences
    mark: str = ""  # the grower's own name for the lot
    packing_g: float = 0.0  # water in packing that nobody has found or left barely moist [g]
    learnt: Mapping[str, Told] = field(
        default_factory=dict
    )  # pace of callus and of roots, where looks taught it

    @property
    def name(self) -> str:
        """The grower's own mark, and the code as it stands on the label."""
        code = show(self.lot) if is_code(self.lot) else self.lot
        return f"{self.mark} ({code})" if self.mark else code

    @property
    def short_name(self) -> str:
        """The mark, or the code of a lot without one."""
        return self.mark or self.name

    def sentences(self) -> tuple[str, ...]:
        """Return in plain words how the lot fares, the pressing first, then what it rests on."""
        said = [_sentence(self, what) for what in QUANTITIES if what in self.state]
        left = (self.keep_until - self.now) / 24
        keep = (
            f"Usual keeping time ends in {left:.0f} days."
            if left >= 0
            else f"Kept {-left:.0f} days past the usual time."
        )
        return (*said, keep, *self.rests_on)


def _sentence(of: LotForecast, what: str) -> str:
    band, limit, title = of.state[what], of.limits[what], QUANTITIES[what][0]
    value, low, high, bound = (_shown(what, x) for x in (band.median, band.low, band.high, limit.value))
    spread = "" if low == high else f" ({low} to {high})"
    return (
        f"{title[0].upper()}{title[1:]}: {value}{spread}; limit {bound}, {when(of.crossings[what], of.now)}."
    )


def _shown(what: str, value: float) -> str:
    if what == "free_wet_hours":
        return hours_or_days(value)
    if what == "chill_portions":
        return f"{value:.0f} portions"
    return percent(value, 1 if what in ("water_lost", "oxygen") else 0)


def percent(share: float, digits: int = 0) -> str:
    """Write a share in hundredths."""
    return f"{share * 100:.{digits}f} %"


def hours_or_days(hours: float) -> str:
    """Write a time in hours, one beyond three days in days."""
    return f"{hours:.0f} h" if hours <= LONG_H else f"{hours / 24:.0f} days"


def when(crossing: Crossing, now: float) -> str:
    """Return in words when a limit is crossed: both ends of the band, or one number where an end is open."""
    early, median, late = (
        None if at is None else (at - now) / 24.0 for at in (crossing.early, crossing.median, crossing.late)
    )
    if median is not None and median <= 0:
        return "crossed" if late is not None and late <= 0 else "likely crossed"
    if early is None:
        return "not in sight"
    if late is None:
        return UNCERTAIN if early < 0.5 else f"not before {_days(early)} from now"
    assert median is not None
    if early < 0.5:
        return f"within {_days(late)}, perhaps now"
    return f"in about {_days(median)} ({early:.0f} to {late:.0f})"


def _days(days: float) -> str:
    whole = max(round(days), 1)
    return f"{whole} day{'s' if whole != 1 else ''}"
