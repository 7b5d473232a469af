"""A million logger rows from file to book, side by side with pandas reading the same file and writing it to SQLite.

Both read the ISO form, which pandas reads fastest. Ortet also finds out the form, looks for gaps, doubles and impossible
values, compares with what the book holds, and does all of it in one transaction.
"""

import argparse
import os
import sqlite3
import sys
import tempfile
import time
from pathlib import Path

FOLDER = tempfile.mkdtemp(prefix="ortet-bench-")
os.environ["ORTET_FOLDER"] = FOLDER
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "ortet.settings")


def write(path: Path, rows: int) -> None:
    """Write a record of one reading a minute."""
    import numpy as np
    import pandas as pd

    random = np.random.default_rng(2)
    at = pd.date_range("2024-11-24", periods=rows, freq="min", tz="UTC").strftime("%Y-%m-%dT%H:%M:%SZ")
    air = np.round(2.0 + random.normal(0, 0.5, rows), 2)
    wet = np.round(np.clip(90 + random.normal(0, 2, rows), 0, 100), 1)
    pd.DataFrame({"time": at, "temperature (°C)": air, "RH (%)": wet}).to_csv(path, index=False)


def with_pandas(path: Path) -> float:
    """Read the file and write it to a table with the same key; return the seconds."""
    import pandas as pd

    start = time.perf_counter()
    frame = pd.read_csv(path, parse_dates=[0])
    frame.columns = ["at", "air_c", "humidity"]
    with sqlite3.connect(Path(FOLDER) / "pandas.sqlite3") as to:
        to.execute("CREATE TABLE record (at TIMESTAMP PRIMARY KEY, air_c REAL, humidity REAL)")
        frame.to_sql("record", to, if_exists="append", index=False)
    return time.perf_counter() - start


def with_ortet(path: Path) -> tuple[float, float]:
    """Load the file into a new book, then load it again; return the seconds of each."""
    import django

    django.setup()
    from ortet import work
    from ortet.work.load import load
    from ortet.work.nursery import grower, open_book

    open_book()
    work.add_place("North", "store")
    seconds = []
    # the second time one row is added, so that the file is not known by its hash and every row is compared
    for data in (path.read_bytes(), path.read_bytes() + b"2024-11-01T00:00:00Z,2.0,90\n"):
        start = time.perf_counter()
        from datetime import UTC, datetime

        loaded = load([("north.csv", data)], by=grower(), at=datetime.now(UTC))
        seconds.append(time.perf_counter() - start)
        if loaded.problems:
            sys.exit(str(loaded.problems[0]))
    return seconds[0], seconds[1]


def main() -> None:
    """Run both on one file and print the ratio."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    rows = parser.parse_args().rows
    path = Path(FOLDER) / "record.csv"
    write(path, rows)
    first, again = with_ortet(path)
    theirs = with_pandas(path)
    print(
        f"{rows:,} rows, file to book: ortet {first:.2f} s, pandas to SQLite {theirs:.2f} s, ratio {first / theirs:.2f}"
    )
    print(f"the same rows again, compared with the book: ortet {again:.2f} s")


if __name__ == "__main__":
    main()
