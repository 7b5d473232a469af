"""What a reckoning of costs is asked with, and what it answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

__all__ = ["PARTS", "Charge", "Flow", "Form", "Heap", "Part", "Reckoned", "Stage"]


class Part(StrEnum):
    """What a cost is for."""

    LABOUR = "labour"
    OWN = "own"  # spent for one variety, batch or order
    SHARED = "shared"  # spent for all, spread by cuttings handled
    BENCH = "bench"  # heat, by the weeks on the bench


PARTS = tuple(Part)


class Stage(StrEnum):
    """What a place is to the cuttings in it."""

    SOURCE = "source"  # a mother plant or a sender
    BECAME = "became"  # between a lot and the lot it became
    WOOD = "wood"  # bench, bag, cold place
    GROWING = "growing"  # a batch
    PLANT = "plant"  # a standing ground
    PACKED = "packed"  # a parcel
    SOLD = "sold"
    GONE = "gone"  # given up or not found


class Form(StrEnum):
    """What is sold or lies there to be sold."""

    CUTTING = "cutting"  # dormant wood
    GROWING = "growing"  # struck or grafted and not potted: not for sale yet
    PLANT = "plant"


@dataclass(frozen=True, slots=True)
class Flow:
    """So many cuttings of a lot went from one place to another."""

    number: int
    lot: str
    variety: str
    season: int  # in which the wood was taken
    from_place: str
    from_stage: Stage
    to_place: str
    to_stage: Stage
    count: int
    day: date
    parents: tuple[str, ...] = ()  # the lots it became this one from, where it comes from them


@dataclass(frozen=True, slots=True)
class Charge:
    """An amount to be borne by movements, each in proportion to its weight."""

    amount: Decimal
    part: Part
    on: Mapping[int, Decimal]  # movement to weight, above nothing; none: nobody bears it


@dataclass(frozen=True, slots=True)
class Heap:
    """Cuttings of one lot in one place or sold by one movement, and what they carry."""

    lot: str
    variety: str
    form: Form
    count: int
    place: str = ""  # where they lie; empty: sold
    day: date | None = None  # on which they were sold
    cost: Mapping[Part, Decimal] = field(default_factory=dict)

    @property
    def total(self) -> Decimal:
        """All that these cuttings carry."""
        return sum(self.cost.values(), Decimal())


@dataclass(frozen=True, slots=True)
class Reckoned:
    """All that was spent, by who carries it. Part by part, the heaps, the dead and the unplaced add up to it."""

    on_hand: tuple[Heap, ...]
    sold: tuple[Heap, ...]
    dead: Mapping[
        str, Mapping[Part, Decimal]
    ]  # by variety: of what all died of one season, so that none carries it
    unplaced: Mapping[Part, Decimal]  # spent, and no movement was there to bear it
    spent: Mapping[Part, Decimal]
