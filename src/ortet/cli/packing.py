"""Commands for what goes out: pick, pack, send, and the parcels."""

from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import As, At, From, Json, Note, hand_of, measure, open_book, print_json, print_table, when

if TYPE_CHECKING:
    from ortet.work.packing import Short, Stop
    from ortet.work.packing.showing import ParcelView

LineArg = Annotated[
    str,
    typer.Argument(
        metavar="LINE", help="A line of an order, 3/2; or 3 where the lot's variety is in one line only."
    ),
]
Scanned = Annotated[
    str,
    typer.Argument(
        metavar="LABEL", help="What the label says: code or mark of the lot, code or name of the bag."
    ),
]
LotOption = Annotated[
    str, typer.Option("--lot", help="Pack this lot on purpose, by code or mark. Default: what the walk has.")
]
ParcelArg = Annotated[int, typer.Argument(metavar="PARCEL", help="A parcel's number.")]


def _stop(stop: "Stop") -> dict[str, object]:
    return {
        "store": stop.store,
        "place": stop.place.name,
        "place_code": stop.place.code,
        "lot": stop.lot.code,
        "mark": stop.lot.mark or "",
        "variety": stop.lot.variety.name,
        "count": stop.count,
        "there": stop.there,
        "order": stop.line.order.number,
        "line": stop.line.position,
        "buyer": stop.line.order.buyer.name,
        "from": stop.day,
        "note": stop.note,
    }


