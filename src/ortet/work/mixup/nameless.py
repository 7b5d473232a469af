"""Whose is a bag without a name: the lots that the book has there, or had. Books nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise

from ortet.decisions.mixup.nameless import Nameless, Owner
from ortet.decisions.mixup.nameless import whose as judge
from ortet.ledger import stock
from ortet.ledger.booking import Refused
from ortet.ledger.models import Balance, Kind, Lot, Movement, Nursery, Place, Standing
from ortet.ledger.places import ON_HAND
from ortet.science.species import known_species
from ortet.wood.speech import say
from ortet.work import find

__all__ = ["Maybe", "Whose", "whose"]

LATELY = timedelta(days=120)
SHOWN, WORTH = 8, 0.01


@dataclass(frozen=True, slots=True)
class Maybe:
    """A lot that it may be."""

    lot: Lot
    where: str
    count: int  # that the book has there
    chance: float


@dataclass(frozen=True, slots=True)
class Whose:
    """The lots that it may be, likeliest first."""

    place: Place
    count: int
    lots: tuple[Maybe, ...]
    none: float  # chance that it is of no lot in the book


def whose(
    place: str, count: int, *, species: str = "", base_mm: float | None = None, seen: Sequence[str] = ()
) -> Whose:
    """Say which lot a bundle without a name may be.

    Parameters
    ----------
    place
        Where it was found: a bench, a cold place, a ground, or the bag it lies in.
    count
        Cuttings or plants in it.
    species, base_mm
        What can be told by looking.
    seen
        Lots whose own labels were found: those it is not.

    Raises
    ------
    Refused, Unknown
        If a name is not in the book, or what was told cannot be.
    """
    here = find.place(place, *ON_HAND)
    if species and species not in known_species():
        raise Refused(
            say("{species!r} is no kind of wood that Ortet knows. Nothing was booked.", species=species)
        )
    labelled = {find.lot(text).pk for text in seen}
    near, was = _near(here)
    rows = [row for row in stock.balances() if row.lot_id not in labelled]
    lost = Balance.objects.filter(count__gt=0, place__kind=Kind.LOST).select_related("lot__variety", "place")
    lost_here = set(
        Movement.objects.filter(to_place__kind=Kind.LOST, from_place__in=near | was).values_list(
            "lot_id", flat=True
        )
    )
    rows += [row for row in lost if row.lot_id in lost_here and row.lot_id not in labelled]
    owners = [
        Owner(row.lot.variety.species, row.lot.base_mm, row.count, _how_near(row, near, was)) for row in rows
    ]
    try:
        told = judge(Nameless(count, species, base_mm), owners)
    except ValueError as error:
        raise Refused(say("{error}. Nothing was booked.", error=error)) from None
    order = sorted(range(len(rows)), key=lambda n: -told.chances[n])
    lots = tuple(
        Maybe(rows[n].lot, str(rows[n].place), rows[n].count, told.chances[n])
        for n in order[:SHOWN]
        if told.chances[n] >= WORTH
    )
    return Whose(here, count, lots, told.none)


def _near(here: Place) -> tuple[set[int], set[int]]:
    """Return a place with all that stands in it now, and what stood there lately."""
    since = Nursery.get().now() - LATELY
    stood: dict[int, list[tuple[int, bool]]] = {}
    for bag, store, at in Standing.objects.order_by("since").values_list("bag_id", "store_id", "since"):
        stood.setdefault(bag, []).append((store, at >= since))
    near, was = {here.pk}, set()
    for bag, stays in stood.items():
        if stays[-1][0] == here.pk:
            near.add(bag)
        elif any(store == here.pk and later[1] for (store, _), later in pairwise(stays)):
            was.add(bag)
    return near, was


def _how_near(row: Balance, near: set[int], was: set[int]) -> str:
    if row.place.kind == Kind.LOST:
        return "not found"
    return "here" if row.place_id in near else "was here" if row.place_id in was else "elsewhere"
