"""The command that plays roots against leaves."""

import textwrap
from datetime import date
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import Json, measure, open_book, print_json, print_table

if TYPE_CHECKING:
    from ortet.work.race import RaceCard


@app.command()
def race(
    wood: Annotated[
        str, typer.Argument(metavar="LOT or KIND", help="A lot's code or mark, or a kind such as grape.")
    ],
    base: Annotated[str, typer.Option(help="The medium at the base, such as 24C or 75F.")] = "",
    air: Annotated[str, typer.Option(help="The air at the buds. Default: a cool room, 12 °C.")] = "",
    on: Annotated[str, typer.Option(help="The day of striking, such as 2027-02-12. Default: today.")] = "",
    chill: Annotated[
        float | None, typer.Option(help="Chill portions on that day. Default: the lot's own, or the need.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Say whether roots or leaves come first if it is struck, and what would move that. Books nothing."""
    with open_book():
        from dataclasses import asdict

        from ortet.science.species import known_species
        from ortet.work import Refused
        from ortet.work.race import Racing
        from ortet.work.race import race as play

        try:
            day = date.fromisoformat(on) if on else None
        except ValueError:
            raise Refused(f"--on {on!r}: write a day like 2027-02-12. Nothing was reckoned.") from None
        kind = wood.casefold() if wood.casefold() in known_species() else ""
        card = play(
            Racing(
                "" if kind else wood,
                kind,
                measure(base, "read_temperature"),
                measure(air, "read_temperature"),
                day,
                chill,
            )
        )
        if as_json:
            raced = asdict(card.raced)
            for name in ("days", "rooted", "leafed", "waits", "risk"):
                raced[name] = raced[name].tolist()
            print_json(
                {
                    "lot": str(card.lot) if card.lot else None,
                    "kind": card.kind,
                    "base_c": card.base_c,
                    "air_c": card.air_c,
                    "on": card.on,
                    "assumed": card.assumed,
                    **raced,
                }
            )
        else:
            print_race(card)


def print_race(card: "RaceCard") -> None:
    """Print a race: the verdict, when roots and leaves come, what moves it, what it rests on."""
    from ortet.decisions.racing import in_words
    from ortet.ledger.models import Nursery
    from ortet.science.species import species
    from ortet.wood.units import show_temperature

    units, raced = Nursery.get().units, card.raced

    def say(words: str, first: str = "") -> None:
        print(textwrap.fill(words, 96, initial_indent=first, subsequent_indent=" " * len(first)))

    def days(value: float) -> str:
        return f"{value:.0f}" if value < 1e6 else "never"

    name = f"Lot {card.lot}, {card.lot.variety}" if card.lot else species(card.kind).name.capitalize()
    print(
        f"{name}, struck {card.on}: base {show_temperature(card.base_c, units)}, air {show_temperature(card.air_c, units)}\n"
    )
    say(raced.verdict)
    low, _, high = raced.too_early
    print(f"If it roots quickly {in_words(low)}, if slowly {in_words(high)}.\n")
    print_table(
        ["days until", "10 %", "half", "90 %"],
        [
            ["rooted, of those that can", *map(days, raced.roots)],
            ["in leaf", *map(days, raced.leaves)],
        ],
    )
    for head, rows in (("base", raced.by_base), ("air", raced.by_air)):
        print_table(
            [head, "half rooted", "half in leaf", "leaves too early"],
            [
                [
                    f"{show_temperature(row.value, units)}{' *' if row.is_asked else ''}",
                    f"{days(row.root_days)} d",
                    f"{days(row.leaf_days)} d",
                    in_words(row.too_early),
                ]
                for row in rows
            ],
        )
    print_table(
        ["struck in", "half in leaf", "leaves too early"],
        [
            [
                f"{row.value:.0f} days{' *' if row.is_asked else ''}",
                f"{days(row.leaf_days)} d",
                in_words(row.too_early),
            ]
            for row in raced.by_day
        ],
    )
    for sentence in (*card.assumed, *raced.reasons):
        say(sentence, "- ")
