"""A card for the bench: the rule of thumb by which a variety's shoots are cut, with gauges of the true size.

Typst lays it out (rule_card.typ beside this file), with the shipped fonts. The same card gives the same bytes everywhere.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Literal

from ortet.wood.speech import say, to_say

from .typeset import PAPERS, typeset

__all__ = ["CardPaper", "Gauge", "PrintedRule", "rule_cards"]

CardPaper = Literal["a6", "a4", "letter"]
WORDS = (to_say("Rule for cutting"), to_say("True size: lay the wood on it."))


@dataclass(frozen=True, slots=True)
class Gauge:
    """A thickness drawn at its true size."""

    width_mm: float
    words: str


@dataclass(frozen=True, slots=True)
class PrintedRule:
    """What stands on one card, as it is to be read."""

    variety: str
    nursery: str
    day: str
    steps: tuple[str, ...]
    gauges: tuple[Gauge, ...]
    gives: tuple[str, ...]  # what it gives, and what it gives up
    basis: str
    cautions: tuple[str, ...]
    ruler: str  # what the checking line must measure


def rule_cards(cards: Sequence[PrintedRule], *, paper: CardPaper = "a6") -> bytes:
    """Return cards, a page each, as a PDF.

    Raises
    ------
    ValueError
        If there is no card, if the paper is unknown, or if no font has a letter of a name.
    """
    if paper not in PAPERS:
        raise ValueError(
            say("Paper {asked!r}: say {known}. Nothing was printed.", asked=paper, known=", ".join(PAPERS))
        )
    if not cards:
        raise ValueError(say("Nothing to print: there is no rule."))
    width, height = PAPERS[paper]
    job = {"width": width, "height": height, "cards": [asdict(card) for card in cards]}
    return typeset("rule_card", job, WORDS)
