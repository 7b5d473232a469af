"""A card for the bench: the rule of thumb by which a variety's shoots are cut, with gauges of the true size.

Typst lays it out (rule_card.typ beside this file), with the shipped fonts. The same card gives the same bytes everywhere.
"""

import json
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

__all__ = ["CARD_PAPERS", "CardPaper", "Gauge", "PrintedRule", "rule_cards"]

CardPaper = Literal["a6", "a4", "letter"]
# ISO 216; ANSI/ASME Y14.1 [mm]
CARD_PAPERS: dict[str, tuple[float, float]] = {"a6": (105, 148), "a4": (210, 297), "letter": (215.9, 279.4)}
HERE = Path(__file__).parent


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
    import typst

    if paper not in CARD_PAPERS:
        raise ValueError(f"Paper {paper!r}: say {', '.join(CARD_PAPERS)}. Nothing was printed.")
    if not cards:
        raise ValueError("Nothing to print: there is no rule.")
    width, height = CARD_PAPERS[paper]
    job = {"width": width, "height": height, "cards": [asdict(card) for card in cards]}
    missing = ""
    for shipped_only in (True, False):
        try:
            return typst.compile(
                HERE / "rule_card.typ",
                root=HERE,
                format="pdf",
                font_paths=[HERE / "fonts"],
                ignore_system_fonts=shipped_only,
                sys_inputs={"job": json.dumps(job, ensure_ascii=False)},
                pdf_standards="a-2b",
                pdf_tags=False,
            )
        except typst.TypstError as error:
            found = re.search(r"the text `\"(.*?)\"` could not be displayed", str(error))
            if not found:
                raise
            missing = found[1]
    raise ValueError(f"No font on this machine can write {missing!r}. Nothing was printed.")
