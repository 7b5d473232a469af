"""Booking: the one door through which movements enter the account."""

import math
import random
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar
from uuid import UUID

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import DataError, IntegrityError, connection, transaction
from django.db.models import Model
from django.utils import timezone, translation
from uuid_utils.compat import uuid7

from ortet.wood import code as codes
from ortet.wood.speech import ENGLISH, say, short_month, to_say

from .batches import Count
from .before import Before, Step
from .lots import Lot
from .movements import Balance, Movement, Why
from .places import ENDS, GROWING, SOURCES, Kind, Place
from .readings import readings_that_count

__all__ = [
    "MOST",
    "Move",
    "Refused",
    "Unknown",
    "book",
    "booked_before",
    "count_in",
    "created",
    "drawn_from",
    "end",
    "how_far",
    "in_turn",
    "new_code",
    "refuse_no_count",
    "refuse_no_letter",
    "take_turn",
    "told",
    "turn",
]


MOST = 1_000_000  # cuttings in one movement

COUNTED = (
    "weighing",
    "inspection",
    "treatment",
    "withdrawal",
    "standing",
    "load",
    "place",
    "variety",
    "motherplant",
    "lot",
    "order",
    "orderline",
    "target",
    "motherlimit",
    "benchsetup",
    "plan",
    "batch",
    "count",
    "sale",
    "trial",
    "note",
    "photo",
    "received",
    "receivedline",
    "sending",
    "arrival",
    "complaint",
    "payment",
    "strikereport",
    "warrant",
    "erasure",
)
ENDED = ("orderline", "target")  # whose rows may end, and are counted once more for it


# Fields whose words can be too long or whose numbers out of range, as people speak of them.
FIELDS = {
    "name": to_say("Name"),
    "note": to_say("Note"),
    "mark": to_say("Mark"),
    "accession": to_say("Accession"),
    "address": to_say("Address"),
    "email": to_say("Email"),
    "country": to_say("Country"),
    "tax_number": to_say("Tax number"),
    "tax_percent": to_say("Tax percent"),
    "tax_note": to_say("Tax note"),
    "price": to_say("Price"),
    "worth": to_say("Worth"),
    "grade": to_say("Grade"),
    "source": to_say("Source"),
    "health": to_say("Health"),
    "group": to_say("Group"),
    "selling_name": to_say("Selling name"),
    "right": to_say("Right"),
    "words": to_say("Words"),
    "tray": to_say("Tray"),
    "medium": to_say("Medium"),
    "treatment": to_say("Treatment"),
    "agent": to_say("Agent"),
    "strength": to_say("Strength"),
    "carrier": to_say("Carrier"),
    "tracking": to_say("Tracking"),
    "gross_g": to_say("Gross g"),
    "tare_g": to_say("Tare g"),
    "amount": to_say("Amount"),
    "how": to_say("How"),
    "what": to_say("What"),
    "net": to_say("Net"),
    "tax": to_say("Tax"),
    "question": to_say("Question"),
}


_UNSEEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")  # all control characters but tab and line ends


class Refused(ValueError):
    """The account refuses a deed; the message says what is wrong, where and what to do. Nothing was booked."""


class Unknown(Refused):
    """Something was named that the book does not hold."""


@dataclass(frozen=True, slots=True)
class Move:
    """A movement as asked for, before it is booked."""

    lot: Lot
    from_place: Place
    to_place: Place
    count: int
    why: Why
    note: str = ""
    id: UUID | None = None
    reverses: Movement | None = None


_SYSTEM = random.SystemRandom()
_draws: ContextVar[random.Random] = ContextVar("draws", default=_SYSTEM)


@contextmanager
def drawn_from(source: random.Random) -> Iterator[None]:
    """Draw codes and ids from a source of one's own, so that a season of examples makes the same book every time."""
    token = _draws.set(source)
    try:
        yield
    finally:
        _draws.reset(token)


def _new_id() -> UUID:
    source = _draws.get()
    return uuid7() if source is _SYSTEM else UUID(int=source.getrandbits(128), version=4)


