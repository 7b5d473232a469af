"""What a grower says was found: so many of so many plants of a lot were something else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ortet.ledger.booking import Refused, Unknown
from ortet.ledger.models import Buyer, Kind, Lot, Place, Variety
from ortet.ledger.places import ON_HAND
from ortet.wood.naming import fold
from ortet.wood.speech import say
from ortet.work import find

__all__ = ["Find", "Found", "read"]

MOST = 100_000


@dataclass(frozen=True, slots=True)
class Found:
    """Plants of one lot that were looked at, as the grower says it."""

    lot: str  # code or mark
    wrong: int  # that were something else
    looked: int  # of so many looked at
    variety: str = ""  # what they turned out to be; nothing where nobody knows
    place: str = ""  # where they stood: a bag, batch or ground, or a buyer; nothing: anywhere


@dataclass(frozen=True, slots=True)
class Find:
    """The same, found in the book."""

    lot: Lot
    wrong: int
    right: int
    variety: str
    place: int = 0
    buyer: int = 0


def read(found: Sequence[Found]) -> list[Find]:
    """Return what was found, looked up in the book.

    Raises
    ------
    Refused
        If more were wrong than looked at, or one lot is told both with and without a place.
    """
    finds = [_read(one) for one in found]
    if not any(one.wrong for one in finds):
        raise Refused(
            say(
                "Nothing was found wrong, so there is no mix-up to look for. Say how many plants of which lot were something "
                "else. Nothing was booked."
            )
        )
    for one in finds:
        told = {bool(other.place or other.buyer) for other in finds if other.lot == one.lot}
        if len(told) > 1:
            raise Refused(
                say(
                    "Lot {lot} is told once with a place and once without: say for each where the plants stood, or for "
                    "none. Nothing was booked.",
                    lot=one.lot,
                )
            )
    return finds


def _read(one: Found) -> Find:
    lot = find.lot(one.lot)
    if not 0 <= one.wrong <= one.looked <= MOST or not one.looked:
        raise Refused(
            say(
                "Lot {lot}: {wrong} of {looked} plants. At least one is looked at, and no more are wrong than were "
                "looked at. Nothing was booked.",
                lot=lot,
                wrong=one.wrong,
                looked=one.looked,
            )
        )
    variety = one.variety.strip().strip("'\N{LEFT SINGLE QUOTATION MARK}\N{RIGHT SINGLE QUOTATION MARK}")
    if known := Variety.objects.filter(name_key=fold(variety)).first() if variety else None:
        variety = known.name
    if variety and fold(variety) == fold(lot.variety.name):
        raise Refused(
            say(
                "Lot {lot} is {variety}: plants that turned out to be that are right. Nothing was booked.",
                lot=lot,
                variety=lot.variety,
            )
        )
    place, buyer = _where(lot, one.place) if one.place.strip() else (0, 0)
    return Find(lot, one.wrong, one.looked - one.wrong, variety, place, buyer)


def _where(lot: Lot, text: str) -> tuple[int, int]:
    """Return the place or the buyer that a text names, of those that had this lot."""
    if buyer := Buyer.objects.filter(name_key=fold(text)).first():
        if not buyer.sales.filter(movement__lot=lot).exists():
            raise Refused(
                say("{buyer} bought nothing of lot {lot}. Nothing was booked.", buyer=buyer, lot=lot)
            )
        return Place.objects.get(kind=Kind.SOLD).pk, buyer.pk
    try:
        place = find.place(text, *ON_HAND)
    except Unknown:
        raise Unknown(
            say(
                "There is no place and no buyer called {text!r}. Name the bag, batch or ground the plants stood in, or who "
                "bought them. Nothing was booked.",
                text=text,
            )
        ) from None
    if not lot.movements.filter(to_place=place).exists():
        raise Refused(
            say("Nothing of lot {lot} ever was in {place}. Nothing was booked.", lot=lot, place=place)
        )
    return place.pk, 0
