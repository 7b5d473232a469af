"""Lineage: what a lot came from and became, what moved of it, where it lies, and whom it was sold to.

Every question goes by an index that foreign keys have, a generation at a time, so that it costs what its answer costs and
not what the book holds.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

from django.db import connection
from django.db.models import Case, CharField, F, Q, Value, When
from django.db.models.functions import Coalesce

from .batches import Batch, Sale
from .lots import Lot
from .movements import Balance, Movement, Why
from .orders import Buyer, Order
from .places import Kind, Place, Standing
from .plants import MotherPlant
from .slices import in_slices, sliced

__all__ = [
    "Begun",
    "Dealt",
    "Lies",
    "Lineage",
    "Link",
    "Moved",
    "Set",
    "begun",
    "came_from",
    "dealt",
    "lay_in",
    "led_to",
    "lies",
    "lineage",
    "moved",
    "passed_on",
    "set_in",
    "sold_to",
    "taken_back",
    "taken_from",
]


class Link(NamedTuple):
    """So many cuttings of one lot became another: split off, or as the scion or the stock of a graft."""

    parent: int
    child: int
    count: int
    part: str


class Begun(NamedTuple):
    """A lot, and the mother plant its wood was cut from."""

    lot: int
    code: str
    mark: str | None
    variety: str
    species: str
    made_at: datetime
    grade: str
    mother: int | None
    accession: str | None
    mother_variety: str | None
    mother_place: int | None


class Moved(NamedTuple):
    """A movement that was not taken back."""

    number: int
    lot: int
    here: int
    here_kind: str
    here_name: str
    here_code: str
    there: int
    there_kind: str
    there_name: str
    there_code: str
    count: int
    at: datetime
    by: str
    why: str
    note: str


class Lies(NamedTuple):
    """How many cuttings of a lot are in a place, the ends included; below nothing in what they came out of."""

    lot: int
    place: int
    kind: str
    name: str
    code: str
    count: int


class Dealt(NamedTuple):
    """Whom a movement went to."""

    movement: int  # its number
    buyer: int
    name: str
    address: str
    email: str
    order: int | None
    position: int | None


class Set(NamedTuple):
    """How a batch was struck or grafted."""

    place: int
    craft: str
    tray: str
    treatment: str
    medium: str


@dataclass(frozen=True, slots=True)
class Lineage:
    """Some lots, what they came from and what came of them."""

    before: frozenset[int]  # lots that these came from
    after: frozenset[int]  # these lots themselves, and all that came of them
    beside: frozenset[int]  # the other halves of grafts that came of them, and what those came from
    links: tuple[Link, ...]


def _links(here: str, lots: Iterable[int]) -> set[Link]:
    """Return the derivations that have one of these lots at one end."""
    found: set[Link] = set()
    with connection.cursor() as cursor:
        for some in sliced(lots):
            marks = ",".join(["%s"] * len(some))
            cursor.execute(
                f"SELECT parent_id, child_id, count, part FROM ledger_derivation WHERE {here}_id IN ({marks})",
                some,
            )
            found |= {Link(*row) for row in cursor.fetchall()}
    return found


def _walk(lots: Iterable[int], here: str, there: str) -> tuple[set[int], set[Link]]:
    """Return the lots reached by derivations from one end of them to the other, and the derivations."""
    reached: set[int] = set(lots)
    links: set[Link] = set()
    edge = reached
    while edge:
        found = _links(here, edge)
        links |= found
        edge = {getattr(link, there) for link in found} - reached
        reached = reached | edge
    return reached, links


def came_from(links: Iterable[Link], lots: Iterable[int]) -> set[int]:
    """Return lots with all that they came from, by these derivations."""
    parents: dict[int, set[int]] = {}
    for link in links:
        parents.setdefault(link.child, set()).add(link.parent)
    reached = set(lots)
    edge = reached
    while edge:
        edge = {parent for lot in edge for parent in parents.get(lot, ())} - reached
        reached = reached | edge
    return reached


def lineage(lots: Iterable[int]) -> Lineage:
    """Return what some lots came from and all that came of them."""
    asked = set(lots)
    after, down = _walk(asked, "parent", "child")
    with_halves, up = _walk(after, "child", "parent")
    before = came_from(up, asked) - after
    return Lineage(
        frozenset(before),
        frozenset(after),
        frozenset(with_halves - after - before),
        tuple(sorted(down | up)),
    )


def begun(lots: Iterable[int]) -> dict[int, Begun]:
    """Return how lots began."""
    rows = Lot.objects.order_by().values_list(
        "pk", "code", "mark", "variety__name", "variety__species", "made_at", "grade",
        "mother_id", "mother__accession", "mother__variety__name", "mother__place_id",
    )  # fmt: skip
    return {row[0]: Begun(*row) for row in in_slices(rows, "pk", lots)}


# As Movement.words has it.
_WORDS = Case(
    When(~Q(note=""), then=F("note")),
    default=Coalesce("sale__note", "packing__note", Value("")),
    output_field=CharField(),
)


def moved(lots: Iterable[int]) -> list[Moved]:
    """Return the movements of lots that still count, in order of time: neither corrections nor what they took back."""
    rows = Movement.objects.order_by().values_list(
        "number", "lot_id", "from_place_id", "from_place__kind", "from_place__name", "from_place__code", "to_place_id",
        "to_place__kind", "to_place__name", "to_place__code", "count", "at", "by__username", "why", _WORDS,
        "reverses__number",
    )  # fmt: skip
    found = list(in_slices(rows, "lot", lots))
    void = {row[-1] for row in found}  # a correction is of the same lot as what it takes back
    return sorted(
        (Moved(*row[:-1]) for row in found if row[-1] is None and row[0] not in void),
        key=attrgetter("at", "number"),
    )


def lies(lots: Iterable[int]) -> list[Lies]:
    """Return where lots are by the balances that the database keeps, nothing left out but what is empty."""
    rows = (
        Balance.objects.exclude(count=0)
        .order_by("lot_id", "place_id")
        .values_list("lot_id", "place_id", "place__kind", "place__name", "place__code", "count")
    )
    return [Lies(*row) for row in in_slices(rows, "lot", lots)]


def dealt(lots: Iterable[int]) -> dict[int, Dealt]:
    """Return whom the movements of lots went to, by their numbers."""
    rows = Sale.objects.order_by().values_list(
        "movement__number", "buyer_id", "buyer__name", "buyer__address", "buyer__email", "line__order__number",
        "line__position",
    )  # fmt: skip
    return {row[0]: Dealt(*row) for row in in_slices(rows, "movement__lot", lots)}


def set_in(places: Iterable[int]) -> dict[int, Set]:
    """Return how the batches among places were set."""
    rows = Batch.objects.order_by().values_list("place_id", "craft", "tray", "treatment", "medium")
    return {row[0]: Set(*row) for row in in_slices(rows, "place", places)}


def taken_from(mothers: Iterable[MotherPlant]) -> set[int]:
    """Return the lots taken from mother plants themselves; what was split off or grafted from those comes after them."""
    rows = Lot.objects.filter(came_from__isnull=True).order_by().values_list("pk", flat=True)
    return set(in_slices(rows, "mother", mothers))


def taken_back(lots: Iterable[int]) -> set[int]:
    """Return the numbers of the movements of lots that were corrected.

    Asked by lot: where few movements were ever corrected, SQLite would read the whole book to join them to what they correct.
    """
    rows = Movement.objects.filter(why=Why.CORRECTED).order_by().values_list("reverses__number", flat=True)
    return set(in_slices(rows, "lot", lots))


def sold_to(who: Buyer | Order) -> set[int]:
    """Return the lots of which a buyer got something, or that went out under an order; what was taken back left out."""
    rows = Sale.objects.order_by().values_list("movement__lot_id", "movement__number")
    sold = list(rows.filter(buyer=who) if isinstance(who, Buyer) else rows.filter(line__order=who))
    void = taken_back({lot for lot, _ in sold})
    return {lot for lot, number in sold if number not in void}


def lay_in(place: Place) -> set[tuple[int, int]]:
    """Return the lots that ever came to a place, each with the place they came to: a bag or batch that stood there, too."""
    places = {place.pk}
    if place.kind in (Kind.STORE, Kind.BENCH):
        places |= set(Standing.objects.filter(store=place).order_by().values_list("bag_id", flat=True))
    came = Movement.objects.order_by().values_list("lot_id", "to_place_id")
    return set(in_slices(came, "to_place", places))


class _Way:
    """Movements by the moment: what comes in at one is there before what goes out, in whichever order they were booked."""

    def __init__(self, moves: Iterable[Moved], links: Iterable[Link]) -> None:
        self.moments = [list(together) for _, together in groupby(moves, key=attrgetter("at"))]
        self.pairs = {(link.parent, link.child) for link in links}

    def became(self, out: Moved, into: Moved) -> bool:
        """Whether what left one lot is what came into another."""
        ends = out.there_kind == Kind.BECAME == into.here_kind
        return ends and (out.lot, into.lot) in self.pairs and out.count == into.count


def passed_on(
    moves: Iterable[Moved], links: Iterable[Link], lots: Iterable[int], lay: Iterable[tuple[int, int]]
) -> set[int]:
    """Return the numbers of the movements by which wood that is asked for came to lie there or went on.

    Cuttings of one lot in one place cannot be told apart: once some of those asked for lie there, whatever leaves may be
    one of them.

    Parameters
    ----------
    moves
        Of these lots and of all that came of them, in order of time.
    lots
        Lots asked for whole.
    lay : (lot, place)
        Or only what lay there.
    """
    way, whole, starts = _Way(moves, links), set(lots), set(lay)
    there: set[tuple[int, int]] = set()
    touched: dict[int, Moved] = {}
    for moment in way.moments:
        grew = True
        while grew:
            now = [
                move
                for move in moment
                if move.number not in touched
                and (
                    move.lot in whole
                    or (move.lot, move.there) in starts
                    or (move.lot, move.here) in there
                    or any(way.became(other, move) for other in moment if other.number in touched)
                )
            ]
            grew = bool(now)
            touched |= {move.number: move for move in now}
            there |= {(move.lot, move.there) for move in now}
    return set(touched)


def led_to(moves: Iterable[Moved], links: Iterable[Link], numbers: set[int]) -> set[int]:
    """Return the numbers of the movements that may have brought wood to where some movements began."""
    way = _Way(moves, links)
    wanted: set[tuple[int, int]] = set()
    found: dict[int, Moved] = {}
    for moment in reversed(way.moments):
        mine = [move for move in moment if move.number in numbers]
        wanted |= {(move.lot, move.here) for move in mine}
        grew = True
        while grew:
            now = [
                move
                for move in moment
                if move.number not in found
                and move.number not in numbers
                and (
                    (move.there_kind != Kind.BECAME and (move.lot, move.there) in wanted)
                    or any(
                        way.became(move, other) for other in moment if other.number in found or other in mine
                    )
                )
            ]
            grew = bool(now)
            found |= {move.number: move for move in now}
            wanted |= {(move.lot, move.here) for move in now}
    return set(found)
