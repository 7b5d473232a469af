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
