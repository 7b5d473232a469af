"""Commands that print what goes with the wood: each writes a PDF and books nothing."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import As, Json, hand_of, open_book, print_json, refuse_paper_alone, when

if TYPE_CHECKING:
    from ortet.work.papers.advice import Advised
    from ortet.work.papers.passports import Wanted

Sheet = Annotated[str, typer.Option(help="a4 or letter. Default: what the nursery prints on.")]
Out = Annotated[Path | None, typer.Option(help="The PDF to write.")]
LotsArg = Annotated[list[str] | None, typer.Argument(metavar="LOT...", help="Lots, by code or mark.")]
ParcelOf = Annotated[
    int | None, typer.Option("--parcel", help="All lots of a parcel, in place of lots named.")
]
Waiting = Annotated[bool, typer.Option("--waiting", help="All parcels that are packed and not sent yet.")]
Skip = Annotated[int, typer.Option(min=0, help="Places of the first sheet that are used up.")]
Language = Annotated[
    str, typer.Option(help="Of the passport, such as de. Default: an official one of the nursery's country.")
]
Pests = Annotated[
    list[str] | None,
    typer.Option(
        "--zone-pest", help="For a protected zone: a pest's EPPO code or scientific name. Again for more."
    ),
]
Origin = Annotated[
    str,
    typer.Option(help="Country of origin, in two letters, of wood that is not from your own mother plants."),
]
Black = Annotated[bool, typer.Option("--black", help="Print the flag black on white, not in colour.")]


def _write(pdf: bytes, out: Path | None, usual: str) -> None:
    path = out or Path(usual)
    path.write_bytes(pdf)
    print(f"{path}: {len(pdf) / 1000:.0f} kB")


@app.command("pick-list")
def pick_list(
    order: Annotated[int | None, typer.Option(help="One order only. Default: what is due this week.")] = None,
    paper: Sheet = "",
    out: Out = None,
) -> None:
    """Print the pick walk: bag by bag, with a box to tick and a code that opens each line on a phone."""
    with open_book():
        from ortet.work.papers.picking import pick_list as make

        _write(make(order, paper), out, f"pick-list-{order}.pdf" if order else "pick-list.pdf")


def _wanted(language: str, pests: list[str] | None, origin: str, black: bool) -> "Wanted":
    from ortet.work.papers.passports import Wanted

    return Wanted(language.strip().lower(), tuple(pests or ()), origin.strip(), not black)


@app.command("packing-slip")
def packing_slip(
    parcels: Annotated[
        list[int] | None, typer.Argument(metavar="[PARCEL]...", help="Numbers of parcels.")
    ] = None,
    waiting: Waiting = False,
    prices: Annotated[bool, typer.Option("--prices", help="Tell prices, too.")] = False,
    passports: Annotated[
        bool, typer.Option("--passports", help="With a plant passport of each lot, if you are authorised.")
    ] = False,
    language: Language = "",
    pests: Pests = None,
    origin: Origin = "",
    black: Black = False,
    paper: Sheet = "",
    out: Out = None,
) -> None:
    """Print what lies in a parcel and for whom; of several parcels in one file."""
    with open_book():
        from ortet.work.papers.posting import packing_slip as make

        wanted = _wanted(language, pests, origin, black) if passports else None
        numbers = _numbers(parcels, waiting)
        pdf = make(*numbers, paper=paper, prices=prices, passports=wanted)
        _write(pdf, out, _named("packing-slip", numbers))
        if passports:
            _remind()


def _numbers(parcels: list[int] | None, waiting: bool) -> list[int]:
    from ortet.work.papers.posting import waiting as that_wait

    return list(dict.fromkeys([*(parcels or []), *(that_wait() if waiting else [])]))


def _named(what: str, numbers: list[int]) -> str:
    return f"{what}-{numbers[0]}.pdf" if len(numbers) == 1 else f"{what}s.pdf"


def _remind() -> None:
    from ortet.work.papers.passports import REMINDER

    print(REMINDER)


@app.command("address-label")
def address_label(
    parcels: Annotated[
        list[int] | None, typer.Argument(metavar="[PARCEL]...", help="Numbers of parcels.")
    ] = None,
    waiting: Waiting = False,
    order: Annotated[int | None, typer.Option(help="An order, where nothing is packed yet.")] = None,
    paper: Annotated[
        str,
        typer.Option(help="a4 for a label of A6, letter for 4 by 6 inches. Default: as the nursery prints."),
    ] = "",
    out: Out = None,
) -> None:
    """Print where a parcel goes; of several parcels in one file."""
    with open_book():
        from ortet.work.papers.posting import address_label as make

        numbers = _numbers(parcels, waiting)
        pdf = make(*numbers, order=order, paper=paper)
        _write(pdf, out, f"address-order-{order}.pdf" if order is not None else _named("address", numbers))


@app.command("receipt-sheet")
def receipt_sheet(
    number: Annotated[int, typer.Argument(metavar="RECEIPT", help="A receipt's number.")],
    paper: Sheet = "",
    out: Out = None,
) -> None:
    """Print a receipt as it was given out."""
    with open_book():
        from ortet.work.papers.receipts import receipt_sheet as make

        _write(make(number, paper), out, f"receipt-{number}.pdf")


@app.command()
def advise(
    lots: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="LOT...", help="Lots on hand, by code or mark; with =12 where twelve of it go."
        ),
    ] = None,
    parcel: ParcelOf = None,
    to: Annotated[str, typer.Option(help="Country they go to, in two letters. Default: your own.")] = "",
    link: Annotated[
        bool,
        typer.Option(
            "--link", help="Make a new link by which the parcel's buyer reports back, and print it."
        ),
    ] = False,
    paper: Sheet = "",
    out: Out = None,
    hand: As = "",
    as_json: Json = False,
) -> None:
    """Print for a buyer how these very cuttings fared, until when to set them, how warm, and what to look for."""
    with open_book():
        from ortet.work import Refused
        from ortet.work.packing import find_parcel
        from ortet.work.papers import advice

        if bool(lots) == (parcel is not None):
            raise Refused("Name lots, or one parcel. Nothing was printed.")
        if link and parcel is None:
            raise Refused("A link is a parcel's: ortet advise --parcel 7 --link. Nothing was printed.")
        asked = [_with_count(one) for one in lots or []]
        if as_json:
            told = (
                advice.advised_parcel(find_parcel(parcel))
                if parcel is not None
                else advice.advised(asked, to=to)
            )
            print_json([_told(one) for one in told])
            return
        if parcel is None:
            _write(advice.advise(asked, to=to, paper=paper), out, "advice.pdf")
            return
        pdf = (
            advice.advise_parcel_with_link(parcel, by=hand_of(hand), at=when(""), paper=paper)
            if link
            else advice.advise_parcel(parcel, paper=paper)
        )
        _write(pdf, out, f"advice-{parcel}.pdf")


def _with_count(text: str) -> tuple[str, int | None]:
    from ortet.work import Refused

    name, mark, count = text.rpartition("=")
    if not mark:
        return text, None
    if not count.strip().isdecimal() or not 0 < len(count.strip()) < 8:
        raise Refused(
            f"{text!r}: write a lot, or a lot and how many go, such as M-014-A=12. Nothing was printed."
        )
    return name, int(count)


def _told(one: "Advised") -> dict[str, object]:
    return {
        "lot": one.lot.code,
        "variety": one.lot.variety.name,
        "use": one.use,
        "count": one.count,
        "set_by": one.advice.set_by,
        "why": one.advice.set_why,
        "said": dict(one.advice.said),
        "unknown": list(one.advice.unknown),
    }


@app.command("plant-passport")
def plant_passport(
    lots: LotsArg = None,
    parcel: ParcelOf = None,
    each: Annotated[int, typer.Option(min=1, help="How many of each: one for every bundle.")] = 1,
    language: Language = "",
    pests: Pests = None,
    origin: Origin = "",
    black: Black = False,
    paper: Sheet = "",
    skip: Skip = 0,
    out: Out = None,
) -> None:
    """Print plant passports as labels, where an authorised operator's number is noted."""
    with open_book():
        from ortet.work.papers.passports import passports

        wanted = _wanted(language, pests, origin, black)
        pdf = passports(lots or [], parcel=parcel, wanted=wanted, each=each, paper=paper, skip=skip)
        _write(pdf, out, "passports.pdf")
        _remind()


