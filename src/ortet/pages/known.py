"""What the book holds that a form can offer: lots, bags, places and mother plants, each as a value and its words."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from ortet.ledger.models import (
    Arrival,
    Balance,
    Buyer,
    Complaint,
    Count,
    Inspection,
    Kind,
    Lot,
    MotherPlant,
    Movement,
    Note,
    Nursery,
    Order,
    OrderLine,
    Photo,
    Place,
    StrikeReport,
    Target,
    Treatment,
    Variety,
    Weighing,
)
from ortet.ledger.places import LOOSE, ON_HAND
from ortet.wood.speech import say, say_many, to_say
from ortet.wood.units import show_mass
from ortet.work import Refused, find, lists
from ortet.work.lots import counted, history
from ortet.work.orders import find_order

__all__ = [
    "Reading",
    "bags",
    "batches",
    "buyers",
    "called",
    "lot_or_none",
    "lots",
    "lots_in",
    "mother_or_none",
    "mothers",
    "movement",
    "name_of",
    "named",
    "only_lot_on",
    "order_or_none",
    "place_or_none",
    "places",
    "places_of",
    "reading",
    "varieties",
    "where",
    "wishes",
]

Choice = tuple[str, str]
Told = Arrival | Complaint | StrikeReport  # what was heard of buyers


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading and what it says."""

    record: Weighing | Inspection | Treatment | Count | Note | Photo | Told
    words: str


def _many(count: int) -> str:
    return say_many("{count} cutting", "{count} cuttings", count)


def named(lot: Lot) -> str:
    """Return what the grower calls a lot: the mark, else the code."""
    return lot.mark or str(lot)


def lots() -> list[Choice]:
    """Return lots on hand."""
    found = lists.lots(on_hand=True)
    return [
        (named(lot), ", ".join(filter(None, [str(lot.variety), lot.grade, _many(lot.on_hand), str(lot)])))
        for lot in found
    ]


def batches() -> list[Choice]:
    """Return batches in which something stands."""
    return [
        (
            batch.place.name,
            say(
                "batch of {variety}, {here} on {bench}",
                variety=batch.lot.variety,
                here=batch.here,
                bench=batch.bench,
            ),
        )
        for batch in lists.batches()
    ]


def lots_in(place: Place) -> list[Choice]:
    """Return the lots that lie in a place."""
    rows = (
        Balance.objects.filter(place=place, count__gt=0).select_related("lot__variety").order_by("lot__code")
    )
    return [(row.lot.code, f"{named(row.lot)} {row.lot.variety}, {row.count}") for row in rows]


def only_lot_on(kind: Kind) -> str:
    """Return what the only lot on places of a kind is called; nothing where there are none or more."""
    rows = Balance.objects.filter(place__kind=kind, count__gt=0).values_list("lot", flat=True).distinct()[:2]
    return named(Lot.objects.get(pk=rows[0])) if len(rows) == 1 else ""


def _lying(lot: Lot, among: Sequence[Kind] = ON_HAND) -> list[Balance]:
    rows = lot.balances.filter(count__gt=0, place__kind__in=among).select_related("place")
    return list(rows.order_by("place__name"))


def where(lot: Lot) -> list[Place]:
    """Return the places where a lot lies."""
    return [row.place for row in _lying(lot)]


def places_of(lot: Lot, among: Sequence[Kind] = ON_HAND) -> list[Choice]:
    """Return the places of these kinds where a lot lies, and how much of it."""
    words = {
        Kind.BAG: to_say("{count} in bag {place}"),
        Kind.BENCH: to_say("{count} on {place}"),
        Kind.STORE: to_say("{count} in {place}"),
        Kind.BATCH: to_say("{count} in batch {place}"),
        Kind.GROUND: to_say("{count} on {place}"),
        Kind.PARCEL: to_say("{count} in {place}"),
    }
    return [
        (row.place.code, say(words[row.place.kind], count=row.count, place=row.place))
        for row in _lying(lot, among)
    ]


def places(*kinds: Kind) -> list[Choice]:
    """Return places of these kinds; all where cuttings can be taken one by one if none is given."""
    wanted = kinds or LOOSE
    found = Place.objects.filter(kind__in=wanted).order_by("name")
    return [(place.name, place.get_kind_display()) for place in found]


def bags() -> list[Choice]:
    """Return bags with something in them."""
    found = Place.objects.filter(kind=Kind.BAG, balances__count__gt=0).distinct().order_by("name")
    return [(place.name, say("bag, {code}", code=f"{place.code[:4]}-{place.code[4:]}")) for place in found]


