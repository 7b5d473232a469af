"""Deeds that record: weigh a bag, inspect a lot, treat the wood."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, count_in, created, told, turn
from ortet.ledger.models import (
    Balance,
    FreeWater,
    Inspection,
    Kind,
    Lot,
    Movement,
    Nursery,
    Place,
    Treatment,
    TreatmentKind,
    Weighing,
)
from ortet.ledger.places import GROWING
from ortet.ledger.readings import readings_that_count
from ortet.science.species import species
from ortet.wood.speech import say, to_say
from ortet.wood.units import show_mass

from . import find
from .bagging import HEAVIEST_G

__all__ = ["inspect", "treat", "weigh"]


def _only_lot(place: Place) -> Lot:
    here = [
        row.lot for row in Balance.objects.filter(place=place, count__gt=0).select_related("lot__variety")
    ]
    if len(here) == 1:
        return here[0]
    if not here:
        raise Refused(say("{place} holds nothing. Nothing was booked.", place=place))
    raise Refused(
        say(
            "{place} holds lots {lots}: say which. Nothing was booked.",
            place=place,
            lots=", ".join(map(str, here)),
        )
    )


def _not_before_closing(place: Place, at: datetime) -> None:
    if place.kind == Kind.BAG and at < place.bag.closed_at:
        raise Refused(
            say(
                "Bag {place} was closed on {closed_at}: give a later time. Nothing was booked.",
                place=place,
                closed_at=told(place.bag.closed_at),
            )
        )


SLIP = 3.0  # a bag that weighs this many times more or less than the wood in it is a slip of the pen


def _is_empty(place: Place, at: datetime) -> bool:
    """Return whether nothing lay in a bag at a moment since it was closed."""
    lying = Balance.objects.filter(place=place, count__gt=0)
    return not lying.exists() and not Movement.objects.filter(from_place=place, at__gt=at).exists()


def _wood_g(place: Place) -> float:
    """Return what the wood in a bag weighed when it was taken, as far as its measures tell. [g]"""
    rows = Balance.objects.filter(place=place, count__gt=0).select_related("lot__variety")
    return sum(
        row.count * row.lot.cutting.mass_g(species(row.lot.variety.species).value("density")) for row in rows
    )


def _refuse_slips(place: Place, at: datetime, gross_g: float, tare_g: float, units: str) -> None:
    """Raise where a weight can only be a slip: of a bag that is empty by then, ten times too much, or another unit."""
    if _is_empty(place, at):
        raise Refused(say("Bag {place} is empty. Nothing was booked.", place=place))
    before = readings_that_count(Weighing).filter(place=place).last()
    wood = before.gross_g - tare_g if before else _wood_g(place) + place.bag.packing_water_g
    if not wood / SLIP < gross_g - tare_g < wood * SLIP:
        like = (
            say("it weighed {mass} before", mass=show_mass(before.gross_g, units))
            if before
            else say("its wood should be near {mass}", mass=show_mass(wood, units))
        )
        raise Refused(
            say(
                "{gross_g} for bag {place}, and {like}. Is a digit or the unit wrong? If it is right, correct the count or "
                "the measures of the lot, or withdraw the weighing before. Nothing was booked.",
                gross_g=show_mass(gross_g, units),
                place=place,
                like=like,
            )
        )


def weigh(
    bag: str, gross_g: float, *, by: User, at: datetime, note: str = "", id: UUID | None = None
) -> Weighing:
    """Record what a bag weighs with all in it. [g]"""
    with turn():
        if id and (before := Weighing.objects.filter(pk=id).first()):
            return before
        place = find.bag(bag)
        _not_before_closing(place, at)
        tare, units = place.bag.tare_g or 0, Nursery.get().units
        if not tare < gross_g <= HEAVIEST_G:
            weight, empty = show_mass(gross_g, units), show_mass(tare, units)
            raise Refused(
                say(
                    "{weight} for bag {place}, whose empty weight is {empty}: weigh it whole, bag and all. Nothing was booked.",
                    weight=weight,
                    place=place,
                    empty=empty,
                )
            )
        _refuse_slips(place, at, gross_g, tare, units)
        return created(Weighing, id=id or uuid7(), place=place, gross_g=gross_g, by=by, at=at, note=note)


def _refuse_some_of(words: str, some: int | None, of: int | None, here: int, lot: Lot, place: Place) -> None:
    """Raise where so many of so many cannot be."""
    if some is None and of is None:
        return
    said = say(words, some="?" if some is None else some, of="?" if of is None else of)
    if some is None or not of or some > of:
        raise Refused(
            say("{said}: give both, how many of how many looked at. Nothing was booked.", said=said)
        )
    if of > here:
        raise Refused(
            say(
                "{said}: {here} of lot {lot} are in {place}. Nothing was booked.",
                said=said,
                here=here,
                lot=lot,
                place=place,
            )
        )


def inspect(
    place: str,
    *,
    by: User,
    at: datetime,
    lot: str | None = None,
    sound: int | None = None,
    mouldy: int | None = None,
    dry: int | None = None,
    scratch_green: int | None = None,
    scratch_of: int | None = None,
    callus: int | None = None,
    callused: int | None = None,
    callused_of: int | None = None,
    rooted: int | None = None,
    rooted_of: int | None = None,
    free_water: str = "",
    note: str = "",
    id: UUID | None = None,
) -> Inspection:
    """Record what was seen of a lot in a bag or on a bench; leave out what was not looked at."""
    with turn():
        if id and (before := Inspection.objects.filter(pk=id).first()):
            return before
        where = find.place(place)
        if where.kind in GROWING:
            raise Refused(
                say(
                    "{where} is a {kind}: count what stands in it instead. Nothing was booked.",
                    where=where,
                    kind=where.get_kind_display(),
                )
            )
        what = find.lot(lot) if lot else _only_lot(where)
        _not_before_closing(where, at)
        here = count_in(what, where)
        counts = (sound, mouldy, dry)
        pairs = {
            to_say("Scratch test {some} green of {of}"): (scratch_green, scratch_of),
            to_say("Callus on {some} of {of}"): (callused, callused_of),
            to_say("Roots on {some} of {of}"): (rooted, rooted_of),
        }
        if any(number is not None and number < 0 for number in (*counts, *sum(pairs.values(), ()))):
            raise Refused(say("A count is nothing or more. Nothing was booked."))
        seen = sum(number or 0 for number in counts)
        if seen > here:
            raise Refused(
                say(
                    "{seen} looked at, {here} of lot {what} are in {where}. Count again. Nothing was booked.",
                    seen=seen,
                    here=here,
                    what=what,
                    where=where,
                )
            )
        for words, (some, of) in pairs.items():
            _refuse_some_of(words, some, of, here, what, where)
        if callus is not None and not 0 <= callus <= 4:
            raise Refused(
                say("Callus {callus}: score 0 (none) to 4 (full ring). Nothing was booked.", callus=callus)
            )
        if free_water and free_water not in FreeWater.values:
            raise Refused(
                say(
                    "Free water {free_water!r}: say {values}. Nothing was booked.",
                    free_water=free_water,
                    values=", ".join(FreeWater.values),
                )
            )
        if (
            all(value is None for value in (*counts, scratch_of, callus, callused_of, rooted_of))
            and not free_water
            and not note
        ):
            raise Refused(
                say(
                    "Nothing was entered: give a count, a scratch test, callus or roots, the water seen or a note."
                )
            )
        return created(
            Inspection,
            id=id or uuid7(),
            lot=what,
            place=where,
            sound=sound,
            mouldy=mouldy,
            dry=dry,
            scratch_green=scratch_green,
            scratch_of=scratch_of,
            callus=callus,
            callused=callused,
            callused_of=callused_of,
            rooted=rooted,
            rooted_of=rooted_of,
            free_water=free_water,
            by=by,
            at=at,
            note=note,
        )


def treat(
    place: str,
    kind: str,
    *,
    by: User,
    at: datetime,
    lot: str | None = None,
    agent: str = "",
    strength: str = "",
    minutes: float | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Treatment:
    """Record that the wood in a place, or one lot of it, was disinfected, washed, waxed, aired or wiped dry."""
    with turn():
        if id and (before := Treatment.objects.filter(pk=id).first()):
            return before
        where = find.place(place)
        what = find.lot(lot) if lot else None
        _not_before_closing(where, at)
        if kind not in TreatmentKind.values:
            raise Refused(
                say(
                    "Treatment {kind!r}: say one of {values}. Nothing was booked.",
                    kind=kind,
                    values=", ".join(TreatmentKind.values),
                )
            )
        if what and not count_in(what, where):
            raise Refused(
                say("Nothing of lot {what} is in {where}. Nothing was booked.", what=what, where=where)
            )
        if minutes is not None and not 0 <= minutes <= 10_000:
            raise Refused(say("{minutes:g} minutes: give 0 to 10000. Nothing was booked.", minutes=minutes))
        return created(
            Treatment,
            id=id or uuid7(),
            lot=what,
            place=where,
            kind=kind,
            agent=agent,
            strength=strength,
            minutes=minutes,
            by=by,
            at=at,
            note=note,
        )
