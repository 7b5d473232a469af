"""`ortet today` for a season of 400 lots, as a grower meets it: a whole process, and the page.

Side by side, in one run: the same Python that does nothing but import what every Django program with NumPy must, and the
page's own forecast without the book. The book is made anew in a folder of its own.
"""

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

FOLDER = os.environ["ORTET_FOLDER"] = tempfile.mkdtemp(prefix="ortet-bench-")
os.environ["DJANGO_SETTINGS_MODULE"] = "ortet.settings"
NOW = datetime(2027, 2, 20, 8, tzinfo=UTC)
TAKEN = datetime(2026, 11, 20, 9, tzinfo=UTC)


def make_book(lots: int) -> None:
    """Make a season: two fridges and a site with hourly records, a bag for each lot, a weighing a month, some looks."""
    import django
    import numpy as np

    django.setup()
    from django.db import transaction

    from ortet import work
    from ortet.ledger.climate import add_readings
    from ortet.ledger.models import Nursery
    from ortet.work.nursery import grower, open_book

    open_book()
    rng, by = np.random.default_rng(1), grower()
    kinds = (
        "blackcurrant",
        "redcurrant",
        "gooseberry",
        "elder",
        "grape",
        "quince",
        "mulberry",
        "pomegranate",
    )
    stores = [work.add_place(name, "store") for name in ("Cellar fridge", "Barn fridge")]
    site = work.add_place("Orchard", "site")
    start = int(datetime(2026, 9, 1, tzinfo=UTC).timestamp())
    at = np.arange(start, int(NOW.timestamp()), 3600)
    for place, mean, swing in ((stores[0], 2.5, 0.4), (stores[1], 3.5, 0.8), (site, 6.0, 5.0)):
        air = mean + swing * np.sin(at / 86400 * 2 * np.pi) + rng.normal(0, 0.3, at.size)
        add_readings(place, at, air, np.full(at.size, 0.8))
    with transaction.atomic():
        Nursery(id=1, fixed_now=NOW).save()
        for number in range(40):
            work.add_mother(f"M{number}", f"Variety {number}", kinds[number % len(kinds)], site="Orchard")
        for number in range(lots):
            taken = TAKEN + timedelta(hours=int(rng.integers(0, 600)))
            base = float(rng.uniform(6, 11))
            count = int(rng.integers(10, 50))
            work.take(f"M{number % 40}", count, mark=f"L{number}", base_mm=base, by=by, at=taken)
            work.bag(
                [(f"L{number}", None, None)],
                name=f"B{number}",
                store=stores[number % 2].name,
                thickness_um=(25, 50, 65)[number % 3],
                tare_g=20,
                by=by,
                at=taken + timedelta(hours=2),
            )
            gross = 20 + count * base**2 * 0.15
            for month in range(3 * (number % 4 != 0)):
                when = taken + timedelta(hours=3, days=28 * month)
                if when < NOW:
                    work.weigh(f"B{number}", gross * (1 - 0.01 * month), by=by, at=when)
            if number % 3 == 0:
                work.inspect(f"B{number}", sound=count, callus=1, by=by, at=taken + timedelta(days=30))


def seconds(command: list[str], times: int) -> float:
    """Return the median wall time of a command, after one warm-up."""
    took = []
    for _ in range(times + 1):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        took.append(time.perf_counter() - start)
    return statistics.median(took[1:])


def page_seconds(times: int) -> tuple[float, float]:
    """Return the server's time for Today just after a deed, and when nothing was booked since."""
    from django.test import Client

    from ortet import work
    from ortet.work.nursery import grower

    client = Client(SERVER_NAME="localhost")
    fresh, again = [], []
    client.get("/")
    for number in range(times):
        work.inspect(f"B{number}", callus=2, by=grower(), at=NOW)
        for took in (fresh, again):
            start = time.perf_counter()
            answer = client.get("/")
            took.append(time.perf_counter() - start)
            assert answer.status_code == 200, answer.status_code
    return statistics.median(fresh), statistics.median(again)


def main() -> None:
    """Make the season and print the times side by side."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lots", type=int, default=400)
    parser.add_argument("--times", type=int, default=7)
    asked = parser.parse_args()
    make_book(asked.lots)
    bare = "import django, numpy, django.db.models; django.setup()"
    floor = seconds([sys.executable, "-c", bare], asked.times)
    whole = seconds([sys.executable, "-m", "ortet", "today"], asked.times)
    fresh, again = page_seconds(asked.times)
    print(
        f"{asked.lots} lots, median of {asked.times}, {os.cpu_count()} cores, Python {sys.version.split()[0]}"
    )
    print(f"Python with Django and NumPy, doing nothing   {floor:.2f} s")
    print(f"ortet today, whole process                    {whole:.2f} s   {whole / floor:.1f} times that")
    print(f"Today page, server time, just after a deed    {fresh * 1000:.0f} ms")
    print(f"Today page, server time, nothing booked since {again * 1000:.0f} ms")
    print(f"the book: {sum(file.stat().st_size for file in Path(FOLDER).glob('book*')) / 1e6:.1f} MB")


if __name__ == "__main__":
    main()
