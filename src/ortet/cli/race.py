"""The command that plays roots against leaves."""

import textwrap
from datetime import date
from pathlib import Path
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
    base_record: Annotated[
        Path | None,
        typer.Option(help="A logger's file from the base: play the race as it went, not as it would go."),
    ] = None,
    air_record: Annotated[
        Path | None, typer.Option(help="A logger's file of the same days from the buds' air.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Say whether roots or leaves come first if it is struck, and what would move that. Books nothing."""
    if base_record or air_record:
        with open_book():
            _on_record(
                wood, base_record, air_record, chill, with_steady=bool(base or air or on), as_json=as_json
            )
        return
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


def _on_record(
    wood: str, base: Path | None, air: Path | None, chill: float | None, *, with_steady: bool, as_json: bool
) -> None:
    """Play the race on two loggers' files and print it."""
    from dataclasses import asdict

    from ortet.ledger.models import Nursery
    from ortet.science.species import species
    from ortet.wood.units import show_temperature
    from ortet.work import Refused
    from ortet.work.race_record import race_on_loggers

    if base is None or air is None or with_steady:
        raise Refused(
            "A race as it went needs --base-record and --air-record, and neither --base, --air nor --on: the records say "
            "it. One logger for both? Name its file twice. Nothing was reckoned."
        )
    try:
        files = [(path.name, path.read_bytes()) for path in (base, air)]
    except OSError as error:
        raise Refused(f"{error.filename}: {error.strerror}. Nothing was reckoned.") from None
    card = race_on_loggers(wood, *files, chill=chill)
    if as_json:
        # a day that the record does not reach is no number in JSON
        print_json({name: None if value == float("inf") else value for name, value in asdict(card).items()})
        return
    units = Nursery.get().units

    def half(days: float) -> str:
        return f"half after {days:.1f} days" if days <= card.days else "half not within the record"

    print(
        f"{species(card.kind).name.capitalize()}, from {card.struck:%Y-%m-%d %H:%M} for {card.days:.1f} days: base "
        f"{show_temperature(card.base_c, units)}, air {show_temperature(card.air_c, units)} on average\n"
    )
    print(f"Rooted, of those that can: {100 * card.rooted:.0f} % at its end, {half(card.root_days)}")
    print(f"In leaf: {100 * card.leafed:.0f} % at its end, {half(card.leaf_days)}")
    print(f"Leaves so early that the reserve could not carry them: {100 * card.too_early:.0f} % by its end\n")
    if card.steady_days < float("inf"):
        print(f"- Held steady at the base's average, half would root after {card.steady_days:.1f} days.")
    print(f"- Chill {card.chill:.0f} portions when struck, no heat before; days to root are the usual ones.")
    if any(card.gaps):
        print(
            f"- {card.gaps[0]} hours of base, {card.gaps[1]} of air unrecorded: nothing is counted in them."
        )


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
