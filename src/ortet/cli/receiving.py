"""The command that receives a parcel: begin it, note what was found, finish it, claim."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .app import app
from .book import As, At, Json, hand_of, measure, open_book, print_json, when

if TYPE_CHECKING:
    from ortet.work.receiving.told import LineTold, ParcelTold

WEIGHTS, LENGTHS = ("came",), ("length", "base", "tip")
FLAGS = ("scale", "mites", "wrinkled", "reportable")
WORDS = ("buds", "smell", "water", "polarity", "label", "note")
COUNTS = ("counted", "dead", "mouldy", "bored", "callus", "nodes")
HOW = "Write it like 1 counted=24 came=380g dead=2 mouldy=0 scratch=8/10 scale."


@app.command()
def receive(
    sender: Annotated[str, typer.Argument(metavar="[SENDER]", help="Who sent it: begins a new parcel.")] = "",
    line: Annotated[
        list[str] | None,
        typer.Option(help="A line of the slip: 'variety; species; count; weight'. May stand often."),
    ] = None,
    slip: Annotated[Path | None, typer.Option(help="The slip as a CSV file.")] = None,
    posted: Annotated[str, typer.Option(help="The day it was posted, such as 2027-01-15.")] = "",
    parcel: Annotated[int | None, typer.Option(help="Go on with the parcel of this number.")] = None,
    found: Annotated[
        list[str] | None,
        typer.Option(
            help="What was found of a line: '1 counted=24 came=380g dead=2 mouldy=0 scratch=8/10 scale'."
        ),
    ] = None,
    bleach: Annotated[str, typer.Option(help="What your bleach's label says, such as '5 % by mass'.")] = "",
    finish: Annotated[bool, typer.Option("--finish", help="Make lots, bags and tasks of it.")] = False,
    store: Annotated[str, typer.Option(help="The cold place for what is sound.")] = "",
    quarantine: Annotated[str, typer.Option(help="The cold place for what is kept apart.")] = "",
    bench: Annotated[str, typer.Option(help="Where lies what is soaked, dipped or struck first.")] = "Bench",
    then: Annotated[
        list[str] | None,
        typer.Option(help="Not what is advised: '1=store', strike, give up or hold. May stand often."),
    ] = None,
    treated: Annotated[list[int] | None, typer.Option(help="A line soaked and dipped already.")] = None,
    claim: Annotated[Path | None, typer.Option(help="Write the claim to the sender here, a PDF.")] = None,
    discard: Annotated[
        bool, typer.Option("--discard", help="Throw away a parcel begun by mistake; nothing of it is booked.")
    ] = False,
    template: Annotated[bool, typer.Option("--template", help="Print an empty slip to fill.")] = False,
    at: At = "",
    hand: As = "",
    as_json: Json = False,
) -> None:
    """Receive a parcel: what the slip says, what was found, what to do; makes lots, bags and tasks."""
    if template:
        from ortet.tables.columns import template as empty
        from ortet.tables.slip import RECEIVING

        print(empty("slip", RECEIVING), end="")
        return
    if bool(sender) == (parcel is not None):
        raise typer.BadParameter(
            "Name the sender of a new parcel, or --parcel with the number of one that lies open."
        )
    with open_book():
        if slip is not None and not slip.is_file():
            raise typer.BadParameter(f"There is no file {slip}. Nothing was noted.")
        from django.db import transaction

        from ortet.work import receiving
        from ortet.work.receiving.told import parcel_told

        moment, by = when(at), hand_of(hand)
        with transaction.atomic():  # all that one command says, or nothing of it
            lines = [receiving.read_line(text) for text in line or ()]
            lines += receiving.read_slip(slip.read_bytes(), slip.name) if slip else []
            if parcel is None:
                begun = receiving.begin(sender, lines=lines, posted_on=_day(posted), by=by, at=moment)
                number = begun.number
            else:
                number = parcel
                for one in lines:
                    receiving.add_line(number, one, at=moment)
            for text in found or ():
                which, said = _found(text)
                receiving.note_found(number, which, at=moment, **said)
            if bleach:
                receiving.note_parcel(number, at=moment, stock=bleach)
            if discard:
                receiving.discard(number)
                print(f"Parcel {number} is thrown away. Nothing of it was booked.")
                return
            if finish:
                receiving.finish(
                    number, store=store, quarantine=quarantine, bench=bench, then=_then(then or []),
                    treated=set(treated or ()), by=by, at=moment,
                )  # fmt: skip
        told = parcel_told(number)
        if as_json:
            print_json(_as_json(told))
        else:
            _print(told)
        if claim:
            claim.write_bytes(receiving.claim(number))
            print(f"The claim is in {claim}.")


def _day(text: str) -> date | None:
    from ortet.work import Refused

    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise Refused(f"--posted {text!r}: write 2027-01-15. Nothing was noted.") from None


def _found(text: str) -> tuple[int, dict[str, Any]]:
    """Read what was found of a line; ``note=`` takes all that follows it."""
    from ortet.work import Refused

    head, _, note = text.partition(" note=")
    first, *words = head.split()
    said: dict[str, Any] = {"note": note} if note else {}
    try:
        number = int(first)
        for word in words:
            name, _, value = word.partition("=")
            said |= _one(name, value)
    except ValueError:
        raise Refused(f"--found {text!r} cannot be read. {HOW} Nothing was noted.") from None
    return number, said


def _one(name: str, value: str) -> dict[str, Any]:
    if name in FLAGS:
        return {name: value in ("", "yes")}
    if name == "scratch":
        green, _, of = value.partition("/")
        return {"scratch_green": int(green), "scratch_of": int(of)}
    if name in WEIGHTS:
        return {f"{name}_g": measure(value, "read_mass")}
    if name in LENGTHS:
        return {f"{name}_mm": measure(value, "read_length")}
    if name in COUNTS:
        return {name: int(value)}
    if name in WORDS:
        return {name: value}
    raise ValueError(name)


def _then(said: list[str]) -> dict[int, str]:
    from ortet.work import Refused

    try:
        return {int(line): what.strip() for line, _, what in (text.partition("=") for text in said)}
    except ValueError:
        raise Refused(f"--then {', '.join(said)}: write 1=store. Nothing was noted.") from None


def _as_json(told: "ParcelTold") -> dict[str, Any]:
    from dataclasses import asdict

    parcel = told.parcel
    return {
        "parcel": parcel.number,
        "sender": parcel.sender.name,
        "posted": parcel.posted_on,
        "opened": parcel.opened_at,
        "finished": parcel.finished_at,
        "lines": [
            {
                "line": one.line,
                "variety": one.row["variety"],
                "species": one.row["species"],
                "found": one.row["found"],
                "advice": asdict(one.advice),
                "then": one.then,
                "lot": one.lot.lot.code if one.lot else None,
            }
            for one in told.lines
        ],
        "litres_of_dip": told.litres,
        "claims": told.claims,
    }


def _print(told: "ParcelTold") -> None:
    parcel = told.parcel
    state = "finished" if parcel.finished_at else "lies open"
    print(f"Parcel {parcel.number} of {parcel.sender}: {state}.")
    for one in told.lines:
        _print_line(one)
    if told.mixing:
        pours = ", ".join(f"{pour.amount} {pour.what}" for pour in told.mixing.pours)
        print(f"\nThe dip: {told.mixing.title}: {pours}.")
        for caution in told.mixing.cautions:
            print(f"Caution: {caution}")
    elif told.litres:
        print(f"\nThe dip: {told.litres} L. {told.not_mixed}")
    lots = [one.lot.lot.code for one in told.lines if one.lot]
    if lots:
        print(f"\nPrint the labels: ortet labels {' '.join(lots)}")
    elif told.may_finish:
        print(f"\nAll is looked at: ortet receive --parcel {parcel.number} --finish --store STORE")
    elif not parcel.finished_at:
        print(f"\nGo on: ortet receive --parcel {parcel.number} --found 'LINE counted=N dead=N mouldy=N'")


def _print_line(one: "LineTold") -> None:
    found, advice = one.found, one.advice
    counts = [
        f"{number} {word}"
        for number, word in (
            (found.stated, "stated"), (found.counted, "came"), (found.dead, "dead"), (found.mouldy, "mouldy"),
        )
        if number is not None
    ]  # fmt: skip
    lot = f", lot {one.lot.lot}" if one.lot else ""
    print(f"\n{one.line}. {one.name}, {one.kind}: {', '.join(counts) or 'nothing noted'}{lot}.")
    if not found.is_looked_at:
        print("   Not counted or not looked at yet.")
        return
    dip = f"{advice.dip.strength}, {advice.dip.minutes:g} min" if advice.dip else "no"
    soak = f"{advice.soak_h} h" if advice.soak_h else "no"
    print(
        f"   Soak: {soak}. Disinfect: {dip}. Keep apart: {'yes' if advice.is_apart else 'no'}. Then: {one.then}."
    )
    if advice.strike:
        print(f"   {advice.strike.says} {advice.strike.rests_on}")
    for reason in (
        *advice.soaking,
        *advice.cleaning,
        *advice.keeping_apart,
        *advice.deciding,
        *advice.naming,
    ):
        print(f"   - {reason.says}" + (f" [{reason.mark}]" if reason.mark else ""))
