"""The deeds by page: a form each, then the lot or place that it changed."""

from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.urls import reverse
from django.utils.http import urlencode

from ortet import work
from ortet.ledger.models import (
    Arrival,
    Complaint,
    Inspection,
    Kind,
    Lot,
    Movement,
    Place,
    StrikeReport,
    Treatment,
    Weighing,
)
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.moving import Correct, GiveUp, Move, Stand
from ortet.pages.forms.plants import AddMother, AddPlace
from ortet.pages.forms.reading import Inspect, Treat, Weigh, Withdraw
from ortet.pages.forms.remarks import Note
from ortet.pages.forms.wood import Bag, Split, Take
from ortet.wood.speech import say, to_say
from ortet.wood.units import show_mass
from ortet.work.names import seen, told

from .asking import Done, a_deed

__all__ = [
    "add_mother",
    "add_place",
    "bag",
    "correct",
    "give_up",
    "inspect",
    "move",
    "note",
    "split",
    "stand",
    "take",
    "treat",
    "weigh",
    "withdraw",
]


def _lot(lot: Lot) -> str:
    return reverse("lot", args=[lot.code])


def _place(place: Place) -> str:
    return reverse("place", args=[place.code])


def _of(record: Any) -> str:
    """Return the page of what a reading is about."""
    match record:
        case Complaint():
            return reverse("order-of", args=[record.line.order.number])
        case Arrival():
            return reverse("outgoing-parcel", args=[record.parcel.number])
        case StrikeReport():
            return _lot(record.movement.lot)
        case _:
            return _place(record.place) if record.place else _lot(record.lot)


def _link(deed: str, **given: object) -> str:
    return f"{reverse(deed)}?{urlencode(given)}"


def _number(id: UUID) -> int:
    return Movement.objects.values_list("number", flat=True).get(pk=id)


def _read(said: str, reading: Weighing | Inspection | Treatment, to: str) -> Done:
    return Done(said, to, _link("withdraw", reading=reading.pk), say("Mistaken? Withdraw it"))


@a_deed(Take)
def take(form: Deed, by: User) -> Done:
    """Take wood from a mother plant."""
    lot = work.take(**form.deed(), by=by)
    number = _number(form.cleaned_data["id"])
    said = say(
        "Movement {number}: {count} of {variety} taken, lot {lot}.",
        number=number,
        count=form.cleaned_data["count"],
        variety=lot.variety,
        lot=lot,
    )
    return Done(said, _lot(lot), _link("correct", movement=number))


@a_deed(Bag)
def bag(form: Deed, by: User) -> Done:
    """Close wood in a bag and stand it in a cold place."""
    place = work.bag(**form.deed(), by=by)
    number = _number(form.cleaned_data["id"])
    said = say(
        "Movement {number}: bag {place} is closed. Weigh it now, so that later weighings can tell.",
        number=number,
        place=place,
    )
    return Done(said, _place(place), _link("correct", movement=number))


@a_deed(Weigh, "weigh.html")
def weigh(form: Deed, by: User) -> Done:
    """Record what a bag weighs."""
    reading = work.weigh(**form.deed(), by=by)
    return _read(
        say(
            "Bag {place} weighs {weight}.",
            place=reading.place,
            weight=show_mass(reading.gross_g, form.nursery.units),
        ),
        reading,
        _place(reading.place),
    )


@a_deed(Inspect)
def inspect(form: Deed, by: User) -> Done:
    """Record what was seen of a lot."""
    seen = work.inspect(**form.deed(), by=by)
    return _read(
        say("Inspection of lot {lot} in {place} recorded.", lot=seen.lot, place=seen.place),
        seen,
        _lot(seen.lot),
    )


@a_deed(Treat, "treat.html")
def treat(form: Deed, by: User) -> Done:
    """Record what was done to wood or its bag."""
    done = work.treat(**form.deed(), by=by)
    return _read(
        say("{place}: {kind}, recorded.", place=done.place, kind=done.get_kind_display()),
        done,
        _place(done.place),
    )


