"""Commands about labels: a second scan, and whose is a bag without a name."""

import textwrap
from typing import Annotated

import typer

from ortet.wood.speech import say_number

from .app import app
from .book import Json, measure, open_book, print_json, print_table


@app.command()
def scan(
    labels: Annotated[
        list[str], typer.Argument(metavar="LABEL...", help="Codes, marks or bags' names, scanned or typed.")
    ],
    place: Annotated[str, typer.Option(help="Where they were read: a bench, a cold place, a bag.")] = "",
    as_json: Json = False,
) -> None:
    """Say whether labels match what the book says lies there. Ends with 1 where one does not. Books nothing."""
    with open_book():
        from ortet.work.scanning import scan as read

        seen = read(labels, place)
        if as_json:
            print_json(
                {
                    "fits": seen.fits,
                    "together": seen.says,
                    "labels": [
                        {
                            "text": one.text,
                            "fits": one.fits,
                            "says": one.says,
                            "lot": one.lot and str(one.lot),
                        }
                        for one in seen.labels
                    ],
                }
            )
        else:
            for one in seen.labels:
                print(textwrap.fill(f"{'matches' if one.fits else 'DOES NOT MATCH'}: {one.says}", 96))
            if seen.says:
                print(seen.says)
        raise SystemExit(not seen.fits)


@app.command()
def nameless(
    place: Annotated[str, typer.Argument(help="Where it was found: a bench, a cold place, a bag, a ground.")],
    count: Annotated[int, typer.Argument(help="Cuttings or plants in it.")],
    kind: Annotated[str, typer.Option(help="Kind of wood, such as blackcurrant, if it can be told.")] = "",
    base: Annotated[str, typer.Option(help="Usual thickness at the base, such as 8mm or 0.3in.")] = "",
    seen: Annotated[
        list[str] | None,
        typer.Option(help="A lot whose own label was found: it is not that. May be repeated."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Say which lot a bag or bundle without a name may be. Books nothing."""
    with open_book():
        from ortet.work.mixup.nameless import whose

        told = whose(
            place, count, species=kind.casefold(), base_mm=measure(base, "read_length"), seen=seen or []
        )
        if as_json:
            print_json(
                {
                    "lots": [
                        {"lot": str(one.lot), "where": one.where, "count": one.count, "chance": one.chance}
                        for one in told.lots
                    ],
                    "none": told.none,
                }
            )
            return
        print_table(
            ["chance", "lot", "variety", "the book has"],
            [
                [
                    say_number(one.chance, ".0%"),
                    one.lot.mark or one.lot,
                    one.lot.variety,
                    f"{one.count} in {one.where}",
                ]
                for one in told.lots
            ],
        )
        print(
            f"None of the book's lots: {say_number(told.none, '.0%')}. Until you are sure, sell it to nobody under a name."
        )
