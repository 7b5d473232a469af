"""Commands that show: today, lists, one lot, labels, the recount."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import Json, LotArg, open_book, print_json, print_table

if TYPE_CHECKING:
    from ortet.work.today import Today


@app.command()
def today(as_json: Json = False) -> None:
    """Say what to do now, in order of what waiting costs."""
    with open_book():
        from ortet.work.today import today as look

        day = look()
        if as_json:
            from dataclasses import asdict

            print_json(
                {
                    "now": day.now,
                    "lots": day.lots,
                    "cuttings": day.cuttings,
                    "tasks": [asdict(task) for task in day.tasks],
                }
            )
            return
        print_today(day)


def print_today(day: "Today") -> None:
    """Print the tasks as a stranger can read them: the act, the reason, where, and the command that records it."""
    import shutil
    import textwrap

    from ortet.ledger.models import Nursery

    width = min(shutil.get_terminal_size().columns, 100)
    nursery = Nursery.get()
    local = day.now.astimezone(nursery.tz)
    stands = " (a demo season: it stands still at this moment)" if nursery.fixed_now else ""
    print(f"{nursery.name}, {local:%A} {local.day} {local:%B %Y %H:%M}{stands}")
    print(
        f"{day.cuttings:,} cuttings in {day.lots} lots kept. {len(day.tasks)} things to do, the dearest to put off first.\n"
    )
    for number, task in enumerate(day.tasks, 1):
        first, rest = f"{number:>3}  ", "     "
        print(textwrap.fill(task.act, width, initial_indent=first, subsequent_indent=rest))
        print(textwrap.fill(task.reason, width, initial_indent=rest, subsequent_indent=rest))
        at_stake = (
            f"Waiting a week: about {task.waiting:.1f} cuttings lost.  " if task.waiting >= 0.05 else ""
        )
        if task.command or at_stake:
            print(f"{rest}{at_stake}{task.command}")
        print()
    if not day.tasks:
        print("Nothing presses. Take wood: ortet take ACCESSION COUNT. Load files: ortet load FILES")


@app.command()
def lots(
    search: Annotated[
        str, typer.Argument(help="Words to look for: code, mark, variety, species, accession, place.")
    ] = "",
    sort: Annotated[str, typer.Option(help="day, variety, count or lot; -day turns it round.")] = "-day",
    everything: Annotated[bool, typer.Option("--all", help="Also lots of which nothing is left.")] = False,
    as_json: Json = False,
) -> None:
    """List lots."""
    with open_book():
        from django.utils import timezone

        from ortet.work import lists

        rows = [
            [
                str(lot),
                lot.mark,
                lot.variety.name,
                lot.variety.species,
                timezone.localtime(lot.made_at).date(),
                lot.grade,
                lot.on_hand,
            ]
            for lot in lists.lots(search, sort=sort, on_hand=not everything)
        ]
        head = ["lot", "mark", "variety", "species", "day", "grade", "on hand"]
        if as_json:
            print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            print_table(head, rows)
        else:
            print("No lot fits." if search else "No lot is on hand. Take wood: ortet take ACCESSION COUNT")


@app.command()
def places(
    search: Annotated[str, typer.Argument(help="Words to look for.")] = "",
    sort: Annotated[str, typer.Option(help="name, kind or count.")] = "name",
    as_json: Json = False,
) -> None:
    """List benches, cold places, bags, batches, standing grounds and sites."""
    with open_book():
        from ortet.work import lists

        head = ["place", "kind", "lots", "cuttings"]
        rows = [[p.name, p.get_kind_display(), p.lots, p.on_hand] for p in lists.places(search, sort=sort)]
        if as_json:
            print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            print_table(head, rows)
        else:
            print(
                "No place fits."
                if search
                else "There is no place yet. Add a cold place: ortet add-place NAME"
            )


@app.command()
def mothers(
    search: Annotated[str, typer.Argument(help="Words to look for.")] = "",
    sort: Annotated[str, typer.Option(help="accession, variety or taken.")] = "accession",
    as_json: Json = False,
) -> None:
    """List mother plants."""
    with open_book():
        from ortet.work import lists

        head = ["accession", "variety", "species", "site", "taken"]
        rows = [
            [m.accession, m.variety.name, m.variety.species, m.site, m.taken]
            for m in lists.mothers(search, sort=sort)
        ]
        if as_json:
            print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            print_table(head, rows)
        else:
            print(
                "No mother plant fits."
                if search
                else "There is none yet: ortet add-mother ACCESSION VARIETY SPECIES"
            )


@app.command()
def lot(lot: LotArg, as_json: Json = False) -> None:
    """Show one lot: where it is, how it fares, what happened to it."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.work.lots import view
        from ortet.work.today import season_forecast

        nursery = Nursery.get()
        found = view(lot)
        _, forecasts = season_forecast(nursery.now(), found.lot)
        said = [(f.place, f.sentences()) for f in forecasts]
        if as_json:
            print_json(
                {
                    "lot": str(found.lot),
                    "mark": found.lot.mark,
                    "variety": found.lot.variety.name,
                    "where": {balance.place.name: balance.count for balance in found.where},
                    "forecast": {place: list(sentences) for place, sentences in said},
                    "came_from": {str(link.parent): link.count for link in found.came_from},
                    "became": {str(link.child): link.count for link in found.became},
                    "events": [
                        [event.at, event.number, event.what, event.by, event.note] for event in found.events
                    ],
                }
            )
            return
        mark = f" ({found.lot.mark})" if found.lot.mark else ""
        print(
            f"{found.lot}{mark}  {found.lot.variety}, {found.lot.variety.species}, {found.lot.get_use_display()}"
        )
        for balance in found.where:
            print(f"  {balance.count} in {balance.place}")
        for place, sentences in said:
            print(f"\n{place}:")
            for sentence in sentences:
                print(f"  {sentence}")
        print()
        for event in found.events:
            number = f"{event.number}" if event.number else ""
            void = " (taken back)" if event.is_void else ""
            note = f": {event.note}" if event.note else ""
            print(
                f"  {event.at.astimezone(nursery.tz):%Y-%m-%d %H:%M}  {number:>5}  {event.what}{void}{note}"
            )


