"""Match scions with stocks by thickness: from what was measured to pairs. Nothing is booked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, cast

from ortet.decisions.match import WITHIN_MM, match_pairs
from ortet.ledger.booking import Refused
from ortet.wood.speech import say

from .cut import read_rows

__all__ = ["WITHIN_MM", "Matched", "Paired", "Piece", "match", "read_pieces"]


@dataclass(frozen=True, slots=True)
class Piece:
    """A scion or a stock, and how thick it is where the two are to meet."""

    name: str
    mm: float


@dataclass(frozen=True, slots=True)
class Paired:
    """A scion with its stock."""

    scion: Piece
    stock: Piece

    @property
    def thicker_mm(self) -> float:
        """How much thicker the scion is than the stock. [mm]"""
        return self.scion.mm - self.stock.mm


@dataclass(frozen=True, slots=True)
class Matched:
    """Pairs, the thinnest first, and what is left."""

    pairs: tuple[Paired, ...]
    scions_left: tuple[Piece, ...]
    stocks_left: tuple[Piece, ...]
    reason: str

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain values, for programs."""
        return asdict(self)


def read_pieces(data: bytes, filename: str) -> list[Piece]:
    """Return the pieces of a table.

    Raises
    ------
    NotRead
        With every problem in the file.
    """
    from ortet.tables.shoots import PieceRow

    return [
        Piece(row.piece, row.diameter_mm)
        for row in cast("list[PieceRow]", read_rows(data, filename, ("pieces",)))
    ]


def match(
    scions: Sequence[Piece],
    stocks: Sequence[Piece],
    *,
    thicker_mm: float = WITHIN_MM,
    thinner_mm: float = WITHIN_MM,
) -> Matched:
    """Pair as many scions with stocks as can be within a tolerance, and of those pairings the closest.

    Parameters
    ----------
    thicker_mm, thinner_mm
        By how much a scion may be thicker, thinner than its stock. [mm]

    Raises
    ------
    Refused
        If there are no scions or no stocks, or a number makes no sense.
    """
    for pieces, none in (
        (scions, say("No scion is given: measure one at least. Nothing was reckoned.")),
        (stocks, say("No stock is given: measure one at least. Nothing was reckoned.")),
    ):
        if not pieces:
            raise Refused(none)
    try:
        found = match_pairs(
            [one.mm for one in scions],
            [one.mm for one in stocks],
            thicker_mm=thicker_mm,
            thinner_mm=thinner_mm,
        )
    except ValueError as error:
        raise Refused(say("{error}. Nothing was reckoned.", error=error)) from None
    return Matched(
        tuple(Paired(scions[pair.scion], stocks[pair.stock]) for pair in found.pairs),
        tuple(scions[at] for at in found.scions_left),
        tuple(stocks[at] for at in found.stocks_left),
        found.reason,
    )
