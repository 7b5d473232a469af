"""What an allotment is made from: the wood there is, the wishes for it, and what the grower has fixed by hand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import floor, isfinite
from typing import NamedTuple

from ortet.wood.speech import say, say_day

__all__ = ["KINDS", "Ask", "Fixed", "Pool", "Span", "Supply", "Wish", "listed"]

KINDS = ("order", "graft", "bench", "backup")


def listed(names: Iterable[str], joined: str = "and") -> str:
    """Write `a`, `a and b`, or `a, b and c`."""
    *most, last = names
    if not most:
        return last
    if joined == "or":
        return say("{names} or {last}", names=", ".join(most), last=last)
    return say("{names} and {last}", names=", ".join(most), last=last)


class Span(NamedTuple):
    """Days from the first to the last, both counted."""

    first: date
    last: date

    def meet(self, other: Span) -> Span | None:
        """Return the days that both hold, or None."""
        first, last = max(self.first, other.first), min(self.last, other.last)
        return Span(first, last) if first <= last else None


@dataclass(frozen=True, slots=True)
class Supply:
    """Cuttings of one lot that lie, or will lie, in one place."""

    key: str  # its own, once in an allotment
    lot: str  # lot code
    variety: str
    grade: str  # the grower's word; nothing where not graded
    use: str  # what it was cut for: rooting or grafting
    place: str  # the bag or bench it is picked from
    count: int
    ready: date  # first day it may be picked
    use_by: date | None = None  # last day it is good for its use, from the forecast; None: beyond the plan
    kept_back: float = 0.0  # share that is not allotted [0-1]

    def __post_init__(self) -> None:
        if self.count < 0:
            raise ValueError(f"{self.key}: {self.count} cuttings. Enter 0 or more.")
        if not 0.0 <= self.kept_back <= 1.0:
            raise ValueError(f"{self.key}: a share of {self.kept_back:g} is kept back. Enter 0 to 1.")

    @property
    def free(self) -> int:
        """Cuttings that may be allotted; what is kept back is rounded up."""
        return floor(self.count * (1.0 - self.kept_back) + 1e-9)


@dataclass(frozen=True, slots=True)
class Wish:
    """Cuttings that somebody asked for: a line of an order, an own graft, a bench, a backup."""

    key: str  # its own, once in an allotment; the reasons name it
    kind: str  # one of KINDS
    variety: str
    count: int
    use: str
    first: date  # the window: first and last day they may be picked
    last: date
    grades: tuple[str, ...] = ()  # accepted; none named: any
    substitutes: tuple[str, ...] = ()  # varieties accepted instead, the best liked first
    worth: float = 1.0  # of one cutting, in any money; only compared
    priority: int = 1  # 1 goes first
    least: int = 1  # fewer than this are not taken; `count` makes it all or nothing
    parts: bool = True  # may go in several deliveries

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"{self.key}: kind {self.kind!r}. Use {', '.join(KINDS)}.")
        if self.count < 1:
            raise ValueError(f"{self.key}: {self.count} cuttings wished for. Enter 1 or more.")
        if self.last < self.first:
            raise ValueError(
                f"{self.key}: its window ends on {say_day(self.last)}, before it begins on {say_day(self.first)}. "
                "Enter an end on or after the beginning."
            )
        if not 1 <= self.least <= self.count:
            raise ValueError(
                f"{self.key}: takes {self.least} or more of {self.count}. Enter 1 to {self.count}."
            )
        if not (isfinite(self.worth) and self.worth > 0):
            raise ValueError(f"{self.key}: a cutting is worth {self.worth:g}. Enter more than 0.")
        if self.variety in self.substitutes or len(set(self.substitutes)) < len(self.substitutes):
            raise ValueError(f"{self.key}: a variety is named twice. Name each substitute once.")

    @property
    def varieties(self) -> tuple[str, ...]:
        """What it takes, the best liked first."""
        return (self.variety, *self.substitutes)

    def takes(self, supply: Supply) -> bool:
        """Whether the wood is of a kind that this wish takes, whenever it is ready."""
        return (
            supply.variety in self.varieties
            and supply.use == self.use
            and (not self.grades or supply.grade in self.grades)
        )


@dataclass(frozen=True, slots=True)
class Fixed:
    """A choice made by hand: so many of a supply to a wish, in a week of the plan."""

    supply: str
    wish: str
    count: int
    week: int  # 0 is the plan's first week

    def __str__(self) -> str:
        return say(
            "{count} of {supply} to {wish} in week {week}",
            count=self.count,
            supply=self.supply,
            wish=self.wish,
            week=self.week + 1,
        )


@dataclass(frozen=True)
class Ask:
    """All that an allotment is made from."""

    supplies: tuple[Supply, ...]
    wishes: tuple[Wish, ...]
    first: date  # the first day of the plan
    weeks: int
    backup: Mapping[str, int]  # cuttings kept of each variety
    fixed: tuple[Fixed, ...] = ()
    supply: dict[str, Supply] = field(init=False, repr=False, compare=False)
    wish: dict[str, Wish] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if self.weeks < 1:
            raise ValueError(f"A plan of {self.weeks} weeks. Enter 1 or more.")
        object.__setattr__(self, "supply", {one.key: one for one in self.supplies})
        object.__setattr__(self, "wish", {one.key: one for one in self.wishes})

    @property
    def span(self) -> Span:
        """The days of the plan."""
        return Span(self.first, self.first + timedelta(days=7 * self.weeks - 1))

    def week_span(self, week: int) -> Span:
        """Return the days of one of its weeks."""
        first = self.first + timedelta(days=7 * week)
        return Span(first, first + timedelta(days=6))

    def week_of(self, day: date) -> int:
        """Return the week that a day lies in; 0 is the first."""
        return (day - self.first).days // 7

    def days(self, supply: Supply, wish: Wish) -> Span | None:
        """Return when a supply may be picked for a wish, or None."""
        good = Span(supply.ready, supply.use_by or date.max)
        window = self.span.meet(Span(wish.first, wish.last))
        return window.meet(good) if window and good.first <= good.last else None

    def pressing(self, supply: Supply) -> int:
        """Return how many weeks before the plan's end a supply runs out; 0 if it outlasts the plan."""
        if supply.use_by is None or supply.use_by >= self.span.last:
            return 0
        return 1 + min(self.weeks - 1, (self.span.last - supply.use_by).days // 7)


class Pool:
    """Wood and wishes left over once the hand-made choices are booked."""

    def __init__(self, ask: Ask) -> None:
        self.free = {one.key: one.free for one in ask.supplies}
        self.wanted = {one.key: one.count for one in ask.wishes}
        self.given: dict[str, int] = {}
        for choice in ask.fixed:
            # A hand may reach into what is kept back of a lot, never beyond the lot.
            self.free[choice.supply] = max(0, self.free[choice.supply] - choice.count)
            self.wanted[choice.wish] -= choice.count
            self.given[choice.wish] = self.given.get(choice.wish, 0) + choice.count
