"""When a deed was done, as commands and programs say it."""

from datetime import UTC, datetime, timedelta

from ortet.ledger.booking import Refused, told

__all__ = ["EARLIEST", "SOON", "done_at"]

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
