"""The command that says how many of a lot to look at, and which."""

import textwrap
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import Json, LotArg, open_book, print_json, print_table

if TYPE_CHECKING:
    from ortet.work.sample import Sample


@app.command()
def sample(
    lot: LotArg,
    share: Annotated[float, typer.Option(help="Bad ones that should show, in per cent of the lot.")] = 5.0,
    confidence: Annotated[float, typer.Option(help="How surely one should show, in per cent.")] = 95.0,
    sees: Annotated[
        float, typer.Option(help="Of bad ones looked at, how many are seen to be bad, in per cent.")
    ] = 100.0,
    found: Annotated[
        int | None, typer.Option(min=0, help="How many bad ones were found: says what that leaves possible.")
    ] = None,
    of: Annotated[
        int | None, typer.Option(min=1, help="Of so many looked at. Default: as many as asked for.")
    ] = None,
    seed: Annotated[
        int | None, typer.Option(min=0, help="The draw's number: the same gives the same cuttings.")
    ] = None,
    as_json: Json = False,
) -> None:
    """Say how many cuttings of a lot to look at, which ones, and what the answer leaves possible. Books nothing."""
    with open_book():
        from dataclasses import asdict

        from ortet.work.sample import Sampling
        from ortet.work.sample import sample as draw

        card = draw(Sampling(lot, share / 100, confidence / 100, sees / 100, seed, of, found))
        if as_json:
            print_json(
                {
                    "lot": str(card.lot),
                    "on_hand": card.on_hand,
                    "look_at": card.size,
                    "seed": card.seed,
                    "pull": {one.bag: one.places for one in card.pulls},
                    "if_clean": asdict(card.clean),
                    "as_found": asdict(card.told) if card.told else None,
                }
            )
        else:
            print_sample(card)


def print_sample(card: "Sample") -> None:
    """Print a sample: how many, which, and what the answer means."""
    from ortet.work.sample import in_words

    def say(words: str) -> None:
        print(textwrap.fill(words, 96))

    words = in_words(card)
    print(f"Lot {card.lot}, {card.lot.variety}: {card.on_hand} on hand\n")
    say(words.how_many)
    if card.told is None and not card.is_all:
        print(f"\nPull these, counted from the top (draw number {card.seed}):")
        print_table(
            ["from", "of", "pull", "which"],
            [
                [one.bag, one.count, len(one.places), textwrap.fill(", ".join(map(str, one.places)), 60)]
                for one in card.pulls
            ],
        )
    print()
    for sentence in words.means:
        say(sentence)
