"""What a sample tells of a lot: how many cuttings to look at, which ones, and what the answer leaves possible.

A lot is finite and nothing is put back, so the number of bad ones in a sample is hypergeometric.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, isfinite, log
from random import Random

import numpy as np
from numpy.typing import NDArray

from ortet.wood.speech import say, to_say

__all__ = ["Allowed", "Pull", "allowed", "bad_ones", "chance_unseen", "pull", "sample_size"]

Array = NDArray[np.float64]

LARGEST = 10_000_000  # cuttings in a lot
SLIP = 1e-9  # a share of a lot is a whole number where it is one but for rounding: 0.29 * 100 is 28.999999999999996


@dataclass(frozen=True, slots=True)
class Allowed:
    """What a sample leaves possible of a whole lot."""

    lot: int
    looked: int
    found: int
    confidence: float
    most: int  # no more bad ones than this, at the confidence
    low: int  # and between these two, at the confidence, where some were found
    high: int

    @property
    def most_share(self) -> float:
        """The upper limit as a share of the lot. [0-1]"""
        return self.most / self.lot


@dataclass(frozen=True, slots=True)
class Pull:
    """Which cuttings to pull from one bag."""

    bag: str
    count: int  # that lie in it
    places: tuple[int, ...]  # counted from the top, the first is 1


def _whole(value: int, name: str, least: int, most: int) -> int:
    if isinstance(value, bool) or int(value) != value or not least <= value <= most:
        raise ValueError(
            say(
                "{name} {value!r}: a whole number from {least} to {most:,} is needed",
                name=say(name),
                value=value,
                least=least,
                most=most,
            )
        )
    return int(value)


def _within(value: float, name: str, *, one_too: bool = False) -> float:
    if not isfinite(value) or not 0 < value <= 1 or (value == 1 and not one_too):
        wanted = (
            say("{name} {value:g}: a share above 0 and up to 1 is needed", name=say(name), value=value)
            if one_too
            else say("{name} {value:g}: a share above 0 and below 1 is needed", name=say(name), value=value)
        )
        raise ValueError(
            say(
                "{wanted}; as a share {value:g} % is {share:g}", wanted=wanted, value=value, share=value / 100
            )
            if 1 < value <= 100
            else wanted
        )
    return float(value)


def bad_ones(lot: int, share: float) -> int:
    """Return how many bad ones a share of a lot means: rounded down, as ISPM 31 does, and 0 where it is less than one.

    Rounding up would ask for fewer: a lot of 25 holds one at 5 % (24 to look at), not two (19).
    """
    lot, share = _whole(lot, to_say("Lot of"), 1, LARGEST), _within(share, to_say("Share"), one_too=True)
    return floor(lot * share + SLIP)


def _none_in(lot: int, bad: int, n: int) -> float:
    """Return the chance that none of the bad ones of a lot is in a sample."""
    few, many = sorted((bad, n))
    j = np.arange(few, dtype=np.float64)
    return float(np.prod(np.maximum(lot - many - j, 0.0) / (lot - j)))


def _hypergeometric(lot: int, bad: int, n: int) -> Array:
    """Return the chance of 0, 1, … n bad ones in a sample, shape (n + 1,)."""
    k = np.arange(max(0, n - (lot - bad)), min(n, bad) + 1, dtype=np.float64)
    up = (bad - k[:-1]) * (n - k[:-1])
    down = (k[:-1] + 1.0) * (lot - bad - n + k[:-1] + 1.0)
    logs = np.concatenate([[0.0], np.cumsum(np.log(up / down))])
    some = np.exp(logs - logs.max())
    out = np.zeros(n + 1)
    out[k.astype(np.int64)] = some / some.sum()
    return out


def chance_unseen(lot: int, bad: int, n: int, sees: float = 1.0) -> float:
    """Return the chance that a sample shows none of the bad ones of a lot.

    Parameters
    ----------
    lot, bad, n : int
        Cuttings in the lot, bad ones among them, cuttings looked at.
    sees : float
        Share of bad ones that are seen for what they are when looked at. [0-1]

    Returns
    -------
    float
        ``sum_k P(k bad in the sample) (1 - sees)^k``, P hypergeometric. [0-1]

    References
    ----------
    ISPM 31, Methodologies for sampling of consignments, appendix 2. [published]
    """
    lot = _whole(lot, to_say("Lot of"), 1, LARGEST)
    bad, n = _whole(bad, to_say("Bad ones"), 0, lot), _whole(n, to_say("Sample of"), 0, lot)
    sees = _within(sees, to_say("Seen"), one_too=True)
    if sees == 1.0:
        return _none_in(lot, bad, n)
    k = np.arange(n + 1)
    return float(_hypergeometric(lot, bad, n) @ (1.0 - sees) ** k)


def sample_size(lot: int | None, share: float, confidence: float, sees: float = 1.0) -> int:
    """Return how many to look at so that a share of bad ones would show with a confidence.

    Parameters
    ----------
    lot : int or None
        Cuttings in it; None for one without end, as a stream of plants is.
    share : float
        Bad ones that must show, as a share of the lot; rounded down to whole cuttings. [0-1]
    confidence : float
        Chance that at least one shows if there are so many. [0-1]
    sees : float
        Share of bad ones that are seen for what they are when looked at. [0-1]

    Returns
    -------
    int
        The whole lot where the share is less than one cutting, or where even all of it would not give the confidence.

    Raises
    ------
    ValueError
        If a share is none or the lot no whole number.

    References
    ----------
    ISPM 31 (2008), appendix 2: the least n with P(none seen) <= 1 - confidence. [published]
    """
    share, confidence = (
        _within(share, to_say("Share"), one_too=True),
        _within(confidence, to_say("Confidence")),
    )
    sees = _within(sees, to_say("Seen"), one_too=True)
    miss = (1.0 - confidence) * (1.0 + SLIP)
    if lot is None:
        return 1 if share * sees >= 1.0 else ceil(log(miss) / log(1.0 - share * sees))
    bad = bad_ones(lot, share)
    if not bad or chance_unseen(lot, bad, lot, sees) > miss:
        return lot
    low, high = 0, lot  # too few, enough
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if chance_unseen(lot, bad, middle, sees) <= miss else (middle, high)
    return high


def _at_most(lot: int, bad: int, n: int, found: int, sees: float) -> float:
    """Return the chance that a sample shows no more than were found; falls as there are more bad ones."""
    if found == 0:
        return chance_unseen(lot, bad, n, sees)
    chances = _hypergeometric(lot, bad, n)
    if sees == 1.0:
        return float(chances[: found + 1].sum())
    return float(sum(chances[k] * _seen(k, found, sees) for k in range(n + 1) if chances[k] > 0))


def _seen(bad: int, found: int, sees: float) -> float:
    """Return the chance that no more than so many of some bad ones are seen."""
    if found >= bad:
        return 1.0
    one, total = (1.0 - sees) ** bad, 0.0
    for k in range(found + 1):
        total += one
        one *= (bad - k) / (k + 1.0) * sees / (1.0 - sees)
    return min(total, 1.0)


def allowed(lot: int, looked: int, found: int, confidence: float, sees: float = 1.0) -> Allowed:
    """Return what a sample leaves possible of the whole lot.

    Parameters
    ----------
    lot, looked, found : int
        Cuttings in the lot, looked at (drawn at random), bad ones found among those.
    confidence : float
        [0-1]
    sees : float
        Share of bad ones that are seen for what they are when looked at. [0-1]

    Returns
    -------
    Allowed
        `most`: the largest number of bad ones under which so few would be found more often than 1 - confidence.
        `low`, `high`: the same from both sides, half of 1 - confidence on each.

    Raises
    ------
    ValueError
        If more were looked at than the lot holds, or more found than looked at.

    References
    ----------
    Buonaccorsi 1987, Am. Statistician 41:215-218: exact limits by turning hypergeometric tests round. [memory]
    """
    lot = _whole(lot, to_say("Lot of"), 1, LARGEST)
    looked = _whole(looked, to_say("Looked at"), 0, lot)
    found = _whole(found, to_say("Found"), 0, looked)
    confidence, sees = _within(confidence, to_say("Confidence")), _within(sees, to_say("Seen"), one_too=True)
    # bad ones there may be: those found, and no more than those and the ones not looked at (or not seen)
    largest = lot - looked + found if sees == 1.0 else lot

    def upper(miss: float) -> int:
        low, high = found, largest + 1  # possible, too many
        while high - low > 1:
            middle = (low + high) // 2
            is_possible = _at_most(lot, middle, looked, found, sees) > miss * (1.0 + SLIP)
            low, high = (middle, high) if is_possible else (low, middle)
        return low

    def lower(miss: float) -> int:
        low, high = found - 1, upper(miss)  # too few, possible
        while found and high - low > 1:
            middle = (low + high) // 2
            is_possible = 1.0 - _at_most(lot, middle, looked, found - 1, sees) > miss * (1.0 + SLIP)
            low, high = (low, middle) if is_possible else (middle, high)
        return high if found else 0

    each = (1.0 - confidence) / 2.0
    return Allowed(lot, looked, found, confidence, upper(1.0 - confidence), lower(each), upper(each))


def pull(bags: Sequence[tuple[str, int]], size: int, seed: int) -> list[Pull]:
    """Return which cuttings to pull from which bags, by chance, each with the same chance.

    Parameters
    ----------
    bags : sequence of (name, count)
        Where the lot lies.
    size : int
        How many to pull in all.
    seed : int
        The same seed pulls the same cuttings.

    Returns
    -------
    list of Pull
        Bags from which none is pulled are left out.

    Notes
    -----
    Each bag gives its part in proportion, rounded up or down by one systematic draw over the bags, and its cuttings are
    drawn without putting back. So every cutting has the chance size / lot, and no bag is left out that should give one.
    """
    for name, count in bags:
        _whole(count, say("Cuttings in {bag},", bag=name), 1, LARGEST)
    lot = sum(count for _, count in bags)
    size = _whole(size, to_say("Sample of"), 0, lot)
    draws = Random(seed)  # of which only random() is used: Python promises to draw the same numbers for ever
    start, before, out = draws.random(), 0, []
    for name, count in bags:
        upto = before + count
        # whole numbers as far as they go: floor(size * upto / lot + start) without losing a digit
        mine = _steps(size * upto, lot, start) - _steps(size * before, lot, start)
        order = sorted(range(1, count + 1), key=lambda _: draws.random())
        if mine:
            out.append(Pull(name, count, tuple(sorted(order[:mine]))))
        before = upto
    return out


def _steps(part: int, whole: int, start: float) -> int:
    """Return how many steps of one lie below part / whole + start, start below 1."""
    full, rest = divmod(part, whole)
    return full + (rest / whole + start >= 1.0)
