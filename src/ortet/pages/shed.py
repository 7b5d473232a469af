"""Records that phones made where there was no signal: each booked once by the deed that its form would have asked for."""

import base64
import binascii
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.db.models import Model
from django.utils import timezone

from ortet import work
from ortet.ledger.booking import told
from ortet.ledger.models import Count, Inspection, Movement, Note, Nursery, Photo, Standing, Weighing
from ortet.pages.forms import growing, moving, reading, remarks
from ortet.pages.forms.deed import CLOCKS_DIFFER, Deed
from ortet.pages.forms.fields import FORMATS, CodeField
from ortet.wood.speech import say
from ortet.work import Refused
from ortet.work.growing.striking import crowding

__all__ = ["ACTS", "MOST", "answers"]

MOST = 200  # records in one go


class _Carry(moving.Stand):
    """Stand a bag elsewhere, from where the phone knew it."""

    from_store = CodeField(required=False)


@dataclass(frozen=True, slots=True)
class Act:
    """One of the few acts in the shed: its form, its deed, and the rows that it makes."""

    asks: type[Deed]
    does: Callable[..., Any]
    rows: type[Model]


ACTS = {
    "move": Act(moving.Move, work.move, Movement),
    "stand": Act(_Carry, work.stand, Standing),
    "weigh": Act(reading.Weigh, work.weigh, Weighing),
    "inspect": Act(reading.Inspect, work.inspect, Inspection),
    "count": Act(growing.Count, work.count, Count),
    "strike": Act(growing.Strike, work.strike, Movement),
    "give-up": Act(moving.GiveUp, work.give_up, Movement),
    "note": Act(remarks.Note, work.note, Note),
    "photo": Act(remarks.Photograph, work.photograph, Photo),
}


@dataclass(frozen=True, slots=True)
class _Record:
    """A record as a phone sent it."""

    id: UUID
    act: Act
    at: datetime
    by: str  # whose the phone was when it was made
    about: frozenset[str]  # the lot, bag and batch that it changes or tells of
    said: dict[str, str]
    picture: bytes | None


def answers(records: Sequence[object], *, by: User, nursery: Nursery) -> list[dict[str, str]]:
    """Book what phones recorded, in order; say of each what became of it.

    Returns
    -------
    list of dict
        `id` as it was sent; `became`: booked, known (booked before), refused, or held, because an earlier record about the same
        lot, bag or batch was refused; `says`: why.
    """
    told_of, held = [], set[str]()
    for sent in records:
        id = str(sent.get("id", "")) if isinstance(sent, dict) else ""
        about = _about(sent)
        if about & held:
            held |= about
            told_of.append(
                {"id": id, "became": "held", "says": say("An earlier record of it waits to be mended.")}
            )
            continue
        try:
            became, says = _booked(_read(sent), by, nursery)
        except Refused as error:
            held |= about
            became, says = "refused", str(error)
        told_of.append({"id": id, "became": became, "says": says})
    return told_of


def _about(sent: object) -> frozenset[str]:
    codes = sent.get("about") if isinstance(sent, dict) else None
    return frozenset(map(str, codes)) if isinstance(codes, list) else frozenset()


def _read(sent: object) -> _Record:
    """Return a record, its outer shape checked; what it says is for its form to read."""
    if not isinstance(sent, dict) or not isinstance(said := sent.get("said"), dict):
        raise Refused(say("This is no record. Nothing was booked."))
    if (act := ACTS.get(str(sent.get("act")))) is None:
        raise Refused(
            say("{act!r} is none of {acts}. Nothing was booked.", act=sent.get("act"), acts=", ".join(ACTS))
        )
    try:
        id, at = UUID(str(sent.get("id"))), datetime.fromisoformat(str(sent.get("at")))
        picture = base64.b64decode(sent["picture"], validate=True) if sent.get("picture") else None
    except (ValueError, TypeError, binascii.Error):
        raise Refused(
            say("Its id, time or picture cannot be read: record it anew. Nothing was booked.")
        ) from None
    if at.tzinfo is None:
        raise Refused(say("{at!r} says no time zone: record it anew. Nothing was booked.", at=sent["at"]))
    words = {
        name: "on" if value is True else str(value)
        for name, value in said.items()
        if value not in (None, False, "") and isinstance(value, (str, int, float, bool))
    }
    return _Record(id, act, at, str(sent.get("by", "")), _about(sent), words, picture)


def _booked(record: _Record, by: User, nursery: Nursery) -> tuple[str, str]:
    if record.act.rows.objects.filter(pk=record.id).exists():
        return "known", say("Booked before.")
    if record.by != by.username:
        raise Refused(
            say(
                "{by} recorded this, and this phone now books as {username}. Send it as {username}, or pair the phone as "
                "before. Nothing was booked.",
                by=record.by or say("Somebody else"),
                username=by.username,
            )
        )
    if record.at > nursery.now() + CLOCKS_DIFFER:
        raise Refused(
            say(
                "{moment} is still to come: give the time it was done, and set the phone's clock. Nothing was booked.",
                moment=told(record.at),
            )
        )
    made = record.act.does(**_deed(record, nursery), by=by)
    return "booked", crowding(
        made.place.standings.latest("since").store
    ) if record.act.does is work.strike else ""


def _deed(record: _Record, nursery: Nursery) -> dict[str, Any]:
    """Return what to hand to the deed, as its form reads what was said."""
    at = timezone.localtime(record.at)
    when = {"id": str(record.id), "at": at.strftime(FORMATS[0]), "opened": record.at.isoformat()}
    form = record.act.asks(nursery, record.said | when, is_shown=False)
    if not form.is_valid():
        wrong = [
            " ".join(
                [f"{form.fields[name].label}:" if name in form.fields else "", *map(str, errors)]
            ).strip()
            for name, errors in form.errors.items()
        ]
        raise Refused(say("{wrong} Nothing was booked.", wrong=" ".join(wrong)))
    said = form.deed() | {"at": record.at}  # the form knows the minute only
    if record.act.does is work.photograph:
        if record.picture is None:
            raise Refused(say("The photo did not come along: take it again. Nothing was booked."))
        said["picture"] = record.picture
    return said
