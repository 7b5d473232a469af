"""A million logger rows: `ortet.tables.logger` side by side with pandas on the same files, in one run.

pandas is told the delimiter, the decimal sign and the date's format; Ortet finds them out, and looks for
gaps, doubles and impossible values. Both mind the clock changes.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from ortet.tables.logger import read_logger

ZONE = "America/Los_Angeles"
FORMS = {
    "ISO dates, commas": ("%Y-%m-%d %H:%M:%S", ",", ".", "Date time{d}Temperature (°C){d}RH (%)"),
    "US dates, am/pm": ("%m/%d/%Y %I:%M:%S %p", ",", ".", "Date time{d}Temperature (°F){d}RH (%)"),
    "European dates, decimal commas": (
        "%d.%m.%Y %H:%M",
        ";",
        ",",
        "Datum/Uhrzeit{d}Temperatur (°C){d}Feuchte (%)",
    ),
}


def write(path: Path, rows: int, form: str, delimiter: str, decimal: str, header: str) -> None:
    """Write a record of one reading a minute by a clock that follows the seasons."""
    random = np.random.default_rng(2)
    at = pd.date_range("2024-11-24", periods=rows, freq="min", tz="UTC").tz_convert(ZONE).strftime(form)
    air = np.round(2.0 + random.normal(0, 0.5, rows), 2).astype(str)
    wet = np.round(np.clip(90 + random.normal(0, 2, rows), 0, 100), 1).astype(str)
    lines = (delimiter.join((a, t, h)) for a, t, h in zip(at, air, wet, strict=True))
    if decimal == ",":
        lines = (
            delimiter.join((a, t.replace(".", ","), h.replace(".", ",")))
            for a, t, h in zip(at, air, wet, strict=True)
        )
    path.write_text(header.format(d=delimiter) + "\n" + "\n".join(lines) + "\n", encoding="utf-8")


def with_pandas(path: Path, form: str, delimiter: str, decimal: str) -> int:
    """Read the same with pandas, told everything."""
    # for ISO dates pandas is quicker when it is left to find the form
    frame = pd.read_csv(
        path,
        sep=delimiter,
        decimal=decimal,
        parse_dates=[0],
        date_format=None if form.startswith("%Y") else form,
    )
    local = frame.iloc[:, 0].dt
    first = np.ones(len(frame), dtype=bool)
    at = local.tz_localize(ZONE, ambiguous=first, nonexistent="shift_forward").dt.tz_convert("UTC")
    return len(at)


def timed(work: Callable[[], object], times: int) -> float:
    """Return the median time of a few runs, after one to warm up. [s]"""
    work()
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return statistics.median(spent)


def main() -> None:
    """Print seconds and the ratio for each form of file."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--times", type=int, default=3)
    asked = parser.parse_args()
    print(f"{asked.rows:,} rows, median of {asked.times}")
    print(f"{'':32}{'ortet':>9}{'pandas':>9}{'ortet / pandas':>16}")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.csv"
        for name, (form, delimiter, decimal, header) in FORMS.items():
            write(path, asked.rows, form, delimiter, decimal, header)
            read = read_logger(path, path.name, zone=ZONE)
            assert not read.problems, read.problems[0]
            assert len(read.at_s) == asked.rows
            ours = timed(lambda: read_logger(path, path.name, zone=ZONE), asked.times)
            theirs = timed(lambda f=form, d=delimiter, m=decimal: with_pandas(path, f, d, m), asked.times)  # type: ignore[misc]
            print(f"{name:32}{ours:8.2f}s{theirs:8.2f}s{ours / theirs:16.2f}")


if __name__ == "__main__":
    main()
