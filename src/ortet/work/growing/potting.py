"""Potting on: rooted cuttings go from their batch to a standing ground."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User

from ortet.ledger.booking import Move, Refused, book, booked_before, turn
from ortet.ledger.models import Kind, Movement, Why
from ortet.wood.speech import say
from ortet.work import find

from .counting import rooted_now

__all__ = ["pot_on"]


def pot_on(
    batch: str,
    count: int | None,
    *,
    to: str,
    by: User,
    at: datetime,
    note: str = "",
    id: UUID | None = None,
) -> Movement:
    """Pot so many of a batch (None: all that were last counted rooted) and stand them on a standing ground.

    What is potted had roots: more potted than were counted rooted is itself a count, and the newest.

    Raises
    ------
    Refused
        If fewer stand in the batch, or none was counted rooted and no number is given.
    """
    with turn():
        if before := booked_before(id, Why.POTTED, count):
            return before
        place = find.place(batch, Kind.BATCH)
        ground = find.place(to, Kind.GROUND)
        lot = place.batch.lot
        if count is None:
            count = rooted_now(lot, place)
            if not count:
                raise Refused(
                    say(
                        "None in batch {place} was counted rooted: say how many are potted. Nothing was booked.",
                        place=place,
                    )
                )
        return book([Move(lot, place, ground, count, Why.POTTED, note, id)], by=by, at=at)[0]
