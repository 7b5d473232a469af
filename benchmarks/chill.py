"""Chill portions of 5,000 station-years of hours: plain Python, NumPy over columns, and Ortet, side by side in one run.

python benchmarks/chill.py         # all
python benchmarks/chill.py 1000    # this many station-years
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from math import exp

import numpy as np
from numpy.typing import NDArray

from ortet.science import chill

Array = NDArray[np.float64]
YEAR_H = 8760
SAMPLE = 10  # the plain loop is slow: so many years, then scaled up

FIRST_CALL = """
import time; began = time.perf_counter()
import numpy as np
from ortet.science.chill import chill_portions
chill_portions(np.linspace(-2.0, 12.0, 8760))
print(time.perf_counter() - began)
"""


def made(years: int) -> Array:
    """Return hourly temperatures of so many years, each somewhat warmer than the last, shape (years, hours). [°C]"""
    hour = np.arange(YEAR_H)
    usual = 10.0 - 9.0 * np.cos(hour / YEAR_H * 2 * np.pi) + 5.0 * np.sin(hour / 24 * 2 * np.pi)
    rng = np.random.default_rng(1)
    out = np.empty((years, YEAR_H))
    for row, shift in zip(out, np.linspace(-8.0, 8.0, years), strict=True):
        rng.standard_normal(out=row)
        row *= 2.0
        row += usual + shift
    return out


def plain(air_c: Array) -> list[float]:
    """Return the portions of each series by the recurrence in plain Python."""
    totals = []
    for series in air_c.tolist():
        product = total = 0.0
        for t in series:
            kelvin = t + 273.0
            full = chill.A0 / chill.A1 * exp((chill.E1 - chill.E0) / kelvin)
            product = full - (full - product) * exp(-chill.A1 * exp(-chill.E1 / kelvin))
            if product >= 1.0:
                gives = product / (1.0 + exp(-chill.SLOPE * chill.T_F * (kelvin - chill.T_F) / kelvin))
                total += gives
                product -= gives
        totals.append(total)
    return totals


def columns(air_c: Array) -> Array:
    """Return the portions of all series, an hour at a time over all of them in NumPy; hours first."""
    product, total = np.zeros(air_c.shape[1]), np.zeros(air_c.shape[1])
    for t in air_c:
        kelvin = t + 273.0
        full = chill.A0 / chill.A1 * np.exp((chill.E1 - chill.E0) / kelvin)
        product = full - (full - product) * np.exp(-chill.A1 * np.exp(-chill.E1 / kelvin))
        at = np.flatnonzero(product >= 1.0)
        if at.size:
            k = kelvin[at]
            gives = product[at] / (1.0 + np.exp(-chill.SLOPE * chill.T_F * (k - chill.T_F) / k))
            total[at] += gives
            product[at] -= gives
    return total


def best(work: Callable[[], object], times: int, clock: Callable[[], float] = time.process_time) -> float:
    """Return the least time of a few runs, of all cores together: others may be at work on this machine. [s]"""
    took = []
    for _ in range(times):
        began = clock()
        work()
        took.append(clock() - began)
    return min(took)


def cold(times: int) -> float:
    """Return the least time of a first call in a fresh process, compiled code in its cache, imports and all. [s]"""
    return min(
        float(
            subprocess.run(
                [sys.executable, "-c", FIRST_CALL], check=True, capture_output=True, text=True
            ).stdout
        )
        for _ in range(times)
    )


def most_memory() -> float:
    """Return the most memory this process has held. [MB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # KiB on Linux


def main(years: int) -> None:
    """Print one line a way."""
    air_c = made(years)
    ours = best(lambda: chill.chill_portions(air_c), 5)
    wall = best(lambda: chill.chill_portions(air_c), 5, time.perf_counter)
    running = best(lambda: chill.chill_portions(air_c, running=True), 2)
    memory = most_memory()  # before the others need theirs
    hours_first = np.ascontiguousarray(air_c.T)
    by_columns = best(lambda: columns(hours_first), 3)
    by_python = (
        best(lambda: plain(air_c[:: max(years // SAMPLE, 1)][:SAMPLE]), 3) * years / min(SAMPLE, years)
    )
    np.testing.assert_allclose(chill.chill_portions(air_c[:40]), plain(air_c[:40]), rtol=1e-9)
    np.testing.assert_allclose(chill.chill_portions(air_c), columns(hours_first), rtol=1e-9)
    print(f"{years} station-years of hours; processor time of all cores together")
    print(
        f"Ortet                      {ours:6.2f} s   by the clock {wall:.2f} s; every hour's total {running:.2f} s"
    )
    print(
        f"  most memory              {memory:6.0f} MB  the record itself and every hour's total: {2 * air_c.nbytes / 1e6:.0f} MB"
    )
    print(f"NumPy, over columns        {by_columns:6.2f} s   {by_columns / ours:.1f} times that")
    print(
        f"plain Python, scaled up    {by_python:6.1f} s   {by_python / ours:.0f} times that ({SAMPLE} years run)"
    )
    print(f"first call, fresh process  {cold(5):6.2f} s   with its imports, one year of hours")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5000)
