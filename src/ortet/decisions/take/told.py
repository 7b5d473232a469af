"""A plan of taking, line by line, each with its reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ortet.wood.speech import counted, say, say_number

from .chain import MOST, Through
from .ways import MILLION, Mix, Way
from .wishes import Ask, Mother, Stream, Target

__all__ = [
    "LimitLine",
    "MotherLine",
    "Shortage",
    "TakePlan",
    "Taking",
    "TargetLine",
    "mother_lines",
    "share_among",
    "shortage",
    "taking",
    "target_lines",
]


@dataclass(frozen=True, slots=True)
class TargetLine:
    """What is planned for a target, and how likely it is."""

    target: Target
    planned: int  # come through with the confidence asked; fewer than the count where it gives way
    chance: float  # that the whole count comes through, all served before it having had theirs [0-1]
    reason: str

    @property
    def gives_way(self) -> bool:
        """Whether it is promised less than was asked."""
        return self.planned < self.target.count


@dataclass(frozen=True, slots=True)
class Taking:
    """Cuttings to take of one variety for one use."""

    variety: str
    use: str
    cuttings: int
    wanted: int | None  # what all its targets would need; None: more than `take.MOST`
    planned: int  # are to come through
    low: int  # of ten seasons, one brings fewer than this
    middle: int
    high: int  # and one brings more than this
    rests_on: str


@dataclass(frozen=True, slots=True)
class MotherLine:
    """What to cut from one mother plant."""

    mother: Mother
    cuttings: int
    shoots: int | None  # None where only cuttings were counted
    reason: str


@dataclass(frozen=True, slots=True)
class Shortage:
    """A variety whose mother plants give less than was wanted, and what more wood would bring."""

    variety: str
    may_give: int
    wanted: int | None  # None: more than `take.MOST`
    left: int  # cuttings it may give that no target can use a step further
    shoot: int  # cuttings of one more shoot
    one_more: float  # worth of what one more shoot would bring, of all priorities, worked out anew
    more: tuple[tuple[str, int], ...]  # how many more (or fewer) of which target that would be
    reason: str

    @property
    def shoots_lacking(self) -> int | None:
        """Shoots until every target is met."""
        return None if self.wanted is None else max(0, -(-(self.wanted - self.may_give) // self.shoot))


@dataclass(frozen=True, slots=True)
class LimitLine:
    """How far a shared limit is used."""

    name: str
    used: int
    most: int
    asked: int  # what would be taken without it

    @property
    def binds(self) -> bool:
        """Whether targets give way to it."""
        return self.asked > self.most


@dataclass(frozen=True)
class TakePlan:
    """The season's taking, line by line, with what binds it and what it takes for granted."""

    targets: tuple[TargetLine, ...]
    takings: tuple[Taking, ...]
    mothers: tuple[MotherLine, ...]
    shortages: tuple[Shortage, ...]
    limits: tuple[LimitLine, ...]
    gap: float  # how much more worth there could at most be, relative; 0: nothing better among the ways weighed [0-1]
    binds: tuple[str, ...]
    would_change: tuple[str, ...]
    assumed: tuple[str, ...]

    @property
    def cuttings(self) -> int:
        """All cuttings to take."""
        return sum(line.cuttings for line in self.takings)

    @property
    def gives_way(self) -> tuple[TargetLine, ...]:
        """The targets promised less than was asked."""
        return tuple(line for line in self.targets if line.gives_way)


def target_lines(
    ask: Ask, stream: Stream, way: Way, came: Through, wanted: int | None, cause: str
) -> list[TargetLine]:
    """Return a line for each target of a stream."""
    lines, targets = [], ask.streams[stream]
    before = 0
    for target, planned in zip(targets, way.given, strict=True):
        chance, sure = came.at_least(before + target.count), ask.sure(target)
        before += planned
        if planned == target.count:
            reason = say("Met: the chance is {chance:.0%}, {sure:.0%} was asked.", chance=chance, sure=sure)
        elif wanted is None:
            reason = say(
                "Gives way, {planned} of {count}: what comes through is known too vaguely. {cause}",
                planned=planned,
                count=target.count,
                cause=cause,
            )
        else:
            reason = say(
                "Gives way, {planned} of {count}. {cause}", planned=planned, count=target.count, cause=cause
            )
        lines.append(TargetLine(target, planned, chance, reason))
    return lines


def taking(ask: Ask, stream: Stream, way: Way, came: Through, wanted: int | None) -> Taking:
    """Return what is taken for a stream and what comes of it."""
    steps = ask.steps[stream]
    return Taking(
        *stream,
        cuttings=way.cuttings,
        wanted=wanted,
        planned=sum(way.given),
        low=came.quantile(0.1),
        middle=came.quantile(0.5),
        high=came.quantile(0.9),
        rests_on="; ".join(map(str, steps)) or say("nothing is lost"),
    )


def share_among(count: int, mothers: Sequence[Mother]) -> list[int]:
    """Return how many of `count` cuttings each mother plant gives: in proportion to what it may, in whole cuttings.

    The largest remainders are rounded up, of equals the first.
    """
    most = sum(mother.most for mother in mothers)
    if not 0 <= count <= most:
        raise ValueError(f"{count} cuttings of at most {most}. Ask for 0 to {most}.")
    if not count:
        return [0] * len(mothers)
    out = [count * mother.most // most for mother in mothers]
    by_rest = sorted(range(len(mothers)), key=lambda at: (-(count * mothers[at].most % most), at))
    for at in by_rest[: count - sum(out)]:
        out[at] += 1
    return out


def mother_lines(ask: Ask, variety: str, cuttings: int) -> list[MotherLine]:
    """Return what to cut from each mother plant of a variety."""
    mothers, most = ask.giving[variety], ask.most(variety)
    lines = []
    for mother, count in zip(mothers, share_among(cuttings, mothers), strict=True):
        shoots = None if mother.shoots is None else -(-count // mother.per_shoot)
        if len(mothers) == 1:
            reason = say(
                "The only mother plant; {left} of {most} stay on it.",
                left=mother.most - count,
                most=mother.most,
            )
        else:
            reason = say(
                "{cuttings} of {most} from {plants} plants, each by what it may give ({may_give}).",
                cuttings=cuttings,
                most=most,
                plants=len(mothers),
                may_give=mother.most,
            )
        lines.append(MotherLine(mother, count, shoots, reason))
    return lines


def shortage(ask: Ask, variety: str, wanted: int | None, now: Mix, then: Mix, shoot: int) -> Shortage:
    """Return what a variety lacks, and what changes between the mix chosen and the best with one more shoot."""
    may_give, left = ask.most(variety), ask.most(variety) - now.cuttings
    more = tuple(
        (target.key, after - before)
        for stream, was, will in zip(ask.of(variety), now.ways, then.ways, strict=True)
        for target, before, after in zip(ask.streams[stream], was.given, will.given, strict=True)
        if after != before
    )
    gain = (sum(then.worth) - sum(now.worth)) / MILLION
    asked = say("more than {most:,}", most=MOST) if wanted is None else say_number(wanted)
    brings = ", ".join(f"{change:+d} {key}" for key, change in more) or say("nothing yet")
    return Shortage(
        variety,
        may_give,
        wanted,
        left,
        shoot,
        gain,
        more,
        say(
            "{variety}: {asked} cuttings wanted, the mother plants may give {may_give:,}. One more shoot "
            "({shoot}) would bring {brings}, worth {gain:.4g}.",
            variety=variety,
            asked=asked,
            may_give=may_give,
            shoot=counted(shoot, "cutting"),
            brings=brings,
            gain=gain,
        ),
    )