@app.command()
def pick(
    order: Annotated[
        int | None, typer.Option("--order", help="One order only. Default: what is due this week.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Show which bags to open, in the order in which they stand, and what to take out for whom."""
    with open_book():
        from ortet.work.packing import halted_lines, walk

        stops = walk(order)
        if as_json:
            print_json([_stop(stop) for stop in stops])
            return
        for halted, why in halted_lines(order):
            print(f"{str(halted).capitalize()}: {why}")
        if not stops:
            print("Nothing is left to be picked of it." if order else "Nothing is due this week.")
            return
        rows = [
            [stop.store, stop.place, stop.name, stop.lot.variety.name, stop.count,
             f"{stop.line.order.number}/{stop.line.position} {stop.line.order.buyer}", stop.note or (f"only {stop.there} there" if stop.is_short else "")]
            for stop in stops
        ]  # fmt: skip
        print_table(["cold place", "bag", "lot", "variety", "count", "for", ""], rows)
        first = stops[0]
        print(f"Pack: ortet pack {first.line.order.number}/{first.line.position} LABEL {first.count}")


@app.command()
def pack(
    line: LineArg,
    scanned: Scanned,
    count: Annotated[
        int | None,
        typer.Argument(metavar="[COUNT]", help="Cuttings. Default: all that are to be picked there."),
    ] = None,
    lot: LotOption = "",
    from_place: From = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
    as_json: Json = False,
) -> None:
    """Pack cuttings for a line of an order, once the scanned label has proved the bag."""
    with open_book():
        from ortet.work import packing

        moved = packing.pack(
            line,
            scanned,
            count,
            lot=lot,
            from_place=from_place or None,
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        if as_json:
            print_json(
                {"movement": moved.number, "parcel": moved.to_place.parcel.number, "lot": moved.lot.code, "count": moved.count,
                 "from": moved.from_place.name, "order": moved.packing.line.order.number, "line": moved.packing.line.position}
            )  # fmt: skip
            return
        print(
            f"Movement {moved.number}: {moved.count} of lot {moved.lot}, {moved.lot.variety}, into {moved.to_place}."
        )


@app.command(name="found-only")
def found_only(
    line: LineArg,
    scanned: Scanned,
    found: Annotated[int, typer.Argument(metavar="FOUND", help="Cuttings that were there and are good.")],
    rest: Annotated[
        str, typer.Option("--rest", help="What became of the others: 'not found' or 'given up'.")
    ] = "not found",
    gone: Annotated[
        int | None,
        typer.Option("--gone", help="How many of them. Default: all that the book still has there."),
    ] = None,
    lot: LotOption = "",
    from_place: From = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
    as_json: Json = False,
) -> None:
    """Fewer were found than planned: pack them, book the rest out, and plan the season anew at once."""
    with open_book():
        from ortet.work import packing

        by, moment = hand_of(hand), when(at)
        place = from_place or None
        short = packing.found_only(
            line, scanned, found, rest=rest, gone=gone, lot=lot, from_place=place, note=note, by=by, at=moment
        )  # fmt: skip
        if as_json:
            print_json(_short(short))
            return
        print(f"{short.packed.count} packed." if short.packed else "Nothing packed.")
        if short.gone:
            print(f"{short.gone.count} {short.gone.get_why_display()}.")
        if short.missing:
            print(f"{str(short.line).capitalize()} still lacks {short.missing}. {short.told}")
        for stop in short.instead:
            print(f"  Pick {stop.count} of {stop.name} from {stop.place}.")
        for mother, many in short.to_take:
            print(f"  {many} are still to be taken from {mother}.")
        if short.still:
            print(f"  {short.still} stay short. {' '.join(short.why)}")


def _short(short: "Short") -> dict[str, object]:
    return {
        "packed": short.packed.count if short.packed else 0,
        "gone": short.gone.count if short.gone else 0,
        "missing": short.missing,
        "instead": [_stop(stop) for stop in short.instead],
        "to_take": [{"mother": mother, "count": count} for mother, count in short.to_take],
        "short": short.still,
        "why": list(short.why),
        "told": short.told,
    }


@app.command()
def send(
    parcel: ParcelArg,
    gross: Annotated[str, typer.Option(help="What the closed parcel weighs, such as 840g or 1lb 14oz.")] = "",
    carrier: Annotated[str, typer.Option(help="Who takes it.")] = "",
    tracking: Annotated[str, typer.Option(help="The number by which it is followed.")] = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
    as_json: Json = False,
) -> None:
    """Give a parcel to the carrier: all that lies in it is sold to its buyer."""
    with open_book():
        from ortet.work import packing

        grams = measure(gross, "read_mass")
        said = {"gross_g": grams, "carrier": carrier, "tracking": tracking, "note": note}
        done = packing.send(parcel, by=hand_of(hand), at=when(at), **said)
        link = packing.report_address(done.word) if done.word else ""
        count, buyer = sum(one.count for one in done.movements), done.sending.parcel.order.buyer
        if as_json:
            print_json(
                {
                    "parcel": parcel,
                    "count": count,
                    "movements": [one.number for one in done.movements],
                    "link": link,
                }
            )
            return
        print(f"Parcel {parcel} is sent: {count} cuttings are sold to {buyer}.")
        if link:
            print(f"For the slip, shown this once: {link}")


@app.command()
def outgoing(
    parcel: Annotated[
        int | None, typer.Argument(metavar="[PARCEL]", help="One parcel. Default: the list.")
    ] = None,
    search: Annotated[
        str, typer.Option("--search", help="Words to look for: buyer, variety, order, tracking number.")
    ] = "",
    sort: Annotated[
        str, typer.Option(help="number, order, buyer, count or sent; -number turns it round.")
    ] = "-number",
    still: Annotated[bool, typer.Option("--still", help="Only what was not sent yet.")] = False,
    order: Annotated[
        int | None, typer.Option("--order", help="What came after the parcels of one order.")
    ] = None,
    as_json: Json = False,
) -> None:
    """List the parcels packed here; show one, or what came after those of an order."""
    with open_book():
        from ortet.work.packing import showing

        if parcel is not None:
            _one(showing.view(parcel), as_json=as_json)
            return
        if order is not None:
            _after(order, as_json=as_json)
            return
        rows = [
            [one.number, one.order.buyer.name, one.order.number, one.count, _sent(one)]
            for one in showing.parcels(search, sort=sort, still=still)
        ]
        head = ["parcel", "to", "order", "cuttings", "sent"]
        if as_json:
            print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            print_table(head, rows)
        else:
            print("No parcel fits." if search or still else "No parcel was packed yet. Begin: ortet pick")


def _sent(parcel: object) -> date | str:
    from django.utils import timezone

    sending = getattr(parcel, "sending", None)
    return timezone.localtime(sending.at).date() if sending else ""


def _one(seen: "ParcelView", *, as_json: bool) -> None:
    inside = [
        {"line": one.line.position, "lot": one.lot.code, "variety": one.lot.variety.name, "count": one.count, "from": one.bag.name,
         "movements": list(one.numbers)}
        for one in seen.contents
    ]  # fmt: skip
    missing = [
        {"line": row.line.position, "variety": row.line.variety.name, "missing": row.left}
        for row in seen.lines
        if row.left
    ]
    gross = seen.parcel.sending.gross_g if seen.is_sent else None
    if as_json:
        whole = {
            "parcel": seen.parcel.number,
            "order": seen.parcel.order.number,
            "buyer": seen.parcel.order.buyer.name,
        }
        weights = {"wood_g": seen.wood_g, "gross_g": gross}
        print_json(
            {
                **whole,
                "sent": _sent(seen.parcel),
                **weights,
                "contents": inside,
                "missing": missing,
                "told": _told(seen),
            }
        )
        return
    print(
        f"Parcel {seen.parcel.number} to {seen.parcel.order.buyer}, order {seen.parcel.order.number}: {_sent(seen.parcel) or 'not sent yet'}"
    )
    print_table(["line", "lot", "variety", "count", "from"], [list(row.values())[:5] for row in inside])
    for row in missing:
        print(f"Line {row['line']} lacks {row['missing']} of {row['variety']}.")
    for row in _told(seen):
        print(
            f"Movement {row['sale']} sold {row['count']} of {row['variety']}; told: {row['rooted']} of {row['struck']} rooted."
        )


def _told(seen: "ParcelView") -> list[dict[str, object]]:
    return [
        {"sale": one.movement.number, "variety": one.variety, "count": one.count,
         "struck": one.last.struck if one.last else None, "rooted": one.last.rooted if one.last else None}
        for one in seen.sold
    ]  # fmt: skip


def _after(order: int, *, as_json: bool) -> None:
    from ortet.work.orders import find_order
    from ortet.work.packing import aftermath

    after = aftermath(find_order(order))
    arrivals = [
        {"parcel": one.parcel.number, "state": one.state, "at": one.at, "note": one.note}
        for one in after.arrivals
    ]
    complaints = [
        {"id": one.pk, "line": one.line.position, "what": one.what, "count": one.count, "at": one.at, "note": one.note, "answer": str(answer), "left": answer.left}
        for one, answer in after.complaints
    ]  # fmt: skip
    if as_json:
        print_json({"order": order, "arrivals": arrivals, "complaints": complaints})
        return
    for row in arrivals:
        print(f"Parcel {row['parcel']} arrived: {row['state']}. {row['note']}".rstrip())
    for row in complaints:
        left = f", {row['left']} left" if row["answer"] and row["left"] else ""
        print(
            f"Line {row['line']}: {row['count']} {row['what']}, {row['answer'] or 'open'}{left}. {row['note']}".rstrip()
        )
    if not arrivals and not complaints:
        print("Nothing was heard of it.")
