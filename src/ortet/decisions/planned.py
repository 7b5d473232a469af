"""What the plan of the season wants done this week, as tasks beside those that the bags demand."""

from __future__ import annotations

import shlex
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ortet.decisions.task import Task
from ortet.wood.code import is_code, show

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


def _named(day: date) -> str:
    return f"{day.day} {day:%b}"


def _cut(group: Sequence[ToCut], zone_offset: float) -> Task:
    first = group[0]
    left = sum(cut.count - cut.done for cut in group)
    plants = ", ".join(f"{cut.count - cut.done} from {cut.mother}" for cut in group)
    day = f" on {_named(first.day)}" if first.day else ""
    return Task(
        act=f"Take {left} of {first.variety} for {first.use}{day}: {plants}.",
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
    heat = "without heat" if one.base_c is None else f"at {one.base_c:g} °C"
    name = one.mark or (show(one.lot) if is_code(one.lot) else one.lot)
    roots = f" Half of those that root have roots by {_named(one.ready)}." if one.ready else ""
    later = ""
    waiting = 0.0
    if one.risk_later is not None:
        later = f", {one.risk_later:.0%} a week later"
        waiting = max(0.0, (one.risk_later - one.risk) * left)
    return Task(
        act=f"Strike {left} of {name}, {one.variety}, on {one.bench} {heat}.",
        reason=f"Leaves come too long before roots in {one.risk:.0%} of seasons{later}.{roots}",
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
        act = f"Hold order {one.order} of {one.buyer}: no day until {_named(one.last_day)} is safe. Tell the buyer."
        due = one.last_day
    else:
        pack = f" with {one.pack}" if one.pack else ""
        when = "today" if one.day == today else f"on {one.day:%A} {_named(one.day)}"
        done = f", {one.packed} of them packed" if one.packed else ""
        act = f"Post order {one.order} of {one.buyer} {when}{pack}: {one.count} cuttings{done}."
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
