"""Scions matched with stocks of their thickness: as many pairs as can be, and of those the closest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ortet.wood.speech import say, say_many, to_say

__all__ = ["WITHIN_MM", "Match", "Pair", "match_pairs"]

MOST = 10_000  # of either; 100 million steps
WITHIN_MM = 1.0  # by which scion and stock may differ and still heal well [our choice]


@dataclass(frozen=True, slots=True)
class Pair:
    """A scion and a stock by their places in the lists given."""

    scion: int
    stock: int
    scion_mm: float
    stock_mm: float

    @property
    def thicker_mm(self) -> float:
        """How much thicker the scion is than the stock. [mm]"""
        return self.scion_mm - self.stock_mm


@dataclass(frozen=True, slots=True)
class Match:
    """Pairs, thinnest first, and who is left, each with the reason."""

    pairs: tuple[Pair, ...]
    scions_left: tuple[int, ...]
    stocks_left: tuple[int, ...]
    total_mm: float  # of all differences
    reason: str


def match_pairs(
    scions_mm: Sequence[float],
    stocks_mm: Sequence[float],
    *,
    thicker_mm: float = WITHIN_MM,
    thinner_mm: float = WITHIN_MM,
) -> Match:
    """Pair scions with stocks within a tolerance: as many pairs as possible, then the least sum of differences.

    Parameters
    ----------
    scions_mm, stocks_mm
        Diameters where they are to meet. [mm]
    thicker_mm, thinner_mm
        By how much a scion may be thicker, thinner than its stock. [mm]

    Raises
    ------
    ValueError
        If a diameter or a tolerance makes no sense, or there are more than 10,000 of either.

    Notes
    -----
    Two pairs that cross (the thicker scion on the thinner stock) can always change partners without leaving the
    tolerance and without adding to the sum, so some best matching follows both lists in order of thickness, and a dynamic
    programme over the two sorted lists finds it: exact, and checked against the assignment problem.
    """
    for widths, too_many, no_width in (
        (
            scions_mm,
            to_say("{count} scions: match {most} at most at a time"),
            to_say("scion {number}: {mm:g} mm: give a diameter above 0 mm"),
        ),
        (
            stocks_mm,
            to_say("{count} stocks: match {most} at most at a time"),
            to_say("stock {number}: {mm:g} mm: give a diameter above 0 mm"),
        ),
    ):
        if len(widths) > MOST:
            raise ValueError(say(too_many, count=len(widths), most=MOST))
        for number, mm in enumerate(widths, 1):
            if not 0 < mm < 1000:
                raise ValueError(say(no_width, number=number, mm=mm))
    if not 0 <= thicker_mm < 1000:
        raise ValueError(say("tolerance thicker {mm:g} mm: give 0 or more", mm=thicker_mm))
    if not 0 <= thinner_mm < 1000:
        raise ValueError(say("tolerance thinner {mm:g} mm: give 0 or more", mm=thinner_mm))
    from .match_kernel import match_sorted

    scions, stocks = np.asarray(scions_mm, np.float64), np.asarray(stocks_mm, np.float64)
    by_scion, by_stock = np.argsort(scions, kind="stable"), np.argsort(stocks, kind="stable")
    partner = np.full(len(scions), -1, np.int64)
    match_sorted(scions[by_scion], stocks[by_stock], thicker_mm, thinner_mm, partner)
    pairs = tuple(
        Pair(int(by_scion[i]), int(by_stock[j]), float(scions[by_scion[i]]), float(stocks[by_stock[j]]))
        for i, j in enumerate(partner)
        if j >= 0
    )
    paired_scions, paired_stocks = {pair.scion for pair in pairs}, {pair.stock for pair in pairs}
    scions_left = tuple(n for n in range(len(scions)) if n not in paired_scions)
    stocks_left = tuple(n for n in range(len(stocks)) if n not in paired_stocks)
    total = sum(abs(pair.thicker_mm) for pair in pairs)
    return Match(pairs, scions_left, stocks_left, total, _reason(len(pairs), len(scions), len(stocks), total))


def _reason(pairs: int, scions: int, stocks: int, total: float) -> str:
    if not pairs:
        return say("No scion is within the tolerance of any stock: widen it, or look for other stocks.")
    said = say_many(
        "{count} pair, {apart:.2f} mm apart on average.",
        "{count} pairs, {apart:.2f} mm apart on average.",
        pairs,
        apart=total / pairs,
    )
    if pairs < min(scions, stocks):
        said += say(
            " No more fit within the tolerance: {scions} and {stocks} are left.",
            scions=say_many("{count} scion", "{count} scions", scions - pairs),
            stocks=say_many("{count} stock", "{count} stocks", stocks - pairs),
        )
    return said
