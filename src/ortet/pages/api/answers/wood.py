"""Answers about what is there and what was booked: tasks, plants, lots, places, batches, movements, readings."""

from uuid import UUID

from ninja import Field

from ortet.pages.api.types import Answer, When

__all__ = [
    "Batch",
    "Event",
    "Holds",
    "Lies",
    "Lot",
    "LotRow",
    "Mother",
    "Moved",
    "Place",
    "PlaceRow",
    "Reading",
    "Stands",
    "Task",
    "Today",
    "Variety",
    "Weight",
]


class Task(Answer):
    """One thing to do now."""

    act: str
    reason: str
    kind: str
    lots: list[str] = Field(description="Codes of the lots that it concerns.")
    bags: list[str] = Field(description="Names of the bags, or of the batch.")
    place: str
    count: int = Field(description="Cuttings that it concerns.")
    waiting: float = Field(description="Cuttings that a week of waiting is expected to cost.")
    due: When | None = Field(description="When a limit is likely crossed.")
    deed: str = Field(description="The deed that records it, or nothing.")


class Today(Answer):
    """What to do now, the dearest to put off first."""

    now: When
    lots: int
    cuttings: int
    tasks: list[Task]


class Variety(Answer):
    """A named clone."""

    name: str
    species: str
    group: str
    selling_name: str
    right: str = Field(description="A breeder's right, as noted.")


class Mother(Answer):
    """A plant that wood is taken from."""

    accession: str
    variety: str
    species: str
    site: str
    source: str
    health: str
    taken: int = Field(description="Cuttings taken from it so far.")


class Lies(Answer):
    """So many cuttings in a place."""

    place: str
    code: str
    kind: str
    count: int


class Event(Answer):
    """Something that happened to a lot."""

    at: When
    what: str
    by: str
    note: str
    number: int | None = Field(description="Of a movement.")
    reading: UUID | None = Field(description="Of a reading.")
    is_void: bool = Field(description="Whether it was corrected or withdrawn.")


class LotRow(Answer):
    """A lot in a list."""

    code: str
    mark: str
    variety: str
    species: str
    accession: str = Field(description="Of the mother plant; empty where the wood was received.")
    use: str
    grade: str
    taken_at: When
    length_mm: float
    base_mm: float
    tip_mm: float
    nodes: int
    on_hand: int


class Lot(LotRow):
    """A lot whole."""

    where: list[Lies]
    events: list[Event] = Field(description="The latest first.")


class PlaceRow(Answer):
    """A place in a list."""

    code: str
    name: str
    kind: str
    on_hand: int


class Holds(Answer):
    """So many cuttings of a lot in a place."""

    lot: str
    mark: str
    variety: str
    count: int


class Weight(Answer):
    """A bag on the scale."""

    at: When
    gross_g: float
    lost_g: float | None = Field(description="Since it was first weighed with the same wood in it.")


class Place(PlaceRow):
    """A place whole."""

    stands_in: str = Field(description="Of a bag, the cold place; of a batch, the bench.")
    holds: list[Holds]
    weighings: list[Weight]


class Batch(Answer):
    """Cuttings struck or grafted together."""

    name: str
    code: str
    craft: str
    lot: str
    variety: str
    bench: str
    tray: str
    medium: str
    treatment: str
    base_c: float | None
    struck_at: When


class Moved(Answer):
    """A movement: so many cuttings from one place to another."""

    id: UUID
    number: int
    lot: str
    count: int
    from_place: str
    to_place: str
    why: str
    at: When
    by: str
    note: str


class Reading(Answer):
    """Something that was weighed, seen, done or noted."""

    id: UUID
    kind: str
    lot: str
    place: str
    at: When
    by: str
    note: str


class Stands(Answer):
    """Where a bag or a batch stands from a moment on."""

    id: UUID
    bag: str
    store: str
    since: When
    by: str
