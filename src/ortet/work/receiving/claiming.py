"""The claim to the sender of a parcel, as a PDF."""

from datetime import datetime

from django.utils import timezone

from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery, Photo
from ortet.paper.claim import Claim, ClaimLine, ClaimPhoto, claim_letter
from ortet.wood.speech import say, short_month
from ortet.wood.units import show_mass
from ortet.work.papers.sheet import paper_for, printing
from ortet.work.remarks import file_of

from .told import LineTold, ParcelTold, parcel_told

__all__ = ["claim"]

MOST_PHOTOS = 8  # so that a letter can still be sent by mail


def claim(number: int, paper: str = "") -> bytes:
    """Return the claim as a PDF: what was stated and what came, line by line, with the photos that were kept.

    Raises
    ------
    Refused
        If nothing was counted yet, there is nothing to claim, the paper is unknown, or a name cannot be written.
    """
    nursery, told = Nursery.get(), parcel_told(number)
    if all(one.found.counted is None for one in told.lines):
        raise Refused(
            say(
                "Nothing of parcel {number} was counted yet: a claim needs figures. Nothing was printed.",
                number=number,
            )
        )
    if not told.claims:
        raise Refused(
            say(
                "Parcel {number} came as it was stated: there is nothing to claim. Nothing was printed.",
                number=number,
            )
        )
    on = paper_for(paper, nursery)
    with printing():
        return claim_letter(_letter(told, nursery), paper=on)


def _day(at: datetime, nursery: Nursery) -> str:
    here = timezone.localtime(at, nursery.tz)
    return (
        f"{short_month(here)} {here.day}, {here.year}"
        if nursery.units == "US"
        else f"{here.day} {short_month(here)} {here.year}"
    )


def _letter(told: ParcelTold, nursery: Nursery) -> Claim:
    parcel, whole = told.parcel, told.parcel.said["found"]
    facts = [
        (
            say("Opened"),
            say(
                "{day}, {at:%H:%M}, by {by}",
                day=_day(parcel.opened_at, nursery),
                at=timezone.localtime(parcel.opened_at, nursery.tz),
                by=parcel.by.username,
            ),
        )
    ]
    if parcel.posted_on:
        posted = datetime.combine(parcel.posted_on, datetime.min.time(), nursery.tz)
        facts.insert(0, (say("Posted"), _day(posted, nursery)))
    if "sent_g" in whole and "came_g" in whole:
        weights = say(
            "{sent} sent, {come} come",
            sent=show_mass(whole["sent_g"], nursery.units),
            come=show_mass(whole["came_g"], nursery.units),
        )
        facts.append((say("All wood"), weights))
    address = [row.strip() for row in whole.get("address", "").splitlines() if row.strip()]
    return Claim(
        title=say("Parcel {parcel}: what came is not what was stated", parcel=parcel.number),
        to=(parcel.sender.name, *address),
        sender=nursery.name,
        facts=tuple(facts),
        lines=tuple(_line(one, nursery.units) for one in told.lines),
        grounds=told.claims,
        ask=(
            say(
                "Counted and weighed on opening; scratched are cuttings chosen blind, green is alive. Water lost is reckoned by the "
                "cutting, from the weights above."
            ),
            say("Please say how you will make it good: send what is missing or unfit anew, or take it off the bill."),
        ),
        note=whole.get("note", ""),
        photos=tuple(_photo(photo, nursery) for photo in told.photos[:MOST_PHOTOS]),
        foot=say("{nursery}  ·  parcel {parcel} of {sender}", nursery=nursery.name, parcel=parcel.number, sender=parcel.sender.name),
    )  # fmt: skip


def _number(value: int | None) -> str:
    return "" if value is None else say("{count:,}", count=value)


def _line(one: LineTold, units: str) -> ClaimLine:
    found, lost = one.found, one.advice.lost
    unfit = None if found.dead is None else (found.dead or 0) + (found.bored or 0)
    return ClaimLine(
        one.line,
        one.name,
        one.kind,
        _number(found.stated),
        _number(found.counted),
        _number(unfit),
        show_mass(found.sent_g, units),
        show_mass(found.came_g, units),
        "" if lost is None else f"{100 * lost:.1f} %",
        say("{green} of {tested}", green=found.scratch_green, tested=found.scratch_of)
        if found.scratch_of
        else "",
    )


def _photo(photo: Photo, nursery: Nursery) -> ClaimPhoto:
    try:
        jpeg = file_of(photo).read_bytes()
    except OSError:
        raise Refused(
            say(
                "The file of photo {photo} is gone: run `ortet check`. Nothing was printed.", photo=photo.name
            )
        ) from None
    return ClaimPhoto(jpeg, f"{_day(photo.at, nursery)}, {photo.note}")
