"""Which batches to count today, and which not to wait for any longer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from ortet.decisions.task import Task
from ortet.wood.speech import say, say_short_day

__all__ = ["ToCount", "counting_tasks"]

LATELY = timedelta(days=5)  # a batch counted so lately is not counted again yet [our choice]
EPOCH = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class ToCount:
    """A batch that roots are waited for."""

    batch: str  # what it is called
    code: str
    lot: str  # code
    variety: str
    bench: str
    here: int  # cuttings in it
    rooted: int  # known to have rooted, potted ones included
    day: date | None  # when most of what is still to root should show; None: nothing more is to come
    share: tuple[float, float, float] | None  # that should show then: 5, 50, 95 in 100 [0-1]
    enough: date | None  # after it less than one more is to be expected
    counted: date | None  # last


def counting_tasks(batches: Iterable[ToCount], *, today: date, zone_offset: float) -> list[Task]:
    """Return the batches to count by now, and those whose waiting is over.

    Parameters
    ----------
    zone_offset : float
        The grower's clock ahead of UTC. [h]
    """
    tasks = []
    for one in batches:
        if one.counted and today - one.counted < LATELY:
            continue
        if one.enough and one.enough <= today and one.counted:
            tasks.append(_stop(one, zone_offset))
        elif one.day and one.share and one.day <= today:
            tasks.append(_count(one, zone_offset))
    return tasks


def _hour(day: date, zone_offset: float) -> float:
    """Return noon of a day. [h since 1970]"""
    return (day - EPOCH).days * 24 + 12 - zone_offset


def _count(one: ToCount, zone_offset: float) -> Task:
    assert one.day and one.share
    low, middle, high = (round(100 * share) for share in one.share)
    since = (
        say("last counted on {day}", day=say_short_day(one.counted)) if one.counted else say("never counted")
    )
    return Task(
        act=say(
            "Count batch {batch} (‘{variety}’, {count} on {bench}).",
            batch=one.batch,
            variety=one.variety,
            count=one.here,
            bench=one.bench,
        ),
        reason=say(
            "By {day} {middle} % should show roots ({low} to {high} %); {since}. "
            "Far fewer, and something is wrong while it can still be mended: warmth, water, rot.",
            day=say_short_day(one.day),
            middle=middle,
            low=low,
            high=high,
            since=since,
        ),
        kind="count",
        lots=(one.lot,),
        bags=(one.batch,),
        place=one.bench,
        count=one.here,
        waiting=0.0,
        due=_hour(one.day, zone_offset),
        deed="count",
        limit="",
        command=f"ortet count {one.batch} --rooted N",
    )


def _stop(one: ToCount, zone_offset: float) -> Task:
    assert one.enough
    return Task(
        act=say(
            "Pot on what rooted of batch {batch} (‘{variety}’, {count} on {bench}), and give up the rest.",
            batch=one.batch,
            variety=one.variety,
            count=one.here,
            bench=one.bench,
        ),
        reason=say(
            "Since {day} waiting adds less than one more; {rooted} are known to have rooted. "
            "Its place on the bench is worth more to the next batch.",
            day=say_short_day(one.enough),
            rooted=one.rooted,
        ),
        kind="pot",
        lots=(one.lot,),
        bags=(one.batch,),
        place=one.bench,
        count=one.here,
        waiting=0.0,
        due=_hour(one.enough, zone_offset),
        deed="pot",
        limit="",
        command=f"ortet pot {one.batch} --to GROUND",
    )