@app.command()
def labels(
    lots: Annotated[list[str], typer.Argument(metavar="LOT...", help="Lots or batches to print labels for.")],
    kind: Annotated[str, typer.Option(help="bag, or wrap for labels round single cuttings.")] = "bag",
    paper: Annotated[str, typer.Option(help="a4 or letter. Default: what the nursery prints on.")] = "",
    skip: Annotated[int, typer.Option(min=0, help="Places of the first sheet that are used up.")] = 0,
    each: Annotated[
        bool, typer.Option("--each", help="One for each cutting on hand, not one for each lot.")
    ] = False,
    out: Annotated[Path, typer.Option(help="The PDF to write.")] = Path("labels.pdf"),
) -> None:
    """Print labels as a PDF, each with a code that a phone reads."""
    with open_book():
        from ortet.work.labels import labels as make

        pdf = make(lots, kind=kind, paper=paper, skip=skip, each=each)
        out.write_bytes(pdf)
        print(f"{out}: {len(pdf) / 1000:.0f} kB")


@app.command()
def check(as_json: Json = False) -> None:
    """Recount the whole book from its movements and list what does not add up."""
    with open_book(only_guarded=False):
        from ortet.work.check import check as recount

        faults, line, sums = recount()
        if as_json:
            print_json(
                {"holds": not faults, "faults": [[fault.where, fault.message] for fault in faults], **sums}
            )
        else:
            for fault in faults:
                print(f"{fault.where}: {fault.message}")
            print(line)
        raise SystemExit(bool(faults))
