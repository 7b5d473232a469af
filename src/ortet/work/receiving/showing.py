"""The list of parcels, and their photos."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import F, Q, QuerySet

from ortet.ledger.booking import Refused, turn
from ortet.ledger.models import Photo, Received
from ortet.wood.naming import fold
from ortet.wood.speech import say
from ortet.work.remarks import photograph

from .drafting import open_parcel

__all__ = ["add_photo", "parcels"]

SORTS = {"number": "number", "sender": "sender__name", "opened": "opened_at", "finished": "finished_at"}
MOST_PHOTOS = 12


def parcels(search: str = "", *, sort: str = "-number") -> QuerySet[Received]:
    """Return the parcels received, found by number, sender or variety.

    Raises
    ------
    Refused
        If they are not sorted by that word.
    """
    word = sort.removeprefix("-")
    if word not in SORTS:
        raise Refused(
            say("Parcels are not sorted by {word!r}: say {known}.", word=word, known=", ".join(SORTS))
        )
    rows = Received.objects.select_related("sender", "by")
    for part in search.split():
        either = Q(sender__name__icontains=part) | Q(pk__in=_with_variety(part))
        rows = rows.filter(either | Q(number=int(part)) if part.isdecimal() and len(part) < 9 else either)
    field = F(SORTS[word])
    return rows.order_by(
        field.desc(nulls_last=True) if sort.startswith("-") else field.asc(nulls_first=True), "pk"
    )


def _with_variety(word: str) -> list[int]:
    """Return the parcels on whose slip a variety has this word in its name."""
    sought = fold(word)
    slips = Received.objects.order_by().values_list("pk", "said")
    return [pk for pk, said in slips if any(sought in fold(line["variety"]) for line in said["lines"])]


def add_photo(
    number: int, picture: bytes, *, by: User, at: datetime, note: str = "", id: UUID | None = None
) -> Photo:
    """Keep a photo of an open parcel; it goes with the claim."""
    with turn():
        parcel = open_parcel(number)
        if len(parcel.said["photos"]) >= MOST_PHOTOS:
            raise Refused(say("A parcel has at most {most} photos. Nothing was booked.", most=MOST_PHOTOS))
        words = note or say("parcel {number}", number=number)
        kept = photograph(picture, place=parcel.sender.code, note=words, by=by, at=at, id=id)
        if str(kept.pk) not in parcel.said["photos"]:
            parcel.said["photos"].append(str(kept.pk))
            parcel.save(update_fields=["said"])
        return kept
