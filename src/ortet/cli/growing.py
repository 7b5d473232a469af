"""Commands for what grows: strike, graft, count, pot, sell, buyers and batches."""

from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import (
    As,
    At,
    Count,
    From,
    Json,
    LotArg,
    Mark,
    Note,
    hand_of,
    measure,
    open_book,
    print_json,
    print_table,
    when,
)
from .wishes import money

if TYPE_CHECKING:
    from ortet.ledger.models import Batch
    from ortet.work.growing.batches import Struck

Bench = Annotated[str, typer.Option(help="The bench it stands on.")]
Name = Annotated[str, typer.Option(help="What the batch is called. Default: the next free number.")]
Tray = Annotated[str, typer.Option(help="What is written on its tray; several batches may share one.")]
Medium = Annotated[str, typer.Option(help="What it stands in, such as sand or perlite.")]
Treatment = Annotated[str, typer.Option(help="Of the base, in your words, such as 'K-IBA 2500 mg/l dip'.")]
Heat = Annotated[str, typer.Option(help="What the mat is set to, such as 22C or 72F.")]
BatchArg = Annotated[str, typer.Argument(metavar="BATCH", help="The batch's name or code.")]


def _tell(batch: "Batch", *sentences: str) -> None:
    for sentence in filter(None, sentences):
        print(f"Caution: {sentence}")
    print(f"Print its label: ortet labels {batch}. Count it later: ortet count {batch}")


