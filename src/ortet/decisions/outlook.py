"""What is told of one lot in one place: its state, its limits, the days it crosses them, and what that rests on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ortet.evidence.pace import Told
from ortet.wood.code import is_code, show
from ortet.wood.speech import counted, say, say_number, to_say

__all__ = [
    "QUANTITIES",
    "Band",
    "Crossing",
    "Curve",
    "Limit",
    "LotForecast",
    "hours_or_days",
    "percent",
    "reached",
    "when",
]

Array = NDArray[np.float64]

LONG_H = 72.0  # longer times are written in days

# quantity: (what a page calls it, its unit, whether its limit is bad news)
QUANTITIES: Mapping[str, tuple[str, str, bool]] = {
    "water_lost": (to_say("water lost"), to_say("share of fresh mass"), True),
    "free_wet_hours": (to_say("hours of free water"), to_say("h since the last dry spell"), True),
    "oxygen": (to_say("oxygen in the bag"), to_say("share of the bag's air"), True),
    "reserve_left": (to_say("reserve left"), to_say("share of what was there"), True),
    "chill_portions": (to_say("chill"), to_say("portions"), False),
    "callus": (to_say("callus"), to_say("share of cuttings callused"), False),
    "roots": (to_say("roots"), to_say("share of cuttings rooted"), False),
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

    chill_gap: str = ""  # why its chill is reckoned from part of the autumn only; one of `rests_on`
    is_recorded: bool = True  # whether any temperature of its store is

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
            say("Usual keeping time ends in {days:.0f} days.", days=left)
            if left >= 0
            else say("Kept {days:.0f} days past the usual time.", days=-left)
        )
        return (*said, keep, *self.rests_on)


def _sentence(of: LotForecast, what: str) -> str:
    band, limit, title = of.state[what], of.limits[what], say(QUANTITIES[what][0])
    value, low, high, bound = (_shown(what, x) for x in (band.median, band.low, band.high, limit.value))
    return say(
        "{title}: {value}{spread}; limit {limit}, {when}.",
        title=f"{title[0].upper()}{title[1:]}",
        value=value,
        spread="" if low == high else say(" ({low} to {high})", low=low, high=high),
        limit=bound,
        when=when(of.crossings[what], of.now),
    )


def _shown(what: str, value: float) -> str:
    if what == "free_wet_hours":
        return hours_or_days(value)
    if what == "chill_portions":
        return say("{portions:.0f} portions", portions=value)
    return percent(value, 1 if what in ("water_lost", "oxygen") else 0)


def percent(share: float, digits: int = 0) -> str:
    """Write a share in hundredths."""
    return say_number(share, f".{digits}%")


def hours_or_days(hours: float) -> str:
    """Write a time in hours, one beyond three days in days."""
    return f"{hours:.0f} h" if hours <= LONG_H else say("{days:.0f} days", days=hours / 24)


def when(crossing: Crossing, now: float) -> str:
    """Return in words when a limit is crossed: both ends of the band, or one number where an end is open."""
    return _when(crossing, now)[0]


def reached(crossing: Crossing, now: float) -> str:
    """Return the same as it stands in a sentence: crossed, reached in about 3 days (2 to 5)."""
    words, names_a_time = _when(crossing, now)
    return say("reached {when}", when=words) if names_a_time else words


def _when(crossing: Crossing, now: float) -> tuple[str, bool]:
    """Return when in words, and whether they name a time."""
    early, median, late = (
        None if at is None else (at - now) / 24.0 for at in (crossing.early, crossing.median, crossing.late)
    )
    if median is not None and median <= 0:
        return say("crossed") if late is not None and late <= 0 else say("likely crossed"), False
    if early is None:
        return say("not in sight"), False
    if late is None and early < 0.5:
        return say("too uncertain to tell: between now and never"), False
    if late is None:
        return say("not before {days} from now", days=_days(early)), True
    assert median is not None
    if early < 0.5:
        return say("within {days}, perhaps now", days=_days(late)), True
    return say(
        "in about {days} ({early:.0f} to {late:.0f})", days=_days(median), early=early, late=late
    ), True


def _days(days: float) -> str:
    return counted(max(round(days), 1), "day")
