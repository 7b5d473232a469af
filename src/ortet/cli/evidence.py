"""Command for what the counts say."""

from typing import Annotated

import typer

from .app import app
from .book import Json, open_book, print_json, print_table


@app.command()
def evidence(
    search: Annotated[str, typer.Argument(help="Words to look for: variety or species.")] = "",
    grafts: Annotated[
        bool, typer.Option("--grafts", help="Grafts that take, in place of cuttings that root.")
    ] = False,
    sort: Annotated[
        str, typer.Option(help="variety, share, struck or batches; -share turns it.")
    ] = "variety",
    told: Annotated[
        bool, typer.Option("--told", help="Only what buyers told, which stands apart from your own counts.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Say what share of each variety roots, with its doubt."""
    with open_book():
        from ortet.ledger.models import Craft
        from ortet.work import evidence as work

        craft = Craft.GRAFT if grafts else Craft.STRIKE
        if told:
            _told(search, craft, as_json=as_json)
            return
        rows, learnt = work.rates(search, sort=sort, craft=craft)
        if as_json:
            print_json([_whole(row) for row in rows])
            return
        if not rows:
            print(
                "No variety that was counted fits."
                if search
                else "No batch was counted to the end yet. Strike one and count it: ortet strike LOT COUNT --bench NAME"
            )
            return
        head = ["variety", "counted", "batches", "of a hundred", "9 times in 10", "next batch", "usual"]
        print_table(head, [_short(row) for row in rows])
        for effect in sorted(learnt.effects, key=lambda effect: -abs(effect.median)):
            low, middle, high = effect.points
            print(f"{effect.words}: {middle:+.0f} in a hundred ({low:+.0f} to {high:+.0f}).")
        if learnt.effects:
            print(
                "These batches were not laid out to be compared: what would tell is a trial, ortet trial --help."
            )


def _told(search: str, craft, *, as_json: bool) -> None:  # type: ignore[no-untyped-def]
    from ortet.work import evidence as work

    told = work.told_by_buyers(search, craft=craft)
    if as_json:
        print_json([dict(zip(("variety", "species", "parcels", "struck", "rooted", "share"),
                             (one.variety, one.species, one.parcels, one.struck, one.rooted, one.share), strict=True)) for one in told])  # fmt: skip
    elif told:
        rows = [
            [one.variety, f"{one.rooted}/{one.struck}", one.parcels, f"{100 * one.share:.0f}"] for one in told
        ]
        print_table(["variety", "told", "parcels", "of a hundred"], rows)
        print("Told by buyers: in none of your own shares.")
    else:
        print("No buyer told of any yet. Make a link for the slip: ortet report-link PARCEL")


def _short(row) -> list[object]:  # type: ignore[no-untyped-def]
    rate = row.rate
    return [
        row.variety,
        f"{rate.rooted}/{rate.struck}",
        rate.batches,
        f"{100 * rate.median:.0f}",
        f"{100 * rate.low:.0f} to {100 * rate.high:.0f}",
        f"{100 * rate.next_low:.0f} to {100 * rate.next_high:.0f}",
        f"{100 * row.usual:.0f}",
    ]


def _whole(row) -> dict[str, object]:  # type: ignore[no-untyped-def]
    rate = row.rate
    return {
        "variety": row.variety,
        "species": row.species,
        "batches": rate.batches,
        "struck": rate.struck,
        "rooted": rate.rooted,
        "share": [rate.low, rate.median, rate.high],
        "next batch": [rate.next_low, rate.next_batch.mean, rate.next_high],
        "next batch as Beta": [rate.next_batch.a, rate.next_batch.b],
        "usual": row.usual,
        "rests on": rate.words,
    }
