"""The same deeds as commands. `ortet --help` lists them."""

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from django.contrib.auth.models import User

__all__ = ["app", "main"]

app = typer.Typer(
    help="Keeps account of every cutting, forecasts the state of every lot, and says what to do today.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

At = Annotated[str, typer.Option("--at", help="When: 2027-01-15 or 2027-01-15T09:30, in the nursery's zone. Default: now.")]
As = Annotated[str, typer.Option("--as", help="Whose hand books it. Default: the grower.")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
Note = Annotated[str, typer.Option(help="A few words to go with it.")]
LotArg = Annotated[str, typer.Argument(metavar="LOT", help="A lot's code or your own mark for it.")]
BagArg = Annotated[str, typer.Argument(metavar="BAG", help="A bag's name or code.")]
Count = Annotated[int | None, typer.Argument(metavar="[COUNT]", help="How many cuttings. Default: all that lie there.")]
From = Annotated[str, typer.Option("--from", help="Where from. Default: the only place they are.")]
Length = Annotated[str, typer.Option(help="Length of a cutting, such as 20cm or 8in.")]
Base = Annotated[str, typer.Option(help="Thickness at the base, such as 8mm or 0.3in.")]
Tip = Annotated[str, typer.Option(help="Thickness at the tip.")]
Mark = Annotated[str, typer.Option(help="Your own name for the lot.")]


@contextmanager
def _book() -> Iterator[None]:
    """Open the book; end with a plain sentence and exit code 1 where a deed is refused."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "ortet.settings")
    import django

    django.setup()
    from django.db.utils import OperationalError

    from ortet.work import Refused
    from ortet.work.nursery import open_book

    try:
        open_book()
        yield
    except Refused as error:
        print(f"Refused: {error}", file=sys.stderr)
        raise SystemExit(1) from None
    except OperationalError as error:
        print(f"The book cannot be reached: {error}. Nothing was booked.", file=sys.stderr)
        raise SystemExit(1) from None


def _when(text: str) -> datetime:
    """Return a moment, in UTC, from ISO 8601 text in the nursery's zone; now where there is none."""
    from ortet.ledger.models import Nursery
    from ortet.work import Refused

    nursery = Nursery.get()
    if not text:
        return nursery.now()
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise Refused(f"--at {text!r}: write 2027-01-15 or 2027-01-15T09:30. Nothing was booked.") from None
    return (at if at.tzinfo else at.replace(tzinfo=nursery.tz)).astimezone(UTC)


def _hand(name: str) -> "User":
    from django.contrib.auth.models import User

    from ortet.work import Refused
    from ortet.work.nursery import grower, may_write

    if not name:
        return grower()
    user = User.objects.filter(username__iexact=name).first()
    if user is None or not may_write(user):
        raise Refused(f"--as {name!r}: nobody of that name may write in this book. Nothing was booked.")
    return user


def _measure(text: str, read: str) -> float | None:
    from ortet.ledger.models import Nursery
    from ortet.wood import units
    from ortet.work import Refused

    if not text:
        return None
    try:
        return getattr(units, read)(text, Nursery.get().units)
    except ValueError as error:
        raise Refused(f"{error}. Nothing was booked.") from None


def _piece(length: str, base: str, tip: str, nodes: int | None) -> dict[str, Any]:
    return {
        "length_mm": _measure(length, "read_length"),
        "base_mm": _measure(base, "read_length"),
        "tip_mm": _measure(tip, "read_length"),
        "nodes": nodes,
    }


def _print_json(value: object) -> None:
    print(json.dumps(value, ensure_ascii=False, indent=1, default=str))


def _print_table(head: list[str], rows: list[list[object]]) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table

    table = Table(*head, box=SIMPLE_HEAD, pad_edge=False)
    for row in rows:
        table.add_row(*(("" if cell is None else str(cell)) for cell in row))
    Console(highlight=False).print(table)


@app.command("add-mother")
def add_mother(
    accession: Annotated[str, typer.Argument(help="Its accession number.")],
    variety: Annotated[str, typer.Argument(help="The variety's name, without quotation marks.")],
    species: Annotated[str, typer.Argument(help="A kind of wood that Ortet knows, such as blackcurrant or grape.")],
    site: Annotated[str, typer.Option(help="The growing site, whose weather it meets.")] = "",
    source: Annotated[str, typer.Option(help="Where it came from.")] = "",
    health: Annotated[str, typer.Option(help="Health record.")] = "",
    right: Annotated[str, typer.Option(help="A breeder's right, if there is one.")] = "",
    note: Note = "",
) -> None:
    """Add a mother plant."""
    with _book():
        from ortet import work

        plant = work.add_mother(accession, variety, species, site=site, source=source, health=health, right=right, note=note)
        print(f"Mother plant {plant.accession}, {plant.variety}, is in the book.")


@app.command("add-place")
def add_place(
    name: Annotated[str, typer.Argument(help="What it is called.")],
    kind: Annotated[str, typer.Option(help="store (a cold place), bench or site (where mother plants grow).")] = "store",
    note: Note = "",
) -> None:
    """Add a cold place, a bench or a growing site."""
    with _book():
        from ortet import work

        if kind not in ("store", "bench", "site"):
            raise work.Refused(f"--kind {kind!r}: say store, bench or site. Nothing was booked.")
        print(f"{work.add_place(name, kind, note)} is in the book.")


@app.command()
def take(
    accession: Annotated[str, typer.Argument(help="The mother plant's accession number.")],
    count: Annotated[int, typer.Argument(help="How many cuttings.")],
    use: Annotated[str, typer.Option(help="rooting or grafting.")] = "rooting",
    grade: Annotated[str, typer.Option(help="Your grade.")] = "",
    length: Length = "",
    base: Base = "",
    tip: Tip = "",
    nodes: Annotated[int | None, typer.Option(help="Nodes on a cutting.")] = None,
    mark: Mark = "",
    bench: Annotated[str, typer.Option(help="The bench it is laid on.")] = "Bench",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Take wood from a mother plant: a new lot, on the bench."""
    with _book():
        from ortet import work

        if use not in ("rooting", "grafting"):
            raise work.Refused(f"--use {use!r}: say rooting or grafting. Nothing was booked.")
        piece = _piece(length, base, tip, nodes)
        lot = work.take(
            accession, count, use=use, grade=grade, mark=mark, bench=bench, note=note, by=_hand(hand), at=_when(at), **piece
        )
        print(f"Lot {lot}: {count} cuttings of {lot.variety} on {bench}. Bag it: ortet bag {lot} --store NAME")


@app.command()
def bag(
    lots: Annotated[list[str], typer.Argument(metavar="LOT...", help="Lots to close in one bag; LOT=COUNT takes part of one.")],
    store: Annotated[str, typer.Option(help="The cold place it stands in.")],
    name: Annotated[str, typer.Option(help="What you write on the bag. Default: the next free B number.")] = "",
    film: Annotated[str, typer.Option(help="LDPE, HDPE, PP or PET.")] = "LDPE",
    micrometres: Annotated[float, typer.Option(help="Thickness of one layer of film.")] = 50,
    layers: Annotated[int, typer.Option(help="Layers of film.")] = 1,
    width: Annotated[str, typer.Option(help="Width of the flat bag, such as 30cm.")] = "",
    height: Annotated[str, typer.Option(help="Height of the flat bag.")] = "",
    closure: Annotated[str, typer.Option(help="How it is closed.")] = "fold",
    packing: Annotated[str, typer.Option(help="What is packed with the wood.")] = "none",
    water: Annotated[str, typer.Option(help="Water in the packing, such as 20g.")] = "",
    tare: Annotated[str, typer.Option(help="Weight of bag and packing without wood.")] = "",
    from_place: From = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Close wood in a bag and stand it in a cold place."""
    with _book():
        from ortet import work

        contents = []
        for text in lots:
            lot, _, count = text.partition("=")
            if count and not count.isdigit():
                raise work.Refused(f"{text!r}: write LOT or LOT=COUNT. Nothing was booked.")
            contents.append((lot, int(count) if count else None, from_place or None))
        place = work.bag(
            contents,
            store=store,
            name=name,
            polymer=film,
            thickness_um=micrometres,
            layers=layers,
            width_mm=_measure(width, "read_length") or 300,
            height_mm=_measure(height, "read_length") or 400,
            closure=closure,
            packing=packing,
            packing_water_g=_measure(water, "read_mass") or 0,
            tare_g=_measure(tare, "read_mass"),
            note=note,
            by=_hand(hand),
            at=_when(at),
        )
        print(f"Bag {place} stands in {store}. Weigh it now, so that later weighings can tell: ortet weigh {place} GRAMS")


@app.command()
def weigh(
    bag: BagArg,
    weight: Annotated[str, typer.Argument(help="What it weighs with all in it, such as 512g or 18oz.")],
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Record what a bag weighs."""
    with _book():
        from ortet import work

        grams = _measure(weight, "read_mass") or 0
        reading = work.weigh(bag, grams, note=note, by=_hand(hand), at=_when(at))
        print(f"Bag {reading.place}: {reading.gross_g:g} g recorded.")


@app.command()
def inspect(
    place: Annotated[str, typer.Argument(help="The bag or bench.")],
    lot: Annotated[str, typer.Option(help="Which lot. Default: the only one there.")] = "",
    sound: Annotated[int | None, typer.Option(help="Sound cuttings counted.")] = None,
    mouldy: Annotated[int | None, typer.Option(help="Mouldy cuttings counted.")] = None,
    dry: Annotated[int | None, typer.Option(help="Dry cuttings counted.")] = None,
    scratch: Annotated[str, typer.Option(help="Scratch test: green of scratched, such as 4/5.")] = "",
    callus: Annotated[int | None, typer.Option(help="Callus, 0 none to 4 full ring.")] = None,
    water: Annotated[str, typer.Option(help="Free water seen: none, droplets or pooled.")] = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Record what was seen of a lot; leave out what was not looked at."""
    with _book():
        from ortet import work

        green, slash, of = scratch.partition("/")
        if scratch and not (slash and green.strip().isdigit() and of.strip().isdigit()):
            raise work.Refused(f"--scratch {scratch!r}: write green/scratched, such as 4/5. Nothing was booked.")
        seen = work.inspect(
            place,
            lot=lot or None,
            sound=sound,
            mouldy=mouldy,
            dry=dry,
            scratch_green=int(green) if scratch else None,
            scratch_of=int(of) if scratch else None,
            callus=callus,
            free_water=water,
            note=note,
            by=_hand(hand),
            at=_when(at),
        )
        print(f"Lot {seen.lot} in {seen.place}: recorded.")


@app.command()
def treat(
    place: Annotated[str, typer.Argument(help="The bag or bench.")],
    kind: Annotated[str, typer.Argument(help="disinfect, wash, wax, air or wipe.")],
    lot: Annotated[str, typer.Option(help="One lot of it. Default: all that lies there.")] = "",
    agent: Annotated[str, typer.Option(help="What with.")] = "",
    strength: Annotated[str, typer.Option(help="How strong.")] = "",
    minutes: Annotated[float | None, typer.Option(help="For how long.")] = None,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Record that wood was disinfected, washed, waxed, or its bag aired or wiped dry."""
    with _book():
        from ortet import work
        from ortet.work.cautions import cautions

        done = work.treat(
            place, kind, lot=lot or None, agent=agent, strength=strength, minutes=minutes, note=note, by=_hand(hand), at=_when(at)
        )
        print(f"{done.place}: {done.get_kind_display()}, recorded.")
        for caution in cautions(kind):
            print(f"Caution: {caution}")


@app.command()
def move(
    lot: LotArg,
    to: Annotated[str, typer.Option(help="Where to: a bench, a bag or a cold place.")],
    count: Count = None,
    from_place: From = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Move cuttings of a lot to another place."""
    with _book():
        from ortet import work

        moved = work.move(
            lot, count, to_place=to, from_place=from_place or None, note=note, by=_hand(hand), at=_when(at)
        )
        print(f"Movement {moved.number}: {moved.count} of lot {moved.lot} from {moved.from_place} to {moved.to_place}.")


@app.command()
def stand(
    bag: BagArg,
    store: Annotated[str, typer.Argument(help="The cold place it goes to.")],
    at: At = "",
    hand: As = "",
) -> None:
    """Stand a bag, with all in it, in another cold place."""
    with _book():
        from ortet import work

        standing = work.stand(bag, store, by=_hand(hand), at=_when(at))
        print(f"Bag {standing.bag} stands in {standing.store}.")


@app.command()
def split(
    lot: LotArg,
    count: Annotated[int, typer.Argument(help="How many become the new lot.")],
    to: Annotated[str, typer.Option(help="Where they go. Default: they stay where they are.")] = "",
    from_place: From = "",
    use: Annotated[str, typer.Option(help="rooting or grafting. Default: as before.")] = "",
    grade: Annotated[str | None, typer.Option(help="The new lot's grade. Default: as before.")] = None,
    length: Length = "",
    base: Base = "",
    tip: Tip = "",
    nodes: Annotated[int | None, typer.Option(help="Nodes on a cutting.")] = None,
    mark: Mark = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Make part of a lot a lot of its own, with its own label."""
    with _book():
        from ortet import work

        if use not in ("", "rooting", "grafting"):
            raise work.Refused(f"--use {use!r}: say rooting or grafting. Nothing was booked.")
        child = work.split(
            lot,
            count,
            from_place=from_place or None,
            to_place=to or None,
            use=use or None,
            grade=grade,
            mark=mark,
            note=note,
            by=_hand(hand),
            at=_when(at),
            **_piece(length, base, tip, nodes),
        )
        print(f"Lot {child}: {count} cuttings split off. Print its label: ortet labels {child}")


@app.command("give-up")
def give_up(
    lot: LotArg,
    count: Count = None,
    from_place: From = "",
    not_found: Annotated[bool, typer.Option("--not-found", help="They were not there at a count.")] = False,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Book cuttings out as given up, or as not found."""
    with _book():
        from ortet import work

        gone = work.give_up(
            lot, count, from_place=from_place or None, not_found=not_found, note=note, by=_hand(hand), at=_when(at)
        )
        print(f"Movement {gone.number}: {gone.count} of lot {gone.lot} {gone.get_why_display()}.")


@app.command()
def correct(
    movement: Annotated[int, typer.Argument(help="The number of the movement that was mistaken.")],
    note: Annotated[str, typer.Option(help="What was wrong.")],
    at: At = "",
    hand: As = "",
) -> None:
    """Reverse an earlier movement; the mistake stays readable."""
    with _book():
        from ortet import work

        back = work.correct(movement, note=note, by=_hand(hand), at=_when(at))
        print(f"Movement {back.number} reverses {movement}: {back.count} of lot {back.lot} back in {back.to_place}.")


@app.command()
def check(as_json: Json = False) -> None:
    """Recount the whole book from its movements and list what does not add up."""
    with _book():
        from ortet.work.check import check as recount

        faults, line, sums = recount()
        if as_json:
            _print_json({"holds": not faults, "faults": [[fault.where, fault.message] for fault in faults], **sums})
        else:
            for fault in faults:
                print(f"{fault.where}: {fault.message}")
            print(line)
        raise SystemExit(bool(faults))


@app.command("mend-guard")
def mend_guard() -> None:
    """Put the database's triggers up again after something removed them."""
    with _book():
        from ortet.work.check import mend_guard as mend

        print(mend())


@app.command()
def lots(
    search: Annotated[str, typer.Argument(help="Words to look for: code, mark, variety, species, accession, place.")] = "",
    sort: Annotated[str, typer.Option(help="day, variety, count or lot; -day turns it round.")] = "-day",
    everything: Annotated[bool, typer.Option("--all", help="Also lots of which nothing is left.")] = False,
    as_json: Json = False,
) -> None:
    """List lots."""
    with _book():
        from ortet.work import lists

        rows = [
            [str(lot), lot.mark, lot.variety.name, lot.variety.species, lot.made_at.date(), lot.grade, lot.on_hand]
            for lot in lists.lots(search, sort=sort, on_hand=not everything)
        ]
        head = ["lot", "mark", "variety", "species", "day", "grade", "on hand"]
        if as_json:
            _print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            _print_table(head, rows)
        else:
            print("No lot fits." if search else "No lot is on hand. Take wood: ortet take ACCESSION COUNT")


@app.command()
def places(
    search: Annotated[str, typer.Argument(help="Words to look for.")] = "",
    sort: Annotated[str, typer.Option(help="name, kind or count.")] = "name",
    as_json: Json = False,
) -> None:
    """List benches, cold places, bags and sites."""
    with _book():
        from ortet.work import lists

        head = ["place", "kind", "lots", "cuttings"]
        rows = [[p.name, p.get_kind_display(), p.lots, p.on_hand] for p in lists.places(search, sort=sort)]
        if as_json:
            _print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            _print_table(head, rows)
        else:
            print("No place fits." if search else "There is no place yet. Add a cold place: ortet add-place NAME")


@app.command()
def mothers(
    search: Annotated[str, typer.Argument(help="Words to look for.")] = "",
    sort: Annotated[str, typer.Option(help="accession, variety or taken.")] = "accession",
    as_json: Json = False,
) -> None:
    """List mother plants."""
    with _book():
        from ortet.work import lists

        head = ["accession", "variety", "species", "site", "taken"]
        rows = [
            [m.accession, m.variety.name, m.variety.species, m.site, m.taken] for m in lists.mothers(search, sort=sort)
        ]
        if as_json:
            _print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            _print_table(head, rows)
        else:
            print("No mother plant fits." if search else "There is none yet: ortet add-mother ACCESSION VARIETY SPECIES")


@app.command()
def lot(lot: LotArg, as_json: Json = False) -> None:
    """Show one lot: where it is, how it fares, what happened to it."""
    with _book():
        from ortet.ledger.models import Nursery
        from ortet.work.lots import view
        from ortet.work.today import season_forecast

        nursery = Nursery.get()
        found = view(lot)
        _, forecasts = season_forecast(nursery.now(), found.lot)
        said = [(f.place, f.sentences()) for f in forecasts]
        if as_json:
            _print_json(
                {
                    "lot": str(found.lot),
                    "mark": found.lot.mark,
                    "variety": found.lot.variety.name,
                    "where": {balance.place.name: balance.count for balance in found.where},
                    "forecast": {place: list(sentences) for place, sentences in said},
                    "came_from": {str(parent): count for parent, count in found.came_from},
                    "became": {str(child): count for child, count in found.became},
                    "events": [[event.at, event.number, event.what, event.by, event.note] for event in found.events],
                }
            )
            return
        mark = f" ({found.lot.mark})" if found.lot.mark else ""
        print(f"{found.lot}{mark}  {found.lot.variety}, {found.lot.variety.species}, {found.lot.get_use_display()}")
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
            print(f"  {event.at.astimezone(nursery.tz):%Y-%m-%d %H:%M}  {number:>5}  {event.what}{void}")


@app.command()
def today(as_json: Json = False) -> None:
    """Say what to do now, in order of what waiting costs."""
    with _book():
        from ortet.work.today import today as look

        day = look()
        if as_json:
            from dataclasses import asdict

            _print_json({"now": day.now, "lots": day.lots, "cuttings": day.cuttings, "tasks": [asdict(task) for task in day.tasks]})
            return
        _print_today(day)


def _print_today(day: Any) -> None:
    """Print the tasks as a stranger can read them: the act, the reason, where, and the command that records it."""
    import shutil
    import textwrap

    width = min(shutil.get_terminal_size().columns, 100)
    local = day.now.astimezone(day.nursery.tz)
    stands = " (a demo season: it stands still at this moment)" if day.nursery.fixed_now else ""
    print(f"{day.nursery.name}, {local:%A} {local.day} {local:%B %Y %H:%M}{stands}")
    print(f"{day.cuttings:,} cuttings in {day.lots} lots on hand. {len(day.tasks)} things to do, the dearest to put off first.\n")
    for number, task in enumerate(day.tasks, 1):
        first, rest = f"{number:>3}  ", "     "
        print(textwrap.fill(task.act, width, initial_indent=first, subsequent_indent=rest))
        print(textwrap.fill(task.reason, width, initial_indent=rest, subsequent_indent=rest))
        at_stake = f"Waiting a week: about {task.waiting:.1f} cuttings lost.  " if task.waiting >= 0.05 else ""
        if task.command or at_stake:
            print(f"{rest}{at_stake}{task.command}")
        print()
    if not day.tasks:
        print("Nothing presses. Take wood: ortet take ACCESSION COUNT. Load files: ortet load FILES")


@app.command()
def labels(
    lots: Annotated[list[str], typer.Argument(metavar="LOT...", help="Lots to print labels for.")],
    kind: Annotated[str, typer.Option(help="bag, or wrap for labels round single cuttings.")] = "bag",
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    skip: Annotated[int, typer.Option(min=0, help="Places of the first sheet that are used up.")] = 0,
    each: Annotated[bool, typer.Option("--each", help="One for each cutting on hand, not one for each lot.")] = False,
    out: Annotated[Path, typer.Option(help="The PDF to write.")] = Path("labels.pdf"),
) -> None:
    """Print labels as a PDF, each with a code that a phone reads."""
    with _book():
        from ortet.work.labels import labels as make

        pdf = make(lots, kind=kind, paper=paper, skip=skip, each=each)
        out.write_bytes(pdf)
        print(f"{out}: {len(pdf) / 1000:.0f} kB")


@app.command()
def load(
    files: Annotated[list[Path] | None, typer.Argument(metavar="FILES...", help="CSV tables, logger files, weather files.")] = None,
    place: Annotated[str, typer.Option(help="Whose record a logger or weather file is. Default: the place it is named after.")] = "",
    dates: Annotated[str, typer.Option(help="day-first or month-first, where a file leaves it open.")] = "",
    latitude: Annotated[float | None, typer.Option(min=-66, max=66, help="For daily weather: degrees north.")] = None,
    template: Annotated[str, typer.Option(help="Print an empty table to fill: mothers, lots, bags, weighings, inspections.")] = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Load a season's files: all or nothing, and the same file twice changes nothing."""
    if template:
        from ortet.tables.columns import TABLES
        from ortet.tables.columns import template as make

        if template not in TABLES:
            raise typer.BadParameter(f"{template!r}: say {', '.join(TABLES)}.")
        sys.stdout.write(make(template))
        return
    if not files:
        raise typer.BadParameter("Name at least one file, or print an empty table with --template lots.")
    if dates not in ("", "day-first", "month-first"):
        raise typer.BadParameter(f"--dates {dates!r}: say day-first or month-first.")
    if missing := [str(file) for file in files if not file.is_file()]:
        raise typer.BadParameter(f"There is no file {', '.join(missing)}. Nothing was loaded.")
    with _book():
        from ortet.work.load import load as take_in

        with _progress() as tell:
            loaded = take_in(
                [(file.name, file.read_bytes()) for file in files],
                by=_hand(hand),
                at=_when(at),
                place=place or None,
                day_first=None if not dates else dates == "day-first",
                latitude=latitude,
                progress=tell,
            )
        for note in loaded.notes:
            print(f"Note: {note}")
        for problem in loaded.problems[:MOST_PROBLEMS]:
            print(problem, file=sys.stderr)
        if len(loaded.problems) > MOST_PROBLEMS:
            print(f"… and {len(loaded.problems) - MOST_PROBLEMS} more.", file=sys.stderr)
        print(loaded.line, file=sys.stderr if loaded.problems else sys.stdout)
        raise SystemExit(bool(loaded.problems))


MOST_PROBLEMS = 40


@contextmanager
def _progress() -> Iterator[Any]:
    """Show a bar for each file that takes a while, on a terminal only."""
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}

        def tell(name: str, done: int, total: int) -> None:
            if name not in tasks:
                tasks[name] = bars.add_task(name, total=total)
            bars.update(tasks[name], completed=done, total=total)

        yield tell


@app.command()
def nursery(
    name: Annotated[str | None, typer.Option(help="What it is called.")] = None,
    zone: Annotated[str | None, typer.Option(help="Its time zone, such as America/Denver.")] = None,
    units: Annotated[str | None, typer.Option(help="metric or US.")] = None,
    address: Annotated[str | None, typer.Option(help="The address that labels' codes lead to.")] = None,
) -> None:
    """Show or change what the nursery is called, its zone, its units and its address."""
    with _book():
        from ortet.work.nursery import describe

        here = describe(name=name, zone=zone, units=units, address=address)
        print(f"{here.name}\nzone     {here.zone}\nunits    {here.units}\naddress  {here.address}")


@app.command("add-hand")
def add_hand(
    name: Annotated[str, typer.Argument(help="The name to sign in with.")],
    may_write: Annotated[bool, typer.Option(" /--only-read", help="Let them read, not write.")] = True,
) -> None:
    """Let another person into the book. Asks for a password."""
    with _book():
        from ortet.work.nursery import add_hand as add

        password = typer.prompt("Password", hide_input=True, confirmation_prompt=True)
        user = add(name, password, may_write=may_write)
        print(f"{user.username} may {'write' if may_write else 'read'}. From now on everyone signs in, at this desk too.")


@app.command("set-password")
def set_password(name: Annotated[str, typer.Argument(help="Whose password.")] = "grower") -> None:
    """Set a password to sign in with."""
    with _book():
        from ortet.work.nursery import set_password as change

        change(name, typer.prompt("Password", hide_input=True, confirmation_prompt=True))
        print(f"{name} has a new password.")


@app.command()
def serve(
    host: Annotated[str, typer.Option(help="The address to serve at; other than loopback everyone signs in.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 picks a free one.")] = 8137,
) -> None:
    """Serve the pages until stopped."""
    with _book():
        from ortet.pages.serve import serve as run

        run(host, port)


@app.command()
def demo(
    once: Annotated[bool, typer.Option("--once", help="Print Today and stop, without serving the pages.")] = False,
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 picks a free one.")] = 8137,
) -> None:
    """Load an invented season into a folder of its own, print Today and serve its pages."""
    from platformdirs import user_data_path

    # The demo never touches the grower's own book.
    os.environ["ORTET_FOLDER"] = os.environ.get("ORTET_DEMO_FOLDER") or str(user_data_path("ortet-demo", appauthor=False))
    os.environ.pop("ORTET_DATABASE", None)
    with _book():
        from ortet.demo import load_demo
        from ortet.work.today import today as look

        with _progress() as tell:
            load_demo(progress=tell)
        _print_today(look())
        print(f"This is the demo's own book, in {os.environ['ORTET_FOLDER']}. Yours is untouched.")
        if not once:
            from ortet.pages.serve import serve as run

            run("127.0.0.1", port)


def main() -> None:
    """Run a command."""
    app()
