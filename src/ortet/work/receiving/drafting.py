"""A parcel that lies open: begun with its slip, noted on line by line and day by day, from whichever device is at hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User

from ortet.ledger.booking import Refused, Unknown, created, new_code, told, turn
from ortet.ledger.models import Kind, Nursery, Place, Received
from ortet.wood.naming import fold
from ortet.wood.speech import say

from .slip import HEAVIEST_G, SlipLine, checked

__all__ = [
    "LOOKED",
    "MEASURES",
    "add_line",
    "begin",
    "discard",
    "drop_line",
    "find_parcel",
    "found_of",
    "mend_line",
    "note_found",
    "note_parcel",
    "open_parcel",
]

MOST_LINES = 500
# What may be noted of a line; what is not noted yet is not there.
LOOKED = (
    "counted", "came_g", "wrinkled", "mouldy", "dead", "bored", "scale", "mites", "reportable", "scratch_green", "scratch_of",
    "callus", "buds", "smell", "water", "polarity", "label",
)  # fmt: skip
MEASURES = ("length_mm", "base_mm", "tip_mm", "nodes", "note")
OF_PARCEL = ("sent_g", "came_g", "stock", "note", "address")


def find_parcel(number: int) -> Received:
    """Return the parcel with this number."""
    found = Received.objects.select_related("sender", "by").filter(number=number).first()
    if found is None:
        raise Unknown(say("There is no parcel {number} that was received. Nothing was noted.", number=number))
    return found


def open_parcel(number: int) -> Received:
    """Return a parcel that is not finished, held until the end of this transaction."""
    parcel = find_parcel(number)
    if parcel.finished_at:
        raise Refused(
            say(
                "Parcel {number} was finished on {day}: what was found then stands. Correct its movements, "
                "or inspect its lots. Nothing was noted.",
                number=number,
                day=told(parcel.finished_at),
            )
        )
    return parcel


def _sender(name: str) -> Place:
    name = name.strip()
    if not name:
        raise Refused(say("Say who sent the parcel. Nothing was noted."))
    there = Place.objects.filter(kind=Kind.SENDER, name_key=fold(name)).first()
    return there or created(Place, kind=Kind.SENDER, name=name, code=new_code(Place))


def begin(
    sender: str,
    *,
    by: User,
    at: datetime,
    lines: Sequence[SlipLine] = (),
    posted_on: date | None = None,
    id: UUID | None = None,
) -> Received:
    """Open a parcel: note who sent it and what the slip says. Nothing is booked yet. Sent twice under one id, it is begun once.

    Raises
    ------
    Refused
        If a line makes no sense, or it was posted after it was opened.
    """
    with turn():
        if id and (before := Received.objects.filter(said__id=str(id)).first()):
            return before
        if posted_on and posted_on > at.astimezone(Nursery.get().tz).date():
            raise Refused(
                say(
                    "Posted on {posted_on}, opened on {opened}: one of the two is wrong. Nothing was noted.",
                    posted_on=posted_on,
                    opened=told(at),
                )
            )
        last = Received.objects.order_by("-number").values_list("number", flat=True).first() or 0
        parcel = created(
            Received,
            number=last + 1,
            sender=_sender(sender),
            posted_on=posted_on,
            opened_at=at,
            by=by,
            said={"lines": [], "found": {}, "photos": [], "id": str(id or "")},
            seen_at=at,
        )
        for line in lines:
            _append(parcel, line)
        parcel.save()
        return parcel


def _append(parcel: Received, line: SlipLine) -> dict[str, Any]:
    lines = parcel.said["lines"]
    if len(lines) >= MOST_LINES:
        raise Refused(
            say(
                "A slip of more than {most} lines: receive it as several parcels. Nothing was noted.",
                most=MOST_LINES,
            )
        )
    number = parcel.said["given"] = (
        parcel.said.get("given", 0) + 1
    )  # never given twice, so that no device notes on another line
    row = {"line": number, "found": {}, **asdict(checked(line))}
    lines.append(row)
    return row


def _keep(parcel: Received, at: datetime) -> None:
    # Later each time, though a demo's clock stands still: by this a remembered Today learns that something was noted.
    parcel.seen_at = max(at, parcel.seen_at + timedelta(microseconds=1))
    parcel.save(update_fields=["said", "seen_at", "posted_on"])


def _line(parcel: Received, line: int) -> dict[str, Any]:
    rows: list[dict[str, Any]] = parcel.said["lines"]
    for row in rows:
        if row["line"] == line:
            return row
    raise Unknown(
        say("Parcel {parcel} has no line {line}. Nothing was noted.", parcel=parcel.number, line=line)
    )


def add_line(number: int, line: SlipLine, *, at: datetime) -> int:
    """Add a line to the slip of an open parcel; return its number."""
    with turn():
        parcel = open_parcel(number)
        row = _append(parcel, line)
        _keep(parcel, at)
        return int(row["line"])


def mend_line(number: int, line: int, slip: SlipLine, *, at: datetime) -> None:
    """Write a line of the slip anew; what was found of it stays."""
    with turn():
        parcel = open_parcel(number)
        _line(parcel, line).update(asdict(checked(slip)))
        _keep(parcel, at)


def drop_line(number: int, line: int, *, at: datetime) -> None:
    """Take a line out of the slip of an open parcel, with what was found of it."""
    with turn():
        parcel = open_parcel(number)
        parcel.said["lines"].remove(_line(parcel, line))
        _keep(parcel, at)


def discard(number: int) -> None:
    """Throw away an open parcel that was begun by mistake. Nothing of it was ever booked."""
    with turn():
        open_parcel(number).delete()


def note_found(number: int, line: int, *, at: datetime, **found: Any) -> Received:
    """Note what was found of one line; None takes back what was noted. What is not named stays as it was.

    Raises
    ------
    Refused
        If what was found contradicts itself, with the figures; nothing is noted then.
    """
    with turn():
        parcel = open_parcel(number)
        row = _line(parcel, line)
        _refuse_others(found, (*LOOKED, *MEASURES))
        row["found"] = {name: value for name, value in (row["found"] | found).items() if value is not None}
        _refuse_contradictions(parcel, row)
        _keep(parcel, at)
        return parcel


def note_parcel(number: int, *, at: datetime, **found: Any) -> Received:
    """Note what concerns the parcel as a whole: the weight of all wood as sent and as it came, the bleach at hand, an address."""
    with turn():
        parcel = open_parcel(number)
        _refuse_others(found, OF_PARCEL)
        for grams in (found.get("sent_g"), found.get("came_g")):
            if grams is not None and not 0 < grams <= HEAVIEST_G:
                raise Refused(
                    say(
                        "{grams:g} g: wood weighs more than nothing, and no more than a tonne. Nothing was noted.",
                        grams=grams,
                    )
                )
        parcel.said["found"] = {
            name: value for name, value in (parcel.said["found"] | found).items() if value not in (None, "")
        }
        for row in parcel.said["lines"]:
            _refuse_contradictions(parcel, row)
        _keep(parcel, at)
        return parcel


def _refuse_others(found: Mapping[str, Any], known: Sequence[str]) -> None:
    for name in found:
        if name not in known:
            raise Refused(
                say(
                    "{name!r} is not noted of a parcel: say {known}. Nothing was noted.",
                    name=name,
                    known=", ".join(known),
                )
            )


def _refuse_contradictions(parcel: Received, row: Mapping[str, Any]) -> None:
    from ortet.decisions.receiving import BUDS, CLEAR, LABELS, SMELLS, WATERS

    of_words = {"buds": BUDS, "smell": SMELLS, "water": WATERS, "polarity": CLEAR, "label": LABELS}
    for name, words in of_words.items():
        value = row["found"].get(name)
        if value and value not in words:
            raise Refused(
                say(
                    "{name} {value!r}: say {known}. Nothing was noted.",
                    name=name.capitalize(),
                    value=value,
                    known=", ".join(words),
                )
            )
    try:
        found_of(parcel, row)
    except ValueError as error:
        raise Refused(
            say(
                "Line {line}, ‘{variety}’: {error}. Nothing was noted.",
                line=row["line"],
                variety=row["variety"],
                error=error,
            )
        ) from None


def _share_of(
    whole: float, row: Mapping[str, Any], rows: Sequence[Mapping[str, Any]], count: str
) -> float | None:
    """Return a line's part of a weight, by its count; None where a count is missing."""
    counts = [_count(one, count) for one in rows]
    mine = _count(row, count)
    if not mine or None in counts:
        return None
    return whole * mine / sum(n or 0 for n in counts)


def _count(row: Mapping[str, Any], name: str) -> int | None:
    value = row["found"].get("counted") if name == "counted" else row["count"]
    return None if value is None else int(value)


def found_of(parcel: Received, row: Mapping[str, Any]) -> Any:
    """Return what was found of a line as the decisions take it; a line not weighed has its part of the whole parcel's wood.

    Raises
    ------
    ValueError
        If it contradicts itself.
    """
    from ortet.decisions.receiving import Found

    found, whole, rows = row["found"], parcel.said["found"], parcel.said["lines"]
    sent, came = row["sent_g"], found.get("came_g")
    if (sent is None or came is None) and "sent_g" in whole and "came_g" in whole:
        sent, came = (
            _share_of(whole["sent_g"], row, rows, "count"),
            _share_of(whole["came_g"], row, rows, "counted"),
        )
    days = (parcel.opened_at.date() - parcel.posted_on).days if parcel.posted_on else None
    looked = {name: found[name] for name in LOOKED if name in found and name != "came_g"}
    return Found(
        row["species"], row["use"], stated=row["count"], sent_g=sent, came_g=came, days=days, **looked
    )
