"""What is to be packed, sent and answered for, as tasks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from ortet.decisions.task import Task
from ortet.wood.speech import counted, say, say_short_day

__all__ = ["Open", "ToAnswer", "ToPack", "outgoing_tasks"]

AHEAD = timedelta(days=7)
EPOCH = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class ToPack:
    """An order of which something is wanted soon and not packed yet, and of which no plan says the day of posting."""

    order: int
    buyer: str
    count: int  # cuttings still to be picked
    packed: int
    lots: tuple[str, ...]  # codes of the lots it is picked from
    last_day: date  # by which the first of them is wanted


@dataclass(frozen=True, slots=True)
class Open:
    """A parcel in which something lies and that was not sent yet."""

    parcel: int
    order: int
    buyer: str
    count: int
    left: int  # cuttings of the order still to be picked
    lots: tuple[str, ...]  # codes
    since: date  # when the first of it was packed
    post_on: date | None  # as planned
    last_day: date


@dataclass(frozen=True, slots=True)
class ToAnswer:
    """A complaint that neither a replacement nor a payment has answered."""

    order: int
    line: str  # such as order 3/2
    buyer: str
    variety: str
    count: int
    what: str
    since: date


def outgoing_tasks(
    packs: Iterable[ToPack],
    parcels: Iterable[Open],
    complaints: Iterable[ToAnswer],
    *,
    today: date,
    zone_offset: float,
) -> list[Task]:
    """Return what is to be packed within a week, every parcel that waits to be sent, and every complaint not answered.

    Parameters
    ----------
    zone_offset : float
        The grower's clock ahead of UTC. [h]
    """
    tasks = [_pack(one, zone_offset) for one in packs if one.last_day <= today + AHEAD]
    tasks += [_send(one, today, zone_offset) for one in parcels]
    return tasks + [_answer(one, zone_offset) for one in complaints]


def _hour(day: date, zone_offset: float) -> float:
    """Return the end of a day. [h since 1970]"""
    return ((day - EPOCH).days + 1) * 24.0 - zone_offset


def _some(count: int) -> str:
    return counted(count, "cutting")


def _pack(one: ToPack, zone_offset: float) -> Task:
    done = say(" {cuttings} of it lie packed already.", cuttings=_some(one.packed)) if one.packed else ""
    return Task(
        act=say(
            "Pack order {order} of {buyer} by {day}: {cuttings} still to be picked.",
            order=one.order,
            buyer=one.buyer,
            day=say_short_day(one.last_day),
            cuttings=_some(one.count),
        ),
        reason=say(
            "The buyer's window ends on {day}, and no plan names a day to post it.{done}",
            day=say_short_day(one.last_day),
            done=done,
        ),
        kind="pack",
        lots=one.lots,
        bags=(),
        place=f"order {one.order}",
        count=one.count,
        waiting=0.0,
        due=_hour(one.last_day, zone_offset),
        deed="pack",
        limit="",
        command=f"ortet pick --order {one.order}",
    )


def _send(one: Open, today: date, zone_offset: float) -> Task:
    due = one.post_on if one.post_on and one.post_on >= today else one.last_day
    by = (
        say(" on {day}, as planned", day=say_short_day(due))
        if due == one.post_on
        else say(" by {day}", day=say_short_day(due))
    )
    left = (
        say(" {cuttings} of the order are still to be picked.", cuttings=_some(one.left)) if one.left else ""
    )
    return Task(
        act=say(
            "Send parcel {parcel} to {buyer}{by}: {cuttings} of order {order} lie packed.",
            parcel=one.parcel,
            buyer=one.buyer,
            by=by,
            cuttings=_some(one.count),
            order=one.order,
        ),
        reason=say(
            "Packed since {day}. Keep it as cold as its bags were until it goes.{left}",
            day=say_short_day(one.since),
            left=left,
        ),
        kind="send",
        lots=one.lots,
        bags=(),
        place=f"parcel {one.parcel}",
        count=one.count,
        waiting=0.0,
        due=_hour(due, zone_offset),
        deed="send",
        limit="",
        command=f"ortet send {one.parcel}",
    )


def _answer(one: ToAnswer, zone_offset: float) -> Task:
    return Task(
        act=say(
            "Answer {buyer}: {count} of {variety}, {what} ({line}).",
            buyer=one.buyer,
            count=one.count,
            variety=one.variety,
            what=one.what,
            line=one.line,
        ),
        reason=say(
            "Complained of on {day}. A replacement or a payment back answers it.",
            day=say_short_day(one.since),
        ),
        kind="complaint",
        lots=(),
        bags=(),
        place=f"order {one.order}",
        count=one.count,
        waiting=0.0,
        due=_hour(one.since + AHEAD, zone_offset),
        deed="answer",
        limit="",
        command=f"ortet outgoing --order {one.order}",
    )
