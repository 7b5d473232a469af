"""Commands for what a grower does."""

from typing import Annotated

import typer

from .app import app
from .book import (
    As,
    At,
    BagArg,
    Base,
    Count,
    From,
    Length,
    LotArg,
    Mark,
    Note,
    Tip,
    hand_of,
    measure,
    open_book,
    piece,
    when,
)


@app.command("add-mother")
def add_mother(
    accession: Annotated[str, typer.Argument(help="Its accession number.")],
    variety: Annotated[
        str, typer.Argument(help="The variety's name; or the whole name as it came, kept word for word.")
    ],
    species: Annotated[
        str, typer.Argument(help="A kind of wood that Ortet knows, such as blackcurrant or grape.")
    ],
    site: Annotated[str, typer.Option(help="The growing site, whose weather it meets.")] = "",
    source: Annotated[str, typer.Option(help="Where it came from.")] = "",
    health: Annotated[str, typer.Option(help="Health record.")] = "",
    right: Annotated[str, typer.Option(help="A breeder's right, if there is one.")] = "",
    right_until: Annotated[str, typer.Option(help="Its last day, such as 2031-12-31.")] = "",
    group: Annotated[str, typer.Option(help="The variety's Group, without the word.")] = "",
    selling_name: Annotated[str, typer.Option(help="A trade designation, no name of the variety.")] = "",
    note: Note = "",
) -> None:
    """Add a mother plant."""
    with open_book():
        from ortet import work
        from ortet.work.names import seen, told

        from .wishes import day_of

        plant = work.add_mother(
            accession,
            variety,
            species,
            site=site,
            source=source,
            health=health,
            right=right,
            right_until=day_of(right_until, "--right-until"),
            group=group,
            selling_name=selling_name,
            note=note,
        )
        print(f"Mother plant {plant.accession}, {plant.variety}, is in the book.")
        for sentence in told(seen(plant.variety)):
            print(sentence)


@app.command("add-place")
def add_place(
    name: Annotated[str, typer.Argument(help="What it is called.")],
    kind: Annotated[
        str,
        typer.Option(
            help="store (a cold place), bench, ground (where potted plants stand) or site (where mother plants grow)."
        ),
    ] = "store",
    note: Note = "",
) -> None:
    """Add a cold place, a bench, a standing ground or a growing site."""
    with open_book():
        from ortet import work

        if kind not in ("store", "bench", "ground", "site"):
            raise work.Refused(f"--kind {kind!r}: say store, bench, ground or site. Nothing was booked.")
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
    with open_book():
        from ortet import work

        if use not in ("rooting", "grafting"):
            raise work.Refused(f"--use {use!r}: say rooting or grafting. Nothing was booked.")
        lot = work.take(
            accession,
            count,
            use=use,
            grade=grade,
            mark=mark,
            bench=bench,
            note=note,
            by=hand_of(hand),
            at=when(at),
            **piece(length, base, tip, nodes),
        )
        print(
            f"Lot {lot}: {count} cuttings of {lot.variety} on {bench}. Bag it: ortet bag {lot} --store NAME"
        )


