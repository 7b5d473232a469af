"""What the taking of a season is planned from: targets, mother plants, shares at each step, limits; and what contradicts itself."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import isfinite

from ortet.wood.speech import say, to_say

from .chain import SUREST, Beta, Stage

__all__ = [
    "KINDS",
    "Ask",
    "Conflict",
    "Contradiction",
    "Limit",
    "Mother",
    "Step",
    "Stream",
    "Target",
    "check",
]

KINDS = ("order", "own", "graft", "reserve", "backup")

Stream = tuple[
    str, str
]  # variety and use: cuttings of one stream go through the same steps and serve its targets in turn


@dataclass(frozen=True, slots=True)
class Target:
    """So many of a variety that are to come through: an order, own plants, grafts, a reserve, a backup against loss."""

    key: str  # its own, once in a plan; the reasons name it
    kind: str  # one of KINDS
    variety: str
    use: str  # what for; with the variety it says which steps the cuttings go through
    count: int  # to come through every step
    priority: int = 1  # 1 goes first; a later one never takes from an earlier one
    worth: float = 1.0  # of one that comes through, in any money; compared within a priority
    least: int = 1  # with fewer than this it is dropped; `count` makes it all or nothing
    must: bool = False  # at least `least` is promised: where that cannot be, there is no plan
    confidence: float | None = None  # None: the plan's [0-1]

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"{self.key}: kind {self.kind!r}. Use {', '.join(KINDS)}.")
        if self.count < 1:
            raise ValueError(f"{self.key}: {self.count} wanted. Enter 1 or more, or take the target out.")
        if not 1 <= self.least <= self.count:
            raise ValueError(
                f"{self.key}: at least {self.least} of {self.count}. Enter 1 to {self.count}, or raise the count."
            )
        if self.priority < 1:
            raise ValueError(f"{self.key}: priority {self.priority}. Enter 1 (first) or more.")
        if not (isfinite(self.worth) and self.worth > 0):
            raise ValueError(f"{self.key}: one is worth {self.worth:g}. Enter more than 0.")
        _check_confidence(self.confidence, self.key)


@dataclass(frozen=True, slots=True)
class Mother:
    """What one mother plant may give: so many cuttings, or shoots of so many cuttings each, or the lesser of both."""

    key: str
    variety: str
    cuttings: int | None = None
    shoots: int | None = None
    per_shoot: int = 1  # cuttings from one shoot

    def __post_init__(self) -> None:
        if self.cuttings is None and self.shoots is None:
            raise ValueError(f"{self.key}: say how many cuttings or how many shoots it may give.")
        for count, word in ((self.cuttings, "cuttings"), (self.shoots, "shoots")):
            if count is not None and count < 0:
                raise ValueError(f"{self.key}: {count} {word}. Enter 0 or more.")
        if self.per_shoot < 1:
            raise ValueError(f"{self.key}: {self.per_shoot} cuttings from a shoot. Enter 1 or more.")

    @property
    def most(self) -> int:
        """Cuttings it may give."""
        by_shoots = None if self.shoots is None else self.shoots * self.per_shoot
        return min(limit for limit in (self.cuttings, by_shoots) if limit is not None)


@dataclass(frozen=True, slots=True)
class Step:
    """A step at which some are lost: its name, the share that comes through, and what that rests on."""

    name: str
    share: Stage
    why: str = ""

    def __str__(self) -> str:
        return f"{say(self.name)} {self.share if isinstance(self.share, Beta) else format(self.share, '.0%')}"


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit that all varieties share: hands, room in the cold store, rootstocks."""

    name: str
    most: int  # cuttings
    uses: tuple[str, ...] = ()  # those it counts; none named: all

    def __post_init__(self) -> None:
        if self.most < 0:
            raise ValueError(f"{self.name}: at most {self.most} cuttings. Enter 0 or more.")

    def counts(self, use: str) -> bool:
        """Whether cuttings for a use count against it."""
        return not self.uses or use in self.uses


