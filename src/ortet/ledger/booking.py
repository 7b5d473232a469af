"""Booking: the one door through which movements enter the account."""

import random
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.db import connection, transaction
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.wood import code as codes

from .lots import Lot
from .movements import Balance, Movement, Why
from .places import ENDS, SOURCES, Kind, Place

__all__ = [
    "Move",
    "Refused",
    "Unknown",
    "book",
    "count_in",
    "drawn_from",
    "end",
    "how_far",
    "new_code",
    "take_turn",
    "told",
]


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
)


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
        counts = ", ".join(f"(SELECT COUNT(*) FROM ledger_{table})" for table in COUNTED)
        last = "(SELECT seal FROM ledger_movement ORDER BY number DESC LIMIT 1)"
        cursor.execute(f"SELECT {counts}, {last}")
        return "|".join(map(str, cursor.fetchone()))


def told(at: datetime) -> str:
    """Write a moment as a grower reads it, in the zone that is active."""
    local = timezone.localtime(at)
    return f"{local.day} {local:%b %Y %H:%M}"


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
    place = Place.objects.filter(kind=kind).first()
    return place or Place.objects.create(kind=kind, name=Kind(kind).label, code=new_code(Place))


def _refuse_if_short(moves: Sequence[Move], at: datetime) -> None:
    """Raise where the moves ask more of a place than it holds, in order, or come before their lot."""
    left: dict[tuple[int, int], int] = {}
    for move in moves:
        if move.count < 1:
            raise Refused(f"{move.count} cuttings of {move.lot}: at least 1 moves. Nothing was booked.")
        if at < move.lot.made_at:
            raise Refused(
                f"Lot {move.lot} was made on {told(move.lot.made_at)}, after {told(at)}: "
                "give a later time. Nothing was booked."
            )
        if move.from_place.kind not in SOURCES:
            key = move.lot.pk, move.from_place.pk
            here = left.setdefault(key, count_in(move.lot, move.from_place))
            if here < move.count:
                raise Refused(
                    f"{move.count} of lot {move.lot} asked, {here} left in {move.from_place.name}. "
                    f"Enter {here} or fewer, or pick another place. Nothing was booked."
                )
            left[key] -= move.count
        if move.to_place.kind not in SOURCES:
            key = move.lot.pk, move.to_place.pk
            left[key] = left.setdefault(key, count_in(move.lot, move.to_place)) + move.count


def book(moves: Sequence[Move], *, by: User, at: datetime) -> list[Movement]:
    """Book movements in order, all or none, and return them.

    Raises
    ------
    Refused
        If a place holds too few, or a movement would come before its lot.
    """
    with transaction.atomic():
        take_turn()
        _refuse_if_short(moves, at)
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
