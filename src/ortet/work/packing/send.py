"""Send: a parcel goes to the carrier, and every cutting in it is sold to its buyer in one go."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Move, Refused, Unknown, book, created, end, turn
from ortet.ledger.models import Kind, Lot, Movement, OrderLine, Parcel, Sale, Sending, Why
from ortet.ledger.packed import lying, packed, sold
from ortet.ledger.slices import in_slices
from ortet.wood.speech import say
from ortet.work.rights import refuse_if_stopped

from .reporting import link_made, made_link

__all__ = ["Sent", "find_parcel", "find_parcels", "send"]

MOST = 2**31 - 1  # the largest number that databases ask for


@dataclass(frozen=True, slots=True)
class Sent:
    """A parcel that was sent."""

    sending: Sending
    movements: list[Movement]
    word: str  # of the link by which the buyer reports back, shown once; nothing where one was made before


def find_parcel(number: int) -> Parcel:
    """Return a parcel that was packed here, by its number.

    Raises
    ------
    Unknown
        If there is none.
    """
    return find_parcels(number)[0]


def find_parcels(*numbers: int) -> list[Parcel]:
    """Return parcels that were packed here, by their numbers.

    Raises
    ------
    Unknown
        If one of them is not there.
    """
    rows = Parcel.objects.select_related("place", "order__buyer", "sending")
    could_be = {number for number in numbers if 0 < number <= MOST}
    found = {one.number: one for one in in_slices(rows, "number", could_be)}
    for number in numbers:
        if number not in found:
            raise Unknown(say("No parcel {number} was packed here. Nothing was booked.", number=number))
    return [found[number] for number in numbers]


def send(
    parcel: int,
    *,
    by: User,
    at: datetime,
    gross_g: float | None = None,
    carrier: str = "",
    tracking: str = "",
    note: str = "",
    id: UUID | None = None,
) -> Sent:
    """Give a parcel to the carrier: all that lies in it is sold to the buyer of its order, at the price of each line.

    Parameters
    ----------
    gross_g : float, optional
        What the closed box weighs. [g]
    carrier, tracking : str
        Who takes it, and the number by which it is followed.

    Raises
    ------
    Refused
        If nothing lies in it, it was sent already, a line of it was cancelled or would get more than it asks for, or a variety
        is protected and no leave is noted.
    Unknown
        If there is no such parcel.
    """
    with turn():
        what = find_parcel(parcel)
        if id and (before := Sending.objects.filter(pk=id, parcel=what).first()):
            return Sent(before, _movements(what), "")
        if hasattr(what, "sending"):
            raise Refused(say("Parcel {parcel} was sent already. Nothing was booked.", parcel=parcel))
        if gross_g is not None and not 0 < gross_g < 1e6:
            raise Refused(
                say("{gross_g:g} g: give what the closed parcel weighs. Nothing was booked.", gross_g=gross_g)
            )
        held = lying(what)
        if not held:
            raise Refused(
                say(
                    "Nothing lies in parcel {parcel}. Pack something first. Nothing was booked.",
                    parcel=parcel,
                )
            )
        lines = OrderLine.objects.select_related("order__buyer", "variety").in_bulk(
            {line for line, _ in held}
        )
        lots = Lot.objects.select_related("variety").in_bulk({lot for _, lot in held})
        _refuse_what_may_not_go(list(lines.values()))
        for lot in lots.values():
            refuse_if_stopped(lot.variety, timezone.localdate(at))
        gone = end(Kind.SOLD)
        # the note stands with the sending alone: a movement's is sealed, and a buyer may be named in it
        moves = [Move(lots[lot], what.place, gone, count, Why.SOLD) for (_, lot), count in held.items()]
        moved = book(moves, by=by, at=at)
        at = moved[0].at
        for (line, _), one in zip(held, moved, strict=True):
            of = lines[line]
            sale = {"buyer": of.order.buyer, "line": of, "price": of.price, "by": by, "at": at}
            created(Sale, id=uuid7(), movement=one, **sale)
        said = {"gross_g": gross_g, "carrier": carrier.strip(), "tracking": tracking.strip(), "note": note}
        sending = created(Sending, id=id or uuid7(), parcel=what, at=at, by=by, **said)
        word = "" if link_made(what) else made_link(what, by=by, at=at)
        return Sent(sending, moved, word)


def _movements(parcel: Parcel) -> list[Movement]:
    return list(Movement.objects.filter(from_place=parcel.place_id, why=Why.SOLD).order_by("number"))


def _refuse_what_may_not_go(lines: list[OrderLine]) -> None:
    keys = [line.pk for line in lines]
    waiting, gone = packed(keys), sold(keys)
    for line in lines:
        if line.ended_at:
            raise Refused(
                say("{line} was cancelled: unpack it first. Nothing was booked.", line=str(line).capitalize())
            )
        if (over := waiting[line.pk] + gone[line.pk] - line.count) > 0:
            raise Refused(
                say(
                    "{line} asks for {asked} {variety}: {over} too many are packed. Unpack them first. "
                    "Nothing was booked.",
                    line=str(line).capitalize(),
                    asked=line.count,
                    variety=line.variety,
                    over=over,
                )
            )
