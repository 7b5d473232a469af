"""Loading a season's files into the book: all or nothing, and the same file twice changes nothing."""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import count
from pathlib import PurePath
from typing import TypeVar
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db import transaction

from ortet.ledger.booking import Refused, told, turn
from ortet.ledger.climate import add_readings
from ortet.ledger.models import (
    Inspection,
    Kind,
    Load,
    Lot,
    MotherPlant,
    Movement,
    Nursery,
    Place,
    Weighing,
    Why,
    Withdrawal,
)
from ortet.tables.kind import recognise
from ortet.tables.logger import LoggerRead, read_logger
from ortet.tables.mcpd import read_passports
from ortet.tables.problem import Problem
from ortet.tables.read import read_table
from ortet.tables.rows import BagRow, InspectionRow, LotRow, MotherRow, Row, WeighingRow
from ortet.tables.selling import BuyerRow, OrderRow
from ortet.tables.weather import read_weather
from ortet.wood import code as codes
from ortet.wood.naming import fold
from ortet.wood.speech import say, say_many, to_say_many

from . import find
from .bagging import bag
from .loading_orders import book_buyer, book_order
from .moving import move
from .names import name_of, seen
from .names import told as told_names
from .passports import take_in
from .plants import add_mother, add_place
from .reading import inspect, weigh
from .taking import take

__all__ = ["Loaded", "load"]

Progress = Callable[[str, int, int], None]
Reading = TypeVar("Reading", Weighing, Inspection)
BOOKED = {  # what is said of what was booked
    "mother plants": to_say_many("{count:,} mother plant", "{count:,} mother plants"),
    "passports noted": to_say_many("{count:,} passport noted", "{count:,} passports noted"),
    "lots": to_say_many("{count:,} lot", "{count:,} lots"),
    "cuttings": to_say_many("{count:,} cutting", "{count:,} cuttings"),
    "cuttings bagged": to_say_many("{count:,} cutting bagged", "{count:,} cuttings bagged"),
    "bags": to_say_many("{count:,} bag", "{count:,} bags"),
    "weighings": to_say_many("{count:,} weighing", "{count:,} weighings"),
    "inspections": to_say_many("{count:,} inspection", "{count:,} inspections"),
    "buyers": to_say_many("{count:,} buyer", "{count:,} buyers"),
    "orders": to_say_many("{count:,} order", "{count:,} orders"),
    "lines of orders": to_say_many("{count:,} line of an order", "{count:,} lines of orders"),
    "temperature readings": to_say_many("{count:,} temperature reading", "{count:,} temperature readings"),
}
SOON = timedelta(days=1)  # clocks and zones differ
MOMENTS = ("taken", "bagged", "at")  # the columns that say when
# The id of what a row books is made from what the row says, so that the same row never books twice.
ROWS = UUID("6f0b8f5e-3f0e-4d53-9a6b-9d6a3f1f6c11")
TABLES = (
    "mothers",
    "passports",
    "lots",
    "bags",
    "weighings",
    "inspections",
    "buyers",
    "orders",
)  # in the order in which each needs the ones before
SEEN = (  # what an inspection row says of a lot
    "sound",
    "mouldy",
    "dry",
    "scratch_green",
    "scratch_of",
    "callus",
    "callused",
    "callused_of",
    "rooted",
    "rooted_of",
    "free_water",
)
RECORDS = ("logger", "weather")


@dataclass
class Loaded:
    """What a load did, or the problems for which it did nothing."""

    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    booked: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    @property
    def line(self) -> str:
        """What was done, in one sentence."""
        if self.problems:
            return say_many(
                "Nothing was loaded: {count} problem, listed above.",
                "Nothing was loaded: {count} problems, listed above.",
                len(self.problems),
            )
        done = ", ".join(say_many(*BOOKED[what], count) for what, count in self.booked.items() if count)
        return (
            say("Loaded: {done}.", done=done)
            if done
            else say("Nothing new: all of it is in the book already.")
        )


class _Undo(Exception):
    """Roll the whole load back."""


@dataclass(frozen=True)
class _Asked:
    """How a load was asked for."""

    by: User
    at: datetime
    nursery: Nursery
    place: str | None
    day_first: bool | None
    latitude: float | None
    progress: Progress


@dataclass
class _File:
    name: str
    data: bytes
    kind: str

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()


def _row_id(*words: object) -> UUID:
    return uuid5(ROWS, "\x1f".join(map(str, words)))


