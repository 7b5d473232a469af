"""Draw every figure of docs/science from the code itself.

    .venv/bin/python docs/science/figures/draw.py

Writes the SVG files beside this one; a test draws them again and compares.
"""

from pathlib import Path

import in_the_books as books
import in_the_store as store
import names_and_samples as names
import on_the_bench as bench

HERE = Path(__file__).parent

FIGURES = {
    "air": store.air,
    "bag": store.water,
    "callus": bench.callused,
    "chill": store.chill,
    "climate": store.climate,
    "cost-of-a-plant": books.costs,
    "film": store.films,
    "forecast": store.forecasts,
    "heat": store.heat,
    "leaves": bench.leafing,
    "mixup": names.mixups,
    "oxygen": store.oxygens,
    "pace": bench.paces,
    "race": bench.racing,
    "reserve": store.reserves,
    "response": bench.response,
    "roots": bench.rooting,
    "rot": store.rots,
    "sampling": names.samples,
    "solution": bench.solutions,
    "species": store.needs,
    "time-to-root": bench.recounting,
    "strike-rates": bench.striking,
    "today": store.chances,
    "trials": names.trials,
    "water-from-weighings": store.weighings,
}

if __name__ == "__main__":
    for name, figure in FIGURES.items():
        (HERE / f"{name}.svg").write_text(figure(), encoding="utf-8")