@app.command()
def bag(
    lots: Annotated[
        list[str],
        typer.Argument(metavar="LOT...", help="Lots to close in one bag; LOT=COUNT takes part of one."),
    ],
    store: Annotated[str, typer.Option(help="The cold place it stands in.")],
    name: Annotated[
        str, typer.Option(help="What you write on the bag. Default: the next free B number.")
    ] = "",
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
    with open_book():
        from ortet import work

        contents = []
        for text in lots:
            lot, _, count = text.partition("=")
            if count and not count.isdecimal():
                raise work.Refused(f"{text!r}: write LOT or LOT=COUNT. Nothing was booked.")
            contents.append((lot, int(count) if count else None, from_place or None))
        place = work.bag(
            contents,
            store=store,
            name=name,
            polymer=film,
            thickness_um=micrometres,
            layers=layers,
            width_mm=measure(width or "300mm", "read_length"),
            height_mm=measure(height or "400mm", "read_length"),
            closure=closure,
            packing=packing,
            packing_water_g=measure(water, "read_mass") or 0,
            tare_g=measure(tare, "read_mass"),
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        print(
            f"Bag {place} stands in {store}. Weigh it now, so that later weighings can tell: ortet weigh {place} GRAMS"
        )


@app.command()
def weigh(
    bag: BagArg,
    weight: Annotated[str, typer.Argument(help="What it weighs with all in it, such as 512g or 18oz.")],
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Record what a bag weighs."""
    with open_book():
        from ortet import work
        from ortet.ledger.models import Nursery
        from ortet.wood.units import show_mass

        grams = measure(weight, "read_mass") or 0
        reading = work.weigh(bag, grams, note=note, by=hand_of(hand), at=when(at))
        print(f"Bag {reading.place}: {show_mass(reading.gross_g, Nursery.get().units)} recorded.")


def _some_of(option: str, text: str, like: str) -> tuple[int | None, int | None]:
    """Read so many of so many, such as 4/5."""
    from ortet import work

    some, slash, of = text.partition("/")
    if not text:
        return None, None
    if not (slash and some.strip().isdecimal() and of.strip().isdecimal()):
        raise work.Refused(f"{option} {text!r}: write {like}. Nothing was booked.")
    return int(some), int(of)


@app.command()
def inspect(
    place: Annotated[str, typer.Argument(help="The bag or bench.")],
    lot: Annotated[str, typer.Option(help="Which lot. Default: the only one there.")] = "",
    sound: Annotated[int | None, typer.Option(help="Sound cuttings counted.")] = None,
    mouldy: Annotated[int | None, typer.Option(help="Mouldy cuttings counted.")] = None,
    dry: Annotated[int | None, typer.Option(help="Dry cuttings counted.")] = None,
    scratch: Annotated[str, typer.Option(help="Scratch test: green of scratched, such as 4/5.")] = "",
    callus: Annotated[int | None, typer.Option(help="Callus of the lot, 0 none to 4 full ring.")] = None,
    callused: Annotated[str, typer.Option(help="Callused of looked at, such as 12/20.")] = "",
    roots: Annotated[str, typer.Option(help="With a root, of looked at, such as 8/20.")] = "",
    water: Annotated[str, typer.Option(help="Free water seen: none, droplets or pooled.")] = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Record what was seen of a lot; leave out what was not looked at."""
    with open_book():
        from ortet import work

        green, scratched = _some_of("--scratch", scratch, "green/scratched, such as 4/5")
        callused_some, callused_of = _some_of("--callused", callused, "callused/looked at, such as 12/20")
        rooted, rooted_of = _some_of("--roots", roots, "rooted/looked at, such as 8/20")
        seen = work.inspect(
            place,
            lot=lot or None,
            sound=sound,
            mouldy=mouldy,
            dry=dry,
            scratch_green=green,
            scratch_of=scratched,
            callus=callus,
            callused=callused_some,
            callused_of=callused_of,
            rooted=rooted,
            rooted_of=rooted_of,
            free_water=water,
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        print(f"Lot {seen.lot} in {seen.place}: recorded.")


@app.command()
def note(
    words: Annotated[str, typer.Argument(help="What is to be noted.")],
    lot: Annotated[str, typer.Option(help="About which lot: its code or mark.")] = "",
    place: Annotated[str, typer.Option(help="About which bag, batch or other place.")] = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note words about a lot or a place that no other reading has room for."""
    with open_book():
        from ortet import work

        noted = work.note(words, lot=lot or None, place=place or None, by=hand_of(hand), at=when(at))
        print(f"Noted about {' in '.join(str(what) for what in (noted.lot, noted.place) if what)}.")


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
    with open_book():
        from ortet import work
        from ortet.work.cautions import cautions

        done = work.treat(
            place,
            kind,
            lot=lot or None,
            agent=agent,
            strength=strength,
            minutes=minutes,
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        print(f"{done.place}: {done.get_kind_display()}, recorded.")
        for caution in cautions(kind):
            print(f"Caution: {caution}")


@app.command()
def move(
    lot: LotArg,
    to: Annotated[
        str, typer.Option(help="Where to: a bench, a bag, a cold place; for plants, a standing ground.")
    ],
    count: Count = None,
    from_place: From = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Move cuttings of a lot to another place."""
    with open_book():
        from ortet import work

        moved = work.move(
            lot, count, to_place=to, from_place=from_place or None, note=note, by=hand_of(hand), at=when(at)
        )
        print(
            f"Movement {moved.number}: {moved.count} of lot {moved.lot} from {moved.from_place} to {moved.to_place}."
        )


@app.command()
def stand(
    bag: Annotated[str, typer.Argument(metavar="BAG", help="A bag's or a batch's name or code.")],
    store: Annotated[str, typer.Argument(help="The cold place it goes to; of a batch, the bench.")],
    at: At = "",
    hand: As = "",
) -> None:
    """Stand a bag, with all in it, in another cold place, or a batch on another bench."""
    with open_book():
        from ortet import work

        standing = work.stand(bag, store, by=hand_of(hand), at=when(at))
        what = (
            f"Bag {standing.bag} stands in"
            if standing.bag.kind == "bag"
            else f"Batch {standing.bag} stands on"
        )
        print(f"{what} {standing.store}.")


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
    with open_book():
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
            by=hand_of(hand),
            at=when(at),
            **piece(length, base, tip, nodes),
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
    with open_book():
        from ortet import work

        gone = work.give_up(
            lot,
            count,
            from_place=from_place or None,
            not_found=not_found,
            note=note,
            by=hand_of(hand),
            at=when(at),
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
    with open_book():
        from ortet import work

        back = work.correct(movement, note=note, by=hand_of(hand), at=when(at))
        print(
            f"Movement {back.number} reverses {movement}: {back.count} of lot {back.lot} back in {back.to_place}."
        )
