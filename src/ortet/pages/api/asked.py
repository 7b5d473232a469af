"""What deeds ask for. Names and limits are those of the deeds in `ortet.work`."""

from typing import Any, Literal
from uuid import UUID

from ninja import Field

from ortet.work.orders import Line

from .types import (
    Asked,
    At,
    Count,
    Day,
    Degrees,
    Grams,
    Length,
    Many,
    Name,
    Note,
    Number,
    Paid,
    Rate,
    Share,
    Words,
)  # fmt: skip

__all__ = [
    "AnOrder",
    "Bag",
    "Cancel",
    "Correct",
    "Counted",
    "Deed",
    "GiveUp",
    "Graft",
    "Inspect",
    "MakePlan",
    "Move",
    "NoteBuyer",
    "NoteIt",
    "Pot",
    "Sell",
    "Split",
    "Stand",
    "Strike",
    "Take",
    "Treat",
    "Want",
    "Weigh",
    "Withdraw",
]  # fmt: skip

Use = Literal["rooting", "grafting"]


class Deed(Asked):
    """A deed under an id of its own: the same sent twice is booked once."""

    id: UUID = Field(description="Made by whoever sends it, anew for each deed; version 7 sorts by time.")
    at: At | None = None

    def said(self) -> dict[str, Any]:
        """Return what was said, and nothing that was left out."""
        return {name: getattr(self, name) for name in self.model_fields_set - {"at"}}


class Take(Deed):
    """Take wood from a mother plant."""

    accession: Name
    count: Count
    use: Use = "rooting"
    grade: Words = ""
    length_mm: Length | None = None
    base_mm: Length | None = None
    tip_mm: Length | None = None
    nodes: Many | None = None
    mark: Words | None = None
    bench: Name = "Bench"
    note: Note = ""


class IntoBag(Asked):
    """A lot that goes into a bag."""

    lot: Name
    count: Count | None = Field(None, description="Left out: all that lie there.")
    from_place: Name | None = None


class Bag(Deed):
    """Close wood in a new bag and stand it in a cold place."""

    contents: list[IntoBag] = Field(min_length=1, max_length=100)
    store: Name
    name: Words = ""
    polymer: Words = "LDPE"
    thickness_um: Length = 50
    layers: Count = 1
    width_mm: Length = 300
    height_mm: Length = 400
    closure: Words = "fold"
    packing: Words = "none"
    packing_water_g: Grams = 0
    tare_g: Grams | None = None
    note: Note = ""

    def said(self) -> dict[str, Any]:
        """Return what was said; the contents as the deed takes them."""
        whole = [(one.lot, one.count, one.from_place) for one in self.contents]
        return super().said() | {"contents": whole}


class Weigh(Deed):
    """Record what a bag weighs with all in it."""

    bag: Name
    gross_g: Grams
    note: Note = ""


class Inspect(Deed):
    """Record what was seen of a lot; leave out what was not looked at."""

    place: Name
    lot: Name | None = None
    sound: Many | None = None
    mouldy: Many | None = None
    dry: Many | None = None
    scratch_green: Many | None = None
    scratch_of: Many | None = None
    callus: Many | None = Field(None, description="0 none to 4 full ring.")
    callused: Many | None = None
    callused_of: Many | None = None
    rooted: Many | None = None
    rooted_of: Many | None = None
    free_water: Literal["", "none", "droplets", "pooled"] = ""
    note: Note = ""


class Treat(Deed):
    """Record what was done to wood or its bag."""

    place: Name
    kind: Literal["disinfect", "wash", "wax", "air", "wipe"]
    lot: Name | None = None
    agent: Words = ""
    strength: Words = ""
    minutes: Grams | None = None
    note: Note = ""


class _OfALot(Deed):
    lot: Name
    count: Count | None = Field(None, description="Left out: all that lie there.")
    from_place: Name | None = None
    note: Note = ""


class Move(_OfALot):
    """Move cuttings to another place."""

    to_place: Name


class Stand(Deed):
    """Stand a bag in another cold place, or a batch on another bench."""

    bag: Name
    store: Name
    from_store: Name | None = None


class GiveUp(_OfALot):
    """Book cuttings out as given up, or as not found."""

    not_found: bool = Field(False, strict=True)


class Split(Deed):
    """Make part of a lot a lot of its own."""

    lot: Name
    count: Count
    from_place: Name | None = None
    to_place: Name | None = None
    use: Use | None = None
    grade: Words | None = None
    length_mm: Length | None = None
    base_mm: Length | None = None
    tip_mm: Length | None = None
    nodes: Many | None = None
    mark: Words | None = None
    note: Note = ""


