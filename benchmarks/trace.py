"""Trace and recall in a book of a million movements, beside what one would do with the same book as a table.

The book is made in bulk, with the database's guard standing: twenty winters of a nursery, each mother plant cut every winter, its
lot bagged, split, struck in two batches, grafted on bought-in stocks, potted on, sold to many buyers. Then the whole of it is written to
one CSV file, a row a movement, as somebody without such a program keeps it: pandas reads that and follows the wood, and so
does plain Python, scanning the rows. All three must name the same buyers with the same counts.

    .venv/bin/python benchmarks/trace.py                        a million movements, SQLite
    .venv/bin/python benchmarks/trace.py --movements 100000 --postgres
"""

import argparse
import csv
import os
import random
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable
from contextlib import nullcontext
from datetime import UTC, datetime, timedelta
from pathlib import Path

HERE = Path(__file__).parent
os.environ["DJANGO_SETTINGS_MODULE"] = "ortet.settings"
YEARS = 20
OF_A_UNIT = 22  # movements that one mother plant's winter makes, but for its share of the stocks
GRAFTS_OF_A_STOCK = 40  # units that graft on one lot of stocks
BUYERS = 2_000
SLICE = 20_000  # rows to the database at once


class Maker:
    """A nursery's book, gathered as rows and written in bulk by plain SQL: as models they would take most of the time."""

    TABLES = (
        "place",
        "motherplant",
        "lot",
        "batch",
        "derivation",
        "movement",
        "sale",
    )  # each rests on those before it

    def __init__(self, seed: int) -> None:
        from django.db import connection
        from uuid_utils.compat import uuid7

        from ortet.ledger.models import Movement
        from ortet.work.nursery import grower

        self.db, self.draw, self.by = connection, random.Random(seed), grower()
        native = connection.features.has_native_uuid_field
        self.new = (lambda: uuid7()) if native else (lambda: uuid7().hex)
        self.sealing = Movement(by=self.by, chained_to="", note="")
        self.id, self.number, self.written = 1_000, 0, 0
        self.code_of: dict[int, str] = {}
        self.waiting: dict[str, list[dict[str, object]]] = defaultdict(list)
        self.began: dict[int, datetime] = {}

    def _row(self, table: str, **row: object) -> None:
        self.waiting[table].append(row)

    def _named(self) -> tuple[int, str]:
        from ortet.wood import code

        self.id += 1
        self.code_of[self.id] = code.make(self.id * 7919)
        return self.id, self.code_of[self.id]

    def place(self, kind: str, name: str) -> int:
        id, code = self._named()
        self._row("place", id=id, kind=kind, name=name, name_key=name.lower(), code=code, note="")
        return id

    def mother(self, number: int, variety: int) -> tuple[int, int, int]:
        """Return a mother plant, its place and its variety."""
        place = self.place("mother", f"M{number}")
        self._row(
            "motherplant", id=place, accession=f"M{number}", accession_key=f"m{number}", variety_id=variety,
            place_id=place, site_id=None, source="", health="", note="",
        )  # fmt: skip
        return place, place, variety

    def lot(self, mother: tuple[int, int, int], at: datetime, like: int | None = None) -> int:
        id, code = self._named()
        self.began[id] = taken = self.began[like] if like else at
        self._row(
            "lot", id=id, code=code, mark=None, mark_key=None, variety_id=mother[2], mother_id=mother[0], made_at=at,
            taken_at=taken, use="rooting", grade="", length_mm=200.0, base_mm=8.0, tip_mm=6.0, nodes=5, note="",
        )  # fmt: skip
        return id

    def batch(self, name: str, lot: int, craft: str, at: datetime) -> int:
        place = self.place("batch", name)
        self._row(
            "batch", place_id=place, lot_id=lot, craft=craft, tray="", medium="", treatment="", is_wounded=False,
            base_c=None, struck_at=at, trial_id=None, plot=None,
        )  # fmt: skip
        return place

    def link(self, parent: int, child: int, count: int, part: str) -> None:
        self._row("derivation", id=self.new(), parent_id=parent, child_id=child, count=count, part=part)

    def move(self, lot: int, here: int, there: int, count: int, why: str, at: datetime) -> object:
        from uuid import UUID

        self.number += 1
        one, id = self.sealing, self.new()
        before, one.id, one.number = one.chained_to, UUID(str(id)), self.number
        one.count, one.at, one.why = count, at, why
        one.chained_to = one.sealed(self.code_of[lot], self.code_of[here], self.code_of[there])
        self._row(
            "movement", id=id, number=self.number, lot_id=lot, from_place_id=here, to_place_id=there, count=count, at=at,
            by_id=self.by.pk, why=why, note="", reverses_id=None, chained_to=before, seal=one.chained_to,
        )  # fmt: skip
        return id

    def sale(self, movement: object, buyer: int, at: datetime) -> None:
        self._row(
            "sale", id=self.new(), movement_id=movement, buyer_id=buyer, line_id=None, price=None, at=at,
            by_id=self.by.pk, note="",
        )  # fmt: skip

    def write(self) -> None:
        """Write what waits."""
        plain = self.db.vendor == "sqlite"
        with self.db.cursor() as cursor:
            for table in self.TABLES:
                rows = self.waiting.pop(table, [])
                if not rows:
                    continue
                columns = ", ".join(rows[0])
                values = [
                    tuple(
                        value.replace(tzinfo=None).isoformat(sep=" ")
                        if plain and isinstance(value, datetime)
                        else value
                        for value in row.values()
                    )
                    for row in rows
                ]
                marks = ", ".join(["%s"] * len(rows[0]))
                cursor.executemany(f"INSERT INTO ledger_{table} ({columns}) VALUES ({marks})", values)
        if self.number - self.written >= 50_000:
            self.written = self.number
            print(f"  {self.number:,} movements", file=sys.stderr, flush=True)


