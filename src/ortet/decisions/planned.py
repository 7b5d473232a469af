"""What the plan of the season wants done this week, as tasks beside those that the bags demand."""

from __future__ import annotations

import shlex
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ortet.decisions.task import Task
from ortet.wood.code import is_code, show
from ortet.wood.speech import say, say_short_day, weekday

__all__ = ["ToCut", "ToPost", "ToSet", "planned_tasks"]

AHEAD = timedelta(days=7)
EPOCH = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class ToCut:
    """Wood that the plan takes from a mother plant."""

    mother: str  # accession number
    variety: str
    use: str
    count: int
    done: int  # taken since the plan was made
    day: date | None  # the best day; None: no day stands out
    why: str


@dataclass(frozen=True, slots=True)
class ToSet:
    """Wood that the plan sets on a bench."""

    lot: str  # code
    mark: str
    variety: str
    place: str  # where it lies
    bag: bool
    bench: str
    base_c: float | None
    count: int
    done: int  # struck there, or laid there to be struck, since the plan was made
    start: date
    risk: float  # that leaves come first by more than the reserve bears [0-1]
    risk_later: float | None  # the same, a week later [0-1]
    ready: date | None


@dataclass(frozen=True, slots=True)
class ToPost:
    """An order that the plan posts."""

    order: int
    buyer: str
    count: int
    lots: tuple[str, ...]  # codes
    bags: tuple[str, ...]  # names of the bags it is picked from
    packed: int  # of them, since the plan was made
    day: date | None  # None: hold
    pack: str  # nothing, a warm pack or a cold pack
    risk: float  # that the wood is harmed or late [0-1]
    last_day: date
    why: str


def planned_tasks(
    cuts: Iterable[ToCut], sets: Iterable[ToSet], posts: Iterable[ToPost], *, today: date, zone_offset: float
) -> list[Task]:
    """Return what is due by a week from now and not done yet.

    Parameters
    ----------
    zone_offset : float
        The grower's clock ahead of UTC. [h]
    """
    until = today + AHEAD
    wanted = [cut for cut in cuts if cut.count > cut.done and (cut.day is None or cut.day <= until)]
    by_variety: dict[tuple[str, str], list[ToCut]] = defaultdict(list)
    for cut in wanted:
        by_variety[cut.variety, cut.use].append(cut)
    tasks = [_cut(group, zone_offset) for group in by_variety.values()]
    tasks += [_set(one, zone_offset) for one in sets if one.count > one.done and one.start <= until]
    tasks += [
        _post(one, today, zone_offset)
        for one in posts
        if one.count > one.packed and (one.last_day <= until if one.day is None else one.day <= until)
    ]
    return tasks


def _hour(day: date, zone_offset: float) -> float:
    """Return the end of a day. [h since 1970]"""
    return ((day - EPOCH).days + 1) * 24.0 - zone_offset


def _cut(group: Sequence[ToCut], zone_offset: float) -> Task:
    first = group[0]
    left = sum(cut.count - cut.done for cut in group)
    plants = ", ".join(
        say("{count} from {mother}", count=cut.count - cut.done, mother=cut.mother) for cut in group
    )
    day = say(" on {day}", day=say_short_day(first.day)) if first.day else ""
    return Task(
        act=say(
            "Take {count} of {variety} for {use}{day}: {plants}.",
            count=left,
            variety=first.variety,
            use=say(first.use),
            day=day,
            plants=plants,
        ),
        reason=first.why,
        kind="cut",
        lots=(),
        bags=(),
        place=first.mother if len(group) == 1 else "",
        count=left,
        waiting=0.0,
        due=_hour(first.day, zone_offset) if first.day else None,
        deed="take",
        limit="",
        command=f"ortet take {shlex.quote(first.mother)} {first.count - first.done} --use {first.use}",
        parts=tuple((cut.mother, cut.count - cut.done) for cut in group),
        use=first.use,
    )


def _set(one: ToSet, zone_offset: float) -> Task:
    left = one.count - one.done
    heat = say("without heat") if one.base_c is None else say("at {base_c:g} °C", base_c=one.base_c)
    name = one.mark or (show(one.lot) if is_code(one.lot) else one.lot)
    roots = (
        say(" Half of those that root have roots by {day}.", day=say_short_day(one.ready))
        if one.ready
        else ""
    )
    later = ""
    waiting = 0.0
    if one.risk_later is not None:
        later = say(", {risk:.0%} a week later", risk=one.risk_later)
        waiting = max(0.0, (one.risk_later - one.risk) * left)
    return Task(
        act=say(
            "Strike {count} of {lot}, {variety}, on {bench} {heat}.",
            count=left,
            lot=name,
            variety=one.variety,
            bench=one.bench,
            heat=heat,
        ),
        reason=say(
            "Leaves come too long before roots in {risk:.0%} of seasons{later}.{roots}",
            risk=one.risk,
            later=later,
            roots=roots,
        ),
        kind="set",
        lots=(one.lot,),
        bags=(one.place,) if one.bag else (),
        place=one.place,
        count=left,
        waiting=waiting,
        due=_hour(one.start + AHEAD, zone_offset),
        deed="strike",
        limit="",
        command=f"ortet strike {shlex.quote(one.mark or one.lot)} {left} --from {shlex.quote(one.place)} "
        f"--bench {shlex.quote(one.bench)}" + ("" if one.base_c is None else f" --heat {one.base_c:g}C"),
        parts=((one.bench, left),),
        base_c=one.base_c,
    )


def _post(one: ToPost, today: date, zone_offset: float) -> Task:
    if one.day is None:
        act = say(
            "Hold order {order} of {buyer}: no day until {day} is safe. Tell the buyer.",
            order=one.order,
            buyer=one.buyer,
            day=say_short_day(one.last_day),
        )
        due = one.last_day
    else:
        pack = say(" with {pack}", pack=one.pack) if one.pack else ""
        on = say("on {weekday} {day}", weekday=weekday(one.day), day=say_short_day(one.day))
        done = say(", {count} of them packed", count=one.packed) if one.packed else ""
        act = say(
            "Post order {order} of {buyer} {when}{pack}: {count} cuttings{done}.",
            order=one.order,
            buyer=one.buyer,
            when=say("today") if one.day == today else on,
            pack=pack,
            count=one.count,
            done=done,
        )
        due = one.day
    return Task(
        act=act,
        reason=one.why,
        kind="post",
        lots=one.lots,
        bags=one.bags,
        place=f"order {one.order}",
        count=one.count,
        waiting=0.0,
        due=_hour(due, zone_offset),
        deed="post",
        limit="",
        command=f"ortet plan --order {one.order}" if one.day is None else f"ortet pick --order {one.order}",
    )
