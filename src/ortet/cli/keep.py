"""Commands that keep the book: files in, the nursery, its hands, its pages."""

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import As, At, hand_of, open_book, progress, when
from .look import print_today
from .wishes import RATE, amount_of

if TYPE_CHECKING:
    from decimal import Decimal

MOST_PROBLEMS = 40  # printed; the rest are counted


@app.command()
def load(
    files: Annotated[
        list[Path] | None, typer.Argument(metavar="FILES...", help="CSV tables, logger files, weather files.")
    ] = None,
    place: Annotated[
        str,
        typer.Option(help="Whose record a logger or weather file is. Default: the place it is named after."),
    ] = "",
    dates: Annotated[str, typer.Option(help="day-first or month-first, where a file leaves it open.")] = "",
    latitude: Annotated[
        float | None, typer.Option(min=-66, max=66, help="For daily weather: degrees north.")
    ] = None,
    template: Annotated[
        str,
        typer.Option(
            help="Print an empty table to fill: mothers, lots, bags, weighings, inspections, buyers, orders."
        ),
    ] = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Load a season's files: all or nothing, and the same file twice changes nothing."""
    if template:
        from ortet.tables.columns import TABLES
        from ortet.tables.columns import template as make

        if template not in TABLES:
            raise typer.BadParameter(f"{template!r}: say {', '.join(TABLES)}.")
        sys.stdout.buffer.write(make(template).encode())  # as it is: RFC 4180 line ends
        return
    if not files:
        raise typer.BadParameter("Name at least one file, or print an empty table with --template lots.")
    if dates not in ("", "day-first", "month-first"):
        raise typer.BadParameter(f"--dates {dates!r}: say day-first or month-first.")
    with open_book():
        if missing := [str(file) for file in files if not file.is_file()]:
            raise typer.BadParameter(f"There is no file {', '.join(missing)}. Nothing was loaded.")
        from ortet.work.load import load as take_in

        with progress() as tell:
            loaded = take_in(
                [(file.name, file.read_bytes()) for file in files],
                by=hand_of(hand),
                at=when(at),
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


@app.command()
def nursery(
    name: Annotated[str | None, typer.Option(help="What it is called.")] = None,
    zone: Annotated[str | None, typer.Option(help="Its time zone, such as America/Denver.")] = None,
    units: Annotated[str | None, typer.Option(help="metric or US.")] = None,
    address: Annotated[str | None, typer.Option(help="The address that labels' codes lead to.")] = None,
    country: Annotated[
        str | None, typer.Option(help="Whose public holidays the carrier keeps, in two letters.")
    ] = None,
    region: Annotated[
        str | None, typer.Option(help="The region of that country, where it has holidays of its own: BY, CA.")
    ] = None,
    last_frost: Annotated[
        str | None, typer.Option(help="Usual day of the last frost, month and day: 05-12.")
    ] = None,
    kwh_price: Annotated[str | None, typer.Option(help="Price of a kilowatt-hour, such as 0.31.")] = None,
    transit: Annotated[
        str | None,
        typer.Option(help="Of a hundred parcels, how many take 1, 2, 3 working days: '1:50 2:35 3:15'."),
    ] = None,
    letterhead: Annotated[
        str | None, typer.Option(help="Name, street and place as papers carry them, parted by semicolons.")
    ] = None,
    contact: Annotated[str | None, typer.Option(help="Telephone or email, for buyers.")] = None,
    operator: Annotated[
        str | None, typer.Option(help="Number of an operator authorised to issue plant passports.")
    ] = None,
    paper: Annotated[str | None, typer.Option(help="What papers are printed on: A4 or letter.")] = None,
    currency: Annotated[str | None, typer.Option(help="Three letters, such as EUR.")] = None,
    tax_percent: Annotated[
        str | None,
        typer.Option(help="Sales tax or VAT on what says no other rate, such as 21; none: no tax."),
    ] = None,
    tax_number: Annotated[
        str | None, typer.Option(help="As the tax office wrote it; '': there is none.")
    ] = None,
    year_starts: Annotated[
        str | None, typer.Option(help="First day of the tax year, month and day: 01-01.")
    ] = None,
    wage: Annotated[
        str | None, typer.Option(help="What an hour of work is reckoned at, such as 15.50.")
    ] = None,
) -> None:
    """Show or change what the nursery is called, how it shows things, what plans and books rest on and papers carry."""
    with open_book():
        from django.db import transaction

        from ortet.pages.forms.fields import show_transit
        from ortet.work.nursery import books_with, describe, papers_with, plan_with

        with transaction.atomic():
            here = describe(name=name, zone=zone, units=units, address=address)
            on = {"country": country, "region": region, "last_frost": last_frost}
            on |= {"kwh_price": _amount(kwh_price, "--kwh-price", RATE), "transit": _transit(transit)}
            if any(value is not None for value in on.values()):
                here = plan_with(**on)
            lines = None if letterhead is None else letterhead.replace(";", "\n")
            carry = {
                "letterhead": lines,
                "contact": contact,
                "operator": operator,
                "paper": paper,
                "currency": currency,
            }
            if any(value is not None for value in carry.values()):
                here = papers_with(**carry)
            books = {"tax_percent": _tax(tax_percent), "tax_number": tax_number, "year_starts": year_starts}
            books |= {"wage": _amount(wage, "--wage")}
            if any(value is not None for value in books.values()):
                here = books_with(**books)
        shown = {
            "zone": here.zone,
            "units": here.units,
            "address": here.address,
            "country": " ".join(filter(None, (here.country, here.region))) or "not said",
            "last frost": here.last_frost or "not said",
            "kWh price": "not said" if here.kwh_price is None else f"{here.kwh_price.normalize():f}",
            "transit": f"{show_transit(here.transit)}  (working days : parcels of a hundred)",
            "letterhead": here.letterhead.replace("\n", "; ") or "the name alone",
            "contact": here.contact or "not said",
            "operator": here.operator or "none: no plant passports are printed",
            "paper": here.paper,
            "currency": here.currency,
            "tax": "none" if here.tax_percent is None else f"{here.tax_percent.normalize():f} %",
            "tax number": here.tax_number or "none",
            "tax year": f"from {here.year_starts}",
            "wage": "not said" if here.wage is None else f"{here.wage.normalize():f} an hour",
        }
        print(here.name, *(f"{what:<11}{said}" for what, said in shown.items()), sep="\n")


def _amount(text: str | None, option: str, figures: int = 2) -> "Decimal | None":
    return None if text is None else amount_of(text, option, figures)


def _tax(text: str | None) -> "Decimal | str | None":
    return (
        "none"
        if text is not None and text.strip().lower() == "none"
        else _amount(text, "--tax-percent", RATE)
    )


def _transit(text: str | None) -> dict[int, float] | None:
    from ortet.pages.forms.fields import read_transit
    from ortet.work import Refused

    if text is None:
        return None
    try:
        return read_transit(text)
    except ValueError as error:
        raise Refused(f"--transit {error}. Nothing was changed.") from None


@app.command("add-hand")
def add_hand(
    name: Annotated[str, typer.Argument(help="The name to sign in with.")],
    only_read: Annotated[bool, typer.Option("--only-read", help="Let them read, not write.")] = False,
) -> None:
    """Let another person into the book. Asks for a password."""
    with open_book():
        from ortet.work.nursery import add_hand as add

        password = typer.prompt("Password", hide_input=True, confirmation_prompt=True)
        user = add(name, password, may_write=not only_read)
        print(
            f"{user.username} may {'read' if only_read else 'write'}. From now on everyone signs in, at this desk too."
        )


@app.command("set-password")
def set_password(name: Annotated[str, typer.Argument(help="Whose password.")] = "grower") -> None:
    """Set a password to sign in with."""
    with open_book():
        from ortet.work.nursery import set_password as change

        change(name, typer.prompt("Password", hide_input=True, confirmation_prompt=True))
        print(f"{name} has a new password.")


@app.command("mend-guard")
def mend_guard() -> None:
    """Put the database's triggers up again after something removed them."""
    with open_book(only_guarded=False):
        from ortet.work.check import mend_guard as mend

        print(mend())


@app.command()
def serve(
    host: Annotated[
        str,
        typer.Option(
            help="The address to serve at; other than loopback everyone signs in. Default: loopback, or with --farm the farm's network."
        ),
    ] = "",
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 picks a free one.")] = 8137,
    farm: Annotated[
        bool, typer.Option("--farm", help="Also serve paired phones on the farm's network, by https.")
    ] = False,
    farm_port: Annotated[int, typer.Option(min=0, max=65535, help="With --farm: the phones' port.")] = 8138,
    trust_port: Annotated[
        int, typer.Option(min=0, max=65535, help="With --farm: where a phone fetches the certificate.")
    ] = 8139,
) -> None:
    """Serve the pages until stopped."""
    with open_book():
        from ortet.pages.serve import serve as run
        from ortet.pages.serve import serve_farm

        if farm:
            serve_farm(host, port, farm_port, trust_port)
        else:
            run(host or "127.0.0.1", port)


@app.command()
def demo(
    once: Annotated[
        bool,
        typer.Option("--once", help="Plan, print Today and the papers and stop, without serving the pages."),
    ] = False,
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 picks a free one.")] = 8137,
) -> None:
    """Load an invented season into a folder of its own, print Today and serve its pages."""
    from platformdirs import user_data_path

    # The demo never touches the grower's own book.
    os.environ["ORTET_FOLDER"] = os.environ.get("ORTET_DEMO_FOLDER") or str(
        user_data_path("ortet-demo", appauthor=False)
    )
    os.environ.pop("ORTET_DATABASE", None)
    with open_book():
        from ortet.demo import load_demo
        from ortet.work.plan.shown import shown
        from ortet.work.today import today as look

        with progress() as tell:
            load_demo(progress=tell)
        if once and shown() is None:
            from .plan import plan_season

            plan_season()
        print_today(look())
        print(f"This is the demo's own book, in {os.environ['ORTET_FOLDER']}. Yours is untouched.")
        if shown() is None:
            print("Its season is not planned yet: press Plan the season on the page Plan, some ten seconds.")
        if once:
            from ortet.demo.papers import print_papers

            files = print_papers(Path(os.environ["ORTET_FOLDER"], "papers"))
            print(f"Its papers, in {files[0].parent}: {', '.join(file.name for file in files)}.")
        else:
            from ortet.pages.serve import serve as run

            run("127.0.0.1", port)