@app.command()
def strike(
    lot: LotArg,
    bench: Bench,
    count: Count = None,
    from_place: From = "",
    name: Name = "",
    tray: Tray = "",
    medium: Medium = "",
    treatment: Treatment = "",
    wounded: Annotated[bool, typer.Option("--wounded", help="The base was wounded.")] = False,
    heat: Heat = "",
    trial: Annotated[
        int | None, typer.Option("--trial", help="The number of the trial that this is a plot of.")
    ] = None,
    plot: Annotated[
        int | None, typer.Option(help="Which of its plots; treatment and tray are then the plot's.")
    ] = None,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Strike cuttings of a lot: set them to root, as a batch."""
    with open_book():
        from ortet import work
        from ortet.ledger.booking import count_in
        from ortet.work.cautions import cautions
        from ortet.work.growing.selling import right_of
        from ortet.work.growing.striking import crowding

        batch = work.strike(
            lot,
            count,
            bench=bench,
            from_place=from_place or None,
            name=name,
            tray=tray,
            medium=medium,
            treatment=treatment,
            wounded=wounded,
            base_c=measure(heat, "read_temperature"),
            trial=trial,
            plot=plot,
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        there = batch.place.standings.latest("since").store
        struck = count_in(batch.lot, batch.place)
        print(f"Batch {batch}: {struck} of lot {batch.lot}, {batch.lot.variety}, struck on {there}.")
        _tell(batch, crowding(there), right_of(batch.lot), *cautions("strike"))


@app.command()
def graft(
    scion: Annotated[str, typer.Argument(metavar="SCION", help="The scion's lot, by code or mark.")],
    stock: Annotated[str, typer.Argument(metavar="STOCK", help="The rootstock's lot, by code or mark.")],
    count: Annotated[int, typer.Argument(metavar="COUNT", help="How many grafts.")],
    bench: Bench,
    scion_from: Annotated[
        str, typer.Option(help="Where the scions lie. Default: the only place they are.")
    ] = "",
    stock_from: Annotated[
        str, typer.Option(help="Where the stocks lie. Default: the only place they are.")
    ] = "",
    mark: Mark = "",
    name: Name = "",
    tray: Tray = "",
    medium: Medium = "",
    treatment: Treatment = "",
    heat: Heat = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Graft scions of one lot on stocks of another: a new lot of the scion's variety, as a batch."""
    with open_book():
        from ortet import work
        from ortet.work import find
        from ortet.work.cautions import cautions
        from ortet.work.growing.grafting import misfit
        from ortet.work.growing.selling import right_of
        from ortet.work.growing.striking import crowding

        batch = work.graft(
            scion,
            stock,
            count,
            bench=bench,
            scion_from=scion_from or None,
            stock_from=stock_from or None,
            mark=mark,
            name=name,
            tray=tray,
            medium=medium,
            treatment=treatment,
            base_c=measure(heat, "read_temperature"),
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        there = batch.place.standings.latest("since").store
        print(
            f"Batch {batch}: {count} {'graft' if count == 1 else 'grafts'}, lot {batch.lot}, {batch.lot.variety}, on {there}."
        )
        unlike = misfit(find.lot(scion), find.lot(stock))
        _tell(batch, unlike, crowding(there), right_of(batch.lot), *cautions("graft"))


@app.command()
def count(
    place: Annotated[
        str, typer.Argument(metavar="PLACE", help="The batch or standing ground, by name or code.")
    ],
    lot: Annotated[
        str, typer.Option(help="Which lot of a standing ground. Default: the only one there.")
    ] = "",
    rooted: Annotated[int | None, typer.Option(help="With roots; of grafts, taken.")] = None,
    callused: Annotated[int | None, typer.Option(help="With callus and no roots.")] = None,
    leafed: Annotated[int | None, typer.Option(help="In leaf without roots.")] = None,
    dead: Annotated[int | None, typer.Option(help="Dead.")] = None,
    give_up_dead: Annotated[bool, typer.Option("--give-up-dead", help="Book the dead out with it.")] = False,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Count what stands in a batch or on a standing ground."""
    with open_book():
        from ortet import work
        from ortet.work.lots import counted

        seen = work.count(
            place,
            lot=lot or None,
            rooted=rooted,
            callused=callused,
            leafed=leafed,
            dead=dead,
            give_up_dead=give_up_dead,
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        out = f" The {dead} dead are given up." if give_up_dead and dead else ""
        print(f"Lot {seen.lot} {counted(seen)}.{out}")


@app.command()
def pot(
    batch: BatchArg,
    to: Annotated[str, typer.Option(help="The standing ground the plants go to.")],
    count: Annotated[
        int | None,
        typer.Argument(metavar="[COUNT]", help="How many. Default: all that were last counted rooted."),
    ] = None,
    note: Annotated[str, typer.Option(help="A few words, such as the pot: '9 cm, peat-free'.")] = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Pot rooted cuttings on, out of their batch."""
    with open_book():
        from ortet import work

        moved = work.pot_on(batch, count, to=to, note=note, by=hand_of(hand), at=when(at))
        print(
            f"Movement {moved.number}: {moved.count} of lot {moved.lot} potted on out of {moved.from_place}, on {moved.to_place}."
        )


@app.command()
def sell(
    lot: LotArg,
    count: Count = None,
    to: Annotated[
        str, typer.Option(help="The buyer; a new name makes a new buyer. Not needed with --order.")
    ] = "",
    from_place: From = "",
    order: Annotated[str, typer.Option(help="The order they fill, such as 3, or one line of it, 3/2.")] = "",
    price: Annotated[str, typer.Option(help="Price of one, such as 4.50. Default: the order line's.")] = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Book cuttings or plants out as sold."""
    with open_book():
        from ortet import work
        from ortet.work.growing.selling import right_of

        moved = work.sell(
            lot,
            count,
            buyer=to,
            from_place=from_place or None,
            order=order,
            price=money(price, "--price"),
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        print(f"Movement {moved.number}: {moved.count} of lot {moved.lot} sold to {moved.sale.buyer}.")
        if moved.sale.price and not moved.sale.line:
            print(f"A receipt: ortet receipt --sale {moved.number}")
        if caution := right_of(moved.lot):
            print(f"Caution: {caution}")
        if not moved.sale.buyer.address and not moved.sale.buyer.email:
            print(
                f"Note where {moved.sale.buyer} is reached: ortet buyer '{moved.sale.buyer}' --address ADDRESS"
            )


def _row(one: "Struck") -> list[object]:
    from django.utils import timezone

    day = timezone.localtime(one.struck_at).date()
    return [one.name, one.variety, one.bench, day, one.struck, one.rooted, one.here]


@app.command()
def batches(
    search: Annotated[
        str, typer.Argument(help="Words to look for: name, lot, variety, tray, bench, medium, treatment.")
    ] = "",
    sort: Annotated[
        str, typer.Option(help="day, name, variety, bench, struck or here; -day turns it round.")
    ] = "-day",
    everything: Annotated[
        bool, typer.Option("--all", help="Also batches in which nothing stands any more.")
    ] = False,
    as_json: Json = False,
) -> None:
    """List batches: how many were struck, are known rooted, and stand there yet."""
    with open_book():
        from dataclasses import asdict

        from ortet.work import lists
        from ortet.work.growing.batches import batches_struck

        found = list(lists.batches(search, sort=sort, here=not everything))
        told = {one.place: one for one in batches_struck([row.pk for row in found])}
        rows = [told[row.pk] for row in found]
        if as_json:
            print_json(
                [
                    {
                        **asdict(one),
                        "here": one.here,
                        "rooted": one.rooted,
                        "is_finished": one.is_finished,
                        "bench": one.bench,
                    }
                    for one in rows
                ]
            )
        elif rows:
            head = ["batch", "variety", "bench", "day", "struck", "rooted", "here"]
            print_table(head, [_row(one) for one in rows])
        else:
            print(
                "No batch fits."
                if search
                else "No batch stands yet. Strike one: ortet strike LOT COUNT --bench NAME"
            )
