"""The book's days as a calendar: today's tasks, postings, counts, the orders' windows, wood kept apart. No buyer is in it.

A calendar's file lies on phones and with whoever keeps calendars for them: it names lots, bags, benches and orders' numbers,
never who ordered, who sent or where they live.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from django.utils.crypto import salted_hmac
from django.utils.timezone import localdate

from ortet.ledger.models import Nursery, OrderLine
from ortet.ledger.packed import sold
from ortet.tables.calendar import Entry
from ortet.tables.calendar import calendar as written
from ortet.wood.speech import counted, say, to_say

if TYPE_CHECKING:
    from ortet.decisions.task import Task

__all__ = ["calendar", "entries"]

# Kinds of tasks whose sentences name a person: what the calendar says instead.
UNNAMED = {
    "post": to_say("Post {place}"),
    "pack": to_say("Pack {place}"),
    "send": to_say("Send {place}"),
    "complaint": to_say("Answer the complaint about {place}"),
    "parcel": to_say("Look through {place}"),
}
SEE_TODAY = to_say("See Today: {place}")
WITHOUT_NAMES = (
    "sort", "wet", "airless", "dry", "bare", "use", "weigh", "inspect", "record", "strike", "set", "cut", "alike", "count",
    "pot", "held", "soak", "dip", "fresh", "apart",
)  # fmt: skip
LATER = ("post", "count", "apart")  # have a day of their own ahead, and are told from there


def entries(now: datetime) -> list[Entry]:
    """Return every entry of the calendar, in order of their days."""
    found = [*_tasks(now), *_postings(now), *_counts(now), *_windows(now), *_apart(now)]
    return sorted(found, key=lambda entry: (entry.first, entry.key))


def calendar(now: datetime, *, tasks_apart: bool = False) -> bytes:
    """Return the calendar file (RFC 5545); with `tasks_apart` today's tasks as to-dos instead of days."""
    return written(
        f"Ortet: {Nursery.get().name}", entries(now), book=_book(), at=now, tasks_apart=tasks_apart
    )


def _book() -> UUID:
    """Return what stands for this book, so that entries of two books are never taken for each other."""
    return UUID(salted_hmac("ortet.work.calendar", "book", algorithm="sha256").hexdigest()[:32])


def _tasks(now: datetime) -> Iterator[Entry]:
    """Yield today's tasks; one that is not pressing yet stands on the day its limit is crossed."""
    from .today import today

    here = localdate(now)
    for task in today(None if now == Nursery.get().now() else now).tasks:
        if task.kind in LATER:
            continue
        about = [*sorted(task.lots), *sorted(task.bags), task.place]
        day = here if task.due is None else max(here, localdate(datetime.fromtimestamp(task.due * 3600, UTC)))
        title, words = _said(task)
        yield Entry(f"task {task.kind} {' '.join(about)}", day, day, title, words, say("task"), to_do=True)


def _said(task: Task) -> tuple[str, str]:
    if task.kind in WITHOUT_NAMES:
        return task.act, task.reason
    return say(UNNAMED.get(task.kind, SEE_TODAY), place=task.place), ""


def _postings(now: datetime) -> Iterator[Entry]:
    """Yield the day on which each order's parcel is best posted, as planned."""
    from .plan.due import to_post

    here = localdate(now)
    of: Counter[int] = Counter()  # parcels of each order so far
    for one in to_post():
        of[one.order] += 1
        if one.day and one.packed < one.count:
            left = one.count - one.packed
            what = {"order": one.order, "cuttings": counted(left, "cutting")}
            yield Entry(
                f"posting {of[one.order]} of order {one.order}",
                max(one.day, here),
                max(one.day, here),
                say("Post order {order}: {cuttings}, with {pack}", **what, pack=one.pack)
                if one.pack
                else say("Post order {order}: {cuttings}", **what),
                say("Wanted by {day}.", day=one.last_day) if one.last_day >= one.day else "",
                say("posting"),
            )


def _counts(now: datetime) -> Iterator[Entry]:
    """Yield the day on which to count each batch that roots are waited for."""
    from .growing.foretold import to_count

    here = localdate(now)
    for one in to_count(now):
        if one.day:
            day = max(one.day, here)
            words = say(
                "{cuttings} on {bench}; {rooted} known to have rooted.",
                cuttings=counted(one.here, "cutting"),
                bench=one.bench,
                rooted=one.rooted,
            )
            title = say("Count batch {batch} (‘{variety}’)", batch=one.batch, variety=one.variety)
            yield Entry(f"count of {one.code}", day, day, title, words, say("Count").lower())


def _windows(now: datetime) -> Iterator[Entry]:
    """Yield from when until when each order is wanted, for every window that is not over and as far as it was not sent."""
    of: dict[tuple[int, date, date], list[OrderLine]] = defaultdict(list)
    lines = list(
        OrderLine.objects.filter(ended_at=None, last_day__gte=localdate(now)).select_related("order")
    )
    gone = sold([line.pk for line in lines])
    for line in lines:
        of[line.order.number, line.first_day, line.last_day].append(line)
    for (order, first, last), wanted in of.items():
        count = sum(max(0, line.count - gone[line.pk]) for line in wanted)
        if not count:
            continue
        yield Entry(
            f"window of line {order}/{min(line.position for line in wanted)}",
            first,
            last,
            say("Order {order} is wanted: {cuttings}", order=order, cuttings=counted(count, "cutting")),
            "",
            say("order"),
        )


def _apart(now: datetime) -> Iterator[Entry]:
    """Yield when to look again at wood that is kept apart since it came, until it is moved to one's own.

    No day is set on which it is free: that is the permit's, or the grower's, to say.
    """
    from ortet.decisions.incoming import LOOK_AGAIN_H

    from .receiving.due import lots_due

    here = localdate(now)
    for one in lots_due(now):
        if one.store and not one.is_held:
            day = localdate(datetime.fromtimestamp((one.looked + LOOK_AGAIN_H) * 3600, UTC))
            yield Entry(
                f"apart {one.lot} {one.place}",
                max(day, here),
                max(day, here),
                say(
                    "Look again at {name} (‘{variety}’), kept apart in {store}",
                    name=one.name,
                    variety=one.variety,
                    store=one.store,
                ),
                say(
                    "{cuttings} of parcel {parcel}. It stays apart until you release it: no date does.",
                    cuttings=counted(one.count, "cutting"),
                    parcel=one.parcel,
                ),
                say("kept apart"),
            )
