"""Calendar files: whole days that any calendar shows (RFC 5545, with RFC 7986's name and refresh interval). [published]

The icalendar library folds lines at 75 octets and escapes text; what is written here is what the days say. Nothing is at an hour,
so there is no time zone to describe. Without a METHOD it is DTSTAMP that tells which of two copies is newer (3.8.7.2), not SEQUENCE.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from uuid import UUID, uuid5

__all__ = ["Entry", "calendar"]

CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")  # no letters of a text there (3.1)
REFRESH = timedelta(hours=6)  # how often a subscriber need ask again [our choice]


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing on one day, or on each of a row of days."""

    key: str  # what it is about: the same key is the same entry, however its day or words change
    first: date
    last: date
    title: str
    words: str = ""
    kind: str = ""  # shown as its category
    to_do: bool = False  # a task, which some calendars keep in a list of their own

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(f"{self.title!r} would end on {self.last}, before it begins on {self.first}")


def calendar(
    name: str, entries: Iterable[Entry], *, book: UUID, at: datetime, tasks_apart: bool = False
) -> bytes:
    """Return entries as a calendar file.

    Parameters
    ----------
    name
        What the calendar is called.
    book
        Stands for the book: with the key of an entry it makes an identifier that stays the same.
    at
        When the entries were as they are written.
    tasks_apart
        Whether tasks are written as to-dos rather than as whole days: many phones show days and no to-dos.
    """
    from icalendar import Calendar, vDuration, vText

    made = Calendar()
    made.add("prodid", "-//Ortet//Ortet//EN")
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made["NAME"] = vText(_clean(name))
    made["X-WR-CALNAME"] = vText(_clean(name))  # what most calendars read instead [common practice]
    every = vDuration(REFRESH)
    every.params["VALUE"] = "DURATION"
    made["REFRESH-INTERVAL"] = every
    for entry in entries:
        made.add_component(_component(entry, book, at, tasks_apart and entry.to_do))
    return made.to_ical()


def _clean(text: str) -> str:
    return CONTROL.sub("", text)


def _component(entry: Entry, book: UUID, at: datetime, as_to_do: bool) -> "object":
    """Return an entry as a whole-day event, or as a to-do; a `date` is written with VALUE=DATE (RFC 5545 erratum 3892)."""
    from icalendar import Event, Todo

    made = Todo() if as_to_do else Event()
    made.add("uid", str(uuid5(book, entry.key)))
    made.add("dtstamp", at.astimezone(UTC).replace(microsecond=0))
    if as_to_do:
        made.add("due", entry.last)
        made.add("status", "NEEDS-ACTION")
    else:
        made.add("dtstart", entry.first)
        made.add("dtend", entry.last + timedelta(days=1))  # the day on which it is over (3.6.1)
        made.add("transp", "TRANSPARENT")  # nobody is busy all day
    made.add("summary", _clean(" ".join(entry.title.split())))
    if entry.words:
        made.add("description", _clean(entry.words))
    if entry.kind:
        made.add("categories", [_clean(entry.kind)])
    return made
