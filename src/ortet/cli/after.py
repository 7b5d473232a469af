"""Commands for what comes after a parcel was sent: how it arrived, complaints, what buyers tell."""

from datetime import datetime
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

import typer

from .app import app
from .book import As, At, Note, hand_of, open_book, when
from .packing import ParcelArg

if TYPE_CHECKING:
    from ortet.ledger.models import Complaint

DAY = ["%Y-%m-%d"]


@app.command()
def arrived(
    parcel: ParcelArg,
    state: Annotated[str, typer.Argument(help="good, dry, wet, frozen, hot, damaged or missing.")],
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note how a parcel was when the buyer opened it."""
    with open_book():
        from ortet.work import packing

        noted = packing.arrived(parcel, state, note=note, by=hand_of(hand), at=when(at))
        print(f"Parcel {parcel} arrived: {noted.get_state_display()}.")


@app.command()
def complain(
    line: Annotated[str, typer.Argument(metavar="LINE", help="A line of an order, such as 3/2.")],
    what: Annotated[str, typer.Argument(help="short, name, dry, mouldy, dead, failed, late or other.")],
    count: Annotated[int, typer.Argument(help="Of how many.")],
    parcel: Annotated[int | None, typer.Option("--parcel", help="In which parcel.")] = None,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note what a buyer complains of; it stays open until it is answered."""
    with open_book():
        from ortet.work import packing

        noted = packing.complain(line, what, count, parcel=parcel, note=note, by=hand_of(hand), at=when(at))
        print(
            f"Noted: {noted.count} of {noted.line}, {noted.get_what_display()}. Answer it: {_answer(noted)}"
        )


def _answer(complaint: "Complaint") -> str:
    return f"ortet replace {complaint.line.order.number}/{complaint.line.position}"


@app.command()
def replace(
    line: Annotated[str, typer.Argument(metavar="LINE", help="The line complained of, such as 3/2.")],
    count: Annotated[
        int | None, typer.Argument(metavar="[COUNT]", help="Cuttings. Default: all that were complained of.")
    ] = None,
    complaint: Annotated[
        UUID | None,
        typer.Option("--complaint", help="Its id, where several are open: ortet outgoing --order 3 --json."),
    ] = None,
    until: Annotated[
        datetime | None,
        typer.Option("--until", formats=DAY, help="Send it by this day. Default: within a month."),
    ] = None,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Answer a complaint by a new order of the same, without a price."""
    with open_book():
        from ortet.work import packing

        about = packing.find_complaint(line, complaint)
        last = until.date() if until else None
        made = packing.replace(about.pk, count, until=last, note=note, by=hand_of(hand), at=when(at))
        print(
            f"Order {made.number} replaces them: {made.lines.get().count} of {made.lines.get().variety}, without a price."
        )


@app.command(name="report-link")
def report_link(parcel: ParcelArg, at: At = "", hand: As = "") -> None:
    """Make a link by which a parcel's buyer tells how many rooted; it is shown once, and one made before ends."""
    with open_book():
        from ortet.work import packing

        word = packing.report_link(parcel, by=hand_of(hand), at=when(at))
        print(packing.report_address(word))


@app.command()
def told(
    sale: Annotated[
        int,
        typer.Argument(metavar="MOVEMENT", help="The movement that sold them, from ortet outgoing PARCEL."),
    ],
    struck: Annotated[int, typer.Argument(metavar="SET", help="How many the buyer set, or grafted.")],
    rooted: Annotated[int, typer.Argument(metavar="ROOTED", help="How many of them rooted, or took.")],
    on: Annotated[
        datetime | None, typer.Option("--on", formats=DAY, help="When the buyer said so. Default: today.")
    ] = None,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Copy what a buyer told of cuttings that were sold; it stands apart from your own counts."""
    with open_book():
        from django.utils import timezone

        from ortet.work import packing

        moment = when(at)
        day = on.date() if on else timezone.localtime(moment).date()
        row = packing.told(sale, struck, rooted, told_on=day, note=note, by=hand_of(hand), at=moment)
        print(f"Told by the buyer: {row.rooted} of {row.struck} rooted.")