BALANCES = (
    "INSERT INTO ledger_balance (lot_id, place_id, count, is_source)"
    " SELECT m.lot_id, m.place_id, SUM(m.n), p.kind IN ('mother', 'became') FROM"
    " (SELECT lot_id, to_place_id AS place_id, count AS n FROM ledger_movement"
    " UNION ALL SELECT lot_id, from_place_id, -count FROM ledger_movement) m"
    " JOIN ledger_place p ON p.id = m.place_id GROUP BY m.lot_id, m.place_id, p.kind"
)


def make(movements: int, *, quick: bool) -> Maker:
    """Make the book; quickly with the guard down, as a migration takes it down, and the balances summed at the end."""
    from django.db import connection, transaction

    from ortet.ledger import guard
    from ortet.ledger.booking import end
    from ortet.ledger.models import Buyer, Variety
    from ortet.work.nursery import open_book

    open_book()
    maker = Maker(seed=5)
    units = movements // OF_A_UNIT
    ends = []
    for kind in ("became", "sold", "given_up", "lost"):
        place = end(kind)
        maker.code_of[place.pk] = place.code
        ends.append(place.pk)
    bench = maker.place("bench", "Bench")
    grounds = [maker.place("ground", f"Ground {n}") for n in range(30)]
    varieties = Variety.objects.bulk_create(
        Variety(name=f"Variety {n}", name_key=f"variety {n}", species="blackcurrant") for n in range(300)
    )
    buyers = Buyer.objects.bulk_create(
        Buyer(name=f"Buyer {n}", name_key=f"buyer {n}", address=f"Lane {n}", email=f"b{n}@example.org")
        for n in range(BUYERS)
    )
    many = max(1, units // YEARS)
    plants = [maker.mother(number, varieties[number % 300].pk) for number in range(many + 20)]
    with transaction.atomic():
        if quick:
            guard.remove(connection)
        stock = 0
        for unit in range(units):
            year, number = divmod(unit, many)
            at = datetime(2000 + year, 12, 1, tzinfo=UTC) + timedelta(minutes=number)
            if unit % GRAFTS_OF_A_STOCK == 0:
                mother = plants[many + unit // GRAFTS_OF_A_STOCK % 20]
                stock = maker.lot(mother, at)
                maker.move(stock, mother[1], bench, GRAFTS_OF_A_STOCK * 6, "taken", at)
            buy = [buyers[maker.draw.randrange(BUYERS)].pk for _ in range(8)]
            a_winter(maker, plants[number], stock, at, (bench, *ends), grounds[unit % 30], buy, unit)
            if len(maker.waiting["movement"]) >= SLICE:
                maker.write()
        maker.write()
        if quick:
            with connection.cursor() as cursor:
                cursor.execute(BALANCES)
            guard.install(connection)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    return maker


def a_winter(
    maker: Maker,
    plant: tuple[int, int, int],
    stock: int,
    at: datetime,
    places: tuple[int, ...],
    ground: int,
    buyers: list[int],
    unit: int,
) -> None:
    """Book one mother plant's winter, and the year after it."""
    day = timedelta(days=1)
    bench, became, sold, given_up, lost = places
    lot = maker.lot(plant, at)
    bag = maker.place("bag", f"K{unit}")
    maker.move(lot, plant[1], bench, 60, "taken", at)
    maker.move(lot, bench, bag, 60, "bagged", at + day)
    part = maker.lot(plant, at + 2 * day, like=lot)
    maker.link(lot, part, 10, "split")
    maker.move(lot, bag, became, 10, "split", at + 2 * day)
    maker.move(part, became, bag, 10, "split", at + 2 * day)
    maker.move(lot, bag, given_up, 2, "given_up", at + 30 * day)
    struck = []
    for name in ("S", "T"):
        batch = maker.batch(f"{name}{unit}", lot, "strike", at + 60 * day)
        maker.move(lot, bag, batch, 22, "struck", at + 60 * day)
        struck.append((lot, batch, 15))
    graft = maker.lot(plant, at + 61 * day, like=lot)
    batch = maker.batch(f"G{unit}", graft, "graft", at + 61 * day)
    for parent, here, what in ((stock, bench, "stock"), (part, bag, "scion")):
        maker.link(parent, graft, 6, what)
        maker.move(parent, here, became, 6, "grafted", at + 61 * day)
    maker.move(graft, became, batch, 6, "grafted", at + 61 * day)
    for what, here, count in (*struck, (graft, batch, 5)):
        maker.move(what, here, ground, count, "potted", at + 120 * day)
    for number, buyer in enumerate(buyers):
        what, count = (graft, 1) if number % 4 == 0 else (lot, 3)
        when = at + (150 + number) * day
        maker.sale(maker.move(what, ground, sold, count, "sold", when), buyer, when)
    maker.move(lot, ground, lost, 1, "lost", at + 200 * day)


def export(path: Path) -> None:
    """Write the book as one table, a row a movement, with what became what and who bought it beside it."""
    from ortet.ledger.models import Derivation, Lot, Movement, Sale

    codes = dict(Lot.objects.values_list("pk", "code"))
    mothers = dict(Lot.objects.values_list("pk", "mother__accession"))
    buyers = dict(Sale.objects.values_list("movement_id", "buyer__name"))
    child = {
        (parent, at): code
        for parent, at, code in Derivation.objects.values_list("parent_id", "child__made_at", "child__code")
    }
    rows = Movement.objects.order_by("number").values_list(
        "number", "at", "lot_id", "from_place__name", "to_place__name", "count", "why", "id"
    )
    with path.open("w", newline="") as file:
        out = csv.writer(file)
        out.writerow(["number", "at", "lot", "mother", "from", "to", "count", "why", "became", "buyer"])
        for number, at, lot, here, there, count, why, id in rows.iterator(chunk_size=50_000):
            out.writerow(
                [number, at.isoformat(), codes[lot], mothers[lot], here, there, count, why,
                 child.get((lot, at), "") if there == "became another lot" else "", buyers.get(id, "")]
            )  # fmt: skip


def with_pandas(frame, lots: set[str]) -> dict[str, int]:
    """Follow lots through a frame to their buyers."""
    edge = lots
    while edge:
        edge = set(frame.loc[frame.lot.isin(edge) & (frame.became != ""), "became"]) - lots
        lots = lots | edge
    mine = frame[frame.lot.isin(lots) & (frame.buyer != "")]
    return mine.groupby("buyer")["count"].sum().to_dict()


def with_python(path: Path, lots: set[str]) -> dict[str, int]:
    """Follow lots by reading the table from top to bottom: what became of a lot stands below it."""
    lots, buyers = set(lots), defaultdict(int)
    with path.open(newline="") as file:
        for _, _, lot, _, _, _, count, _, became, buyer in csv.reader(file):
            if lot in lots:
                if became:
                    lots.add(became)
                if buyer:
                    buyers[buyer] += int(count)
    return dict(buyers)


def took(what: Callable[[], object], times: int) -> tuple[float, float, object]:
    """Return the median and the longest of some runs after the first, and what came of the last.

    By processor time, which other work on the machine disturbs less; by the clock where a server does part of the work.
    """
    clock = time.perf_counter if os.environ.get("ORTET_DATABASE") else time.process_time
    runs, answer = [], what() if times > 1 else None
    for _ in range(times):
        start = clock()
        answer = what()
        runs.append(clock() - start)
    return statistics.median(runs), max(runs), answer


def page_of(code: str) -> Callable[[], object]:
    """Return what asks for the page as a browser does, drawing and all."""
    from django.test import Client

    client = Client(SERVER_NAME="localhost")
    return lambda: client.get("/trace", {"code": code})


def compare(times: int) -> None:
    """Print the times side by side."""
    import pandas as pd

    from ortet.ledger.models import Buyer, Derivation, Lot, Movement, Sale
    from ortet.work.trace import recall, trace

    path = Path(os.environ["ORTET_FOLDER"]) / "book.csv"
    export(path)
    start = time.perf_counter()
    frame = pd.read_csv(path, keep_default_na=False)
    read = time.perf_counter() - start
    print(
        f"{Movement.objects.count():,} movements, {Lot.objects.count():,} lots; the table {path.stat().st_size / 1e6:.0f} MB, pandas reads it in {read:.1f} s"
    )
    middle = Lot.objects.filter(came_from=None, batches__isnull=False).order_by("pk")
    lot = middle[middle.count() // 2]
    stock = (
        Derivation.objects.filter(part="stock")
        .order_by("pk")[Derivation.objects.filter(part="stock").count() // 2]
        .parent
    )
    graft = Derivation.objects.filter(part="stock", parent=stock).first().child
    buyer = Buyer.objects.get(name="Buyer 7")
    bag = lot.movements.get(why="bagged").to_place
    asked = {
        "a lot": (lot.code, {lot.code}),
        "a bag": (bag.code, None),
        "a graft": (graft.code, {graft.code}),
        f"a mother plant, {YEARS} winters": (f"mother {lot.mother.accession}", set(Lot.objects.filter(mother=lot.mother, came_from=None).values_list("code", flat=True))),
        f"a lot of stocks, {GRAFTS_OF_A_STOCK} grafts": (stock.code, {stock.code}),
        "a buyer": (f"buyer {buyer}", set(Sale.objects.filter(buyer=buyer).values_list("movement__lot__code", flat=True))),
    }  # fmt: skip
    clock = "by the clock" if os.environ.get("ORTET_DATABASE") else "processor time"
    print(f"{clock}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, Python {sys.version.split()[0]}")
    print(
        f"{'median (longest) of ' + str(times):34} {'trace':>18} {'recall':>18} {'page':>9} {'pandas':>9} {'plain':>9}   lots, movements, buyers"
    )
    for name, (code, lots) in asked.items():
        middle_t, longest_t, traced = took(lambda code=code: trace(code), times)
        middle_r, longest_r, found = took(lambda code=code: recall(code), times)
        page, *_ = took(page_of(code), 3)
        theirs, plain = float("nan"), float("nan")
        if lots:
            theirs, _, buyers = took(lambda lots=lots: with_pandas(frame, set(lots)), 3)
            plain, _, again = took(lambda lots=lots: with_python(path, lots), 1)
            ours = {one.name: one.count for one in found.buyers}
            assert ours == buyers == again, (name, len(ours), len(buyers), len(again))
        print(
            f"{name:34} {middle_t * 1e3:7.1f} ({longest_t * 1e3:5.0f}) ms {middle_r * 1e3:7.1f} ({longest_r * 1e3:5.0f}) ms "
            f"{page * 1e3:6.0f} ms {theirs:7.2f} s {plain:7.2f} s   {len(traced.of_kind('lot')):,}, {len(traced.steps):,}, {len(found.buyers):,}"
        )


def main() -> None:
    """Make the book and compare."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--movements", type=int, default=1_000_000)
    parser.add_argument("--times", type=int, default=15)
    parser.add_argument(
        "--postgres", action="store_true", help="on a PostgreSQL of its own instead of SQLite"
    )
    parser.add_argument("--quick", action="store_true", help="make the book with the guard down")
    parser.add_argument(
        "--recount", action="store_true", help="check the book by every rule of the account, too"
    )
    parser.add_argument("--book", default="", help="the folder of a book that this made before")
    asked = parser.parse_args()
    os.environ["ORTET_FOLDER"] = asked.book or tempfile.mkdtemp(prefix="ortet-bench-")
    sys.path.insert(0, str(HERE.parent))
    from tests.machine import postgres

    with postgres.running() if asked.postgres else nullcontext("") as url:
        if url:
            os.environ["ORTET_DATABASE"] = url
        import django

        django.setup()
        if not asked.book:
            start = time.perf_counter()
            made = make(asked.movements, quick=asked.quick)
            seconds = time.perf_counter() - start
            print(
                f"{'PostgreSQL' if url else 'SQLite'}: made in {seconds:.0f} s, {made.number / seconds:,.0f} movements a second with the guard {'down' if asked.quick else 'standing'}"
            )
        if asked.recount:
            from ortet.ledger import rules

            start = time.perf_counter()
            faults = rules.check()
            print(f"recounted by every rule in {time.perf_counter() - start:.0f} s: {len(faults)} faults")
            assert not faults, faults[:3]
        compare(asked.times)


if __name__ == "__main__":
    main()
