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
    match movement.why:
        case Why.TAKEN:
            what = (
                f"{movement.count} taken from mother plant {movement.from_place}, laid on {movement.to_place}"
            )
        case Why.RECEIVED:
            what = f"{movement.count} received from {movement.from_place}, laid on {movement.to_place}"
        case Why.SPLIT if movement.from_place.kind == Kind.BECAME:
            what = f"{movement.count} came from lot {_beside(movement, -1)}, into {movement.to_place}"
        case Why.SPLIT:
            what = f"{movement.count} split off in {movement.from_place}, as lot {_beside(movement, 1)}"
        case Why.STRUCK:
            what = f"{movement.count} struck as batch {movement.to_place}, out of {movement.from_place}"
        case Why.GRAFTED:
            what = _grafted(movement)
        case Why.POTTED:
            what = f"{movement.count} potted on out of batch {movement.from_place}, on {movement.to_place}"
        case Why.SOLD if sale := getattr(movement, "sale", None):
            what = f"{movement.count} sold to {sale.buyer}, out of {movement.from_place}"
        case Why.GIVEN_UP:
            what = f"{movement.count} given up from {movement.from_place}"
        case Why.LOST:
            what = f"{movement.count} not found in {movement.from_place}"
        case Why.CORRECTED if movement.reverses:
            what = f"movement {movement.reverses.number} taken back: {movement.count} in {movement.to_place} again"
        case _:
            what = f"{movement.count} {movement.get_why_display()} from {movement.from_place} to {movement.to_place}"
    may = not corrected and movement.why not in (Why.CORRECTED, Why.SPLIT, Why.GRAFTED)
    return Event(
        movement.at,
        what,
        movement.by.username,
        movement.note,
        number=movement.number,
        is_open=may,
        is_void=bool(corrected),
    )


def _grafted(movement: Movement) -> str:
    """Say what became of wood that was grafted, or of what a graft was made."""
    if movement.from_place.kind == Kind.BECAME:
        links = Derivation.objects.filter(child=movement.lot).select_related("parent").order_by("part")
        parents = " on ".join(f"{link.get_part_display()} {link.parent}" for link in links)
        return f"{movement.count} grafted as batch {movement.to_place}: {parents}"
    link = (
        Derivation.objects.filter(parent=movement.lot)
        .filter(
            child__movements__number__in=(movement.number + 1, movement.number + 2),
            child__movements__from_place=movement.to_place,
        )
        .select_related("child")
        .first()
    )
    became = f", as the {link.get_part_display()} of lot {link.child}" if link else ""
    return f"{movement.count} grafted, out of {movement.from_place}{became}"


COUNTED = (
    ("rooted", "rooted"),
    ("callused", "callused"),
    ("leafed", "in leaf without roots"),
    ("dead", "dead"),
)


def counted(count: Count) -> str:
    """Return what was counted, in words."""
    said = [f"{number} {word}" for field, word in COUNTED if (number := getattr(count, field)) is not None]
    return f"counted in {count.place}: {', '.join(said)}"


def _seen(look: Inspection) -> str:
    said = [
        f"{count} {word}"
        for count, word in ((look.sound, "sound"), (look.mouldy, "mouldy"), (look.dry, "dry"))
        if count is not None
    ]
    if look.scratch_of:
        said.append(f"scratch test {look.scratch_green} green of {look.scratch_of}")
    if look.callus is not None:
        said.append(f"callus {look.callus} of 4")
    if look.callused_of:
        said.append(f"callus on {look.callused} of {look.callused_of}")
    if look.rooted_of:
        said.append(f"roots on {look.rooted} of {look.rooted_of}")
    if look.free_water:
        said.append(
            "no free water" if look.free_water == "none" else f"free water: {look.get_free_water_display()}"
        )
    return f"inspected in {look.place}: {', '.join(said) or 'no count'}"


def _done(treatment: Treatment) -> str:
    words = [treatment.get_kind_display(), f"in {treatment.place}"]
    words += [f"with {treatment.agent} {treatment.strength}".strip()] if treatment.agent else []
    words += [f"for {treatment.minutes:g} min"] if treatment.minutes is not None else []
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
            what = f"bag {weighing.place} weighed {show_mass(weighing.gross_g, units)}"
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
    where = f" in {remark.place}" if remark.place else ""
    what = f"photo taken{where}" if isinstance(remark, Photo) else f"noted{where}"
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
