"""What loggers and weather records say, many rows at a time."""

from dataclasses import dataclass
from itertools import repeat

import numpy as np
from django.db import connection, transaction

from .places import Place

__all__ = ["Added", "add_readings"]

SAME_C = 0.005  # two files that round differently still say the same [K]


@dataclass(frozen=True, slots=True)
class Added:
    """How many readings were new, how many stood already, and at which times [s] the book says something else."""

    new: int
    same: int
    conflicts: tuple[int, ...]


def _standing(place: Place, first: int, last: int) -> tuple[np.ndarray, np.ndarray]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT at_s, air_c FROM ledger_climatereading WHERE place_id = %s AND at_s BETWEEN %s AND %s ORDER BY at_s",
            [place.pk, first, last],
        )
        rows = cursor.fetchall()
    if not rows:
        return np.empty(0, dtype=np.int64), np.empty(0)
    at, air = zip(*rows, strict=True)
    return np.array(at, dtype=np.int64), np.array(air, dtype=float)


def _insert(place: Place, at_s: np.ndarray, air_c: np.ndarray, humidity: np.ndarray) -> None:
    known = humidity.astype(object)
    known[np.isnan(humidity)] = None
    rows = zip(repeat(place.pk), at_s.tolist(), air_c.tolist(), known.tolist(), strict=False)
    columns = "ledger_climatereading (place_id, at_s, air_c, humidity)"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {columns} FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
        else:
            # Straight to the driver: Django's own wrapper would look at each of a million rows.
            cursor.connection.executemany(f"INSERT INTO {columns} VALUES (?, ?, ?, ?)", rows)


def add_readings(place: Place, at_s: np.ndarray, air_c: np.ndarray, humidity: np.ndarray) -> Added:
    """Add readings of one place that are not in the book yet; add none where any contradicts what stands.

    Parameters
    ----------
    at_s : ndarray of int64, shape (n,)
        Unix seconds, rising, each once.
    air_c : ndarray, shape (n,)
        Air temperature. [°C]
    humidity : ndarray, shape (n,)
        Relative humidity, NaN where not recorded. [0-1]
    """
    if not len(at_s):
        return Added(0, 0, ())
    with transaction.atomic():
        there, said = _standing(place, int(at_s[0]), int(at_s[-1]))
        slot = np.searchsorted(there, at_s)
        known = np.zeros(len(at_s), dtype=bool)
        inside = slot < len(there)
        known[inside] = there[slot[inside]] == at_s[inside]
        differs = known.copy()
        differs[known] = np.abs(said[slot[known]] - air_c[known]) > SAME_C
        if differs.any():
            return Added(0, 0, tuple(at_s[differs].tolist()))
        new = ~known
        _insert(place, at_s[new], air_c[new], humidity[new])
        return Added(int(new.sum()), int(known.sum()), ())
