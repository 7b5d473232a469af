"""What buyers tell of their cuttings: by a link without signing in, or by a slip that the grower copies.

It is kept apart from what was counted here: nobody here saw how they were handled.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, Unknown, created, turn
from ortet.ledger.models import Movement, Nursery, Parcel, ReportLink, Sale, StrikeReport, Why
from ortet.ledger.readings import readings_that_count
from ortet.wood.speech import say

__all__ = [
    "Sold",
    "link_made",
    "made_link",
    "of_link",
    "report_address",
    "report_link",
    "sold_in",
    "told",
    "told_by_link",
]

WORD_BYTES = 15  # 120 bits: nobody guesses it, and 20 characters can be typed from paper [our choice]


@dataclass(frozen=True, slots=True)
class Sold:
    """Cuttings of a lot that went in a parcel for a line, and what the buyer last told of them."""

    movement: Movement
    variety: str
    lot: str  # code as it is written
    use: str
    count: int
    last: StrikeReport | None


def _hash(word: str) -> str:
    """Return what the book keeps of a link's word. A word drawn at random needs no key to be safe from guessing."""
    return hashlib.sha256(f"ortet report {word}".encode()).hexdigest()


def link_made(parcel: Parcel) -> bool:
    """Whether a link was made for a parcel."""
    return parcel.report_links.exists()


def made_link(parcel: Parcel, *, by: User, at: datetime) -> str:
    """Make a link for a parcel's buyer; return the word it ends with, which is not kept. An earlier link ends."""
    word = secrets.token_urlsafe(WORD_BYTES)
    created(ReportLink, id=uuid7(), parcel=parcel, word_hash=_hash(word), at=at, by=by)
    return word


def report_link(parcel: int, *, by: User, at: datetime) -> str:
    """Make a new link by which the buyer of a parcel reports back; return the word it ends with, shown this once.

    The parcel may still be open: the slip that carries the link goes into it. A link made before ends.

    Raises
    ------
    Unknown
        If there is no such parcel.
    """
    with turn():
        what = Parcel.objects.filter(number=parcel).first()
        if what is None:
            raise Unknown(say("No parcel {parcel} was packed here. Nothing was booked.", parcel=parcel))
        return made_link(what, by=by, at=at)


def report_address(word: str) -> str:
    """Return the address by which a buyer reports back, by the word that it ends with."""
    return f"{Nursery.get().address}/r/{word}"


def of_link(word: str) -> Parcel | None:
    """Return the parcel that a link is of.

    None where nobody made it, a later one took its place, nothing was sent yet or the buyer was erased.
    """
    if not (10 <= len(word) <= 60):
        return None
    rows = ReportLink.objects.select_related("parcel__sending", "parcel__order__buyer")
    link = rows.filter(word_hash=_hash(word)).first()
    if link is None or _latest_link(link.parcel) != link or link.parcel.order.buyer.erased_at:
        return None
    return link.parcel if hasattr(link.parcel, "sending") else None


def _latest_link(parcel: Parcel) -> ReportLink:
    """Return the link of a parcel that was made last, whatever time was given for it."""
    return parcel.report_links.latest("id")


def sold_in(parcel: Parcel) -> list[Sold]:
    """Return what went in a parcel and was not taken back, with what was last told of it."""
    sales = (
        Sale.objects.filter(movement__from_place=parcel.place_id, movement__reversed_by=None)
        .select_related("movement__lot__variety", "line")
        .order_by("line__position", "movement__number")
    )
    return [_sold(sale.movement, sale.line.use if sale.line else sale.movement.lot.use) for sale in sales]


def _sold(movement: Movement, use: str) -> Sold:
    last = readings_that_count(StrikeReport).filter(movement=movement).last()
    return Sold(movement, str(movement.lot.variety), str(movement.lot), use, movement.count, last)


def told(
    sale: int,
    struck: int,
    rooted: int,
    *,
    by: User,
    at: datetime,
    told_on: date,
    by_link: bool = False,
    note: str = "",
    id: UUID | None = None,
) -> StrikeReport:
    """Note what a buyer told of cuttings that were sold: so many set, so many of them rooted. The latest word counts.

    Parameters
    ----------
    sale : int
        The number of the movement that sold them.
    told_on : date
        When the buyer said so.

    Raises
    ------
    Refused
        If more were set than were sent, more rooted than were set, or none was set.
    Unknown
        If there is no such sale, or it was taken back.
    """
    with turn():
        if id and (before := StrikeReport.objects.filter(pk=id).first()):
            return before
        moved = (
            Movement.objects.filter(number=sale, why=Why.SOLD, reversed_by=None).select_related("lot").first()
        )
        if moved is None:
            raise Unknown(
                say("Movement {sale} sold nothing that is still sold. Nothing was booked.", sale=sale)
            )
        if struck < 1:
            raise Refused(say("Say how many were set: at least 1. Nothing was booked."))
        if struck > moved.count:
            raise Refused(
                say(
                    "{struck} set, but {sent} of lot {lot} were sent. Give {sent} or fewer. Nothing was booked.",
                    struck=struck,
                    sent=moved.count,
                    lot=moved.lot,
                )
            )
        if not 0 <= rooted <= struck:
            raise Refused(
                say(
                    "{rooted} of {struck} rooted: give from 0 to {struck}. Nothing was booked.",
                    rooted=rooted,
                    struck=struck,
                )
            )
        if told_on < timezone.localdate(moved.at):
            raise Refused(
                say(
                    "Told on {told_on}, before they were sold. Give a later day. Nothing was booked.",
                    told_on=told_on,
                )
            )
        if told_on > timezone.localdate(at):
            raise Refused(
                say(
                    "{told_on} is still to come. Give the day on which it was told. Nothing was booked.",
                    told_on=told_on,
                )
            )
        said = {"told_on": told_on, "by_link": by_link, "note": note, "by": by, "at": at}
        return created(StrikeReport, id=id or uuid7(), movement=moved, struck=struck, rooted=rooted, **said)


def told_by_link(
    parcel: Parcel, counts: dict[int, tuple[int, int]], *, at: datetime, told_on: date, note: str = ""
) -> list[StrikeReport]:
    """Note what a buyer wrote by the link of a parcel: set and rooted, by the number of the sale. All of it or nothing.

    What equals the last word is not noted again. It is booked in the name of who made the link.

    Raises
    ------
    Refused, Unknown
        As `told` does, or if a number is of no sale of this parcel, or nothing was filled in.
    """
    with turn():
        mine = {one.movement.number: one for one in sold_in(parcel)}
        if strange := counts.keys() - mine.keys():
            raise Unknown(
                say("Sale {number} is not of this parcel. Nothing was booked.", number=min(strange))
            )
        if not counts:
            raise Refused(
                say("Fill in at least one row: how many you set, and how many rooted. Nothing was booked.")
            )
        by = _latest_link(parcel).by
        made = []
        for number, (struck, rooted) in counts.items():
            last = mine[number].last
            if last and (last.struck, last.rooted) == (struck, rooted) and not note:
                continue
            made.append(told(number, struck, rooted, by=by, at=at, told_on=told_on, by_link=True, note=note))
        return made
