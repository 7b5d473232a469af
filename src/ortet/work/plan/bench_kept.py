"""What a plan of the benches was made from, kept with it as plain values, so that it can be asked again at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from ortet.decisions.bench import Season

__all__ = ["kept", "season_of"]

DAYS = ("ready", "use_by", "wanted", "first", "sale")
Plain = dict[str, Any]


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, (tuple, list)):
        return [_plain(one) for one in value]
    return _fields(value) if is_dataclass(value) else value


def _fields(value: Any) -> Plain:
    """Return the fields of a value that are not as they usually are."""
    return {
        one.name: _plain(getattr(value, one.name))
        for one in fields(value)
        if one.init and (one.default is MISSING or getattr(value, one.name) != one.default)
    }


def kept(season: Season) -> Plain:
    """Return a season as values that JSON can hold; choices made by hand are kept as slots, not here."""
    return {name: value for name, value in _fields(season).items() if name != "fixed"}


def _read(said: Mapping[str, Any]) -> Plain:
    days = {name: date.fromisoformat(said[name]) for name in DAYS if said.get(name)}
    rows = {name: tuple(value) for name, value in said.items() if isinstance(value, list)}
    return {**said, **rows, **days}


def season_of(said: Mapping[str, Any]) -> Season:
    """Return the season that was kept.

    Raises
    ------
    KeyError, TypeError, ValueError
        If it was not kept so.
    """
    from ortet.decisions.bench import Batch, Bench, Season
    from ortet.science.race import Pace

    whole = _read(said)
    batches = []
    for one in whole.pop("batches"):
        row = _read(one)
        if row.get("pace"):
            row["pace"] = Pace(**_read(row["pace"]))
        batches.append(Batch(**row))
    benches = []
    for one in whole.pop("benches"):
        row = _read(one)
        benches.append(Bench(**{**row, "closed": frozenset(row.get("closed", ()))}))
    return Season(tuple(batches), tuple(benches), **whole)
