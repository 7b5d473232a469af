"""Pack: cuttings go from their bag into the parcel of an order, once a scan has proved the bag."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Max
from django.utils import timezone

from ortet.ledger.booking import Move, Refused, book, booked_before, count_in, created, new_code, turn
from ortet.ledger.models import (
    Balance,
    Kind,
    Lot,
    Movement,
    Order,
    OrderLine,
    Packing,
    Parcel,
    Place,
    Why,
)
from ortet.ledger.packed import open_parcel, packed, sold
from ortet.ledger.places import WOOD
from ortet.wood import code as codes
from ortet.wood.naming import fold
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.growing.selling import line_of
from ortet.work.orders import read_line
from ortet.work.rights import refuse_if_stopped

from .walk import Stop, walk

__all__ = ["left_of", "pack"]

PACKABLE = (*WOOD, Kind.GROUND)  # what stands in a batch is potted first, so that its count stays true


def left_of(line: OrderLine) -> int:
    """Return how many cuttings of a line are neither packed nor sold yet."""
    return max(0, line.count - packed([line.pk])[line.pk] - sold([line.pk])[line.pk])


def pack(
    line: str,
    scanned: str,
    count: int | None = None,
    *,
    by: User,
    at: datetime,
    lot: str = "",
    from_place: str | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Movement:
    """Pack cuttings for a line of an order; return the movement into its parcel, which is begun where there is none.

    Parameters
    ----------
    line : str
        A line, "3/2", or "3" where order 3 asks for the lot's variety in one line only.
    scanned : str
        What the label in the hand says: code or mark of the lot, code or name of the bag.
    count : int, optional
        None: as many as the pick walk says, else as the line still lacks and lie there.
    lot : str
        What is to be packed, by code or mark; nothing: what the pick walk has for the line.
    from_place : str, optional
        Where it lies; None: where the walk says, else its only place.

    Raises
    ------
    Refused
        If the label is of another bag or lot, too few lie there, the line would get more than it asks for, or the variety is
        protected and no leave is noted.
    """
    with turn():
        if before := booked_before(id, Why.PACKED, count):
            return before
        what, here, stop = _meant(line, scanned, lot, from_place)
        wanted = line_of(line, what)
        refuse_if_stopped(what.variety, timezone.localdate(at))
        left = _refuse_what_may_not_go(wanted, what, count, at)
        if count is None:
            count = min(left, count_in(what, here), *([stop.count] if stop else []))
        parcel = open_parcel(wanted.order) or _begun(wanted.order, by, at)
        moved = book([Move(what, here, parcel.place, count, Why.PACKED, id=id)], by=by, at=at)[0]
        created(Packing, movement=moved, line=wanted, note=note)
        return moved


def _begun(order: Order, by: User, at: datetime) -> Parcel:
    number = (Parcel.objects.aggregate(last=Max("number"))["last"] or 0) + 1
    while Place.objects.filter(name_key=fold(f"parcel {number}")).exists():
        number += 1
    place = created(Place, kind=Kind.PARCEL, name=f"parcel {number}", code=new_code(Place))
    return created(Parcel, place=place, number=number, order=order, at=at, by=by)


def _refuse_what_may_not_go(line: OrderLine, lot: Lot, count: int | None, at: datetime) -> int:
    """Refuse what is not wanted any more or wanted by nobody; return how many the line still lacks."""
    if line.ended_at:
        raise Refused(say("{line} was cancelled. Nothing was booked.", line=str(line).capitalize()))
    left = left_of(line)
    if not left:
        raise Refused(
            say(
                "{line} asks for {asked}, and all of them are packed or sold. Nothing was booked.",
                line=str(line).capitalize(),
                asked=line.count,
            )
        )
    if count is not None and count > left:
        raise Refused(
            say(
                "{line} lacks {left} of its {asked}: {count} are too many. Pack {left} or fewer. "
                "Nothing was booked.",
                line=str(line).capitalize(),
                left=left,
                asked=line.count,
                count=count,
            )
        )
    return left


def _meant(line: str, scanned: str, lot: str, from_place: str | None) -> tuple[Lot, Place, Stop | None]:
    """Return the wood that is meant, where it lies, and its stop of the walk; refuse the label of another."""
    if not scanned.strip():
        raise Refused(
            say(
                "Scan the label of the bag or lot, or type its code: it proves that the wood is right. Nothing was booked."
            )
        )
    its_lot, its_bag = _label(scanned)
    stops = [] if lot.strip() else _stops(line, from_place)
    for one in stops:
        if _proves(its_lot, its_bag, one.lot, one.place):
            return one.lot, one.place, one
    if lot.strip() or not stops:
        what = find.lot(lot) if lot.strip() else its_lot or _only_lot(its_bag)
        there = from_place or (its_bag.name if its_bag else None)
        here = find.where_lot_is(what, there, rather=Kind.BAG, among=PACKABLE)
        if _proves(its_lot, its_bag, what, here):
            return what, here, None
        meant = [(what, here)]
    else:
        meant = [(one.lot, one.place) for one in stops]
    if any(its_bag == place for _, place in meant):
        raise Refused(
            say(
                "{bag} holds more than one lot: scan the label of the lot itself. Nothing was booked.",
                bag=its_bag,
            )
        )
    raise Refused(
        say(
            "That is the label of {what}. To be packed for {line}: {wanted}. Nothing was booked.",
            what=_is(its_lot, its_bag),
            line=_spoken(line),
            wanted=_where(meant),
        )
    )


def _spoken(line: str) -> str:
    number, position = read_line(line)
    return (
        say("order {number}", number=number)
        if position is None
        else say("order {number}/{position}", number=number, position=position)
    )


def _stops(line: str, from_place: str | None) -> list[Stop]:
    number, position = read_line(line)
    here = find.place(from_place, *PACKABLE) if from_place else None
    return [
        one for one in walk(number) if position in (None, one.line.position) and here in (None, one.place)
    ]


def _label(text: str) -> tuple[Lot | None, Place | None]:
    """Return the lot or the bag that a label is of."""
    text = codes.of_label(text)
    try:
        return find.lot(text), None
    except Refused as error:
        try:
            return None, find.place(text)
        except Refused:
            raise error from None


def _only_lot(bag: Place | None) -> Lot:
    held = list(Balance.objects.filter(place=bag, count__gt=0).select_related("lot__variety"))
    if len(held) == 1:
        return held[0].lot
    if not held:
        raise Refused(say("The book has nothing in {bag}. Nothing was booked.", bag=bag))
    raise Refused(
        say(
            "{bag} holds {count} lots: scan the label of the lot itself. Nothing was booked.",
            bag=bag,
            count=len(held),
        )
    )


def _proves(its_lot: Lot | None, its_bag: Place | None, lot: Lot, place: Place) -> bool:
    """Whether a label is that of the lot, or of the bag in which this lot lies alone."""
    if its_lot:
        return its_lot == lot
    return its_bag == place and _is_alone(lot, place)


def _is_alone(lot: Lot, place: Place) -> bool:
    return not Balance.objects.filter(place=place, count__gt=0).exclude(lot=lot).exists()


def _named(lot: Lot) -> str:
    return f"{lot} ({lot.mark}), {lot.variety}" if lot.mark else f"{lot}, {lot.variety}"


def _is(lot: Lot | None, bag: Place | None) -> str:
    """Say what a label is of."""
    if lot:
        lies = [
            row.place
            for row in lot.balances.filter(count__gt=0, place__kind__in=PACKABLE).select_related("place")
        ]
        if not lies:
            return say("lot {lot}, of which nothing is on hand", lot=_named(lot))
        return say("lot {lot}, which lies in {places}", lot=_named(lot), places=", ".join(map(str, lies)))
    held = Balance.objects.filter(place=bag, count__gt=0).select_related("lot__variety")
    lots = "; ".join(f"{row.lot} {row.lot.variety}" for row in held) or say("nothing")
    return say("{bag}, which holds {lots}", bag=bag, lots=lots)


def _where(wanted: list[tuple[Lot, Place]]) -> str:
    """Say what is to be packed and where it lies."""
    said = []
    for lot, place in wanted:
        last = place.standings.select_related("store").order_by("since").last()
        said.append(
            say(
                "lot {lot}, in {place}, which stands in {store}",
                lot=_named(lot),
                place=place,
                store=last.store,
            )
            if last
            else say("lot {lot}, in {place}", lot=_named(lot), place=place)
        )
    return say("; or ").join(said)