@app.command("supplier-document")
def supplier_document(
    body: Annotated[str, typer.Option(help="Name or code of the official body, as it told you.")],
    lots: LotsArg = None,
    parcel: ParcelOf = None,
    note: Annotated[
        str, typer.Option(help="With the denomination: a rootstock, or that it is pending.")
    ] = "",
    yellow_paper: Annotated[
        bool, typer.Option("--yellow-paper", help="The paper is yellow, so no ground is printed.")
    ] = False,
    paper: Sheet = "",
    skip: Skip = 0,
    out: Out = None,
) -> None:
    """Print supplier's documents for CAC fruit plant material, where they are asked for."""
    with open_book():
        from ortet.work.papers.passports import supplier_documents

        pdf = supplier_documents(
            lots or [], body=body, parcel=parcel, note=note, paper=paper, skip=skip, ground=not yellow_paper
        )
        _write(pdf, out, "supplier-documents.pdf")
        print("You vouch for what it says: ask the official body whether it is wanted, and in which form.")


@app.command()
def destination(
    to: Annotated[str, typer.Argument(metavar="[COUNTRY]", help="Where wood goes, in two letters: FR.")] = "",
    order: Annotated[int | None, typer.Option(help="An order: where it goes, and what.")] = None,
    region: Annotated[str, typer.Option(help="The region or state it goes to, such as OR.")] = "",
    zone: Annotated[
        bool, typer.Option("--zone", help="Into a protected zone, or a pest-free area of Great Britain.")
    ] = False,
    trade: Annotated[bool, typer.Option("--trade", help="The buyer is a nursery or a shop.")] = False,
    paper: Sheet = "",
    out: Out = None,
    as_json: Json = False,
) -> None:
    """Say what to ask the plant-health authority before wood goes somewhere; print it with --out."""
    with open_book():
        from dataclasses import asdict

        from ortet.decisions.borders import ALWAYS
        from ortet.work.papers.destination import Asked, destination_sheet
        from ortet.work.papers.destination import destination as look

        refuse_paper_alone(paper, out)
        asked = Asked(order, to, region, zone, trade or None)
        found = look(asked)
        if as_json:
            print_json(asdict(found) | {"caution": ALWAYS})
        elif out is None:
            print(f"{found.title}\n{ALWAYS}")
            for one in found.questions:
                print(f"\n[ ] {one.ask}\n    Ask {one.whom}.\n    Usually: {one.usual}\n    {one.source}")
        if out is not None:
            pdf = destination_sheet(asked, paper)
            out.write_bytes(pdf)
            if not as_json:
                print(f"{out}: {len(pdf) / 1000:.0f} kB")