@contextmanager
def _row(loaded: Loaded, file: str, line: int, column: str | None = None) -> Iterator[None]:
    """Turn a refusal of a row's deed into a problem of that row."""
    try:
        with transaction.atomic():
            yield
    except Refused as error:
        said = str(error).removesuffix(say("Nothing was booked.")).strip()
        loaded.problems.append(Problem(file, line, column, said, say("Nothing was loaded.")))


def _mother(row: MotherRow, loaded: Loaded) -> None:
    there = MotherPlant.objects.filter(accession_key=fold(row.accession)).select_related("variety").first()
    if there is None:
        plant = add_mother(
            row.accession,
            row.variety,
            row.species,
            site=row.site,
            source=row.source,
            health=row.health,
            note=row.note,
        )
        loaded.booked["mother plants"] += 1
        loaded.notes += [f"{plant.variety}: {sentence}" for sentence in told_names(seen(plant.variety))]
    elif (there.variety.name_key, there.variety.species) != (
        fold(name_of(row.variety, row.species)[0]),
        row.species,
    ):
        raise Refused(
            say(
                "accession {accession} is in the book as {variety}, {species}.",
                accession=row.accession,
                variety=there.variety,
                species=there.variety.species,
            )
        )


def _lot(row: LotRow, loaded: Loaded, by: User) -> None:
    is_code = codes.is_code(row.lot)
    words = {"code": codes.read(row.lot)} if is_code else {"mark_key": fold(row.lot)}
    there = Lot.objects.filter(**words).select_related("mother").first()
    if there is None:
        take(
            row.accession,
            row.count,
            by=by,
            at=row.taken,
            use=row.use,
            grade=row.grade,
            length_mm=row.length_mm,
            base_mm=row.base_mm,
            tip_mm=row.tip_mm,
            nodes=row.nodes,
            mark=None if is_code else row.lot,
            code=row.lot if is_code else None,
            note=row.note,
            id=_row_id("lot", fold(row.lot)),
        )
        loaded.booked["lots"] += 1
        loaded.booked["cuttings"] += row.count
        return
    first = there.movements.filter(why=Why.TAKEN).first()
    said = there.mother.accession if there.mother else "", there.made_at, first.count if first else 0
    if said != (row.accession, row.taken, row.count):
        raise Refused(
            say(
                "lot {lot} is in the book as {count} cuttings taken from {mother} on {day}. Correct it there, or give this "
                "lot another mark.",
                lot=row.lot,
                count=said[2],
                mother=said[0],
                day=told(said[1]),
            )
        )


def _fresh_id(*words: object) -> tuple[UUID, Movement | None]:
    """Return the id of what a row books, and the movement that stands under it; one that was taken back no longer counts."""
    for times in count():
        id = _row_id(*words, times)
        before = Movement.objects.filter(pk=id).first()
        if before is None or not Movement.objects.filter(reverses=before).exists():
            return id, before
    raise AssertionError


def _bag_rows(rows: list[BagRow], loaded: Loaded, by: User) -> None:
    """Close one bag around all its rows, or add to a bag that is there the rows that it lacks."""
    rows = sorted(rows, key=lambda row: row.bagged)
    new = []
    for row in rows:
        id, before = _fresh_id("bag", fold(row.bag), fold(row.lot), row.bagged)
        if before is None:
            new.append((row, id))
        elif before.count != row.count:
            raise Refused(
                say(
                    "bag {bag} is in the book with {booked} of lot {lot}, not {count}.",
                    bag=row.bag,
                    booked=before.count,
                    lot=row.lot,
                    count=row.count,
                )
            )
    if not new:
        return
    loaded.booked["cuttings bagged"] += sum(row.count for row, _ in new)
    if len(new) == len(rows) and not Place.objects.filter(kind=Kind.BAG, name_key=fold(rows[0].bag)).exists():
        first, id = new.pop(0)
        loaded.booked["bags"] += 1
        if not Place.objects.filter(kind=Kind.STORE, name_key=fold(first.store)).exists():
            loaded.notes.append(say("{place} is a new cold place.", place=add_place(first.store, Kind.STORE)))
        bag(
            [(first.lot, first.count, None)],
            store=first.store,
            by=by,
            at=first.bagged,
            name=first.bag,
            polymer=first.polymer,
            thickness_um=first.thickness_um,
            layers=first.layers,
            width_mm=first.width_mm,
            height_mm=first.height_mm,
            closure=first.closure,
            packing=first.packing,
            packing_water_g=first.packing_water_g,
            tare_g=first.tare_g,
            note=first.note,
            id=id,
        )
    for row, id in new:
        bench = find.where_lot_is(find.lot(row.lot), rather=Kind.BENCH).code
        move(
            row.lot,
            row.count,
            from_place=bench,
            to_place=row.bag,
            by=by,
            at=row.bagged,
            note=row.note,
            id=id,
        )


