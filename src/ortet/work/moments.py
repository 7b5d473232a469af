"""When a deed was done, and the day on which money came or went, as it is said."""

from datetime import UTC, date, datetime, timedelta

from django.utils import timezone

from ortet.ledger.booking import Refused, told

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
        when = f"{told(moment)}" if moment.year < 9999 else "That"
        raise Refused(f"{when} is still to come. Give the time it was done. Nothing was booked.")
    if moment < EARLIEST:
        raise Refused(
            f"The year {moment.year} is long ago: give a moment since {EARLIEST.year}. Nothing was booked."
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
        raise Refused(f"{day} is still to come. Give the day on which it was. Nothing was booked.")
    if day.year < EARLIEST.year:
        raise Refused(f"{day} is long ago: give a day since {EARLIEST.year}. Nothing was booked.")
    return day