@dataclass(frozen=True)
class Ask:
    """All that a plan of taking is made from."""

    targets: tuple[Target, ...]
    mothers: tuple[Mother, ...]
    steps: Mapping[Stream, tuple[Step, ...]]
    confidence: float = 0.9
    limits: tuple[Limit, ...] = ()
    streams: dict[Stream, list[Target]] = field(init=False, repr=False, compare=False)
    giving: dict[str, list[Mother]] = field(init=False, repr=False, compare=False)
    _of: dict[str, list[Stream]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        _check_confidence(self.confidence, "The plan")
        streams: dict[Stream, list[Target]] = defaultdict(list)
        for target in sorted(self.targets, key=lambda one: (one.priority, -one.worth, one.key)):
            streams[target.variety, target.use].append(target)
        giving: dict[str, list[Mother]] = defaultdict(list)
        for mother in sorted(self.mothers, key=lambda one: one.key):
            giving[mother.variety].append(mother)
        object.__setattr__(self, "streams", dict(sorted(streams.items())))
        object.__setattr__(self, "giving", dict(giving))
        of: dict[str, list[Stream]] = defaultdict(list)
        for stream in self.streams:
            of[stream[0]].append(stream)
        object.__setattr__(self, "_of", dict(of))

    @property
    def varieties(self) -> list[str]:
        """The varieties that something is wanted of."""
        return list(self._of)

    def of(self, variety: str) -> list[Stream]:
        """Return a variety's streams."""
        return self._of[variety]

    def most(self, variety: str) -> int:
        """Return how many cuttings the mother plants of a variety may give."""
        return sum(mother.most for mother in self.giving.get(variety, ()))

    def shares(self, stream: Stream) -> list[Stage]:
        """Return the share at each step of a stream."""
        return [step.share for step in self.steps[stream]]

    def sure(self, target: Target) -> float:
        """Return the confidence asked for a target. [0-1]"""
        return self.confidence if target.confidence is None else target.confidence


@dataclass(frozen=True, slots=True)
class Conflict:
    """Wishes that cannot all be: which, why not, and what to relax."""

    wishes: tuple[str, ...]
    what: str
    relax: str

    def __str__(self) -> str:
        return f"{self.what} {self.relax}"


class Contradiction(ValueError):
    """The wishes contradict one another; `conflicts` holds each."""

    def __init__(self, conflicts: Iterable[Conflict]) -> None:
        self.conflicts = tuple(conflicts)
        super().__init__("\n".join([*map(str, self.conflicts), say("Nothing was planned.")]))


def check(ask: Ask) -> None:
    """Raise a Contradiction that lists all that is plainly amiss, before anything is computed."""
    conflicts = [*_twice(ask), *_no_wood(ask), *_no_way_through(ask)]
    if conflicts:
        raise Contradiction(conflicts)


def _twice(ask: Ask) -> Iterable[Conflict]:
    for words, keys in (
        (to_say("The target {key} is named {times} times."), [one.key for one in ask.targets]),
        (to_say("The mother plant {key} is named {times} times."), [one.key for one in ask.mothers]),
        (to_say("The limit {key} is named {times} times."), [one.name for one in ask.limits]),
    ):
        for key, times in Counter(keys).items():
            if times > 1:
                yield Conflict((key,), say(words, key=key, times=times), say("Name it once."))


def _no_wood(ask: Ask) -> Iterable[Conflict]:
    for variety in ask.varieties:
        keys = tuple(target.key for stream in ask.of(variety) for target in ask.streams[stream])
        words = (
            say("{variety}: {targets} wants wood", variety=variety, targets=keys[0])
            if len(keys) == 1
            else say("{variety}: {targets} want wood", variety=variety, targets=", ".join(keys))
        )
        if variety not in ask.giving:
            yield Conflict(
                keys,
                say("{wanted}, but no mother plant of it may give any.", wanted=words),
                say("Add a mother plant, or take the targets out."),
            )
        elif ask.most(variety) == 0:
            held = tuple(mother.key for mother in ask.giving[variety])
            yield Conflict(
                keys + held,
                say("{wanted}, but {mothers} may give 0 cuttings.", wanted=words, mothers=", ".join(held)),
                say("Raise what a mother plant may give, or take the targets out."),
            )


def _no_way_through(ask: Ask) -> Iterable[Conflict]:
    for stream, targets in ask.streams.items():
        keys, (variety, use) = tuple(target.key for target in targets), stream
        if stream not in ask.steps:
            yield Conflict(
                keys,
                say(
                    "{variety} for {use}: nothing says what share comes through.",
                    variety=variety,
                    use=say(use),
                ),
                say("Give its steps, or the usual ones of its species."),
            )
            continue
        for step in ask.steps[stream]:
            if isinstance(step.share, Beta):
                continue
            if not 0.0 <= step.share <= 1.0:
                yield Conflict(
                    keys,
                    say(
                        "{variety} for {use}, {step}: a share of {share:g}.",
                        variety=variety,
                        use=say(use),
                        step=say(step.name),
                        share=step.share,
                    ),
                    say("Enter 0 to 1."),
                )
            elif step.share == 0.0:
                yield Conflict(
                    keys,
                    say(
                        "{variety} for {use}, {step}: nothing comes through (a share of 0), so no wood is enough.",
                        variety=variety,
                        use=say(use),
                        step=say(step.name),
                    ),
                    say("Correct the share, or take the targets out."),
                )


def _check_confidence(confidence: float | None, where: str) -> None:
    if confidence is not None and not 0.0 < confidence <= SUREST:
        raise ValueError(
            f"{where}: a confidence of {confidence:g}. Enter above 0 and up to {SUREST}, such as 0.9."
        )