def how_far() -> str:
    """Return a word that changes whenever anything is booked: how much there is of each kind, and the last seal."""
    with connection.cursor() as cursor:
        counts = ", ".join(
            [f"(SELECT COUNT(*) FROM ledger_{table})" for table in COUNTED]
            + [f"(SELECT COUNT(ended_at) FROM ledger_{table})" for table in ENDED]
        )
        last = "(SELECT seal FROM ledger_movement ORDER BY number DESC LIMIT 1)"
        noted = "(SELECT MAX(seen_at) FROM ledger_received)"  # a parcel that lies open is noted on as it is looked at
        cursor.execute(f"SELECT {counts}, {noted}, {last}")
        return "|".join(map(str, cursor.fetchone()))


Row = TypeVar("Row", bound=Model)


def created(model: type[Row], **fields: object) -> Row:
    """Make a row whose every field fits; return it.

    Raises
    ------
    Refused
        If a word is too long, a number out of range or no number, or a choice unknown.
    """
    for name, value in fields.items():
        if isinstance(value, float) and not math.isfinite(value):
            raise Refused(
                say("{name}: {value} is no number. Nothing was booked.", name=_spoken(name), value=value)
            )
        if isinstance(value, str):
            refuse_no_letter(name, value)
    row = model(**fields)
    try:
        row.clean_fields(
            exclude=[name for name in ("name_key", "mark_key", "accession_key") if hasattr(row, name)]
        )
        row.validate_constraints(exclude=["name_key", "mark_key", "accession_key"])
    except ValidationError as error:
        said = "; ".join(
            f"{_spoken(name)}: {' '.join(messages)}".replace("All: ", "")
            for name, messages in error.message_dict.items()
        )
        raise Refused(say("{said} Nothing was booked.", said=said)) from None
    row.save(force_insert=True)
    return row


def refuse_no_letter(name: str, value: str) -> None:
    """Raise where a word holds a control character: PostgreSQL keeps no NUL, and no label or table shows the others."""
    if _UNSEEN.search(value):
        raise Refused(
            say(
                "{name}: a character that is no letter. Type it again. Nothing was booked.",
                name=_spoken(name),
            )
        )


def refuse_no_count(lot: Lot, count: int) -> None:
    """Raise where so many cuttings cannot move."""
    if not 1 <= count <= MOST:
        raise Refused(
            say(
                "{count} cuttings of {lot}: at least 1 moves, at most {most:,}. Nothing was booked.",
                count=count,
                lot=lot,
                most=MOST,
            )
        )


def _spoken(field: str) -> str:
    return say(FIELDS.get(field) or field.strip("_").replace("_", " ").capitalize())


@contextmanager
def turn() -> Iterator[None]:
    """Do a deed in one transaction and in its turn: what it reads holds until it has written.

    Raises
    ------
    Refused
        If the database refuses what no check of ours foresaw.
    """
    try:
        with transaction.atomic():
            take_turn()
            yield
    except (IntegrityError, DataError, OverflowError) as error:
        raise Refused(
            say("The book refuses it: {why}. Nothing was booked.", why=say(str(error).splitlines()[0]))
        ) from error


def booked_before(id: UUID | None, why: Why, count: int | None = None) -> Movement | None:
    """Return the movement that was booked under an id, so that what is sent twice is booked once.

    Raises
    ------
    Refused
        If that was another deed.
    """
    if id is None:
        return None
    before = Movement.objects.filter(pk=id).select_related("lot__variety", "from_place", "to_place").first()
    if before and (before.why != why or count not in (None, before.count)):
        raise Refused(
            say(
                "This was sent before, as movement {number}: {count} of lot {lot} {done}. Begin anew. Nothing was booked.",
                number=before.number,
                count=before.count,
                lot=before.lot,
                done=before.get_why_display(),
            )
        )
    return before


def told(at: datetime) -> str:
    """Write a moment as a grower reads it, in the zone that is active."""
    local = timezone.localtime(at)
    return f"{local.day} {short_month(local)} {local:%Y %H:%M}"


