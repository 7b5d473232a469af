"""What is to be packed, sent and answered for, as tasks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from ortet.decisions.task import Task

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


def _named(day: date) -> str:
    return f"{day.day} {day:%b}"


def _some(count: int) -> str:
    return "1 cutting" if count == 1 else f"{count} cuttings"


def _pack(one: ToPack, zone_offset: float) -> Task:
    done = f" {_some(one.packed).capitalize()} of it lie packed already." if one.packed else ""
    return Task(
        act=f"Pack order {one.order} of {one.buyer} by {_named(one.last_day)}: {_some(one.count)} still to be picked.",
        reason=f"The buyer's window ends on {_named(one.last_day)}, and no plan names a day to post it.{done}",
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
    by = f" on {_named(due)}, as planned" if due == one.post_on else f" by {_named(due)}"
    left = f" {_some(one.left).capitalize()} of the order are still to be picked." if one.left else ""
    return Task(
        act=f"Send parcel {one.parcel} to {one.buyer}{by}: {_some(one.count)} of order {one.order} lie packed.",
        reason=f"Packed since {_named(one.since)}. Keep it as cold as its bags were until it goes.{left}",
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
        act=f"Answer {one.buyer}: {one.count} of {one.variety}, {one.what} ({one.line}).",
        reason=f"Complained of on {_named(one.since)}. A replacement or a payment back answers it.",
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
