"""What all papers share: on what they are printed, who sends them, how days are written."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date

from ortet.ledger.booking import Refused
from ortet.ledger.models import Buyer, Lot, Nursery
from ortet.paper.sender import Sender
from ortet.paper.typeset import SHEETS, SheetPaper
from ortet.wood.naming import fold
from ortet.wood.speech import month, say, short_month, short_weekday
from ortet.work import names

__all__ = ["Days", "full_name", "paper_for", "printing", "sender", "to_lines", "usual_paper"]


def usual_paper(nursery: Nursery) -> SheetPaper:
    """Return the paper a nursery prints on."""
    return "letter" if nursery.paper == "letter" else "a4"


def paper_for(asked: str, nursery: Nursery) -> SheetPaper:
    """Return the paper asked for, else what the nursery prints on.

    Raises
    ------
    Refused
        If it is none that an office printer holds.
    """
    for known in ("a4", "letter"):
        if asked.lower() == known:
            return known
    if asked:
        raise Refused(
            say("Paper {asked!r}: say {known}. Nothing was printed.", asked=asked, known=" or ".join(SHEETS))
        )
    return usual_paper(nursery)


@contextmanager
def printing() -> Iterator[None]:
    """Turn what paper cannot carry into a refusal."""
    try:
        yield
    except ValueError as error:
        raise Refused(str(error)) from None


def sender(nursery: Nursery) -> Sender:
    """Return who sends a paper: the letterhead as it was given, else the nursery's name."""
    lines = tuple(line.strip() for line in nursery.letterhead.splitlines() if line.strip())
    return Sender(lines or (nursery.name or say("The nursery"),), nursery.contact)


def to_lines(who: Buyer) -> tuple[str, ...]:
    """Return a buyer's name and address, line by line; the name once, where the address begins with it."""
    address = [line.strip() for line in who.address.splitlines() if line.strip()]
    is_named = bool(address) and fold(address[0]) == who.name_key
    return tuple(address if is_named else (who.name, *address))


def full_name(lot: Lot) -> str:
    """Return a lot's variety fully named, as the ICNCP writes it: Ribes nigrum ‘Dusk’."""
    return names.full_name(lot.variety)


class Days:
    """Days with the month's name, so that nobody can read day for month."""

    def __init__(self, month_first: bool) -> None:
        self.month_first = month_first

    @classmethod
    def of(cls, nursery: Nursery) -> "Days":
        """Return days as a nursery writes them."""
        return cls(nursery.units == "US")

    def short(self, day: date) -> str:
        """Return 22 Feb, or Feb 22."""
        return f"{short_month(day)} {day.day}" if self.month_first else f"{day.day} {short_month(day)}"

    def long(self, day: date) -> str:
        """Return Mon 22 Feb, or Mon, Feb 22."""
        short, on = self.short(day), short_weekday(day)
        return f"{on}, {short}" if self.month_first else f"{on} {short}"

    def whole(self, day: date) -> str:
        """Return 22 February 2027, or February 22, 2027."""
        return (
            f"{month(day)} {day.day}, {day.year}"
            if self.month_first
            else f"{day.day} {month(day)} {day.year}"
        )
