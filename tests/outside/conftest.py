"""Published values and open records that the checks against the world outside read."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

VALUES = Path(__file__).with_name("values")


@pytest.fixture(scope="session")
def published() -> Callable[[str], list[dict[str, float]]]:
    """Read values/NAME.csv as rows of numbers; refuse a file that does not name its source and tolerance."""

    def rows(name: str) -> list[dict[str, float]]:
        lines = (VALUES / f"{name}.csv").read_text(encoding="utf-8").splitlines()
        head = " ".join(line for line in lines if line.startswith("#"))
        assert "olerance" in head or "xact" in head, f"{name}.csv must say its source and tolerance"
        body = csv.DictReader(line for line in lines if not line.startswith("#"))
        return [{column: float(text) for column, text in row.items()} for row in body]

    return rows


@pytest.fixture(scope="session")
def seattle_c() -> np.ndarray:
    """Hourly temperatures of Seattle, 2010, as the package vega_datasets ships them in °F; NaN in its one gap. [°C]"""
    import pandas as pd
    from vega_datasets import data

    table = data.seattle_temps()
    at = pd.to_datetime(table["date"])
    whole_year = pd.date_range("2010-01-01", periods=8760, freq="h")
    return (pd.Series(table["temp"].to_numpy(), index=at).reindex(whole_year).to_numpy() - 32.0) / 1.8


@pytest.fixture(scope="session")
def greensboro_c() -> np.ndarray:
    """Typical year of Greensboro NC (TMY3 723170), as the package pvlib ships it, 8,760 hours. [°C]"""
    import pandas as pd
    import pvlib

    file = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    return pd.read_csv(file, skiprows=1)["Dry-bulb (C)"].to_numpy(dtype=float)