@a_deed(Move)
def move(form: Deed, by: User) -> Done:
    """Move cuttings of a lot to another place."""
    moved = work.move(**form.deed(), by=by)
    said = say(
        "Movement {number}: {count} of lot {lot} from {from_place} to {to_place}.",
        number=moved.number,
        count=moved.count,
        lot=moved.lot,
        from_place=moved.from_place,
        to_place=moved.to_place,
    )
    return Done(said, _lot(moved.lot), _link("correct", movement=moved.number))


@a_deed(Stand)
def stand(form: Deed, by: User) -> Done:
    """Stand a bag in another cold place, or a batch on another bench."""
    said = form.deed()
    standing = work.stand(said["bag"], said["store"], at=said["at"], by=by, id=said["id"])
    back = _link("stand", bag=standing.bag.name)
    stands = (
        to_say("Bag {bag} stands in {store}.")
        if standing.bag.kind == Kind.BAG
        else to_say("Batch {bag} stands on {store}.")
    )
    return Done(
        say(stands, bag=standing.bag, store=standing.store),
        _place(standing.bag),
        back,
        say("Mistaken? Stand it back"),
    )


@a_deed(Split)
def split(form: Deed, by: User) -> Done:
    """Make part of a lot a lot of its own."""
    child = work.split(**form.deed(), by=by)
    number = _number(form.cleaned_data["id"])
    said = say(
        "Movement {number}: {count} split off as lot {child}. A split is not taken back; what was miscounted is "
        "moved or given up.",
        number=number,
        count=form.cleaned_data["count"],
        child=child,
    )
    return Done(said, _lot(child), _link("labels", lot=child.code), say("Print its label"))


@a_deed(GiveUp)
def give_up(form: Deed, by: User) -> Done:
    """Book cuttings out as given up, or as not found."""
    gone = work.give_up(**form.deed(), by=by)
    said = say(
        "Movement {number}: {count} of lot {lot} {why}.",
        number=gone.number,
        count=gone.count,
        lot=gone.lot,
        why=gone.get_why_display(),
    )
    return Done(said, _lot(gone.lot), _link("correct", movement=gone.number))


@a_deed(Note)
def note(form: Deed, by: User) -> Done:
    """Note words about a lot or a place."""
    noted = work.note(**form.deed(), by=by)
    to = _place(noted.place) if noted.place else _lot(noted.lot)
    return Done(say("Noted."), to, _link("withdraw", reading=noted.pk), say("Mistaken? Withdraw it"))


@a_deed(Correct, "take_back.html")
def correct(form: Deed, by: User) -> Done:
    """Take a movement back by a new one."""
    back = work.correct(**form.deed(), by=by)
    said = say(
        "Movement {number} takes movement {reverses} back: {count} of lot {lot} in {to_place} again.",
        number=back.number,
        reverses=back.reverses.number,
        count=back.count,
        lot=back.lot,
        to_place=back.to_place,
    )
    return Done(said, _lot(back.lot))


@a_deed(Withdraw, "take_back.html")
def withdraw(form: Deed, by: User) -> Done:
    """Say that a reading was mistaken."""
    work.withdraw(**form.deed(), by=by)
    reading = form.takes_back
    return Done(say("Withdrawn: {words}. It no longer counts.", words=reading.words), _of(reading.record))


@a_deed(AddMother)
def add_mother(form: Deed, by: User) -> Done:
    """Add a mother plant."""
    plant = work.add_mother(**form.deed())
    said = " ".join(
        [
            say(
                "Mother plant {accession}, {variety}, is in the book.",
                accession=plant.accession,
                variety=plant.variety,
            ),
            *told(seen(plant.variety)),
        ]
    )
    return Done(
        said,
        reverse("mother", args=[plant.accession]),
        _link("take", accession=plant.accession),
        say("Take wood from it"),
    )


@a_deed(AddPlace)
def add_place(form: Deed, by: User) -> Done:
    """Add a cold place, a bench, a standing ground or a growing site."""
    place = work.add_place(**form.deed())
    return Done(say("{place} is in the book.", place=place), _place(place))