def _standing_reading(model: type[Reading], *words: object) -> tuple[UUID, Reading | None]:
    """Return the id of the reading that a row books, and what stands under it; one that was withdrawn no longer counts."""
    for times in count():
        id = _row_id(*words, times)
        before = model.objects.filter(pk=id).first()
        if before is None or not Withdrawal.objects.filter(reading=id).exists():
            return id, before
    raise AssertionError


def _weighing(row: WeighingRow, loaded: Loaded, by: User) -> None:
    id, there = _standing_reading(Weighing, "weighing", fold(row.bag), row.at)
    if there:
        if there.gross_g != row.gross_g:
            raise Refused(
                say(
                    "bag {bag} is in the book with {gross_g:g} g at that time. Withdraw that weighing first.",
                    bag=row.bag,
                    gross_g=there.gross_g,
                )
            )
        return
    weigh(row.bag, row.gross_g, by=by, at=row.at, note=row.note, id=id)
    loaded.booked["weighings"] += 1


def _inspection(row: InspectionRow, loaded: Loaded, by: User) -> None:
    id, there = _standing_reading(Inspection, "inspection", fold(row.bag), fold(row.lot), row.at)
    seen = {name: getattr(row, name) for name in SEEN}
    if there:
        if any(getattr(there, name) != value for name, value in seen.items()):
            raise Refused(
                say(
                    "lot {lot} in {bag} was seen otherwise at that time. Withdraw that inspection first.",
                    lot=row.lot,
                    bag=row.bag,
                )
            )
        return
    inspect(row.bag, lot=row.lot, by=by, at=row.at, note=row.note, id=id, **seen)
    loaded.booked["inspections"] += 1


def _load_table(file: _File, loaded: Loaded, asked: _Asked) -> int:
    read = read_table(file.data, file.name, zone=asked.nursery.zone, day_first=asked.day_first)
    loaded.problems += read.problems
    loaded.notes += [f"{file.name}: {note}" for note in read.notes]
    together: dict[str, list[Row]] = defaultdict(list)  # the rows of one bag are one deed
    for row in read.rows:
        together[_together(row)].append(row)
    for row in read.rows:
        moment = next((getattr(row, name) for name in MOMENTS if hasattr(row, name)), asked.at)
        if moment > asked.at + SOON:
            ahead = say(
                "{moment} is ahead of now, {now}. Correct the date.", moment=told(moment), now=told(asked.at)
            )
            loaded.problems.append(Problem(file.name, row.line, None, ahead, say("Nothing was loaded.")))
    for done, rows in enumerate(together.values(), 1):
        if isinstance(rows[0], OrderRow):  # each of its rows has problems of its own
            its = [row for row in rows if isinstance(row, OrderRow)]
            book_order(its, loaded, partial(_row, loaded, file.name), by=asked.by, at=asked.at)
        else:
            with _row(loaded, file.name, rows[0].line, "bag" if file.kind == "bags" else None):
                _book_rows(rows, loaded, asked.by)
        asked.progress(file.name, done, len(together))
    return len(read.rows)


def _together(row: Row) -> str:
    """Return what the rows of one deed share."""
    if isinstance(row, BagRow):
        return fold(row.bag)
    return fold(row.order) if isinstance(row, OrderRow) else str(row.line)


def _load_passports(file: _File, loaded: Loaded, asked: _Asked) -> int:
    read = read_passports(file.data, file.name)
    loaded.problems += read.problems
    loaded.notes += [f"{file.name}: {note}" for note in read.notes]
    for done, row in enumerate(read.rows if not read.problems else (), 1):
        with _row(loaded, file.name, row.line):
            _, is_new, is_noted = take_in(row)
            loaded.booked["mother plants"] += is_new
            loaded.booked["passports noted"] += is_noted
        asked.progress(file.name, done, len(read.rows))
    return len(read.rows)


def _book_rows(rows: Sequence[Row], loaded: Loaded, by: User) -> None:
    match rows[0]:
        case BagRow():
            _bag_rows([row for row in rows if isinstance(row, BagRow)], loaded, by)
        case MotherRow() as row:
            _mother(row, loaded)
        case LotRow() as row:
            _lot(row, loaded, by)
        case WeighingRow() as row:
            _weighing(row, loaded, by)
        case InspectionRow() as row:
            _inspection(row, loaded, by)
        case BuyerRow() as row:
            book_buyer(row, loaded)


