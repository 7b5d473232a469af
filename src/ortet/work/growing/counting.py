"""Counting: what stands in a batch or on a standing ground, checked against the account."""

from datetime import datetime
from itertools import pairwise
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db.models import Q, Sum
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Move, Refused, book, count_in, created, end, in_turn, told, turn
from ortet.ledger.models import Balance, Count, Kind, Lot, Movement, Place, Why
from ortet.ledger.places import GROWING
from ortet.ledger.readings import readings_that_count
from ortet.wood.speech import say, to_say
from ortet.work import find

__all__ = ["count", "counts_of", "rooted_now", "standing_at"]


def counts_of(lot: Lot, place: Place) -> list[Count]:
    """Return the counts of a lot in a place that were not withdrawn, in order of time."""
    return list(readings_that_count(Count).filter(lot=lot, place=place))


def standing_at(lot: Lot, place: Place, at: datetime) -> int:
    """Return how many of a lot stood in a place at a moment."""
    came = Movement.objects.filter(lot=lot, to_place=place, at__lte=at).aggregate(sum=Sum("count"))["sum"]
    return (came or 0) - _left(lot, place, Q(at__lte=at))


def _left(lot: Lot, place: Place, when: Q) -> int:
    left = Movement.objects.filter(when, lot=lot, from_place=place)
    return left.aggregate(sum=Sum("count"))["sum"] or 0


def rooted_now(lot: Lot, place: Place) -> int | None:
    """Return how many counted rooted are still there, potted and sold ones having been rooted; None: never counted."""
    seen = [one for one in counts_of(lot, place) if one.rooted is not None]
    if not seen:
        return None
    gone = _left(
        lot, place, Q(at__gt=seen[-1].at, why__in=(Why.POTTED, Why.PACKED, Why.SOLD), reversed_by=None)
    )
    return max(0, min((seen[-1].rooted or 0) - gone, count_in(lot, place)))


def _which(place: Place, lot: str | None) -> Lot:
    if place.kind == Kind.BATCH:
        its = place.batch.lot
        if lot and find.lot(lot) != its:
            raise Refused(
                say(
                    "Batch {place} is of lot {its}, not {lot}. Nothing was booked.",
                    place=place,
                    its=its,
                    lot=lot,
                )
            )
        return its
    if lot:
        return find.lot(lot)
    here = [row.lot for row in Balance.objects.filter(place=place, count__gt=0).select_related("lot")]
    if len(here) == 1:
        return here[0]
    if not here:
        raise Refused(say("Nothing stands on {place}. Nothing was booked.", place=place))
    raise Refused(
        say(
            "On {place} stand lots {lots}: say which. Nothing was booked.",
            place=place,
            lots=", ".join(map(str, here)),
        )
    )


WORDS = {
    "rooted": to_say("{count} rooted"),
    "callused": to_say("{count} callused"),
    "leafed": to_say("{count} leafed"),
    "dead": to_say("{count} dead"),
}


def _refuse_more_than_stand(lot: Lot, place: Place, at: datetime, counted: dict[str, int | None]) -> None:
    said = {word: number for word, number in counted.items() if number is not None}
    if not said:
        raise Refused(
            say(
                "Nothing was counted in {place}: give how many rooted, callused, leafed or dead. Nothing was booked.",
                place=place,
            )
        )
    for word, number in said.items():
        if number < 0:
            raise Refused(
                say(
                    "{counted}: a count is nothing or more. Nothing was booked.",
                    counted=say(WORDS[word], count=number),
                )
            )
    if place.kind == Kind.BATCH and at < place.batch.struck_at:
        raise Refused(
            say(
                "Batch {place} was struck on {struck_at}: give a later time. Nothing was booked.",
                place=place,
                struck_at=told(place.batch.struck_at),
            )
        )
    here = standing_at(lot, place, at)
    if sum(said.values()) > here:
        words = " + ".join(say(WORDS[word], count=number) for word, number in said.items())
        raise Refused(
            say(
                "{words} makes {total}, and {here} of lot {lot} stood in {place} on {at}. Count each cutting once. Nothing "
                "was booked.",
                words=words,
                total=sum(said.values()),
                here=here,
                lot=lot,
                place=place,
                at=told(at),
            )
        )


def _refuse_unrooted(lot: Lot, place: Place, at: datetime, rooted: int | None, dead: int | None) -> None:
    """Raise where fewer are rooted than the count before had, or more than the next has, and too few went between."""
    if rooted is None:
        return
    seen = [one for one in counts_of(lot, place) if one.rooted is not None]
    before = [(one.at, one.rooted or 0, one.dead or 0) for one in seen if one.at <= at][-1:]
    after = [(one.at, one.rooted or 0, one.dead or 0) for one in seen if one.at > at][:1]
    row = [*before, (at, rooted, dead or 0), *after]
    for (since, had, were_dead), (until, has, are_dead) in pairwise(row):
        between = Q(at__gt=since, at__lte=until, reversed_by=None)
        grown = _left(lot, place, between & Q(why__in=(Why.POTTED, Why.PACKED, Why.SOLD)))
        thrown = _left(lot, place, between & Q(why__in=(Why.GIVEN_UP, Why.LOST)))
        died = max(
            0, are_dead + thrown - were_dead
        )  # since; the dead of the count before had no roots to lose
        if has < had - grown - died:
            raise Refused(
                say(
                    "{place}: {had} rooted on {since}, {has} on {until}, and between them {grown} were potted or sold, {died} "
                    "died or were given up. Count again; book first what left, or withdraw the mistaken count. Nothing was "
                    "booked.",
                    place=place,
                    had=had,
                    since=told(since),
                    has=has,
                    until=told(until),
                    grown=grown,
                    died=died,
                )
            )


def count(
    place: str,
    *,
    by: User,
    at: datetime,
    lot: str | None = None,
    rooted: int | None = None,
    callused: int | None = None,
    leafed: int | None = None,
    dead: int | None = None,
    give_up_dead: bool = False,
    note: str = "",
    id: UUID | None = None,
) -> Count:
    """Record what stands in a batch or on a standing ground; leave out what was not counted.

    Parameters
    ----------
    place
        The batch or the standing ground; what was potted on or sold stands there no more.
    lot
        Which one, where several stand on a standing ground.
    rooted, callused, leafed, dead
        With roots (of a graft: taken), with callus only, with leaves and no roots, dead.
    give_up_dead
        Whether the dead are booked out with it.

    Raises
    ------
    Refused
        If more are counted than stand there, fewer have roots than before without as many gone since, or it was not struck yet.
    """
    with turn():
        if id and (before := Count.objects.filter(pk=id).first()):
            return before
        where = find.place(place, *GROWING)
        what = _which(where, lot)
        at = in_turn(what, where, at)
        _refuse_more_than_stand(
            what, where, at, {"rooted": rooted, "callused": callused, "leafed": leafed, "dead": dead}
        )
        _refuse_unrooted(what, where, at, rooted, dead)
        counted = created(
            Count,
            id=id or uuid7(),
            lot=what,
            place=where,
            rooted=rooted,
            callused=callused,
            leafed=leafed,
            dead=dead,
            by=by,
            at=at,
            note=note,
        )
        if give_up_dead and dead:
            given_up = uuid5(counted.pk, "dead") if id else None
            out = Move(
                what, where, end(Kind.GIVEN_UP), dead, Why.GIVEN_UP, note or say("Dead at a count"), given_up
            )
            book([out], by=by, at=at)
        return counted
