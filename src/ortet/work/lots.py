"""One lot, whole: where it is, what happened to it, where it came from and went, and how it will fare."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from ortet.ledger import stock
from ortet.ledger.models import (
    Balance,
    Count,
    Derivation,
    Inspection,
    Kind,
    Lot,
    Movement,
    Note,
    Nursery,
    Photo,
    Place,
    Treatment,
    Weighing,
    Why,
    Withdrawal,
)
from ortet.ledger.places import ON_HAND, WOOD
from ortet.wood.speech import say, to_say

from . import find
from .lists import movements

__all__ = ["Event", "LotView", "counted", "history", "remarks", "view"]


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened to a lot, in words."""

    at: datetime
    what: str
    by: str
    note: str
    number: int | None = None  # of a movement
    reading: UUID | None = None
    is_open: bool = False  # whether it may still be corrected or withdrawn
    is_void: bool = False  # whether it was corrected or withdrawn
    photo: Photo | None = None


@dataclass(frozen=True, slots=True)
class LotView:
    """A lot and all that is known of it; its forecast comes from `season_forecast(now, lot)`."""

    lot: Lot
    where: list[Balance]
    events: list[Event]
    came_from: list[Derivation]
    became: list[Derivation]

    @property
    def on_hand(self) -> int:
        """Cuttings on hand."""
        return sum(balance.count for balance in self.where)

    @property
    def wood(self) -> int:
        """Those of them that lie dormant, neither struck nor potted."""
        return sum(balance.count for balance in self.where if balance.place.kind in WOOD)


def _beside(movement: Movement, step: int) -> str:
    """Return the other lot of a split: its two movements are booked one after the other."""
    return str(Movement.objects.select_related("lot").get(number=movement.number + step).lot)


def _moved(movement: Movement, lot: Lot) -> Event:
    corrected = getattr(movement, "reversed_by", None)
    ends = {"count": movement.count, "here": movement.from_place, "there": movement.to_place}
    match movement.why:
        case Why.TAKEN:
            what = say("{count} taken from mother plant {here}, laid on {there}", **ends)
        case Why.RECEIVED:
            what = say("{count} received from {here}, laid on {there}", **ends)
        case Why.SPLIT if movement.from_place.kind == Kind.BECAME:
            what = say("{count} came from lot {lot}, into {there}", **ends, lot=_beside(movement, -1))
        case Why.SPLIT:
            what = say("{count} split off in {here}, as lot {lot}", **ends, lot=_beside(movement, 1))
        case Why.STRUCK:
            what = say("{count} struck as batch {there}, out of {here}", **ends)
        case Why.GRAFTED:
            what = _grafted(movement)
        case Why.POTTED:
            what = say("{count} potted on out of batch {here}, on {there}", **ends)
        case Why.SOLD if sale := getattr(movement, "sale", None):
            what = say("{count} sold to {buyer}, out of {here}", **ends, buyer=sale.buyer)
        case Why.GIVEN_UP:
            what = say("{count} given up from {here}", **ends)
        case Why.LOST:
            what = say("{count} not found in {here}", **ends)
        case Why.CORRECTED if movement.reverses:
            number = movement.reverses.number
            what = say("movement {number} taken back: {count} in {there} again", **ends, number=number)
        case _:
            what = say("{count} {why} from {here} to {there}", **ends, why=movement.get_why_display())
    may = not corrected and movement.why not in (Why.CORRECTED, Why.SPLIT, Why.GRAFTED)
    return Event(
        movement.at,
        what,
        movement.by.username,
        movement.words,
        number=movement.number,
        is_open=may,
        is_void=bool(corrected),
    )


def _grafted(movement: Movement) -> str:
    """Say what became of wood that was grafted, or of what a graft was made."""
    if movement.from_place.kind == Kind.BECAME:
        links = Derivation.objects.filter(child=movement.lot).select_related("parent").order_by("part")
        parents = say(" on ").join(f"{link.get_part_display()} {link.parent}" for link in links)
        return say(
            "{count} grafted as batch {batch}: {parents}",
            count=movement.count,
            batch=movement.to_place,
            parents=parents,
        )
    link = (
        Derivation.objects.filter(parent=movement.lot)
        .filter(
            child__movements__number__in=(movement.number + 1, movement.number + 2),
            child__movements__from_place=movement.to_place,
        )
        .select_related("child")
        .first()
    )
    if link is None:
        return say("{count} grafted, out of {here}", count=movement.count, here=movement.from_place)
    return say(
        "{count} grafted, out of {here}, as the {part} of lot {lot}",
        count=movement.count,
        here=movement.from_place,
        part=link.get_part_display(),
        lot=link.child,
    )


COUNTED = (
    ("rooted", to_say("{count} rooted")),
    ("callused", to_say("{count} callused")),
    ("leafed", to_say("{count} in leaf without roots")),
    ("dead", to_say("{count} dead")),
)


def counted(count: Count) -> str:
    """Return what was counted, in words."""
    said = [
        say(words, count=number) for field, words in COUNTED if (number := getattr(count, field)) is not None
    ]
    return say("counted in {place}: {said}", place=count.place, said=", ".join(said))


