"""Commands that follow wood back and forward, and say who must be told."""

import shutil
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import Json, open_book, print_json, print_table

if TYPE_CHECKING:
    from ortet.ledger.models import Nursery
    from ortet.work.trace import Recall, Row, Trace

What = Annotated[
    list[str],
    typer.Argument(
        metavar="CODE...",
        help="A lot, bag, batch, tray, bench or standing ground, a mother plant's accession, an order's number or a "
        "buyer's name; 'lot K1' or 'place K1' where two share a name.",
    ),
]
Whole = Annotated[
    bool, typer.Option("--whole", help="Everything that shares its wood: begin with the first lots of it.")
]


def _count(count: int, word: str) -> str:
    return f"{count:,} {word}" if count == 1 else f"{count:,} {word}s"


def _line(row: "Row", nursery: "Nursery") -> str:
    node = row.node
    words = [f"{node.name} ({node.mark})" if node.mark else node.name]
    words += [f"‘{node.variety}’"] if node.kind in ("mother", "lot") else []
    day = f", {row.at.astimezone(nursery.tz):%Y-%m-%d}" if row.at else ""
    words += (
        [f"{row.count} {row.came}{day}"]
        if row.came
        else [f"{row.count} {'received' if node.kind == 'sender' else 'taken'}"]
        if row.count
        else []
    )
    words += filter(None, (node.note, node.ends))
    beside = " (the other half of a graft)" if node.role == "beside" and node.kind == "lot" else ""
    return f"{', '.join(words)}{beside}"


def _print_trace(traced: "Trace", nursery: "Nursery") -> None:
    width = max(40, shutil.get_terminal_size().columns)
    print(f"Traced: {traced.asked.says}{', and all that shares its wood' * traced.whole}.\n")
    if not traced.nodes:
        print("Nothing of it is in the book.")
        return
    for row in traced.rows:
        mark = "* " if row.node.role == "asked" else "  "
        lead = mark + "  " * row.depth
        print(
            textwrap.fill(
                _line(row, nursery), width, initial_indent=lead, subsequent_indent=" " * len(lead) + "  "
            )
        )
    if traced.tally:
        print(f"\n{traced.tally.says}")
    buyers = traced.of_kind("buyer")
    if buyers:
        print(
            f'{_count(len(buyers), "buyer")} got some of it: ortet recall "{traced.asked.called}" lists them.'
        )


@app.command()
def trace(
    what: What,
    whole: Whole = False,
    in_order: Annotated[
        bool, typer.Option("--in-order", help="List each movement in order of time.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Follow wood from any code back to its mother plants and forward to every batch, standing ground and buyer."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.wood import code as codes
        from ortet.work.trace import trace as follow

        nursery = Nursery.get()
        traced = follow(" ".join(what), whole=whole)
        if as_json:
            print_json(traced.as_dict())
        elif in_order:
            print_table(
                ["when", "what", "count", "lot", "from", "to", "by", "movement"],
                [
                    [
                        f"{step.at.astimezone(nursery.tz):%Y-%m-%d}", step.what, step.count,
                        step.mark or codes.show(step.lot), step.here, step.there, step.by, step.number,
                    ]
                    for step in traced.steps
                ],
            )  # fmt: skip
        else:
            _print_trace(traced, nursery)


def _print_recall(found: "Recall", nursery: "Nursery") -> None:
    from ortet.wood import code as codes

    print(f"Recall of {found.trace.asked.says}{', and all that shares its wood' * found.trace.whole}.")
    print(
        f"\n{_count(len(found.buyers), 'buyer')} got {found.count} of it."
        if found.buyers
        else "\nNobody got any of it."
    )
    for buyer in found.buyers:
        print(f"\n{buyer.name or 'No buyer noted'}")
        for line in (*buyer.address.splitlines(), buyer.email):
            if line:
                print(f"  {line}")
        if not (buyer.address or buyer.email):
            print("  no address noted: ortet buyer NAME --address … --email …")
        for one in buyer.bought:
            order = f", order {one.order}" if one.order else ""
            lot = codes.show(one.lot) + (f" ({one.mark})" if one.mark else "")
            print(
                f"    {one.count} of {lot}, ‘{one.variety}’, {one.at.astimezone(nursery.tz):%Y-%m-%d}{order}"
            )
    if found.keep:
        print(f"\nStill here, {sum(keep.count for keep in found.keep)}: stop these.")
        print_table(
            ["place", "lot", "variety", "count"],
            [
                [keep.place, keep.mark or codes.show(keep.lot), keep.variety, keep.count]
                for keep in found.keep
            ],
        )
    if found.planned:
        print("\nThe plan gives of it to:")
        print_table(
            ["for", "order", "of", "count", "from"],
            [
                [
                    one.who,
                    one.order,
                    codes.show(one.lot) if one.lot else f"to take from {one.mother}",
                    one.count,
                    one.day,
                ]
                for one in found.planned
            ],
        )


@app.command()
def recall(
    what: What,
    whole: Whole = False,
    file: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the buyers here as a table.")
    ] = None,
    as_json: Json = False,
) -> None:
    """List everyone who got anything of some wood, what of it is still here, and what is planned from it."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.work.trace import recall as look

        found = look(" ".join(what), whole=whole)
        if file:
            file.write_text(found.table(), encoding="utf-8", newline="")
        if as_json:
            print_json(found.as_dict())
        elif file:
            print(f"{file}: {_count(len(found.buyers), 'buyer')}, {found.count} cuttings and plants.")
        else:
            _print_recall(found, Nursery.get())
