"""What parcels received still want done: looked through, taken out of water, dipped, struck, looked at again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from shlex import quote

from ortet.decisions.task import Task
from ortet.wood.speech import say

__all__ = ["LOOK_AGAIN_H", "Arrived", "LiesOpen", "incoming_tasks"]

LOOK_AGAIN_H = (
    168.0  # wood kept apart is looked at each week [our choice: pests hatch between two looks of a month]
)
SPOILS = 0.05  # share of an unopened or soaked parcel that a week of waiting costs [our choice; it only puts tasks in order]
DAY = 24.0


@dataclass(frozen=True, slots=True)
class LiesOpen:
    """A parcel that was begun and not finished."""

    number: int
    sender: str
    since: float  # [h since 1970]
    lines: int
    not_looked_at: int
    count: int  # cuttings stated or counted


@dataclass(frozen=True, slots=True)
class Arrived:
    """A lot of a finished parcel that something is still to be done about."""

    lot: str  # code
    name: str  # mark, else the code as it is written
    variety: str
    parcel: int
    place: str  # where it lies
    bag: str  # name of the bag it lies in, or nothing
    count: int
    then: str  # store, strike or hold
    soaks_until: float | None  # while it lies in water [h since 1970]
    dip: str  # to be disinfected with; nothing once it was
    minutes: float | None
    store: str  # where it is kept apart, or nothing
    looked: float  # last [h since 1970]
    is_bare: bool  # laid on the bench until it was soaked, dipped or struck
    is_held: bool


def incoming_tasks(parcels: Iterable[LiesOpen], lots: Iterable[Arrived], *, now: float) -> list[Task]:
    """Return what is to be done about parcels received.

    Parameters
    ----------
    now : float
        [h since 1970]
    """
    tasks = [_open(one, now) for one in parcels]
    for one in lots:
        if one.is_held:
            tasks.append(_held(one))
        elif one.dip:
            tasks.append(_dip(one))
        elif one.soaks_until is not None and one.is_bare:
            tasks.append(_out_of_water(one, now))
        elif one.is_bare and one.then == "strike":
            tasks.append(_strike(one))
        elif one.store and one.looked + LOOK_AGAIN_H <= now:
            tasks.append(_look(one, now))
    return tasks


def _so_long(hours: float) -> str:
    if hours < 1:
        return ""
    if hours < 1.5:
        return say(" for an hour")
    if hours < 2 * DAY:
        return say(" for {hours:.0f} hours", hours=hours)
    return say(" for {days:.0f} days", days=hours // DAY)


def _days(hours: float) -> str:
    days = int(hours // DAY)
    if days < 2:
        return say("yesterday") if days == 1 else say("today")
    return say("{days} days ago", days=days)


def _task(
    one: Arrived,
    kind: str,
    act: str,
    reason: str,
    deed: str,
    command: str,
    *,
    waiting: float = 0.0,
    due: float | None = None,
) -> Task:
    bags = (one.bag,) if one.bag else ()
    return Task(act, reason, kind, (one.lot,), bags, one.place, one.count, waiting, due, deed, "", command)


def _open(one: LiesOpen, now: float) -> Task:
    missing = (
        say("{count} of {lines} lines not looked at", count=one.not_looked_at, lines=one.lines)
        if one.lines
        else say("no line of its slip noted yet")
    )
    what = missing if one.not_looked_at or not one.lines else say("all looked at, nothing decided yet")
    return Task(
        act=say(
            "Parcel {parcel} of {sender} lies open{so_long}: {what}.",
            parcel=one.number,
            sender=one.sender,
            so_long=_so_long(now - one.since),
            what=what,
        ),
        reason=say("Wood in a parcel dries or sweats, and a claim is heard while it is fresh."),
        kind="parcel",
        lots=(),
        bags=(),
        place=f"parcel {one.number}",
        count=one.count,
        waiting=SPOILS * one.count,
        due=one.since + DAY,
        deed="receive",
        limit="",
        command=f"ortet receive --parcel {one.number}",
    )


def _named(one: Arrived) -> str:
    where = (
        say("{count} on {place}", count=one.count, place=one.place)
        if one.is_bare
        else say("{count} in {place}", count=one.count, place=one.place)
    )
    return f"{one.name} (‘{one.variety}’, {where})"


def _dip(one: Arrived) -> Task:
    minutes = say(" for {minutes:g} minutes", minutes=one.minutes) if one.minutes else ""
    soak = say(" Then the soak.") if one.soaks_until is not None else ""
    next_store = (
        say(" Then close it in a bag in {store}.", store=one.store)
        if one.store and one.then == "store" and not soak
        else ""
    )
    return _task(
        one,
        "dip",
        say(
            "Wash {lot}, then dip it in {dip}{minutes}; rinse well.{soak}{next_store}",
            lot=_named(one),
            dip=one.dip,
            minutes=minutes,
            soak=soak,
            next_store=next_store,
        ),
        say(
            "Mould came with parcel {parcel}. Try ten first. Bleach never meets acids, ammonia or another cleaner; "
            "gloves, eyes, moving air.",
            parcel=one.parcel,
        ),
        "treat",
        f"ortet treat {quote(one.place)} disinfect --lot {one.lot} --agent bleach --strength {quote(one.dip)}"
        + (f" --minutes {one.minutes:g}" if one.minutes else ""),
        waiting=SPOILS * one.count,
    )


def _out_of_water(one: Arrived, now: float) -> Task:
    assert one.soaks_until is not None
    over = now >= one.soaks_until
    where = say(" in {store}", store=one.store) if one.store else ""
    then = say("strike it") if one.then == "strike" else say("close it in a bag{where}", where=where)
    return _task(
        one,
        "soak",
        say("Take {lot} out of its water; let the bark dry off, then {then}.", lot=_named(one), then=then)
        if over
        else say(
            "Take {lot} out of its water when its soak ends; let the bark dry off, then {then}.",
            lot=_named(one),
            then=then,
        ),
        say("Its soak after parcel {parcel} is over. Longer than a day drowns it.", parcel=one.parcel)
        if over
        else say(
            "Its soak after parcel {parcel} is not over yet. Longer than a day drowns it.", parcel=one.parcel
        ),
        "strike" if one.then == "strike" else "bag",
        f"ortet strike {one.lot} --bench BENCH"
        if one.then == "strike"
        else f"ortet bag {one.lot} --store {quote(one.store or 'STORE')}",
        waiting=SPOILS * one.count * (4 if over else 0),
        due=one.soaks_until,
    )


def _strike(one: Arrived) -> Task:
    return _task(
        one,
        "fresh",
        say("Strike {lot} now.", lot=_named(one)),
        say("It came with parcel {parcel} and will not keep.", parcel=one.parcel),
        "strike",
        f"ortet strike {one.lot} --bench BENCH",
        waiting=SPOILS * one.count,
    )


def _look(one: Arrived, now: float) -> Task:
    return _task(
        one,
        "apart",
        say("Look again at {lot}, kept apart in {store}.", lot=_named(one), store=one.store),
        say(
            "Last looked at {when}. What hatches or spreads shows late; move it to your own wood only when it stays clean.",
            when=_days(now - one.looked),
        ),
        "inspect",
        f"ortet inspect {quote(one.place)} --lot {one.lot}",
    )


def _held(one: Arrived) -> Task:
    return _task(
        one,
        "held",
        say(
            "Ask the plant-health authority about {lot}; until it answers it stays closed where it is.",
            lot=_named(one),
        ),
        say(
            "What parcel {parcel} brought may have to be reported. Move, post, plant and burn nothing.",
            parcel=one.parcel,
        ),
        "",
        "",
        waiting=SPOILS * one.count,
    )
