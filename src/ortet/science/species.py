"""What is known of each kind of wood: every number with its source and how sure it is.

The numbers stand in species.toml. What is not known of a species is taken from its group, and what is not known
of the group from dormant one-year wood at large; `Species.why` says where a number came from.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

__all__ = [
    "MARKS",
    "RESPIRATION_AT_C",
    "SPECIES",
    "UNITS",
    "Known",
    "Species",
    "known_species",
    "read_species",
    "species",
]

MARKS = ("published", "memory", "common practice", "unknown")

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "chill_portions": "portions of chill until the buds are free to grow",
        "chill_hours": "hours from 0 to 7.2 °C until the buds are free to grow",
        "callus_t_min": "°C",
        "callus_t_opt": "°C",
        "callus_t_max": "°C",
        "callus_days": "days at callus_t_opt until half the cuttings have callused",
        "callus_spread": "standard deviation of the natural log of that time",
        "roots_t_min": "°C",
        "roots_t_opt": "°C",
        "roots_t_max": "°C",
        "roots_days": "days at roots_t_opt until half of the cuttings that can root show a root",
        "roots_spread": "standard deviation of the natural log of that time",
        "heat_t_base": "°C below which no heat counts for the buds",
        "heat_t_opt": "°C at which heat counts most",
        "heat_t_crit": "°C above which no heat counts",
        "leaf_heat": "°C h of growing degree hours until half are in leaf, once chill is plentiful",
        "leaf_heat_unchilled": "the same for buds that had no chill at all",
        "chill_overlap": "portions of chill over which the difference of the two falls to 37 %",
        "leaf_spread": "standard deviation of the natural log of that heat",
        "carry_days": "days that the reserve carries leaves without roots",
        "strike": "share of sound cuttings that root in usual care",
        "strike_cuttings": "cuttings that this share is worth as a prior: Beta(strike n, (1 - strike) n)",
        "least_nodes": "nodes of the shortest useful cutting",
        "least_length": "mm of the shortest useful cutting",
        "least_diameter": "mm at the thin end of the thinnest useful cutting",
        "wood_years": "years of age of the wood to cut",
        "bark_conductance": "mmol m-2 s-1 of bark",
        "water_content": "share of fresh mass",
        "dry_limit": "share of fresh mass lost at which harm starts",
        "respiration_ref": "mg CO2 per kg fresh mass and hour at 5 °C",
        "q10": "factor for 10 K more",
        "reserve_share": "share of dry mass",
        "usable_share": "share of the reserve that may go before growth suffers",
        "keep_weeks": "weeks in a cold store before a warning",
        "density": "kg fresh mass per m3",
    }
)

ANY_WOOD = "dormant one-year wood"

RESPIRATION_AT_C = 5.0  # the temperature of every respiration_ref


@dataclass(frozen=True, slots=True)
class Known:
    """One number, the range it may lie in, and what it rests on."""

    of: float
    low: float
    high: float
    mark: str
    source: str

    def __post_init__(self) -> None:
        if self.mark not in MARKS:
            raise ValueError(f"mark {self.mark!r} must be one of {', '.join(MARKS)}")
        if not self.source.strip():
            raise ValueError("a value needs its source")
        if not self.low <= self.of <= self.high:
            raise ValueError(f"{self.of:g} must lie in its own range, {self.low:g} to {self.high:g}")


@dataclass(frozen=True, slots=True)
class Species:
    """One kind of wood. `numbers` holds for each name of `UNITS` what is known and of what it is known."""

    key: str
    name: str
    latin: str
    group: str
    numbers: Mapping[str, tuple[Known, str]]

    def known(self, number: str) -> Known:
        """Return the number with its range, mark and source."""
        return self._found(number)[0]

    def value(self, number: str) -> float:
        """Return the number alone."""
        return self._found(number)[0].of

    def range(self, number: str) -> tuple[float, float]:
        """Return the range in which the number may lie."""
        found = self._found(number)[0]
        return found.low, found.high

    def why(self, number: str) -> str:
        """Return in words what the number rests on."""
        found, holder = self._found(number)
        if holder == self.name:
            return f"{found.source} ({found.mark})"
        return f"{found.source} ({found.mark}; not known for {self.name}, so the value for {holder})"

    def _found(self, number: str) -> tuple[Known, str]:
        try:
            return self.numbers[number]
        except KeyError:
            raise KeyError(f"no number {number!r} of a species. Known: {', '.join(UNITS)}") from None


def species(key: str) -> Species:
    """Return the species with a key such as ``"grape"``; a KeyError lists the keys there are."""
    try:
        return _all()[key]
    except KeyError:
        raise KeyError(f"no species {key!r}. Known: {', '.join(known_species())}") from None


def known_species() -> tuple[str, ...]:
    """Return the keys of all species, in the order of the file."""
    return tuple(_all())


@cache
def _all() -> Mapping[str, Species]:
    file = Path(__file__).with_name("species.toml")
    return read_species(tomllib.loads(file.read_text(encoding="utf-8")))


def read_species(table: Mapping[str, Any]) -> Mapping[str, Species]:
    """Return the species of a table laid out like species.toml.

    Raises
    ------
    ValueError
        Where a value lacks its source or mark, a name is not in `UNITS`, or a number is known of no wood at all; the
        message names the place.
    """
    any_wood = _numbers(table["any"], "any")
    groups = {key: (row["name"], _numbers(row, f"group.{key}")) for key, row in table["group"].items()}
    out = {}
    for key, row in table["species"].items():
        if row["group"] not in groups:
            raise ValueError(f"species.{key}: no group {row['group']!r}. Known: {', '.join(groups)}")
        group_name, of_group = groups[row["group"]]
        own = _numbers(row, f"species.{key}")
        numbers = {}
        for number in UNITS:
            for holder, found in ((row["name"], own), (group_name, of_group), (ANY_WOOD, any_wood)):
                if number in found:
                    numbers[number] = (found[number], holder)
                    break
            else:
                raise ValueError(
                    f"species.{key}: {number} is known neither of it, of {group_name} nor of any wood"
                )
        out[key] = Species(key, row["name"], row["latin"], row["group"], MappingProxyType(numbers))
    return MappingProxyType(out)


def _numbers(row: Mapping[str, Any], where: str) -> dict[str, Known]:
    """Return the numbers of one block, leaving out those marked unknown."""
    out = {}
    for number, entry in row.items():
        if number in ("name", "latin", "group"):
            continue
        place = f"{where}.{number}"
        if number not in UNITS:
            raise ValueError(f"{place}: no such number. Known: {', '.join(UNITS)}")
        if not isinstance(entry, Mapping) or "mark" not in entry:
            raise ValueError(f"{place}: write {{ of, low, high, mark, source }}; the mark is missing")
        if entry["mark"] == "unknown":
            if "of" in entry:
                raise ValueError(f"{place}: marked unknown, so it cannot have a value")
            continue
        try:
            of, low, high = (float(entry[part]) for part in ("of", "low", "high"))
            out[number] = Known(of, low, high, entry["mark"], entry.get("source", ""))
        except (KeyError, ValueError) as problem:
            raise ValueError(f"{place}: {problem}") from None
    return out


class _Shelf(Mapping[str, Species]):
    """All species by key; read from the file when first asked."""

    def __getitem__(self, key: str) -> Species:
        return _all()[key]

    def __iter__(self) -> Iterator[str]:
        return iter(_all())

    def __len__(self) -> int:
        return len(_all())


SPECIES: Mapping[str, Species] = _Shelf()