class Strike(_OfALot):
    """Strike cuttings as a batch on a bench."""

    bench: Name
    name: Words = ""
    tray: Words = ""
    medium: Words = ""
    treatment: Words = ""
    wounded: bool = Field(False, strict=True)
    base_c: Degrees | None = Field(None, description="What the mat is set to. [°C]")


class Graft(Deed):
    """Graft scions of one lot on stocks of another."""

    scion: Name
    stock: Name
    count: Count
    bench: Name
    scion_from: Name | None = None
    stock_from: Name | None = None
    mark: Words | None = None
    name: Words = ""
    tray: Words = ""
    medium: Words = ""
    treatment: Words = ""
    base_c: Degrees | None = None
    note: Note = ""


class Counted(Deed):
    """Record what stands in a batch or on a standing ground."""

    place: Name
    lot: Name | None = None
    rooted: Many | None = None
    callused: Many | None = None
    leafed: Many | None = None
    dead: Many | None = None
    give_up_dead: bool = Field(False, strict=True)
    note: Note = ""


class Pot(Deed):
    """Pot what rooted of a batch."""

    batch: Name
    count: Count | None = Field(None, description="Left out: all that were last counted rooted.")
    to: Name
    note: Note = ""


class Sell(_OfALot):
    """Book cuttings or plants out as sold."""

    buyer: Words = ""
    order: Words = Field("", description="The order they fill, such as 3, or its line, 3/2.")
    price: Paid | None = Field(None, description="Of one. Left out: the order line's.")


class NoteIt(Deed):
    """Note words about a lot or a place."""

    words: Note
    lot: Name | None = None
    place: Name | None = None


class Correct(Deed):
    """Reverse an earlier movement."""

    number: Number
    note: Note


class Withdraw(Deed):
    """Say that a reading was mistaken."""

    reading: UUID
    note: Note


class Asks(Asked):
    """One variety of an order as it is asked for."""

    variety: Name
    count: Count
    first_day: Day
    last_day: Day
    use: Use = "rooting"
    least: Count = 1
    grades: list[Name] = Field([], max_length=20)
    price: Paid | None = None
    priority: Count = Field(3, description="1 gives way last, 5 first.")
    instead: list[Name] = Field([], max_length=20)
    note: Note = ""
    tax_percent: Rate | None = Field(None, description="Sales tax or VAT. Left out: the nursery's.")
    tax_note: Words = Field("", description="Why this rate.")


class AnOrder(Deed):
    """Note what a buyer orders."""

    buyer: Words = ""
    lines: list[Asks] = Field(min_length=1, max_length=200)
    add_to: Number | None = Field(None, description="The order that these lines are added to.")
    country: Words = Field("", description="ISO 3166-1, where the parcel goes, such as DE.")
    carriage: Paid | None = Field(None, description="What the buyer pays for posting, without tax.")
    is_swap: bool = Field(False, strict=True, description="Whether it goes without money.")
    in_return: Note = Field("", description="What comes back for a swap.")
    note: Note = ""

    def said(self) -> dict[str, Any]:
        """Return what was said; the lines as the deed takes them."""
        lines = [
            Line(**{name: _kept(getattr(one, name)) for name in one.model_fields_set}) for one in self.lines
        ]
        return super().said() | {"lines": lines}


def _kept(value: Any) -> Any:
    return tuple(value) if isinstance(value, list) else value


class NoteBuyer(Deed):
    """Note who a buyer is and where reached; what is left out stays as it is."""

    name: Name
    address: Note | None = None
    email: Words | None = None
    country: Words | None = Field(None, description="Where parcels usually go, in two letters.")
    is_trade: bool | None = Field(None, strict=True, description="A nursery or a shop, not a private person.")
    note: Note | None = None


class Want(Deed):
    """Note what the nursery itself wants."""

    variety: Name
    count: Count
    purpose: Words = "plants"
    priority: Count = 3
    worth: Paid | None = None
    wanted_by: Day | None = None
    note: Note = ""


class Cancel(Deed):
    """End a wish."""

    what: Name = Field(description="An order (3), one line of it (3/2) or a target (target 4).")


class MakePlan(Deed):
    """Plan the season."""

    sure: Share = Field(0.9, description="How sure each target is to be reached, between 0 and 1.")
