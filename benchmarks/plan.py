"""What the season's whole plan costs, step by step: the demo season, and an invented one of ten times the wishes and lots.

Side by side in one run: a first-come plan in plain Python, from the same book. It serves orders as they came, from the wood
of the right variety, use and grade that runs out first. It knows no priorities, substitutes, own targets, limits, benches and
no weather, so orders get what Ortet keeps for the nursery's own targets.

python benchmarks/plan.py              # the demo season, then 400 lots, 120 lines, 300 varieties
python benchmarks/plan.py --lots 100   # a smaller invented season; --no-demo leaves the demo out
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

NOW = datetime(2027, 1, 20, 8, tzinfo=UTC)
TAKEN = datetime(2026, 12, 1, 9, tzinfo=UTC)
KINDS = ("blackcurrant", "redcurrant", "gooseberry", "elder", "grape", "quince", "mulberry", "pomegranate")


def demo() -> None:
    """Load the demo season."""
    from ortet.demo import load_demo

    load_demo()


def invented(
    lots: int,
    varieties: int = 300,
    lines: int = 120,
    targets: int = 60,
    *,
    per_order: int = 4,
    lot: tuple[int, int] = (8, 40),
    line: tuple[int, int] = (5, 40),
) -> None:
    """Make a season: mother plants with limits, lots in bags in two fridges, weather, orders, own targets, benches.

    Parameters
    ----------
    lot, line
        Of how many cuttings a lot and a line are: from, and below.
    """
    import numpy as np
    from django.db import transaction

    from ortet import work
    from ortet.ledger.climate import add_readings
    from ortet.ledger.models import Nursery
    from ortet.work.benches import set_up_bench
    from ortet.work.nursery import grower, open_book, plan_with
    from ortet.work.orders import Line, limit, order, want

    open_book()
    rng, draw, by = np.random.default_rng(1), random.Random(1), grower()
    stores = [work.add_place(name, "store") for name in ("Cellar fridge", "Barn fridge")]
    site = work.add_place("Orchard", "site")
    at = np.arange(int(datetime(2026, 8, 1, tzinfo=UTC).timestamp()), int(NOW.timestamp()), 3600)
    for place, mean, swing in ((stores[0], 2.5, 0.4), (stores[1], 3.5, 0.8), (site, 5.0, 4.0)):
        air = mean + swing * np.sin(at / 86400 * 2 * np.pi) + rng.normal(0, 0.3, at.size)
        add_readings(place, at, air, np.full(at.size, 0.8))
    monday = date(2027, 2, 1)
    names = [f"Variety {number:03d}" for number in range(varieties)]
    with transaction.atomic():
        Nursery(id=1, fixed_now=NOW).save()
        plan_with(country="DE", last_frost="05-15")
        for number, name in enumerate(names):
            work.add_mother(f"M{number}", name, KINDS[number % len(KINDS)], site="Orchard")
            limit(f"M{number}", draw.randrange(30, 90), by=by, at=TAKEN)
        for number in range(lots):
            taken = TAKEN + timedelta(hours=draw.randrange(500))
            base, count = draw.uniform(6, 11), draw.randrange(*lot)
            work.take(f"M{number % varieties}", count, mark=f"L{number}", base_mm=base, by=by, at=taken)
            work.bag([(f"L{number}", None, None)], name=f"B{number}", store=stores[number % 2].name,
                     thickness_um=(25, 50, 65)[number % 3], by=by, at=taken + timedelta(hours=2))  # fmt: skip
        wood = names[: min(lots, varieties)]
        for number in range(0, lines, per_order):
            first = monday + timedelta(days=7 * draw.randrange(8))
            wanted = [
                Line(variety, draw.randrange(*line), first, first + timedelta(days=draw.choice([13, 27, 41])),
                     price=Decimal(draw.randrange(90, 260)) / 100, priority=draw.randrange(1, 5))
                for variety in draw.sample(wood, per_order)
            ]  # fmt: skip
            order(f"Asker {number // per_order}", wanted, by=by, at=TAKEN + timedelta(hours=number % 1000))
        for variety in draw.sample(wood, min(targets, len(wood))):
            want(
                variety, draw.randrange(3, 15), by=by, at=TAKEN, worth=Decimal(5), wanted_by=date(2027, 6, 1)
            )
        for number in range(6):
            work.add_place(f"Bench {number}", "bench")
            set_up_bench(f"Bench {number}", 200, air_c=10, heats=(18, 21, 24), by=by, at=TAKEN)


def first_come() -> tuple[float, int, int, float]:
    """Plan by hand: return the seconds it takes, cuttings asked and given, and the worth given."""
    from ortet.ledger.models import Lot, Nursery
    from ortet.work.plan.allotting import use_by
    from ortet.work.plan.desk import Desk

    desk = Desk(Nursery.get().now())
    desk.read()
    lines = sorted(desk.lines, key=lambda line: line.order.number)
    lots = Lot.objects.in_bulk([one.lot for one in desk.forecasts], field_name="code")
    stock = [
        ((one.variety, lots[one.lot].use), lots[one.lot].grade, use_by(one) or date.max, one.count)
        for one in desk.forecasts
    ]
    began = time.perf_counter()
    stock.sort(key=lambda one: one[2])
    left = [row[-1] for row in stock]
    asked = given = 0
    worth = 0.0
    for line in lines:
        asked += line.count
        need = line.count
        grades = [grade for grade in line.grades.split(",") if grade]
        for at, (what, grade, end, _) in enumerate(stock):
            good = what == (line.variety.name, line.use) and end >= line.first_day
            if good and (not grades or grade in grades):
                took = min(need, left[at])
                left[at] -= took
                need -= took
        given += line.count - need
        worth += (line.count - need) * float(line.price or 1)
    return time.perf_counter() - began, asked, given, worth


def planned() -> dict[str, float]:
    """Plan the season and return the seconds of each step."""
    from ortet.work.nursery import grower
    from ortet.work.plan.whole import plan_season

    since: dict[str, float] = {}

    def tell(step: str, share: float) -> None:
        since.setdefault(step, time.perf_counter())

    plan_season(by=grower(), tell=tell)
    end = time.perf_counter()
    names = list(since)
    stops = [*(since[name] for name in names[1:]), end]
    return {name: stop - since[name] for name, stop in zip(names, stops, strict=True)}


def told() -> tuple[int, float]:
    """Return what the plan gives to orders, and its worth."""
    from ortet.ledger.models import Plan, PlanKind

    picks = Plan.objects.filter(kind=PlanKind.ALLOT).latest("at", "id").picks.filter(line__isnull=False)
    rows = list(picks.values_list("count", "line__price", "lot"))
    return sum(count for count, _, _ in rows), sum(count * float(price or 1) for count, price, _ in rows)


def sheet() -> float:
    """Print the plan and return the seconds."""
    from ortet.work.plan.sheet import season_sheet

    began = time.perf_counter()
    season_sheet("a4")
    return time.perf_counter() - began


def run(title: str, make: Callable[[], None]) -> None:
    """Make a book, plan it twice (the second with everything compiled and imported), and print what it took."""
    began = time.perf_counter()
    make()
    print(f"\n{title} (made in {time.perf_counter() - began:.1f} s)", flush=True)
    runs = [planned(), planned()]
    for name in runs[0]:
        print(f"  {name:24} {runs[0][name]:6.2f} s   again {runs[1][name]:6.2f} s")
    whole = [sum(one.values()) for one in runs]
    print(f"  {'the whole plan':24} {whole[0]:6.2f} s   again {whole[1]:6.2f} s")
    print(f"  {'the sheet, A4':24} {sheet():6.2f} s")
    seconds, asked, hand, worth = first_come()
    given, value = told()
    print(f"  first come: {seconds * 1000:.1f} ms, {hand} of {asked} cuttings, worth {worth:.0f}")
    print(f"  Ortet: {given} of {asked} cuttings, worth {value:.0f}: {value / worth:.3f} times as much")


def main() -> None:
    """Run each season in a process and a book of its own."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lots", type=int, default=400)
    parser.add_argument("--varieties", type=int, default=300)
    parser.add_argument("--lines", type=int, default=120)
    parser.add_argument("--no-demo", action="store_true")
    parser.add_argument("--only", choices=("demo", "invented"), help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if not asked.only:
        for season in ("invented",) if asked.no_demo else ("demo", "invented"):
            subprocess.run([sys.executable, *sys.argv, "--only", season], check=True)
        return
    with tempfile.TemporaryDirectory(prefix="ortet-bench-") as folder:
        os.environ["ORTET_FOLDER"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "ortet.settings"
        import django

        django.setup()
        if asked.only == "demo":
            run("The demo season: 60 lots, 41 lines", demo)
            return
        title = f"An invented season: {asked.lots} lots, {asked.lines} lines, {asked.varieties} varieties"
        run(title, lambda: invented(asked.lots, asked.varieties, asked.lines))


if __name__ == "__main__":
    main()
