"""What a season of 5,000 order lines costs from the plan to the printed papers, beside a plain Python script over two tables.

    python benchmarks/season_of_orders.py               # 500 orders of ten lines, 600 lots, 300 varieties
    python benchmarks/season_of_orders.py --orders 50   # a smaller one

Planned: taking, allotting, benches and posting days. Picked: the pick walk of each of the weeks. Printed: the season sheet, a pick
list a week, all bag labels, a packing slip and an address label a parcel. Between them every stop is booked into its parcel, one
deed for each label that a grower scans; that is told apart, as a season's scanning takes weeks anyhow.

The script is what a grower who can program would write: two CSV tables in memory, first come, first served from the bag that
was filled first, sorted by bag; a CSV pick list and a text file an order. It knows no weeks, grades, priorities and forecasts, books
nothing, and prints no codes. Both start from the same book, in one run; seconds by the clock, so a quiet machine is needed.
"""

from __future__ import annotations

import argparse
import csv
import os
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import TypeVar

from plan import NOW, invented, told

LOTS, VARIETIES, PER_ORDER, WEEKS = 600, 300, 10, 14
LOT, LINE = (30, 61), (2, 9)  # cuttings of a lot, of a line
Out = TypeVar("Out")
BOOKED = "each stop booked by its scan"
took: dict[str, float] = {}


def timed(what: str, do: Callable[[], Out]) -> Out:
    """Do something, and add the seconds it took to a step."""
    began = time.perf_counter()
    done = do()
    took[what] = took.get(what, 0.0) + time.perf_counter() - began
    return done


def tables(folder: Path) -> None:
    """Write the two tables that the script works on: what is asked for, and what lies where."""
    from ortet.ledger.models import Balance, OrderLine
    from ortet.ledger.places import WOOD

    lines = OrderLine.objects.order_by("order__number", "position")
    asked = lines.values_list(
        "order__number", "position", "order__buyer__name", "variety__name", "count", "price"
    )
    wood = Balance.objects.filter(count__gt=0, place__kind__in=WOOD).order_by("lot__taken_at", "lot__pk")
    lies = wood.values_list("lot__mark", "lot__variety__name", "place__name", "count")
    for name, head, rows in (
        ("asked", "order line buyer variety count price", asked),
        ("lies", "lot variety bag count", lies),
    ):
        with (folder / f"{name}.csv").open("w", newline="") as out:
            writer = csv.writer(out)
            writer.writerow(head.split())
            writer.writerows(rows)


def script(folder: Path) -> tuple[int, float]:
    """Plan, sort and write as a grower's own script would; return the cuttings given, and their worth."""
    with (folder / "lies.csv").open(newline="") as table:
        bags: dict[str, list[dict[str, str]]] = defaultdict(list)
        for row in csv.DictReader(table):
            bags[row["variety"]].append(row)
    picks, slips, given, worth = [], defaultdict(list), 0, 0.0
    with (folder / "asked.csv").open(newline="") as table:
        for line in csv.DictReader(table):
            need = int(line["count"])
            for row in bags[line["variety"]]:
                took_here = min(need, int(row["count"]))
                if took_here:
                    row["count"] = str(int(row["count"]) - took_here)
                    need -= took_here
                    picks.append(
                        (
                            row["bag"],
                            row["lot"],
                            line["variety"],
                            took_here,
                            line["buyer"],
                            line["order"],
                            line["line"],
                        )
                    )
                    slips[line["order"], line["buyer"]].append(
                        f"{took_here} x {line['variety']} ({row['lot']})"
                    )
            given += int(line["count"]) - need
            worth += (int(line["count"]) - need) * float(line["price"] or 1)
    with (folder / "picks.csv").open("w", newline="") as out:
        csv.writer(out).writerows(sorted(picks))
    for (order, buyer), rows in slips.items():
        (folder / f"slip-{order}.txt").write_text("\n".join([buyer, *rows]))
    return given, worth


def season(folder: Path) -> tuple[int, int]:
    """Plan, pick and print a season; return the stops that were booked, and the parcels."""
    from ortet.ledger.models import Lot, Nursery
    from ortet.work.labels import labels
    from ortet.work.nursery import grower
    from ortet.work.packing import pack, walk
    from ortet.work.papers.picking import pick_list
    from ortet.work.papers.posting import address_label, packing_slip, waiting
    from ortet.work.plan.sheet import season_sheet
    from ortet.work.plan.whole import plan_season

    by, number, stops = grower(), 0, 0

    def printed(name: str, pdf: bytes) -> None:
        (folder / f"{name}.pdf").write_bytes(pdf)

    timed("planned", lambda: plan_season(by=by))
    timed("printed: season sheet", lambda: printed("season", season_sheet()))
    marks = list(Lot.objects.values_list("mark", flat=True))
    timed("printed: bag labels", lambda: printed("labels", labels(marks)))
    for number in range(WEEKS):
        at = NOW + timedelta(days=7 * number)
        Nursery.objects.update(fixed_now=at)  # the weeks go by
        if not (found := timed("picked: pick walks", walk)):
            continue
        timed(
            "printed: pick lists",
            lambda number=number: printed(f"week {number}", pick_list()),
        )
        for one in found:
            timed(
                BOOKED,
                lambda one=one, at=at: pack(
                    f"{one.line.order.number}/{one.line.position}", one.name, one.count,
                    lot=one.name, from_place=one.place.name, by=by, at=at,
                ),
            )  # fmt: skip
        stops += len(found)
    parcels = waiting()
    timed("printed: packing slips", lambda: printed("slips", packing_slip(*parcels)))
    timed("printed: address labels", lambda: printed("addresses", address_label(*parcels)))
    return stops, len(parcels)


def main() -> None:
    """Make a book, let the script and Ortet work on it, and print what each took and gave."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--orders", type=int, default=500)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="ortet-bench-") as held:
        folder = Path(held)
        os.environ["ORTET_FOLDER"] = held
        os.environ["DJANGO_SETTINGS_MODULE"] = "ortet.settings"
        import django

        django.setup()
        lots = max(LOTS * asked.orders // 500, 20)
        lines = asked.orders * PER_ORDER
        invented(lots, min(VARIETIES, lots), lines, 60, per_order=PER_ORDER, lot=LOT, line=LINE)
        from ortet import work
        from ortet.ledger.models import Buyer

        for who in Buyer.objects.all():
            work.buyer(who.name, address="Tithe Barn 2\n1234 Sedgeholm")
        tables(folder)
        given, worth = timed("the script", lambda: script(folder))
        by_script = took.pop("the script")
        stops, parcels = season(folder)
        got, value = told()
        print(f"{lines:,} lines of {asked.orders} orders, {lots} lots")
        booked = took.pop(BOOKED)
        for what, seconds in took.items():
            print(f"  {what:30} {seconds:7.2f} s")
        print(f"  {'planned, picked and printed':30} {sum(took.values()):7.2f} s")
        print(f"  {'the script, all of it':30} {by_script:7.2f} s")
        print(
            f"  {BOOKED:30} {booked:7.2f} s, {1000 * booked / stops:.0f} ms a scan: "
            f"{stops:,} stops into {parcels} parcels"
        )
        print(f"  given: {got:,} cuttings, worth {value:,.0f}; by the script {given:,}, worth {worth:,.0f}")


if __name__ == "__main__":
    main()
