"""An allotment as plain values: what is picked for whom, who goes short and why, and how good it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ortet.wood.speech import say

__all__ = [
    "AllotPlan",
    "Binding",
    "Change",
    "Conflict",
    "Contradiction",
    "Goal",
    "Pick",
    "Portion",
    "Short",
    "Why",
]


@dataclass(frozen=True, slots=True)
class Pick:
    """So many cuttings from one place for one wish."""

    supply: str
    lot: str
    place: str
    variety: str
    wish: str
    count: int
    day: date  # the first day on which all of that delivery can be picked
    week: int  # of the plan; 0 is the first
    substitute: bool
    fixed: bool  # chosen by hand


@dataclass(frozen=True, slots=True)
class Why:
    """One reason why a wish goes short."""

    kind: str  # variety, use, grade, window, least, delivery, backup, kept back, fixed, priority, shared or search
    text: str
    count: int = 0  # cuttings that it concerns
    wishes: tuple[str, ...] = ()  # who has them


@dataclass(frozen=True, slots=True)
class Short:
    """A wish that is not filled."""

    wish: str
    asked: int
    given: int
    whys: tuple[Why, ...]

    @property
    def missing(self) -> int:
        """Cuttings that it goes short."""
        return self.asked - self.given


@dataclass(frozen=True, slots=True)
class Portion:
    """What one wish gets of a variety that is short."""

    variety: str
    use: str
    wish: str
    asked: int  # in all
    given: int  # in all, substitutes too
    of_it: int  # given of this variety

    @property
    def share(self) -> float:
        """How full the wish is. [0-1]"""
        return self.given / self.asked


@dataclass(frozen=True, slots=True)
class Binding:
    """A variety of which one more cutting would be worth something."""

    variety: str
    use: str
    there: int  # cuttings in the supplies, ready or not
    given: int
    kept: int  # backup of the variety
    short: int  # cuttings that wishes for it go short
    worth: float  # of one more cutting: the best wish that goes short


@dataclass(frozen=True, slots=True)
class Change:
    """What would fill a wish."""

    wish: str
    kind: str  # wood, grade, window, least, delivery or backup
    count: int
    text: str


@dataclass(frozen=True, slots=True)
class Conflict:
    """Input that cannot all be true, or had: who is in it and what to relax."""

    what: str
    wishes: tuple[str, ...]
    relax: str

    def __str__(self) -> str:
        return f"{self.what}. {self.relax}"


class Contradiction(ValueError):
    """Raised where no plan can honour what was asked; nothing is planned."""

    def __init__(self, conflicts: Sequence[Conflict]) -> None:
        self.conflicts = tuple(conflicts)
        super().__init__(" ".join(f"{one}" for one in conflicts) + say(" Nothing was allotted."))


@dataclass(frozen=True, slots=True)
class Goal:
    """How far one goal was reached. Goals are reached in order; each bound holds given the goals before it."""

    name: str
    value: float
    bound: float
    unit: str
    more: bool  # more is better

    @property
    def gap(self) -> float:
        """How much better it could at most be, as a share of what was reached. [0-1]"""
        return abs(self.bound - self.value) / max(abs(self.value), 1e-9) if self.bound != self.value else 0.0


@dataclass(frozen=True, slots=True)
class AllotPlan:
    """An allotment with its reasons."""

    picks: tuple[Pick, ...]
    short: tuple[Short, ...]
    portions: tuple[Portion, ...]  # how each short variety is shared
    left: dict[str, int]  # cuttings of each supply that go to nobody, the backup among them
    binds: tuple[Binding, ...]
    changes: tuple[Change, ...]
    conflicts: tuple[Conflict, ...]
    goals: tuple[Goal, ...]

    @property
    def objective(self) -> float:
        """The promises kept, in worth, the first cuttings of a line counting up to twice."""
        return sum(goal.value for goal in self.goals if goal.more and goal.unit == "worth")

    @property
    def bound(self) -> float:
        """What the objective can at most be."""
        return sum(goal.bound for goal in self.goals if goal.more and goal.unit == "worth")

    @property
    def gap(self) -> float:
        """The largest gap of any goal. [0-1]"""
        return max((goal.gap for goal in self.goals), default=0.0)

    @property
    def proven(self) -> bool:
        """Whether no goal can be reached better, to one part in ten thousand."""
        return self.gap <= 1e-4

    def given(self, wish: str) -> int:
        """Return how many cuttings a wish gets."""
        return sum(pick.count for pick in self.picks if pick.wish == wish)
