"""The judge's answer in the grower's words: the moments, what to look at next, and who else may have wrong plants."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from django.utils import timezone

from ortet.decisions.mixup import Affected, Candidate, Look, affected, judge, next_looks
from ortet.ledger.booking import Refused
from ortet.ledger.handling import Handling
from ortet.ledger.models import Kind, Nursery
from ortet.wood import code as codes
from ortet.wood.speech import say, say_many, short_month, to_say

from .asking import Find, Found, read
from .flowing import Cell
from .moments import Case, Sitting, lay_out

__all__ = ["Answer", "Chance", "Next", "Touched", "mixup"]

SHOWN, WORTH = 8, 0.01  # candidates told, and from which chance on
LOOKS, LEAST_BITS = 5, 0.05  # looks told, and how much they must tell
TOUCHED = 0.05  # groups are told from this chance of a wrong plant on

HOW = {
    "labels": to_say("two labels changed places"),
    "both": to_say("cuttings went both ways"),
    "into_first": to_say("cuttings of {other} got among {one}"),
    "into_second": to_say("cuttings of {one} got among {other}"),
    "mother": to_say("the mother plant itself is not what its label says"),
    "sender": to_say("it came with a wrong name already"),
    "part": to_say("some shoots were of another plant: a neighbour, or one that grew from below a graft"),
    "stock": to_say("the rootstock grew out where the scion failed"),
    "unseen": to_say("a moment that is not in the book, or before the lot came into it"),
}
DONE = {
    "taken": to_say("cut and laid out"),
    "received": to_say("unpacked"),
    "bagged": to_say("bagged"),
    "moved": to_say("moved"),
    "split": to_say("split"),
    "struck": to_say("struck"),
    "grafted": to_say("grafted"),
    "potted": to_say("potted on"),
    "sold": to_say("packed for a buyer"),
    "looked": to_say("looked into"),
    "lay": to_say("lay there"),
}


@dataclass(frozen=True, slots=True)
class LotOf:
    """A lot as a page names it."""

    code: str
    variety: str
    done: str  # what was done with it at the moment


@dataclass(frozen=True, slots=True)
class Chance:
    """One thing that may have happened, and how likely it is."""

    chance: float
    title: str
    day: datetime | None
    lots: tuple[LotOf, ...]
    by: tuple[str, ...]
    how: tuple[str, ...]  # likeliest first
    count: str  # how many cuttings


@dataclass(frozen=True, slots=True)
class Points:
    """To which candidate an answer points, and how surely."""

    number: int  # among the chances told
    title: str
    chance: float


@dataclass(frozen=True, slots=True)
class Next:
    """Plants to look at next, and what each answer would tell."""

    lot: str
    variety: str
    where: str
    plants: int
    any_wrong: float
    bits: float
    if_wrong: tuple[Points, ...]
    if_right: tuple[Points, ...]


@dataclass(frozen=True, slots=True)
class Touched:
    """Plants that nobody has looked at and that may be wrong."""

    lot: str
    variety: str
    where: str
    place: str  # code of the place, nothing where they were sold
    buyer: str
    rest: int
    any_wrong: float
    expected: float


@dataclass(frozen=True, slots=True)
class Answer:
    """What most likely happened, what to look at next, and who else may have wrong plants."""

    found: tuple[str, ...]
    chances: tuple[Chance, ...]
    rest: float  # chance of all that is not told
    between: tuple[tuple[str, float], ...]  # which two lots, whenever it was
    next: tuple[Next, ...]
    touched: tuple[Touched, ...]
    moments: int  # that were weighed


def mixup(found: Sequence[Found]) -> Answer:
    """Say at which moments plants found wrong were most likely confused, what to look at next, who else is touched.

    Raises
    ------
    Refused, Unknown
        If what was found cannot be, or nothing in the book could have made it so.
    """
    finds = read(found)
    case = lay_out(finds, Nursery.get().tz)
    try:
        judged = judge(case.groups, case.moments, case.sources)
    except ValueError as error:
        raise Refused(say("{error}. Look over lots and counts. Nothing was booked.", error=error)) from None
    told = [one for one in judged.candidates if one.chance >= WORTH][:SHOWN] or judged.candidates[:1]
    chances = tuple(_chance(one, case) for one in told)
    numbers = {one.key: number for number, one in enumerate(told, 1)}

    def points(shares: Sequence[tuple[int, float]]) -> tuple[Points, ...]:
        return tuple(
            Points(numbers[key], _title(key, case), share)
            for key, share in shares
            if key in numbers and share >= 0.05
        )

    return Answer(
        found=tuple(_found(one) for one in finds),
        chances=chances,
        rest=max(1.0 - sum(one.chance for one in chances), 0.0),
        between=_between(judged.candidates, case),
        next=tuple(
            Next(
                case.groups[look.group].lot,
                case.groups[look.group].variety,
                _where(case.cells[look.group], case),
                look.plants,
                look.any_wrong,
                look.bits,
                points(look.if_wrong),
                points(look.if_right),
            )
            for look in _nearest(next_looks(judged, case.groups, most=3 * LOOKS), case)
        ),
        touched=tuple(
            touched
            for one in affected(judged, case.groups)
            if one.any_wrong >= TOUCHED
            for touched in _touched(one, case)
        ),
        moments=len(case.moments),
    )


def _nearest(looks: Sequence[Look], case: Case) -> list[Look]:
    """Return the looks that tell most; of those that tell as much, those at plants that are still here."""

    def is_gone(look: Look) -> bool:
        return all(case.names[cell.place][1] == Kind.SOLD for cell in case.cells[look.group])

    telling = [look for look in looks if look.bits >= LEAST_BITS]
    return sorted(telling, key=lambda look: (-round(look.bits, 1), is_gone(look), -look.bits))[:LOOKS]


def _between(candidates: Sequence[Candidate], case: Case) -> tuple[tuple[str, float], ...]:
    """Return which two lots it was, whenever, the likeliest first."""
    sums: dict[str, float] = defaultdict(float)
    for one in candidates:
        if one.key in case.sittings:
            first, second = case.moments[one.key].first, case.moments[one.key].second
            sums[
                say(
                    "{one} and {other}",
                    one=_name(first.lot, first.variety),
                    other=_name(second.lot, second.variety),
                )
            ] += one.chance
        else:
            sums[_title(one.key, case)] += one.chance
    return tuple(
        sorted(((words, share) for words, share in sums.items() if share >= 0.05), key=lambda one: -one[1])
    )


def _found(one: Find) -> str:
    of = say(
        "{wrong} of {looked} of lot {lot} {variety}",
        wrong=one.wrong,
        looked=one.wrong + one.right,
        lot=one.lot,
        variety=one.lot.variety,
    )
    if not one.wrong:
        return say("{of} were something else: all looked at were right", of=of)
    if not one.variety:
        return say("{of} were something else", of=of)
    return say("{of} were {variety}", of=of, variety=_quoted(one.variety))


def _name(code: str, variety: str) -> str:
    return f"{codes.show(code)} {_quoted(variety)}"


def _quoted(variety: str) -> str:
    return f"\N{LEFT SINGLE QUOTATION MARK}{variety}\N{RIGHT SINGLE QUOTATION MARK}"


def _when(sitting: Sitting) -> str:
    return f"{sitting.site}, {sitting.day.day} {short_month(sitting.day)} {sitting.day.year}"


def _title(key: int, case: Case) -> str:
    """Return a candidate in one line."""
    if sitting := case.sittings.get(key):
        moment = case.moments[key]
        return say(
            "{when}: {one} with {other}",
            when=_when(sitting),
            one=_name(moment.first.lot, moment.first.variety),
            other=_name(moment.second.lot, moment.second.variety),
        )
    source = next(source for source in case.sources if source.key == key)
    if source.kind in ("mother", "sender"):
        return (
            say("Mother plant {source}", source=source.name)
            if source.kind == "mother"
            else say("The parcel: {source}", source=source.name)
        )
    lot = codes.show(source.name)
    return {
        "part": say("The shoots of lot {lot}, before it came to the bench", lot=lot),
        "stock": say("The rootstock of lot {lot}", lot=lot),
        "unseen": say("Lot {lot}, at a moment that nobody noted", lot=lot),
    }[source.kind]


def _chance(one: Candidate, case: Case) -> Chance:
    sitting = case.sittings.get(one.key)
    first = second = ""
    lots: tuple[LotOf, ...] = ()
    if sitting:
        moment = case.moments[one.key]
        first, second = _quoted(moment.first.variety), _quoted(moment.second.variety)
        lots = (
            LotOf(moment.first.lot, moment.first.variety, _done(sitting.first)),
            LotOf(moment.second.lot, moment.second.variety, _done(sitting.second)),
        )
    how = tuple(say(HOW[shape], one=first, other=second) for shape, share in one.shapes if share >= 0.1)
    return Chance(
        one.chance,
        _when(sitting) if sitting else _title(one.key, case),
        sitting.day if sitting else None,
        lots,
        tuple(dict.fromkeys(act.by for act in _acts(sitting))),
        how,
        _count(one),
    )


def _acts(sitting: Sitting | None) -> tuple[Handling, ...]:
    return (*sitting.first, *sitting.second) if sitting else ()


def _done(acts: Sequence[Handling]) -> str:
    """Return what was done with a lot on a day, and at what time."""
    said = []
    for act, some in groupby(acts, key=lambda one: one.act):
        said.append(f"{say(DONE[act])} {timezone.localtime(next(some).at):%H:%M}")
    return ", ".join(said) or say(DONE["lay"])


def _count(one: Candidate) -> str:
    if one.shapes[0][0] in ("mother", "sender"):
        return say("all {high} of it", high=one.high)
    if one.low == one.high:
        return say_many("{count} cutting", "{count} cuttings", one.low)
    return say(
        "{low} to {high} cuttings, likeliest about {middle}", low=one.low, high=one.high, middle=one.middle
    )


def _where(cells: Sequence[Cell], case: Case) -> str:
    """Return where the plants of a group are, the fullest places first."""
    held = sorted(((case.now[cell].here, cell) for cell in cells if case.now[cell].here >= 0.5), reverse=True)
    return ", ".join(f"{round(count)} {_at(cell, case)}" for count, cell in held) or say("none left")


def _at(cell: Cell, case: Case) -> str:
    name, kind, _ = case.names[cell.place]
    if kind == Kind.SOLD:
        return (
            say("sold to {buyer}", buyer=case.buyers[cell.buyer])
            if cell.buyer in case.buyers
            else say("sold, buyer not noted")
        )
    if kind == Kind.BENCH:
        return say("on {name}", name=name)
    if kind == Kind.BATCH:
        return say("in batch {name}", name=name)
    return say("in bag {name}", name=name) if kind == Kind.BAG else say("in {name}", name=name)


def _touched(one: Affected, case: Case) -> list[Touched]:
    """Return the places and buyers of a group, each with its share of what may be wrong."""
    group, out = case.groups[one.group], []
    here = {cell: case.now[cell].here for cell in case.cells[one.group] if case.now[cell].here >= 0.5}
    whole = sum(here.values())
    for cell, count in sorted(here.items(), key=lambda item: -item[1]):
        _, kind, code = case.names[cell.place]
        share = count / whole
        # where a group lies apart, as if those expected wrong lay anywhere in it
        apart = 1.0 - (1.0 - share) ** max(one.expected, one.any_wrong)
        is_sold = kind == Kind.SOLD
        out.append(
            Touched(
                group.lot,
                group.variety,
                _at(cell, case),
                "" if is_sold else code,
                case.buyers.get(cell.buyer, "") if is_sold else "",
                min(round(count), one.rest),
                one.any_wrong if len(here) == 1 else min(one.any_wrong, apart),
                one.expected * min(count / one.rest, 1.0),
            )
        )
    return out
