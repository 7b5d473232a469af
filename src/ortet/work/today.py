"""What to do today: the book's wood, carried forward and turned into tasks.

Looking costs a few tenths of a second of arithmetic, so what was told is kept in the folder, and told again while nothing
was booked, the code is the same and ten minutes have not passed.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from django.conf import settings

from ortet.decisions.task import Task
from ortet.ledger.booking import how_far
from ortet.ledger.models import Kind, Lot, Nursery, Place
from ortet.wood.speech import said_in

if TYPE_CHECKING:
    from ortet.decisions.forecast import Forecasts
    from ortet.ledger.stock import Season

__all__ = ["Kept", "Today", "forget", "season_forecast", "today"]

# Weather is read from this long before the first wood was taken, so that autumn's chill is counted.
BEFORE = timedelta(days=150)
STALE_S = 600
ROOMS = ("decisions", "evidence", "ledger", "science", "wood", "work")


@dataclass(frozen=True, slots=True)
class Kept:
    """What one cold place or bench keeps, and how far its record goes."""

    store: str
    bags: int
    cuttings: int
    recorded_until: float | None  # [h since 1970]


@dataclass(frozen=True, slots=True)
class Today:
    """The state of the season at one moment."""

    now: datetime
    tasks: list[Task]
    cuttings: int
    lots: int
    kept: list[Kept]
    varieties: dict[str, str]  # by the code of a lot that a task names
    bags: dict[str, str]  # codes, by the name of a bag or batch that a task names


def season_forecast(
    now: datetime, lot: Lot | None = None, place: Place | None = None
) -> tuple[Season, Forecasts]:
    """Return the wood on hand (of one lot, in one place) and its forecast from now on."""
    from ortet.decisions.forecast import forecast
    from ortet.ledger import stock

    first = min(stock.first_taken() or now, now)
    season = stock.season(int(stock.hours(first - BEFORE)), lot, place)
    return season, forecast(season.holdings, season.bags, season.climates, now=stock.hours(now))


def today(now: datetime | None = None) -> Today:
    """Return what to do now (or at a moment asked for), in order of what waiting costs."""
    nursery = Nursery.get()
    if now is not None:
        return _look(nursery, now)
    now = nursery.now()
    key = _key(nursery, now)
    if (before := _remembered(key)) is not None:
        return before
    day = _look(nursery, now)
    _remember(key, day)
    return day


def _look(nursery: Nursery, now: datetime) -> Today:
    from ortet.decisions.alike import alike
    from ortet.decisions.counting import counting_tasks
    from ortet.decisions.incoming import incoming_tasks
    from ortet.decisions.outgoing import outgoing_tasks
    from ortet.decisions.planned import planned_tasks
    from ortet.decisions.today import in_order, tasks

    from .growing.foretold import to_count
    from .packing.due import to_answer, to_pack, to_send
    from .plan.due import to_cut, to_post, to_set
    from .receiving.due import lots_due, parcels_open
    from .scanning import opened_today

    season, forecasts = season_forecast(now)
    local = now.astimezone(nursery.tz)
    offset = local.utcoffset() or timedelta()
    todo = tasks(
        forecasts,
        season.holdings,
        season.bags,
        now=forecasts.now,
        zone_offset=offset.total_seconds() / 3600,
        units=nursery.units,
    )
    hours = offset.total_seconds() / 3600
    planned = planned_tasks(to_cut(), to_set(), to_post(), today=local.date(), zone_offset=hours)
    opened = opened_today(now)
    waited = to_count(now)
    counting = counting_tasks(waited, today=local.date(), zone_offset=hours)
    arrived = lots_due(now)
    incoming = incoming_tasks(parcels_open(), arrived, now=forecasts.now)
    outgoing = outgoing_tasks(
        to_pack(local.date()), to_send(), to_answer(), today=local.date(), zone_offset=hours
    )
    todo = in_order(
        [*todo, *incoming, *planned, *outgoing, *counting, *alike(opened, forecasts.now, nursery.units)]
    )
    lots = {lot for task in todo for lot in task.lots}
    bags = {bag for task in todo for bag in task.bags}
    return Today(
        now=now,
        tasks=todo,
        cuttings=sum(held.count for held in season.holdings),
        lots=len({held.lot for held in season.holdings}),
        kept=_kept(forecasts),
        varieties=_packed_varieties(lots)
        | {one.lot: one.variety for one in opened if one.lot in lots}
        | {one.lot: one.variety for one in waited if one.lot in lots}
        | {one.lot: one.variety for one in arrived if one.lot in lots}
        | {held.lot: held.variety for held in season.holdings if held.lot in lots},
        bags={bag.name: bag.code for bag in season.bags if bag.name in bags}
        | {one.batch: one.code for one in waited if one.batch in bags},
    )


def _packed_varieties(lots: set[str]) -> dict[str, str]:
    """Return the varieties of lots that lie packed, by their codes."""
    rows = Lot.objects.filter(balances__count__gt=0, balances__place__kind=Kind.PARCEL, code__in=lots)
    return dict(rows.values_list("code", "variety__name"))


def _kept(forecasts: Forecasts) -> list[Kept]:
    """Return what lies in each place, the fullest first."""
    rows = []
    for store in dict.fromkeys(lot.store for lot in forecasts):
        here = [lot for lot in forecasts if lot.store == store]
        bags = {lot.bag for lot in here if lot.bag}
        rows.append(Kept(store, len(bags), sum(lot.count for lot in here), forecasts.stores.get(store)))
    return sorted(rows, key=lambda row: (-row.cuttings, row.store))


def _key(nursery: Nursery, now: datetime) -> str:
    """Return what a remembered answer rests on: the book, the moment, the nursery's ways and the code."""
    moment = now.isoformat() if nursery.fixed_now else str(int(now.timestamp()) // STALE_S)
    root = Path(__file__).parent.parent
    files = (entry for room in ROOMS for entry in os.scandir(root / room) if entry.is_file())
    newest = max(entry.stat().st_mtime_ns for entry in files)
    book = str(settings.DATABASES["default"]["NAME"])
    words = (book, how_far(), moment, nursery.zone, nursery.units, said_in(), settings.VERSION, str(newest))
    return hashlib.sha256("\x1f".join(words).encode()).hexdigest()


def _path() -> Path:
    return Path(settings.FOLDER) / "today.json"


def _remembered(key: str) -> Today | None:
    try:
        said = json.loads(_path().read_text())
        if said.pop("key") != key:
            return None
        tasks = [
            Task(
                **{**task, "lots": tuple(task["lots"]), "bags": tuple(task["bags"])}
                | {"parts": tuple((name, count) for name, count in task["parts"])}
            )
            for task in said.pop("tasks")
        ]
        kept = [Kept(**row) for row in said.pop("kept")]
        return Today(now=datetime.fromisoformat(said.pop("now")), tasks=tasks, kept=kept, **said)
    except (OSError, ValueError, KeyError, TypeError):
        return None  # not there, half written or of another version: look anew


def forget() -> None:
    """Forget what was told: it names buyers, and one of them was taken out of the book."""
    _path().unlink(missing_ok=True)


def _remember(key: str, day: Today) -> None:
    """Keep an answer; where that cannot be done the next one is merely reckoned again."""
    half = _path().with_suffix(f".{os.getpid()}")
    try:
        half.write_text(json.dumps({"key": key, **asdict(day), "now": day.now.isoformat()}, default=float))
        half.replace(_path())
    except OSError:
        half.unlink(missing_ok=True)
