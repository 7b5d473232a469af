"""A batch as it was counted: who rooted between which two counts, who had not when last seen, who died."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from math import inf

from ortet.wood.speech import say, say_day

__all__ = ["Batch", "Count", "Course", "Gone", "Interval", "Lifted", "Sample"]


@dataclass(frozen=True, slots=True)
class Count:
    """On this day so many of those looked at had roots; looking at all that stand there makes it a count of the batch."""

    on: date
    progress: float  # thermal time since striking over the usual median need [-]
    rooted: int
    of: int  # looked at; cuttings that left the batch are not among them
    dead: int = 0  # of those looked at, still standing there

    def __post_init__(self) -> None:
        _progress(self.on, self.progress)
        if min(self.rooted, self.dead, self.of - 1) < 0 or self.rooted + self.dead > self.of:
            raise ValueError(
                say(
                    "{day}: {rooted} rooted and {dead} dead of {of} looked at cannot be. Correct the count.",
                    day=say_day(self.on),
                    rooted=self.rooted,
                    dead=self.dead,
                    of=self.of,
                )
            )


@dataclass(frozen=True, slots=True)
class Gone:
    """On this day so many left the batch."""

    on: date
    progress: float  # as of a count [-]
    rooted: int = 0  # with roots: potted on, sold
    dead: int = 0  # dead or rotten, given up
    bare: int = 0  # alive without roots: moved, pulled

    def __post_init__(self) -> None:
        _progress(self.on, self.progress)
        if min(self.rooted, self.dead, self.bare) < 0:
            raise ValueError(
                say("{day}: fewer than none left the batch. Correct the number.", day=say_day(self.on))
            )


@dataclass(frozen=True, slots=True)
class Interval:
    """So many came between two progresses; `by` is endless for those that had not when last seen."""

    after: float
    by: float
    cuttings: int


@dataclass(frozen=True, slots=True)
class Sample:
    """A part of the batch was lifted, drawn without choosing, between two counts of the whole."""

    progress: float
    rooted: int
    of: int
    known: float  # share of those standing there that had rooted by the count before [0-1]
    waiting: float  # share that had not, and was alive [0-1]
    after: float  # progress at the count before
    by: float = inf  # progress at the next count of the same cuttings; endless where there is none
    came: float = 0.0  # share that rooted between the two [0-1]


@dataclass(frozen=True, slots=True)
class Lifted:
    """What the last part lifted leaves sure: so many have roots, so many had none at that progress."""

    progress: float
    rooted: int
    bare: int


@dataclass(frozen=True, slots=True)
class Course:
    """What counts say of a batch: all that a likelihood needs."""

    intervals: tuple[Interval, ...] = ()
    samples: tuple[Sample, ...] = ()
    dead: int = 0  # died without roots
    waiting: int = 0  # alive, without roots at the last count of all; not among the intervals
    seen: float = 0.0  # progress at that count
    rooted: int = 0  # known to have rooted, those that left included
    bare: int = 0  # left alive without roots
    progress: float = 0.0  # at the last count or leaving
    cuttings: int = 0  # looked at, each counted once
    lifted: Lifted | None = None  # the last part lifted, where none had rooted before and none left since


@dataclass(frozen=True, slots=True)
class Batch:
    """Cuttings struck together on one day, and what was counted of them since.

    Raises
    ------
    ValueError
        Where counts contradict the number struck or one another; the message gives the figures.
    """

    name: str
    variety: str
    struck: int
    struck_on: date
    events: tuple[Count | Gone, ...] = ()
    course: Course = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        try:
            if self.struck < 1:
                raise ValueError(
                    say("{struck} struck: a batch needs at least one cutting.", struck=self.struck)
                )
            walk = _Walk(self.struck, self.struck_on)
            for event in self.events:
                walk.take(event)
        except ValueError as problem:
            raise ValueError(f"Batch {self.name}, {problem}") from None
        object.__setattr__(self, "course", walk.course())

    @property
    def standing(self) -> int:
        """Cuttings still there."""
        return self.struck - sum(
            event.rooted + event.dead + event.bare for event in self.events if isinstance(event, Gone)
        )

    @property
    def rooted(self) -> int:
        """Cuttings known to have rooted so far, those potted on included."""
        lifted = self.course.lifted
        return self.course.rooted + (lifted.rooted if lifted else 0)

    @property
    def waiting(self) -> int:
        """Cuttings there, alive and not known to have rooted."""
        lifted = self.course.lifted
        return self.course.waiting - (lifted.rooted if lifted else 0)


class _Walk:
    """Goes from event to event and keeps who stands there: rooted, dead, waiting."""

    def __init__(self, struck: int, struck_on: date) -> None:
        self.on, self.progress, self.seen = struck_on, 0.0, 0.0
        self.rooted, self.rooted_dead, self.dead, self.waiting = 0, 0, 0, struck
        self.dead_in_all = self.rooted_in_all = self.bare = self.lifted = 0
        self.intervals: list[Interval] = []
        self.samples: list[Sample] = []
        self.open: list[int] = []  # samples since the last whole count
        self.lifted_last: Lifted | None = None
        self.looked = False

    @property
    def standing(self) -> int:
        return self.rooted + self.rooted_dead + self.dead + self.waiting

    def take(self, event: Count | Gone) -> None:
        if event.on < self.on or event.progress < self.progress:
            raise ValueError(
                say(
                    "{day} comes after {last} (progress {progress:g} after {before:g}): give counts in order of time.",
                    day=say_day(event.on),
                    last=say_day(self.on),
                    progress=event.progress,
                    before=self.progress,
                )
            )
        self.on, self.progress = event.on, event.progress
        if isinstance(event, Gone):
            self._leave(event)
        elif event.of > self.standing:
            raise ValueError(
                say(
                    "{day}: {of} looked at, but {standing} stand there. Book what was lost or correct the count.",
                    day=say_day(event.on),
                    of=event.of,
                    standing=self.standing,
                )
            )
        elif event.of == self.standing:
            self._whole(event)
        else:
            self._part(event)

    def _whole(self, count: Count) -> None:
        died = count.dead - self.dead - self.rooted_dead
        came = count.rooted - self.rooted
        if died < 0:
            raise ValueError(
                say(
                    "{day}: {dead} dead, but {before} were dead before and none of them left. Book those given up, "
                    "or correct the count.",
                    day=say_day(count.on),
                    dead=count.dead,
                    before=self.dead + self.rooted_dead,
                )
            )
        withered = max(-came, 0)  # had rooted, and died since
        if withered > died:
            raise ValueError(
                say(
                    "{day}: {rooted} rooted and {dead} dead of {of}, but {before} had roots before and none of them "
                    "left or died. Book what left, or correct the count.",
                    day=say_day(count.on),
                    rooted=count.rooted,
                    dead=count.dead,
                    of=count.of,
                    before=self.rooted,
                )
            )
        if came > 0:
            self._came(came, self.seen, count.progress)
        self._close(count.progress, max(came, 0))
        self.rooted, self.rooted_dead = count.rooted, self.rooted_dead + withered
        self.dead += died - withered
        self.dead_in_all += died - withered
        self.waiting -= max(came, 0) + died - withered
        self.seen, self.looked, self.lifted_last = count.progress, True, None

    def _part(self, count: Count) -> None:
        others = self.standing - self.rooted
        if count.rooted > self.rooted + self.waiting or count.of - count.rooted > others:
            raise ValueError(
                say(
                    "{day}: {rooted} rooted of {of} looked at cannot be: of {standing} there {before} had roots "
                    "before. Correct the count.",
                    day=say_day(count.on),
                    rooted=count.rooted,
                    of=count.of,
                    standing=self.standing,
                    before=self.rooted,
                )
            )
        here = float(self.standing)
        self.open.append(len(self.samples))
        self.samples.append(
            Sample(count.progress, count.rooted, count.of, self.rooted / here, self.waiting / here, self.seen)
        )
        self.lifted += count.of
        if not self.standing - self.waiting:
            self.lifted_last = Lifted(count.progress, count.rooted, count.of - count.rooted)

    def _leave(self, gone: Gone) -> None:
        fresh = max(gone.rooted - self.rooted, 0)  # nobody had counted them yet
        told_dead = self.dead + self.rooted_dead
        died = max(gone.dead - told_dead, 0)
        if fresh + died + gone.bare > self.waiting:
            raise ValueError(
                say(
                    "{day}: {rooted} rooted, {dead} dead and {bare} without roots left, but {standing} stood there, "
                    "{before} rooted and {told} dead. Correct what left.",
                    day=say_day(gone.on),
                    rooted=gone.rooted,
                    dead=gone.dead,
                    bare=gone.bare,
                    standing=self.standing,
                    before=self.rooted,
                    told=told_dead,
                )
            )
        if fresh:
            self._came(fresh, self.seen, gone.progress)
        if gone.bare:
            self.intervals.append(Interval(gone.progress, inf, gone.bare))
            self.bare += gone.bare
        self.rooted -= gone.rooted - fresh
        old = gone.dead - died
        self.dead, self.rooted_dead = (
            self.dead - min(old, self.dead),
            self.rooted_dead - max(old - self.dead, 0),
        )
        self.dead_in_all += died
        self.waiting -= fresh + died + gone.bare
        # other cuttings stand there now: what was lifted cannot be compared with the next count
        self.open, self.lifted_last = [], None

    def _came(self, cuttings: int, after: float, by: float) -> None:
        self.intervals.append(Interval(after, by, cuttings))
        self.rooted_in_all += cuttings

    def _close(self, progress: float, came: int) -> None:
        """Tell samples since the last whole count what the next one found."""
        for number in self.open:
            self.samples[number] = replace(
                self.samples[number], by=progress, came=came / float(self.standing)
            )
        self.open = []

    def course(self) -> Course:
        gone = self.rooted_in_all + self.dead_in_all + self.bare
        return Course(
            tuple(self.intervals),
            tuple(self.samples),
            self.dead_in_all,
            self.waiting,
            self.seen,
            self.rooted_in_all,
            self.bare,
            self.progress,
            gone + self.waiting if self.looked else min(gone + self.lifted, gone + self.waiting),
            self.lifted_last,
        )


def _progress(on: date, progress: float) -> None:
    if not 0.0 <= progress < inf:
        raise ValueError(
            say(
                "{day}: progress {progress:g} must be a number of 0 or more.",
                day=say_day(on),
                progress=progress,
            )
        )
