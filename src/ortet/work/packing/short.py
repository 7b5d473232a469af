"""Fewer found than planned: book what was found, and plan anew at once where the missing ones come from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal
from uuid import UUID, uuid5

from django.contrib.auth.models import User

from ortet.ledger.booking import Refused, count_in, turn
from ortet.ledger.models import Movement, OrderLine, PlanKind
from ortet.ledger.places import WOOD
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.growing.selling import line_of
from ortet.work.moving import give_up
from ortet.work.plan.by_hand import sure
from ortet.work.plan.desk import latest
from ortet.work.plan.whole import plan_season

from .pack import left_of, pack
from .walk import Stop, walk

__all__ = ["Short", "found_only"]

Rest = Literal["not found", "given up"]


@dataclass(frozen=True, slots=True)
class Short:
    """What was booked of a short pick, and where the missing cuttings come from now."""

    line: OrderLine
    packed: Movement | None
    gone: Movement | None
    missing: int  # of the line, after what was found
    instead: Sequence[Stop]  # where they are to be picked now
    to_take: Sequence[tuple[str, int]]  # the mother plants they are still to be taken from, and how many
    still: int  # that come from nowhere
    why: Sequence[str]  # that is so
    told: str  # what became of the plan


def found_only(
    line: str,
    scanned: str,
    found: int,
    *,
    rest: Rest,
    by: User,
    at: datetime,
    lot: str = "",
    from_place: str | None = None,
    gone: int | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Short:
    """Pack what was found, book what is missing in the bag, and plan the season anew around what is fixed.

    Parameters
    ----------
    line, scanned, lot, from_place
        As in `pack`; where nothing was found, the lot is named.
    found : int
        Cuttings that were there and are good.
    rest : str
        What became of the others: "not found", or "given up" because they are spoilt.
    gone : int, optional
        How many of them; None: all that the book still has there.

    Raises
    ------
    Refused
        As `pack` does, or if as many were found as the line wants. What is booked stays booked where the plan cannot be made.
    """
    if rest not in ("not found", "given up"):
        raise Refused(
            say(
                "{rest!r}: say what became of the others, not found or given up. Nothing was booked.",
                rest=rest,
            )
        )
    if found < 0:
        raise Refused(say("{found} found: give 0 or more. Nothing was booked.", found=found))
    with turn():
        away = _booked_gone(id)
        if found:
            packed = pack(
                line, scanned, found, lot=lot, from_place=from_place, by=by, at=at, note=note, id=id
            )
            what, here = packed.lot, packed.from_place
        elif away:
            packed, what, here = None, away.lot, away.from_place
        else:
            packed = None
            what = find.lot(lot or scanned)
            here = find.where_lot_is(what, from_place, among=WOOD)
        wanted = line_of(line, what)
        if away is None:
            there = count_in(what, here)
            count = there if gone is None else gone
            if not 0 <= count <= there:
                raise Refused(
                    say(
                        "{count} not found: the book has {there} of lot {what} left in {here}. Nothing was booked.",
                        count=count,
                        there=there,
                        what=what,
                        here=here,
                    )
                    if rest == "not found"
                    else say(
                        "{count} given up: the book has {there} of lot {what} left in {here}. Nothing was booked.",
                        count=count,
                        there=there,
                        what=what,
                        here=here,
                    )
                )
            if count:
                away = give_up(
                    what.code,
                    count,
                    from_place=here.name,
                    not_found=rest == "not found",
                    note=note,
                    by=by,
                    at=at,
                    id=uuid5(id, "gone") if id else None,
                )
    return _planned_anew(wanted, packed, away, by=by, at=at)


def _booked_gone(id: UUID | None) -> Movement | None:
    return Movement.objects.filter(pk=uuid5(id, "gone")).first() if id else None


def _planned_anew(
    line: OrderLine, packed: Movement | None, gone: Movement | None, *, by: User, at: datetime
) -> Short:
    missing = left_of(line)
    if not missing:
        return Short(line, packed, gone, 0, (), (), 0, (), "")
    told = say("No plan was made yet: this is what else lies on hand.")
    why: list[str] = []
    to_take: list[tuple[str, int]] = []
    if latest(PlanKind.ALLOT) is not None:
        try:
            plan = plan_season(by=by, now=at, confidence=sure()).allot
        except Refused as error:
            told = say("What was found is booked; the plan stays as it was.")
            why = [str(error).removesuffix(f" {say('Nothing was planned.')}")]
        else:
            told = say("The season was planned anew.")
            short = (one for one in plan.said.get("short", []) if one["wish"] == str(line))
            why = next((one["why"] for one in short), [])
            rows = plan.picks.filter(line=line, mother__isnull=False)
            to_take = list(rows.values_list("mother__accession", "count"))
    stops = [
        replace(one, count=min(one.count, one.there))
        for one in walk(line.order.number)
        if one.line == line and one.there
    ]
    still = max(0, missing - sum(one.count for one in stops) - sum(count for _, count in to_take))
    return Short(line, packed, gone, missing, stops, to_take, still, why if still else (), told)