def _seen(look: Inspection) -> str:
    said = []
    if look.sound is not None:
        said.append(say("{count} sound", count=look.sound))
    if look.mouldy is not None:
        said.append(say("{count} mouldy", count=look.mouldy))
    if look.dry is not None:
        said.append(say("{count} dry", count=look.dry))
    if look.scratch_of:
        said.append(say("scratch test {green} green of {of}", green=look.scratch_green, of=look.scratch_of))
    if look.callus is not None:
        said.append(say("callus {score} of 4", score=look.callus))
    if look.callused_of:
        said.append(say("callus on {some} of {of}", some=look.callused, of=look.callused_of))
    if look.rooted_of:
        said.append(say("roots on {some} of {of}", some=look.rooted, of=look.rooted_of))
    if look.free_water == "none":
        said.append(say("no free water"))
    elif look.free_water:
        said.append(say("free water: {where}", where=look.get_free_water_display()))
    if not said:
        return say("inspected in {place}: no count", place=look.place)
    return say("inspected in {place}: {said}", place=look.place, said=", ".join(said))


def _done(treatment: Treatment) -> str:
    words = [treatment.get_kind_display(), say("in {place}", place=treatment.place)]
    with_what = f"{treatment.agent} {treatment.strength}".strip()
    words += [say("with {agent}", agent=with_what)] if treatment.agent else []
    words += [say("for {minutes:g} min", minutes=treatment.minutes)] if treatment.minutes is not None else []
    return " ".join(words)


def _readings(lot: Lot, units: str) -> Iterator[Event]:
    from ortet.wood.units import show_mass

    void = set(Withdrawal.objects.values_list("reading", flat=True))
    stays = [
        (movement.to_place_id, movement.at)
        for movement in lot.movements.filter(to_place__kind__in=ON_HAND).order_by("number")
    ]
    left = {
        movement.from_place_id: movement.at
        for movement in lot.movements.filter(from_place__kind__in=ON_HAND).order_by("number")
        if not Balance.objects.filter(lot=lot, place=movement.from_place, count__gt=0).exists()
    }

    def lay_there(place: int, at: datetime) -> bool:
        return any(place == there and came <= at for there, came in stays) and not (
            place in left and at > left[place]
        )

    places = {place for place, _ in stays}
    for look in Inspection.objects.filter(lot=lot).select_related("place", "by"):
        yield Event(
            look.at,
            _seen(look),
            look.by.username,
            look.note,
            None,
            look.pk,
            look.pk not in void,
            look.pk in void,
        )
    for count in Count.objects.filter(lot=lot).select_related("place", "by"):
        yield Event(
            count.at,
            counted(count),
            count.by.username,
            count.note,
            None,
            count.pk,
            count.pk not in void,
            count.pk in void,
        )
    for weighing in Weighing.objects.filter(place__in=places).select_related("place", "by"):
        if lay_there(weighing.place_id, weighing.at):
            mass = show_mass(weighing.gross_g, units)
            what = say("bag {bag} weighed {mass}", bag=weighing.place, mass=mass)
            is_void = weighing.pk in void
            yield Event(
                weighing.at,
                what,
                weighing.by.username,
                weighing.note,
                None,
                weighing.pk,
                not is_void,
                is_void,
            )
    for treatment in Treatment.objects.filter(place__in=places).select_related("place", "by", "lot"):
        if treatment.lot_id == lot.pk or (
            treatment.lot_id is None and lay_there(treatment.place_id, treatment.at)
        ):
            is_void = treatment.pk in void
            yield Event(
                treatment.at,
                _done(treatment),
                treatment.by.username,
                treatment.note,
                None,
                treatment.pk,
                not is_void,
                is_void,
            )


def _remark(remark: Note | Photo, void: set[UUID]) -> Event:
    where = remark.place
    if isinstance(remark, Photo):
        what = say("photo taken in {place}", place=where) if where else say("photo taken")
    else:
        what = say("noted in {place}", place=where) if where else say("noted")
    is_void = remark.pk in void
    shown = remark if isinstance(remark, Photo) else None
    return Event(
        remark.at, what, remark.by.username, remark.note, None, remark.pk, not is_void, is_void, shown
    )


def remarks(*, lot: Lot | None = None, place: Place | None = None) -> list[Event]:
    """Return the notes and photos of a lot or of a place, latest first."""
    of = Q(lot=lot) if lot else Q(place=place)
    void = set(Withdrawal.objects.values_list("reading", flat=True))
    notes = Note.objects.filter(of).select_related("place", "by")
    photos = Photo.objects.filter(of).select_related("place", "by")
    found = [_remark(one, void) for one in notes] + [_remark(one, void) for one in photos]
    return sorted(found, key=lambda event: event.at, reverse=True)


def history(lot: Lot, units: str = "metric") -> list[Event]:
    """Return all that happened to a lot, latest first."""
    events = [_moved(movement, lot) for movement in movements(lot)]
    return sorted(
        [*events, *_readings(lot, units), *remarks(lot=lot)],
        key=lambda event: (event.at, event.number or 0),
        reverse=True,
    )


def view(text: str) -> LotView:
    """Return a lot whole, by its code or mark.

    Raises
    ------
    Unknown
        If there is none.
    """
    lot = find.lot(text)
    return LotView(
        lot=lot,
        where=list(stock.balances().filter(lot=lot)),
        events=history(lot, Nursery.get().units),
        came_from=list(lot.came_from.select_related("parent__variety").order_by("part")),
        became=list(lot.became.select_related("child__variety")),
    )
