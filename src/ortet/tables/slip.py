"""The table of a slip: what a sender says is in a parcel."""

from __future__ import annotations

from dataclasses import dataclass

from ortet.wood.speech import to_say

from .columns import G_PER_OUNCE, Column, Table
from .entry import Parse, amount, choice, count, name, species_key

__all__ = ["RECEIVING", "SLIP", "SlipRow"]


@dataclass(frozen=True, slots=True)
class SlipRow:
    """One line of a slip."""

    line: int
    variety: str
    species: str
    count: int | None
    sent_g: float | None
    use: str
    mark: str


def _may(name: str, help: str, example: tuple[str, str], parse: Parse, default: object = "") -> Column:
    return Column(name, help, example, False, parse, default)


SLIP = Table(
    "slip",
    to_say("What the sender says is in the parcel: a row for each variety."),
    (
        Column(
            "variety", to_say("Name of the variety, without quotation marks."), ("Larkfield Amber", "Ash Lantern"), True,
            name(120), None,
        ),
        _may("species", to_say("May stay empty where the book knows the variety."), ("grape", "gooseberry"), species_key),
        _may("count", to_say("Cuttings stated."), ("25", "40"), count(1), None),
        Column(
            "sent_g", to_say("What the wood weighed when it was sent, without its wrap."), ("480", "310"), False,
            amount(0, 1_000_000, "g", above=True), None, us=("sent_oz", G_PER_OUNCE),
        ),
        _may("use", to_say("rooting or grafting."), ("rooting", "rooting"), choice("rooting", "grafting"), "rooting"),
        _may("mark", to_say("Your own name for the lot it will be."), ("", "H1"), name(40)),
    ),
    SlipRow,
    ("variety", "mark"),
)  # fmt: skip
RECEIVING = {"slip": SLIP}
