"""What stands in store, as plain values: the lots, the bags they lie in and what was read of them.

`ledger.stock` fills these from the book and `decisions.forecast` carries them forward; neither sees the other.
Times are hours since 1970-01-01 00:00 UTC, as floats. [h]
"""

from dataclasses import dataclass

import numpy as np

from .cutting import Cutting

__all__ = ["Bag", "Climate", "Content", "Holding", "Inspection", "Seen", "Stay", "Weighing", "Wrap"]


@dataclass(frozen=True, slots=True, eq=False)
class Climate:
    """The hourly record of one cold place or one site; NaN where nothing was recorded."""

    place: str
    first_hour: int  # hour index of the first value [h since 1970]
    air_c: np.ndarray  # (hours,) [°C]
    humidity: np.ndarray  # (hours,) [0-1]


@dataclass(frozen=True, slots=True)
class Stay:
    """A bag stood in a place with a climate from this hour on."""

    place: str
    since: float  # [h since 1970]


@dataclass(frozen=True, slots=True)
class Wrap:
    """What the wood is closed in."""

    polymer: str  # LDPE, HDPE, PP, PET
    thickness_um: float  # one layer [µm]
    layers: int
    film_m2: float  # both faces of one layer [m2]
    closure: str  # one of ortet.science.bag.CLOSURES
    packing: str  # one of ortet.science.bag.PACKINGS
    packing_water_g: float = 0.0  # water the packing held when the bag was closed [g]


@dataclass(frozen=True, slots=True)
class Content:
    """From this hour on the bag held this much wood."""

    since: float  # [h since 1970]
    wood_g: float  # fresh mass when taken [g]
    bark_m2: float  # [m2]


@dataclass(frozen=True, slots=True)
class Weighing:
    """A bag on the scale: wood, packing and the bag itself."""

    at: float  # [h since 1970]
    gross_g: float  # [g]


@dataclass(frozen=True, slots=True)
class Inspection:
    """What was seen of one lot in one bag; None where it was not looked at."""

    at: float  # [h since 1970]
    lot: str
    sound: int | None = None
    mouldy: int | None = None
    dry: int | None = None
    scratch_green: int | None = None
    scratch_of: int | None = None
    callus: int | None = None  # 0 none, 1 first specks, 2 half the ring, 3 most of it, 4 full ring
    free_water: str | None = None  # none, droplets, pooled


@dataclass(frozen=True, slots=True)
class Bag:
    """A closed bag in a cold place, from its closing to now."""

    code: str
    name: str  # what is written on it
    wrap: Wrap
    closed_at: float  # [h since 1970]
    stays: tuple[Stay, ...]  # in order of time; the first no later than closed_at
    contents: tuple[Content, ...]  # in order of time
    tare_g: float | None = None  # bag and packing without wood [g]
    opened: tuple[float, ...] = ()  # hours at which it was opened and aired
    wiped: tuple[float, ...] = ()  # hours at which free water was wiped out
    weighings: tuple[Weighing, ...] = ()
    inspections: tuple[Inspection, ...] = ()


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of callus or roots of one lot, wherever it lay then and whatever became of it."""

    at: float  # [h since 1970]
    lot: str
    variety: str
    species: str
    taken: float  # [h since 1970]
    stays: tuple[Stay, ...]  # where it lay from the day it was taken, in order of time
    callus: int | None = None  # score, 0 to 4
    callused: int | None = None
    callused_of: int | None = None
    rooted: int | None = None
    rooted_of: int | None = None


@dataclass(frozen=True, slots=True)
class Holding:
    """The cuttings of one lot in one place, now."""

    lot: str
    variety: str
    species: str  # a key of ortet.science.species
    place: str  # name of the place they are in: the bag's, else the bench's
    count: int
    use: str  # rooting or grafting
    grade: str
    cutting: Cutting
    taken: float  # [h since 1970]
    site: str | None  # where the mother plant stands, a place with a climate
    bag: str | None  # code of the bag, or None when the wood lies bare
    since: float  # when it came to this place [h since 1970]
    mark: str = ""  # the grower's own name for the lot
    before: tuple[Stay, ...] = ()  # where it lay before it came to this place, in order of time
    seen: tuple[Seen, ...] = ()  # of all lots of its species, in order of time