def _place_of(file: _File, place: str | None) -> Place:
    """Return the place whose record a file is: the one named, else the one that the file is named after."""
    kinds = (Kind.SITE,) if file.kind == "weather" else (Kind.STORE, Kind.SITE)
    if place:
        return find.place(place, *kinds)

    def folded(word: str) -> str:
        return word.casefold().replace("_", " ").replace("-", " ").strip()

    stem = folded(PurePath(file.name).stem)
    known = list(Place.objects.filter(kind__in=kinds))
    named = [there for there in known if folded(there.name) == stem]
    if len(named) == 1:
        return named[0]
    if not known:
        raise Refused(
            say("there is no growing site yet whose record this could be: add it first.")
            if file.kind == "weather"
            else say("there is no cold place or growing site yet whose record this could be: add it first.")
        )
    names = ", ".join(there.name for there in known)
    raise Refused(
        say(
            "which place is this the record of? Name it, or name the file after it. There are: {names}.",
            names=names,
        )
    )


def _when(at_s: int, nursery: Nursery) -> str:
    return f"{datetime.fromtimestamp(at_s, UTC).astimezone(nursery.tz):%Y-%m-%d %H:%M}"


def _load_record(file: _File, place: Place, loaded: Loaded, asked: _Asked) -> int:
    def tell(done: int, total: int) -> None:
        asked.progress(file.name, done, total)

    read: LoggerRead
    if file.kind == "weather":
        read = read_weather(
            file.data,
            file.name,
            zone=asked.nursery.zone,
            day_first=asked.day_first,
            latitude=asked.latitude,
            progress=tell,
        )
    else:
        read = read_logger(
            file.data, file.name, zone=asked.nursery.zone, day_first=asked.day_first, progress=tell
        )
    loaded.problems += read.problems
    loaded.notes += [f"{file.name}: {note}" for note in read.notes]
    if read.problems:
        return 0
    if len(read.at_s) and read.at_s[-1] > (asked.at + SOON).timestamp():
        last = _when(int(read.at_s[-1]), asked.nursery)
        raise Refused(
            say(
                "its last reading, {last}, is ahead of now, {at}. Set the logger's clock, mend the dates.",
                last=last,
                at=told(asked.at),
            )
        )
    added = add_readings(place, read.at_s, read.air_c, read.humidity)
    if added.conflicts:
        raise Refused(
            say(
                "{conflicts} readings differ from what the book says of {place}, the first at {first}. Is this another "
                "logger? Then give it a place of its own.",
                conflicts=len(added.conflicts),
                place=place,
                first=_when(added.conflicts[0], asked.nursery),
            )
        )
    loaded.booked["temperature readings"] += added.new
    return len(read.at_s)


def load(
    files: Sequence[tuple[str, bytes]],
    *,
    by: User,
    at: datetime,
    place: str | None = None,
    day_first: bool | None = None,
    latitude: float | None = None,
    progress: Progress = lambda name, done, total: None,
) -> Loaded:
    """Load files of any kind that Ortet knows, in the order in which they need each other.

    Parameters
    ----------
    files
        Name and bytes of each.
    place
        Whose record the logger or weather files are; else each file is named after its place.
    day_first
        The order of day and month where a file leaves it open.
    latitude
        For daily weather, from which hours are computed. [° north]
    """
    loaded = Loaded()
    asked = _Asked(by, at, Nursery.get(), place, day_first, latitude, progress)
    known = []
    for name, data in files:
        if kind := recognise(data):
            known.append(_File(name, data, kind))
        else:  # the reader says which table is nearest and what is amiss
            loaded.problems += read_table(data, name, zone=asked.nursery.zone).problems
    known.sort(key=lambda file: (*TABLES, *RECORDS).index(file.kind))
    try:
        with turn():
            for file in known:
                with _row(loaded, file.name, None):  # type: ignore[arg-type]
                    there = _place_of(file, place) if file.kind in RECORDS else None
                    into = f"{file.kind} {there.code if there else ''}".strip()
                    if before := Load.objects.filter(sha256=file.sha256, into=into).first():
                        loaded.notes.append(
                            say("{file}: loaded already, as {name}.", file=file.name, name=before.name)
                        )
                        continue
                    if there:
                        rows = _load_record(file, there, loaded, asked)
                    elif file.kind == "passports":
                        rows = _load_passports(file, loaded, asked)
                    else:
                        rows = _load_table(file, loaded, asked)
                    Load.objects.create(
                        sha256=file.sha256, into=into, name=file.name[:200], rows=rows, at=at, by=by
                    )
            if loaded.problems:
                raise _Undo
    except _Undo:
        loaded.booked.clear()
    return loaded
