"""Deeds that move cuttings: move, give up, correct."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Move, Refused, Unknown, book, booked_before, count_in, created, end, turn
from ortet.ledger.models import (
    Arrival,
    Complaint,
    Count,
    Derivation,
    Kind,
    Movement,
    Note,
    Photo,
    Place,
    StrikeReport,
    Why,
    Withdrawal,
)
from ortet.ledger.places import WOOD
from ortet.ledger.readings import Inspection, Treatment, Weighing, readings_that_count
from ortet.wood.speech import say

from . import find

__all__ = ["correct", "give_up", "move", "withdraw"]


def move(
    lot: str,
    count: int | None,
    *,
    to_place: str,
    by: User,
    at: datetime,
    from_place: str | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Movement:
    """Move wood of a lot (None: all that lies there) to a bench, a bag or a cold place, or plants to a standing ground."""
    with turn():
        if before := booked_before(id, Why.MOVED, count):
            return before
        what, there = find.lot(lot), find.place(to_place)
        _refuse_to_move_into(there)
        among = (Kind.GROUND,) if there.kind == Kind.GROUND else WOOD
        here = find.where_lot_is(what, from_place, among=among)
        if here == there:
            raise Refused(say("Lot {what} is in {here} already. Nothing was booked.", what=what, here=here))
        count = count_in(what, here) if count is None else count
        return book([Move(what, here, there, count, Why.MOVED, note, id)], by=by, at=at)[0]


def _refuse_to_move_into(there: Place) -> None:
    if there.kind == Kind.PARCEL:
        raise Refused(
            say(
                "{there} is filled for its order: ortet pack, or the page Pick. Nothing was booked.",
                there=str(there).capitalize(),
            )
        )
    if there.kind == Kind.BATCH:
        raise Refused(
            say(
                "{there} is a batch, and stays what it was on the day it was struck: strike these cuttings as a batch of "
                "their own, on the same tray if need be. Nothing was booked.",
                there=there,
            )
        )


def give_up(
    lot: str,
    count: int | None,
    *,
    by: User,
    at: datetime,
    from_place: str | None = None,
    not_found: bool = False,
    note: str = "",
    id: UUID | None = None,
) -> Movement:
    """Book cuttings out as given up, or as not found at a count."""
    with turn():
        if before := booked_before(id, Why.LOST if not_found else Why.GIVEN_UP, count):
            return before
        what = find.lot(lot)
        here = find.where_lot_is(what, from_place)
        count = count_in(what, here) if count is None else count
        there, why = (end(Kind.LOST), Why.LOST) if not_found else (end(Kind.GIVEN_UP), Why.GIVEN_UP)
        return book([Move(what, here, there, count, why, note, id)], by=by, at=at)[0]


def _refuse_to_correct(movement: Movement) -> None:
    if movement.reverses_id:
        raise Refused(
            say(
                "Movement {number} is itself a correction. Book what is right as a new one. Nothing was booked.",
                number=movement.number,
            )
        )
    if other := Movement.objects.filter(reverses=movement).first():
        raise Refused(
            say(
                "Movement {number} was corrected already, by movement {other}. Nothing was booked.",
                number=movement.number,
                other=other.number,
            )
        )
    if movement.why == Why.GRAFTED:
        raise Refused(
            say(
                "Movement {number} is part of a graft: what was cut and bound is not taken apart again. Give up what was "
                "miscounted, with a note. Nothing was booked.",
                number=movement.number,
            )
        )
    if movement.why == Why.STRUCK and readings_that_count(Count).filter(place=movement.to_place).exists():
        raise Refused(
            say(
                "Batch {batch} was counted since: withdraw its counts first. Nothing was booked.",
                batch=movement.to_place,
            )
        )
    if movement.why == Why.SPLIT and Derivation.objects.filter(child=movement.lot).exists():
        raise Refused(
            say(
                "Movement {number} made lot {lot}. A lot that was split off keeps its count: give up what was miscounted, "
                "with a note. Nothing was booked.",
                number=movement.number,
                lot=movement.lot,
            )
        )
    if movement.why == Why.SPLIT:
        raise Refused(
            say(
                "Movement {number} split off a lot that has its own label now; a split is not taken back. Move or give up "
                "cuttings of the new lot instead. Nothing was booked.",
                number=movement.number,
            )
        )


def correct(number: int, *, by: User, at: datetime, note: str, id: UUID | None = None) -> Movement:
    """Reverse an earlier movement by a new one that names it; return the new one. The mistake stays readable."""
    with turn():
        if before := booked_before(id, Why.CORRECTED):
            return before
        movement = (
            Movement.objects.filter(number=number)
            .select_related("lot__variety", "from_place", "to_place")
            .first()
        )
        if movement is None:
            raise Unknown(say("There is no movement {number}. Nothing was booked.", number=number))
        _refuse_to_correct(movement)
        if not note.strip():
            raise Refused(say("Say in a few words what was wrong. Nothing was booked."))
        back = Move(
            movement.lot,
            movement.to_place,
            movement.from_place,
            movement.count,
            Why.CORRECTED,
            note,
            id,
            reverses=movement,
        )
        return book([back], by=by, at=at)[0]


def withdraw(reading: UUID, *, by: User, at: datetime, note: str, id: UUID | None = None) -> Withdrawal:
    """Say that an earlier reading was mistaken: it stays readable and no longer counts."""
    with turn():
        if id and (before := Withdrawal.objects.filter(pk=id).first()):
            return before
        kinds = (Weighing, Inspection, Treatment, Count, Note, Photo, Arrival, Complaint, StrikeReport)
        if not any(model.objects.filter(pk=reading).exists() for model in kinds):
            raise Unknown(say("There is no such reading. Nothing was booked."))
        if Withdrawal.objects.filter(reading=reading).exists():
            raise Refused(say("This reading was withdrawn already. Nothing was booked."))
        if not note.strip():
            raise Refused(say("Say in a few words what was wrong. Nothing was booked."))
        return created(Withdrawal, id=id or uuid7(), reading=reading, by=by, at=at, note=note)
