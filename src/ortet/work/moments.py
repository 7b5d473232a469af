"""When a deed was done, and the day on which money came or went, as it is said."""

from datetime import UTC, date, datetime, timedelta

from django.utils import timezone

from ortet.ledger.booking import Refused, told
from ortet.wood.speech import say

__all__ = ["EARLIEST", "SOON", "day_done", "done_at"]

EARLIEST = datetime(1950, 1, 1, tzinfo=UTC)
SOON = timedelta(minutes=10)  # clocks differ


def done_at(at: datetime, now: datetime) -> datetime:
    """Return a moment in UTC.

    Raises
    ------
    Refused
        If it is still to come, or before anything could have been written down.
    """
    try:
        moment = at.astimezone(UTC)
    except OverflowError:  # a day from which the zone leads out of the calendar
        moment = datetime.max.replace(tzinfo=UTC) if at.year > 1 else datetime.min.replace(tzinfo=UTC)
    if moment > now + SOON:
        when = told(moment) if moment.year < 9999 else say("That")
        raise Refused(
            say("{when} is still to come. Give the time it was done. Nothing was booked.", when=when)
        )
    if moment < EARLIEST:
        raise Refused(
            say(
                "The year {year} is long ago: give a moment since {earliest}. Nothing was booked.",
                year=moment.year,
                earliest=EARLIEST.year,
            )
        )
    return moment


def day_done(on: date | None, at: datetime) -> date:
    """Return the day that was said, or else the day of the moment at which it is noted.

    Raises
    ------
    Refused
        If it is still to come, or before anything could have been written down.
    """
    today = timezone.localdate(at)
    day = on or today
    if day > today:
        raise Refused(
            say("{day} is still to come. Give the day on which it was. Nothing was booked.", day=day)
        )
    if day.year < EARLIEST.year:
        raise Refused(
            say(
                "{day} is long ago: give a day since {earliest}. Nothing was booked.",
                day=day,
                earliest=EARLIEST.year,
            )
        )
    return day
