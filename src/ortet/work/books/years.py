"""Years of the books: tax years, which begin on the day that the nursery says, and growing seasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import Max, Min
from django.utils import timezone

from ortet.ledger.booking import Refused
from ortet.ledger.models import Expense, Movement, Nursery, Payment
from ortet.wood.speech import say
from ortet.work.evidence import SEASON_BEGINS
from ortet.work.moments import EARLIEST

__all__ = ["Year", "season", "season_of_day", "seasons", "tax_year", "tax_year_of", "tax_years"]

FIRST, LAST = EARLIEST.year - 1, 9998  # a tax year may begin the year before


@dataclass(frozen=True, slots=True)
class Year:
    """Days that are reckoned together, both ends among them."""

    name: str
    first: date
    last: date

    def __contains__(self, day: object) -> bool:
        """Whether a day lies in it."""
        return isinstance(day, date) and self.first <= day <= self.last

    @property
    def moments(self) -> tuple[datetime, datetime]:
        """Its first moment, and the first after it, in the nursery's zone."""
        here = timezone.get_current_timezone()
        after = self.last + timedelta(days=1)
        return datetime.combine(self.first, time(), here), datetime.combine(after, time(), here)


def tax_year(number: int) -> Year:
    """Return the tax year that begins in a year.

    Raises
    ------
    Refused
        If no calendar has that year.
    """
    if not FIRST <= number <= LAST:
        raise Refused(say("Year {number}: write a year like 2027.", number=number))
    starts = Nursery.get().year_starts
    first = date.fromisoformat(f"{number}-{starts}")
    last = date.fromisoformat(f"{number + 1}-{starts}") - timedelta(days=1)
    return Year(f"{number}" if starts == "01-01" else f"{number}/{(number + 1) % 100:02}", first, last)


def tax_year_of(day: date) -> int:
    """Return the year in which the tax year of a day begins."""
    return day.year - (f"{day:%m-%d}" < Nursery.get().year_starts)


def season_of_day(day: date) -> int:
    """Return the season that a day is of: the year in which its spring lies."""
    return day.year + (day.month >= SEASON_BEGINS)


def season(number: int) -> Year:
    """Return a season by the year in which its spring lies: it runs from August to July."""
    if not FIRST < number <= LAST:
        raise Refused(say("Season {number}: write a year like 2027.", number=number))
    first, after = date(number - 1, SEASON_BEGINS, 1), date(number, SEASON_BEGINS, 1)
    return Year(say("season {number}", number=number), first, after - timedelta(days=1))


def _days() -> tuple[date, date]:
    """Return the first and the last day of anything in the books; today is among them."""
    today = Nursery.get().today()
    moved = Movement.objects.aggregate(first=Min("at"), last=Max("at"))
    days = [timezone.localdate(at) for at in moved.values() if at] + [today]
    for model in (Expense, Payment):
        days += [day for day in model.objects.aggregate(a=Min("on"), b=Max("on")).values() if day]
    return min(days), max(days)


def tax_years() -> list[int]:
    """Return the tax years that anything was booked in, and today's, the latest first."""
    first, last = _days()
    return list(range(tax_year_of(last), tax_year_of(first) - 1, -1))


def seasons() -> list[int]:
    """Return the seasons that anything was booked in, and today's, the latest first."""
    first, last = map(season_of_day, _days())
    return list(range(last, first - 1, -1))
