"""The command that reckons a mix."""

import textwrap
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import Json, open_book, print_json

if TYPE_CHECKING:
    from ortet.work.mix import Card


@app.command()
def mix(
    agent: Annotated[
        str, typer.Argument(help="bleach, alcohol, hormone, or product (by its label's own rate).")
    ],
    stock: Annotated[
        str,
        typer.Option(
            help="What the bottle's label says: 6 % by mass, 12.5 trade %, 5 % available chlorine, 95 % by volume, 1 %; of a powder its purity."
        ),
    ] = "",
    target: Annotated[
        str,
        typer.Option(
            help="What is wanted: 0.5 %, 500 ppm available chlorine, 1 + 9; of a product its rate, 1.5 mL/L."
        ),
    ] = "",
    volume: Annotated[str, typer.Option(help="How much, such as 10L or 2gal.")] = "",
    form: Annotated[
        str, typer.Option(help="liquid, powder; for hormone also K-IBA, K-NAA or talc.")
    ] = "liquid",
    density: Annotated[
        float | None, typer.Option(help="Of the stock in kg/L, where its label counts by mass.")
    ] = None,
    ph: Annotated[
        float | None, typer.Option(help="pH of the bleach mix, to tell its share of hypochlorous acid.")
    ] = None,
    water: Annotated[str, typer.Option(help="Temperature of the water, such as 12C or 54F.")] = "",
    minutes: Annotated[float | None, typer.Option(help="How long the dip is to last.")] = None,
    strip: Annotated[
        str, typer.Option(help="What a test shows now: 300 ppm as a chlorine strip counts, or 60 % left.")
    ] = "",
    ago: Annotated[str, typer.Option(help="How long before that test it was mixed: 90 min, 2 h, 3 d.")] = "",
    least: Annotated[
        str, typer.Option(help="The least that will do, as the test counts: 250 ppm, or 50 % left.")
    ] = "",
    mixed_at: Annotated[
        str, typer.Option(help="Time of day it was mixed, such as 08:30, to tell when to mix anew.")
    ] = "",
    as_json: Json = False,
) -> None:
    """Reckon a dip or a hormone: so much stock, so much water, in which order. Books nothing."""
    with open_book():
        from dataclasses import asdict, replace

        from ortet.ledger.models import Nursery
        from ortet.wood.units import read_temperature
        from ortet.work import Refused
        from ortet.work.mix import Mixing
        from ortet.work.mix import mix as reckon

        units = Nursery.get().units
        try:
            water_c = read_temperature(water, units) if water else None
        except ValueError as error:
            raise Refused(f"--water {error}. Nothing was reckoned.") from None
        mixed = Mixing(agent, target, volume, stock, form, density, ph, water_c, minutes, units)
        card = reckon(replace(mixed, strip=strip, ago=ago, least=least, mixed_at=mixed_at))
        if as_json:
            print_json(asdict(card))
        else:
            print_card(card)


def print_card(card: "Card") -> None:
    """Print a card: what to pour, in which order, what to mind."""

    def say(words: str, first: str) -> None:
        print(textwrap.fill(words, 96, initial_indent=first, subsequent_indent=" " * len(first)))

    print(card.title, end="\n\n")
    for pour in card.pours:
        print(f"  {pour.amount:>12}  {pour.what}" + (f" ({pour.other})" if pour.other else ""))
    print()
    for number, step in enumerate(card.steps, 1):
        say(step, f"{number:>3}  ")
    for head, sentences in (
        ("The same in other words", card.same),
        ("How long it lasts", card.keeps),
        ("Mind", card.notes),
    ):
        if sentences:
            print(f"\n{head}")
        for sentence in sentences:
            say(sentence, "  ")
    if card.doses:
        print("\nWhat others have used: ranges, not orders")
    for dose in card.doses:
        say(f"{dose.use}: {dose.range}, {dose.time}; {dose.found}. {dose.source} [{dose.mark}]", "  ")
    print()
    for caution in card.cautions:
        say(caution, "Caution: ")
