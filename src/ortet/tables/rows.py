"""A row of each table, as read: plain values, with the line it stood on."""

from dataclasses import dataclass
from datetime import datetime

from .selling import BuyerRow, OrderRow

__all__ = ["BagRow", "InspectionRow", "LotRow", "MotherRow", "Row", "WeighingRow"]


@dataclass(frozen=True, slots=True)
class MotherRow:
    """A mother plant."""

    line: int
    accession: str
    variety: str
    species: str  # a key of ortet.science.species
    source: str
    site: str
    health: str
    note: str


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot taken from a mother plant."""

    line: int
    lot: str  # the grower's own mark, or a code of ours
    accession: str
    taken: datetime  # UTC
    count: int
    use: str  # rooting or grafting
    grade: str
    length_mm: float
    base_mm: float
    tip_mm: float
    nodes: int
    note: str


@dataclass(frozen=True, slots=True)
class BagRow:
    """Cuttings of one lot in one bag; further rows with the same bag add further lots to it."""

    line: int
    bag: str
    lot: str
    count: int
    bagged: datetime  # UTC
    store: str
    polymer: str
    thickness_um: float
    layers: int
    width_mm: float
    height_mm: float
    closure: str
    packing: str
    packing_water_g: float
    tare_g: float | None
    note: str


@dataclass(frozen=True, slots=True)
class WeighingRow:
    """A bag on the scale."""

    line: int
    bag: str
    at: datetime  # UTC
    gross_g: float
    note: str


@dataclass(frozen=True, slots=True)
class InspectionRow:
    """What was seen of one lot in one bag or on one bench; None where it was not looked at."""

    line: int
    bag: str
    lot: str
    at: datetime  # UTC
    sound: int | None
    mouldy: int | None
    dry: int | None
    scratch_green: int | None
    scratch_of: int | None
    callus: int | None
    callused: int | None
    callused_of: int | None
    rooted: int | None
    rooted_of: int | None
    free_water: str
    note: str


Row = MotherRow | LotRow | BagRow | WeighingRow | InspectionRow | BuyerRow | OrderRow