def mothers() -> list[Choice]:
    """Return mother plants."""
    return [(plant.accession, str(plant.variety)) for plant in MotherPlant.objects.select_related("variety")]


def buyers() -> list[Choice]:
    """Return who has ordered before."""
    return [(buyer.name, buyer.note) for buyer in Buyer.objects.all()]


def varieties() -> list[Choice]:
    """Return varieties."""
    return [(variety.name, say(variety.species)) for variety in Variety.objects.all()]


def lot_or_none(text: str) -> Lot | None:
    """Return the lot that a text means, if it means one."""
    try:
        return find.lot(text) if text else None
    except Refused:
        return None


def place_or_none(text: str, *kinds: Kind) -> Place | None:
    """Return the place that a text means, if it means one."""
    try:
        return find.place(text, *kinds) if text else None
    except Refused:
        return None


def mother_or_none(accession: str) -> MotherPlant | None:
    """Return the mother plant with this accession number, if there is one."""
    try:
        return find.mother(accession) if accession else None
    except Refused:
        return None


def order_or_none(number: str) -> Order | None:
    """Return the order of this number, if there is one."""
    try:
        return find_order(int(number)) if number.isdecimal() and len(number) < 10 else None
    except Refused:
        return None


def wishes(what: str) -> list[OrderLine | Target]:
    """Return what is still wanted of an order (3), a line of it (3/2) or a target (target 4)."""
    words = what.casefold().removeprefix("order").strip()
    if words.startswith("target"):
        number = words.removeprefix("target").strip()
        return (
            list(lists.targets().filter(number=int(number)))
            if number.isdecimal() and len(number) < 10
            else []
        )
    number, _, position = words.partition("/")
    if (order := order_or_none(number.strip())) is None:
        return []
    lines = [line for line in lists.lines_of(order) if line.ended_at is None]
    return [line for line in lines if not position or str(line.position) == position.strip()]


def called(wish: OrderLine | Target) -> str:
    """Return what people call a line of an order, or a target."""
    if isinstance(wish, OrderLine):
        return say("order {number}/{position}", number=wish.order.number, position=wish.position)
    return say("target {number}", number=wish.number)


def name_of(text: str, kind: Kind) -> str:
    """Return the name of the place that a name or a scanned code means; a name that is new stays as it is."""
    place = place_or_none(text, kind)
    return place.name if place else text


def movement(number: int) -> Movement | None:
    """Return a movement, to be looked at before it is corrected."""
    return (
        Movement.objects.select_related("lot__variety", "from_place", "to_place", "by")
        .filter(number=number)
        .first()
    )


def reading(id: UUID) -> Reading | None:
    """Return a reading and what it says, to be looked at before it is withdrawn."""
    for kind in (Weighing, Inspection, Treatment, Count, Note, Photo):
        if found := kind.objects.select_related("place", "by").filter(pk=id).first():
            return Reading(found, _words(found))
    for told in (Arrival, Complaint, StrikeReport):
        if heard := told.objects.select_related("by").filter(pk=id).first():
            return Reading(heard, _heard(heard))
    return None


def _heard(heard: Told) -> str:
    match heard:
        case Arrival():
            return say(
                "parcel {parcel} arrived: {state}",
                parcel=heard.parcel.number,
                state=heard.get_state_display(),
            )
        case Complaint():
            return say(
                "complaint of {count} of {line}: {what}",
                count=heard.count,
                line=called(heard.line),
                what=heard.get_what_display(),
            )
        case StrikeReport():
            return say(
                "told by the buyer: {rooted} of {struck} of lot {lot} rooted",
                rooted=heard.rooted,
                struck=heard.struck,
                lot=named(heard.movement.lot),
            )


def _words(found: Weighing | Inspection | Treatment | Count | Note | Photo) -> str:
    units = Nursery.get().units
    match found:
        case Weighing():
            return say(
                "bag {place} weighed {weight}", place=found.place, weight=show_mass(found.gross_g, units)
            )
        case Treatment():
            return say("{kind} in {place}", kind=found.get_kind_display(), place=found.place)
        case Count():
            return say("lot {lot} {counted}", lot=named(found.lot), counted=counted(found))
        case Note():
            return say("note “{note}”", note=found.note)
        case Photo():
            return say("photo of {place}", place=found.place or named(found.lot))
        case Inspection():
            told = (event.what for event in history(found.lot, units) if event.reading == found.pk)
            return say("lot {lot} {seen}", lot=named(found.lot), seen=next(told))
