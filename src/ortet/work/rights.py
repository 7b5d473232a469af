"""Protected varieties: what stops a line of one until a licence or an exemption is noted. Ortet decides nothing about rights."""

from datetime import date, datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Q
from django.utils import timezone
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Refused, created, turn
from ortet.ledger.models import Leave, Variety, Warrant
from ortet.ledger.readings import readings_that_count
from ortet.wood.speech import say, short_month

from .plants import find_variety

__all__ = ["latest_warrants", "protected", "refuse_if_stopped", "stopped", "stops", "warrant"]


def protected(day: date) -> Q:
    """Return the condition that a right is noted for a variety whose last day, where one is noted, is not past."""
    return ~Q(right="") & (Q(right_until=None) | Q(right_until__gte=day))


def latest_warrants() -> dict[int, Warrant]:
    """Return the warrant that counts of each variety that has one, by the variety's key."""
    return {row.variety_id: row for row in readings_that_count(Warrant)}


def stopped(day: date) -> dict[int, str]:
    """Return why each protected variety may not be planned, picked or sold on a day, by its key."""
    kept = list(Variety.objects.filter(protected(day)))
    warrants = latest_warrants() if kept else {}
    said = {one.pk: _why(one, warrants.get(one.pk), day) for one in kept}
    return {key: why for key, why in said.items() if why}


def stops(variety: Variety, day: date) -> str:
    """Return why a variety may not be planned, picked or sold on a day, and what to do; nothing where it may."""
    if not variety.right_on(day):
        return ""
    return _why(variety, readings_that_count(Warrant).filter(variety=variety).last(), day)


def _said(day: date) -> str:
    return f"{day.day} {short_month(day)} {day.year}"


def _why(variety: Variety, last: Warrant | None, day: date) -> str:
    if last and last.leave != Leave.ENDED and (last.until is None or last.until >= day):
        return ""
    if last is None:
        lacks = say("no licence or exemption is noted")
    elif last.leave == Leave.ENDED:
        lacks = say("its licence or exemption is noted as ended")
    else:
        assert last.until
        lacks = say("its {leave} held until {day}", leave=last.get_leave_display(), day=_said(last.until))
    return say(
        "{variety} is protected ({right}), and {lacks}. Ask the rights holder; whether an exemption holds is for the law "
        "where you are. Then note it: Record, A licence or exemption; or ortet warrant {name!r}.",
        variety=variety,
        right=variety.right,
        lacks=lacks,
        name=variety.name,
    )


def refuse_if_stopped(variety: Variety, day: date) -> None:
    """Refuse wood of a protected variety without a licence or an exemption.

    Raises
    ------
    Refused
        It says what to do.
    """
    if why := stops(variety, day):
        raise Refused(say("{why} Nothing was booked.", why=why))


def warrant(
    variety: str,
    leave: str,
    *,
    by: User,
    at: datetime,
    words: str = "",
    until: date | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Warrant:
    """Note the licence or exemption under which a protected variety is propagated and sold, or that it ended.

    Parameters
    ----------
    leave : str
        One of `Leave`: licence, exemption, ended.
    words : str
        Of whom, its number, what it allows; needed unless it ended.
    until : date, optional
        Its last day.

    Raises
    ------
    Refused
        If the variety has no right noted, the words are missing, or the last day is past.
    Unknown
        If the variety is not in the book.
    """
    with turn():
        if id and (before := Warrant.objects.filter(pk=id).first()):
            return before
        what = find_variety(variety)
        if leave not in Leave.values:
            raise Refused(
                say(
                    "{leave!r}: say {values}. Nothing was booked.",
                    leave=leave,
                    values=", ".join(Leave.values),
                )
            )
        if not what.right:
            raise Refused(
                say(
                    "No right is noted for {what}, so that nothing stops it. Note the right first. Nothing was booked.",
                    what=what,
                )
            )
        if leave != Leave.ENDED and not words.strip():
            raise Refused(
                say(
                    "Say in a few words of whom the licence is, its number and what it allows, or on what ground it is "
                    "exempt. Nothing was booked."
                )
            )
        if leave == Leave.ENDED and until:
            raise Refused(say("What ended has no last day to come. Leave it empty. Nothing was booked."))
        if until and until < timezone.localdate(at):
            raise Refused(
                say(
                    "Its last day, {until}, is past. Say that it ended, or give a later day. Nothing was booked.",
                    until=_said(until),
                )
            )
        return created(
            Warrant,
            id=id or uuid7(),
            variety=what,
            leave=leave,
            words=words.strip(),
            until=until,
            by=by,
            at=at,
            note=note,
        )
