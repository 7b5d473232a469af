"""What to do today: the book's wood, carried forward and turned into tasks."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from ortet.decisions.forecast import Forecasts, forecast
from ortet.decisions.today import Task, tasks
from ortet.ledger import stock
from ortet.ledger.models import Lot, Nursery, Place

__all__ = ["Today", "season_forecast", "today"]

# Weather is read from this long before the first wood was taken, so that autumn's chill is counted.
BEFORE = timedelta(days=150)


@dataclass(frozen=True, slots=True)
class Today:
    """The state of the season at one moment."""

    nursery: Nursery
    now: datetime
    season: stock.Season
    forecasts: Forecasts
    tasks: list[Task]

    @property
    def cuttings(self) -> int:
        """Cuttings on hand."""
        return sum(held.count for held in self.season.holdings)

    @property
    def lots(self) -> int:
        """Lots on hand."""
        return len({held.lot for held in self.season.holdings})


def season_forecast(
    now: datetime, lot: Lot | None = None, place: Place | None = None
) -> tuple[stock.Season, Forecasts]:
    """Return the wood on hand (of one lot, in one place) and its forecast from now on."""
    first = min(stock.first_taken() or now, now)
    season = stock.season(int(stock.hours(first - BEFORE)), lot, place)
    return season, forecast(season.holdings, season.bags, season.climates, now=stock.hours(now))


def today(now: datetime | None = None) -> Today:
    """Return what to do now, in order of what waiting costs."""
    nursery = Nursery.get()
    now = now or nursery.now()
    season, forecasts = season_forecast(now)
    offset = now.astimezone(nursery.tz).utcoffset() or timedelta()
    todo = tasks(
        forecasts,
        season.holdings,
        season.bags,
        now=stock.hours(now),
        zone_offset=offset.total_seconds() / 3600,
        units=nursery.units,
    )
    return Today(nursery, now, season, forecasts, todo)