def take_turn() -> None:
    """Wait until no other process is writing movements, until the end of this transaction.

    SQLite's IMMEDIATE transactions take turns by themselves.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(hashtext('ortet movements'))")


def count_in(lot: Lot, place: Place) -> int:
    """Return how many cuttings of a lot are in a place."""
    return Balance.objects.filter(lot=lot, place=place).values_list("count", flat=True).first() or 0


def new_code(model: type[Lot] | type[Place]) -> str:
    """Return a code that no lot and no place carries yet."""
    while True:
        code = codes.make(_draws.get().getrandbits(35))
        if not Lot.objects.filter(code=code).exists() and not Place.objects.filter(code=code).exists():
            return code


def end(kind: Kind) -> Place:
    """Return the book's one place of an ending kind."""
    assert kind in ENDS, kind
    if place := Place.objects.filter(kind=kind).first():
        return place
    with translation.override(ENGLISH):
        return Place.objects.create(kind=kind, name=str(Kind(kind).label), code=new_code(Place))


def _refuse_if_short(moves: Sequence[Move], at: datetime, before: Before) -> None:
    """Raise where the moves ask more of a place than it holds, in order, or come before their lot."""
    left: dict[tuple[int, int], int] = {}
    for move in moves:
        refuse_no_letter("note", move.note)
        refuse_no_count(move.lot, move.count)
        if at < move.lot.made_at:
            raise Refused(
                say(
                    "Lot {lot} was made on {made}, after {at}: give a later time. Nothing was booked.",
                    lot=move.lot,
                    made=told(move.lot.made_at),
                    at=told(at),
                )
            )
        if move.from_place.kind not in SOURCES:
            key = move.lot.pk, move.from_place.pk
            here = left.setdefault(key, before.count(key))
            if here < move.count and move.reverses:
                later = (
                    Movement.objects.filter(lot=move.lot, from_place=move.from_place)
                    .order_by("-number")
                    .first()
                )
                raise Refused(
                    say(
                        "Only {here} of the {count} of lot {lot} are still in {place}: the rest has moved on. "
                        "Correct {later} first. Nothing was booked.",
                        here=here,
                        count=move.count,
                        lot=move.lot,
                        place=move.from_place.name,
                        later=say("movement {number}", number=later.number)
                        if later
                        else say("the later movement"),
                    )
                )
            if not here:
                raise Refused(
                    say(
                        "None of lot {lot} is in {place}. Pick another place. Nothing was booked.",
                        lot=move.lot,
                        place=move.from_place.name,
                    )
                )
            if here < move.count:
                raise Refused(
                    say(
                        "{count} of lot {lot} asked, {here} left in {place}. "
                        "Enter {here} or fewer, or pick another place. Nothing was booked.",
                        count=move.count,
                        lot=move.lot,
                        here=here,
                        place=move.from_place.name,
                    )
                )
            left[key] -= move.count
        if move.to_place.kind not in SOURCES:
            key = move.lot.pk, move.to_place.pk
            left[key] = left.setdefault(key, before.count(key)) + move.count


def _refuse_before_it_came(moves: Sequence[Move], at: datetime, before: Before) -> None:
    """Raise where wood would leave a place before it came there, or lie in a bag before that was closed."""
    changes: dict[tuple[int, int], list[Step]] = {}
    named: dict[tuple[int, int], tuple[Lot, Place]] = {}
    for move in moves:
        if move.reverses and at < move.reverses.at:
            raise Refused(
                say(
                    "Movement {number} was on {at}: it is corrected then or later. Nothing was booked.",
                    number=move.reverses.number,
                    at=told(move.reverses.at),
                )
            )
        if move.to_place.kind == Kind.BAG and at < (closed := move.to_place.bag.closed_at):
            raise Refused(
                say(
                    "Bag {bag} was closed on {closed}: give a later time. Nothing was booked.",
                    bag=move.to_place,
                    closed=told(closed),
                )
            )
        for place, count in ((move.from_place, -move.count), (move.to_place, move.count)):
            if place.kind not in SOURCES:
                key = move.lot.pk, place.pk
                named[key] = move.lot, place
                if key not in changes:
                    changes[key] = before.steps(key)
                changes[key].append((at, int(count < 0), count))
    for key, steps in changes.items():
        held = 0
        for when, _, count in sorted(steps):
            held += count
            if held < 0:
                lot, place = named[key]
                raise Refused(
                    say(
                        "On {at} there were {held} of lot {lot} in {place}, and {leaving} were to leave it. "
                        "Give a later time, or fewer. Nothing was booked.",
                        at=told(when),
                        held=held - count,
                        lot=lot,
                        place=place.name,
                        leaving=-count,
                    )
                )


