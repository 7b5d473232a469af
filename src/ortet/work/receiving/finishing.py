"""Finish a parcel: what was found becomes lots, bags and tasks, all in one transaction or none of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User

from ortet.ledger.booking import Move, Refused, book, count_in, created, end, turn
from ortet.ledger.models import Bag, Kind, Lot, Nursery, Place, Received, ReceivedLine, TreatmentKind, Why
from ortet.wood.speech import say
from ortet.work.bagging import bag
from ortet.work.plants import add_place, named_variety
from ortet.work.reading import inspect, treat
from ortet.work.taking import BENCH, a_piece, free_code, free_mark

from .drafting import find_parcel, open_parcel
from .told import LineTold, parcel_told

__all__ = ["THEN", "finish"]

THEN = ("store", "strike", "give up", "hold")
MIDDAY = time(12)  # of the day it was posted


@dataclass(frozen=True, slots=True)
class _Chosen:
    """What is to be done with one line."""

    told: LineTold
    then: str
    is_treated: bool  # soaked and dipped already, as advised


def finish(
    number: int,
    *,
    by: User,
    at: datetime,
    store: str = "",
    quarantine: str = "",
    bench: str = BENCH,
    then: Mapping[int, str] | None = None,
    treated: frozenset[int] | set[int] = frozenset(),
    id: UUID | None = None,
) -> Received:
    """Finish a parcel: make a lot of each line, give up what is dead, bag what may be bagged; what is left to do becomes tasks.

    What is to be soaked or dipped first, or struck now, is laid on the bench; the rest goes into bags of its own, in the cold
    place or, where something was seen that spreads, in the one kept apart. Sent twice under one id, it is booked once.

    Parameters
    ----------
    store, quarantine
        The cold place for what is sound, and the one for what is kept apart; each is needed only where something goes there.
    then
        By line what is done with it, where it is not what is advised: one of `THEN`.
    treated
        Lines that were soaked and dipped already, as advised.

    Raises
    ------
    Refused
        If a line was not counted and looked at, a place is missing, or it was finished before.
    """
    with turn():
        before = find_parcel(number)
        if id and before.finished_at and before.said.get("finished") == str(id):
            return before
        parcel = open_parcel(number)
        _refuse_early(parcel, at)
        told = parcel_told(number)
        chosen = [_choose(one, then or {}, one.line in treated) for one in told.lines]
        _refuse_unready(chosen, store, quarantine)
        rows = {row["line"]: row for row in parcel.said["lines"]}
        for one in chosen:
            rows[one.told.line] |= {
                "then": one.then,
                "advised": one.told.advice.then,
                "is_treated": one.is_treated,
            }
            strike = one.told.advice.strike
            rows[one.told.line]["likely"] = asdict(strike) if strike else None
            if one.told.found.counted:
                _receive(parcel, one, by=by, at=at, store=store, quarantine=quarantine, bench=bench)
        parcel.said["finished"] = str(id or "")
        parcel.finished_at, parcel.seen_at = at, max(at, parcel.seen_at)
        parcel.save()
        return parcel


def _refuse_early(parcel: Received, at: datetime) -> None:
    if at < parcel.opened_at:
        raise Refused(
            say(
                "Parcel {parcel} was opened later than that: give a later time. Nothing was booked.",
                parcel=parcel.number,
            )
        )
    if not parcel.said["lines"]:
        raise Refused(
            say(
                "Parcel {parcel} has no line yet: note what the slip says. Nothing was booked.",
                parcel=parcel.number,
            )
        )


def _choose(one: LineTold, then: Mapping[int, str], is_treated: bool) -> _Chosen:
    what = then.get(one.line) or one.advice.then
    if what not in THEN:
        raise Refused(
            say(
                "Line {line}: {what!r}: say {known}. Nothing was booked.",
                line=one.line,
                what=what,
                known=", ".join(THEN),
            )
        )
    return _Chosen(one, what, is_treated)


def _refuse_unready(chosen: list[_Chosen], store: str, quarantine: str) -> None:
    missing = [f"{one.told.line} ({one.told.name})" for one in chosen if not one.told.found.is_looked_at]
    if missing:
        raise Refused(
            say(
                "Not counted or not looked at: line {lines}. Do that first. Nothing was booked.",
                lines=", ".join(missing),
            )
        )
    for one in chosen:
        if not one.told.found.counted:
            continue
        if _is_apart(one) and one.then != "give up" and not quarantine:
            raise Refused(
                say(
                    "Line {line}, {name}, is kept apart: say in which cold place. Nothing was booked.",
                    line=one.told.line,
                    name=one.told.name,
                )
            )
        if one.then == "store" and not _is_apart(one) and not store:
            raise Refused(
                say(
                    "Line {line}, {name}, is stored: say in which cold place. Nothing was booked.",
                    line=one.told.line,
                    name=one.told.name,
                )
            )


def _is_apart(one: _Chosen) -> bool:
    return one.told.advice.is_apart or one.then == "hold"


def _cut_at(parcel: Received) -> datetime:
    """Return when the wood was cut, as near as is known: midday of the day it was posted, else when it was opened."""
    if not parcel.posted_on:
        return parcel.opened_at
    midday = datetime.combine(parcel.posted_on, MIDDAY, Nursery.get().tz)
    return min(midday, parcel.opened_at)


def _receive(
    parcel: Received, one: _Chosen, *, by: User, at: datetime, store: str, quarantine: str, bench: str
) -> None:
    """Make the lot of one line and bring it where it is to lie."""
    row, found, advice = one.told.row, one.told.found, one.told.advice
    seen = row["found"]
    piece = a_piece(*(seen.get(name) for name in ("length_mm", "base_mm", "tip_mm", "nodes")))
    lot = created(
        Lot,
        code=free_code(None),
        mark=free_mark(row.get("mark")),
        variety=named_variety(row["variety"], row["species"]),
        made_at=parcel.opened_at,
        taken_at=_cut_at(parcel),
        use=row["use"],
        length_mm=piece.length_mm,
        base_mm=piece.base_mm,
        tip_mm=piece.tip_mm,
        nodes=piece.nodes,
        note=_note(parcel, one),
    )
    there = add_place(quarantine, Kind.STORE) if quarantine and _is_apart(one) else None
    waits = not one.is_treated and one.then != "give up" and (advice.soak_h > 0 or advice.dip is not None)
    must_dip = advice.dip is not None and one.then in ("store", "strike")
    created(
        ReceivedLine,
        received=parcel,
        position=one.told.line,
        lot=lot,
        soaks_until=at + timedelta(hours=advice.soak_h) if waits and advice.soak_h else None,
        dip=advice.dip.strength if advice.dip and must_dip and not one.is_treated else "",
        dip_minutes=advice.dip.minutes if advice.dip and must_dip and not one.is_treated else None,
        apart=there,
        is_held=one.then == "hold",
    )
    laid = add_place(bench, Kind.BENCH)
    book([Move(lot, parcel.sender, laid, found.counted or 0, Why.RECEIVED)], by=by, at=parcel.opened_at)
    _look(lot, laid, one, by, parcel.opened_at)
    if one.is_treated and advice.dip:
        treat(
            laid.code, TreatmentKind.DISINFECT, lot=lot.code, agent="bleach", strength=advice.dip.strength,
            minutes=advice.dip.minutes, by=by, at=at,
        )  # fmt: skip
    gone = found.counted or 0 if one.then == "give up" else min(advice.give_up, found.counted or 0)
    if gone and one.then != "hold":
        why = say("dead or bored on arrival") if one.then != "give up" else say("given up on arrival")
        book([Move(lot, laid, end(Kind.GIVEN_UP), gone, Why.GIVEN_UP, why)], by=by, at=at)
    if one.then in ("store", "hold") and not waits and count_in(lot, laid):
        goes_in = there or add_place(store, Kind.STORE)
        bag([(lot.code, None, laid.code)], store=goes_in.name, by=by, at=at, **_usual_make())


def _note(parcel: Received, one: _Chosen) -> str:
    words = [say("From {sender}, parcel {parcel}.", sender=parcel.sender, parcel=parcel.number)]
    if one.told.found.label == "unreadable":
        words.append(say("Its label was unreadable: the name is doubtful."))
    if one.told.found.label == "missing":
        words.append(say("Its label was missing: the name is doubtful."))
    words += [one.told.row["found"]["note"]] if one.told.row["found"].get("note") else []
    return " ".join(words)


def _look(lot: Lot, laid: Place, one: _Chosen, by: User, at: datetime) -> None:
    """Record what was seen as an inspection, so that it counts wherever inspections count."""
    found = one.told.found
    tested = found.scratch_of or None
    sound = (found.counted or 0) - (found.mouldy or 0) - (found.dead or 0)
    inspect(
        laid.code, lot=lot.code, sound=sound, mouldy=found.mouldy, dry=found.dead, scratch_green=found.scratch_green if tested else None,
        scratch_of=tested, callus=found.callus,
        free_water=found.water, note=say("on arrival"), by=by, at=at,
    )  # fmt: skip


def _usual_make() -> dict[str, Any]:
    """Return the make of the bag closed last, without packing: whoever bags a parcel takes the bags that lie at hand."""
    last = Bag.objects.order_by("-closed_at").first()
    if last is None:
        return {}
    names = ("polymer", "thickness_um", "layers", "width_mm", "height_mm", "closure")
    return {name: getattr(last, name) for name in names}