AT_ONCE, AN_INSTANT = timedelta(milliseconds=1), timedelta(microseconds=1)


def in_turn(lot: Lot, place: Place, at: datetime, before: Before | None = None) -> datetime:
    """Return a moment, or the instant after what was booked of a lot in a place at that very moment.

    A count and what left the batch on one day, both noted without a clock, stay in the order in which they were booked; and
    what came an instant later leaves no sooner.
    """
    key = lot.pk, place.pk
    now = [step for step in (before or Before([key])).steps(key) if at <= step[0] < at + AT_ONCE]
    came = [when for when, is_leaving, _ in now if not is_leaving and when > at]
    if place.kind not in GROWING:
        return max([at, *came])
    left = [when for when, is_leaving, _ in now if is_leaving]
    counted = Count.objects.filter(lot=lot, place=place, at__gte=at, at__lt=at + AT_ONCE)
    booked = [*came, *left, *counted.values_list("at", flat=True)]
    return max(booked) + AN_INSTANT if booked else at


def _refuse_what_was_counted(moves: Sequence[Move], at: datetime, before: Before) -> None:
    """Raise where cuttings would have left a batch before they were counted in it."""
    for move in moves:
        if move.from_place.kind not in GROWING:
            continue
        later = readings_that_count(Count).filter(lot=move.lot, place=move.from_place, at__gt=at)
        for count in later:
            steps = before.steps((move.lot.pk, move.from_place.pk))
            there = sum(n for when, _, n in steps if when <= count.at)
            if there - move.count < count.counted:
                raise Refused(
                    say(
                        "On {at} {counted} of lot {lot} were counted in {place}, and {there} would have been there. "
                        "Give a later time, or withdraw that count. Nothing was booked.",
                        at=told(count.at),
                        counted=count.counted,
                        lot=move.lot,
                        place=move.from_place,
                        there=there - move.count,
                    )
                )


def book(moves: Sequence[Move], *, by: User, at: datetime) -> list[Movement]:
    """Book movements in order, all or none, and return them.

    Raises
    ------
    Refused
        If a place holds too few, or a movement would come before its lot.
    """
    with turn():
        before = Before(
            (move.lot.pk, place.pk)
            for move in moves
            for place in (move.from_place, move.to_place)
            if place.kind not in SOURCES
        )
        held = [move for move in moves if move.from_place.kind not in SOURCES]
        at = max([at, *(in_turn(move.lot, move.from_place, at, before) for move in held)])
        _refuse_if_short(moves, at, before)
        _refuse_before_it_came(moves, at, before)
        _refuse_what_was_counted(moves, at, before)
        last = Movement.objects.order_by("-number").values_list("number", "seal").first() or (0, "")
        booked = []
        for number, move in enumerate(moves, last[0] + 1):
            movement = Movement(
                id=move.id or _new_id(),
                number=number,
                lot=move.lot,
                from_place=move.from_place,
                to_place=move.to_place,
                count=move.count,
                at=at,
                by=by,
                why=move.why,
                note=move.note,
                reverses=move.reverses,
                chained_to=booked[-1].seal if booked else last[1],
            )
            movement.seal = movement.sealed(move.lot.code, move.from_place.code, move.to_place.code)
            booked.append(movement)
        return Movement.objects.bulk_create(booked)
