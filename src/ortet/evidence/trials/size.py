"""How many cuttings a trial needs to show the difference sought, and what a trial of a given size would show."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt
from statistics import NormalDist

from ortet.evidence.trials.score import critical
from ortet.wood.speech import say

__all__ = ["ALIKE", "LEVEL", "PRIOR_FREEDOM", "Size", "chance_shown", "cuttings_needed", "inflation_of", "size_of", "smallest_shown", "spent"]  # fmt: skip

LEVEL = 0.05  # share of trials without any difference that may say there is one [common practice]
HEADLINE = 0.8  # of the level goes to the treatments at large, the rest to single varieties [our choice]
LAST = 0.5  # of what is left goes to the last look planned, the rest to the earlier ones in equal parts [our choice]
ALIKE = 0.04  # correlation between cuttings of one plot: they share a corner, a hand, a drip [our choice]
PRIOR_FREEDOM = 6.0  # degrees of freedom that this is worth against the trial's own plots [our choice]
MOST = 100_000
_NORMAL = NormalDist()


def inflation_of(plot_cuttings: float) -> float:
    """Return how many times more plots of so many cuttings usually differ than chance makes them."""
    return 1.0 + max(0.0, plot_cuttings - 1.0) * ALIKE


def spent(look: int, looks: int, level: float = LEVEL) -> float:
    """Return the share of the level that one look may spend; 0 for a look beyond those planned.

    The shares add up to the level, so that whatever the looks have in common, all of them together speak without a
    difference in no more trials than that (Bonferroni's inequality).
    """
    if not 1 <= look <= looks:
        return 0.0
    if looks == 1:
        return level
    return level * LAST if look == looks else level * (1.0 - LAST) / (looks - 1)


def _checked(check: float, other: float) -> None:
    if not (0.0 < check < 1.0 and 0.0 < other < 1.0) or check == other:
        raise ValueError(
            say(
                "Shares {check:g} and {other:g}: give two different ones within 0 to 1, such as 0.5 and 0.7.",
                check=check,
                other=other,
            )
        )


def cuttings_needed(
    check: float,
    other: float,
    *,
    sure: float = 0.8,
    errors: float = 1.959964,
    check_per_other: float = 1.0,
    careful: bool = True,
) -> float:
    """Return how many cuttings a treatment needs; the check needs `check_per_other` times as many.

    Parameters
    ----------
    check, other : float
        Shares thought to root under the check and under the treatment. [0-1]
    sure : float
        Chance that the trial shows it. [0-1]
    errors : float
        Standard errors that a difference must reach, from `critical`.
    careful : bool
        Add what an exact test would need more (the continuity correction).

    Returns
    -------
    float
        Cuttings, not rounded.

    Raises
    ------
    ValueError
        If the shares are alike or not within 0 to 1, or sure is not.

    References
    ----------
    Fleiss, Tytun & Ury 1980, Biometrics 36:343-346; the correction: Casagrande, Pike & Smith 1978, Biometrics
    34:483-486. [published]
    """
    _checked(check, other)
    if not 0.0 < sure < 1.0:
        raise ValueError(say("Sure {sure:g}: give a chance within 0 to 1, such as 0.8.", sure=sure))
    r, d = check_per_other, abs(other - check)
    mean = (other + r * check) / (1.0 + r)
    null, alternative = (r + 1.0) * mean * (1 - mean), r * other * (1 - other) + check * (1 - check)
    n = (errors * sqrt(null) + _NORMAL.inv_cdf(sure) * sqrt(alternative)) ** 2 / (r * d**2)
    return n if not careful else n / 4.0 * (1.0 + sqrt(1.0 + 2.0 * (r + 1.0) / (n * r * d))) ** 2


def chance_shown(
    check: float, other: float, cuttings: float, *, errors: float = 1.959964, careful: bool = True
) -> float:
    """Return the chance that so many cuttings of each show the difference; else as `cuttings_needed`."""
    _checked(check, other)
    mean, d = (check + other) / 2.0, abs(other - check)
    correction = 1.0 / cuttings if careful else 0.0
    null, alternative = (
        2.0 * mean * (1 - mean) / cuttings,
        (other * (1 - other) + check * (1 - check)) / cuttings,
    )
    return _NORMAL.cdf((d - correction - errors * sqrt(null)) / sqrt(alternative))


def smallest_shown(
    check: float, cuttings: float, *, sure: float = 0.8, errors: float = 1.959964
) -> float | None:
    """Return the smallest gain over the check that so many cuttings of each would show; None if not even all rooting would.

    Where less than half the room is above the check, it is the smallest loss: as many cuttings show it.
    """
    side = 1.0 if check <= 0.5 else -1.0
    low, high = 1e-6, (1.0 - check if side > 0 else check) - 1e-6

    def shown(d: float) -> bool:
        return chance_shown(check, check + side * d, cuttings, errors=errors) >= sure

    if not 0.0 < check < 1.0 or not shown(high):
        return None
    for _ in range(30):
        middle = (low + high) / 2.0
        low, high = (low, middle) if shown(middle) else (middle, high)
    return high


@dataclass(frozen=True, slots=True)
class Size:
    """How large a trial is to be."""

    plot_cuttings: int
    blocks: int  # of one plot per treatment each
    cuttings: int  # of each treatment
    total: int
    chance: float  # that the difference sought is shown
    errors: float  # standard errors that a difference must reach at the last look


def size_of(
    check: float,
    other: float,
    *,
    treatments: int = 2,
    varieties: int = 1,
    plot_cuttings: int = 10,
    looks: int = 1,
    sure: float = 0.8,
    level: float = LEVEL,
    least_blocks: int = 3,
    blocks: int | None = None,
) -> Size:
    """Return the fewest blocks that show the difference sought; or, given the blocks, what they would show.

    Parameters
    ----------
    check, other : float
        Shares thought to root under the check and under the best treatment. [0-1]
    treatments : int
        The check included.
    varieties : int
        Each gets as many blocks as the others; the difference is that of their average.
    plot_cuttings : int
        Cuttings in one plot, which is struck and counted together.
    looks : int
        Dates at which all plots are counted; the chance is that of the last.
    least_blocks : int
        Of each variety, so that plots alike can be compared.

    Raises
    ------
    ValueError
        If a number cannot be, or more than 100,000 cuttings would be needed.

    Notes
    -----
    Cuttings of one plot share their corner: n of them tell as much as ``n / (1 + (m - 1) 0.04)`` independent ones, m in a
    plot. What a difference must reach follows from the level spent on the last look, Dunnett's for the number of treatments.
    """
    if (
        treatments < 2
        or varieties < 1
        or plot_cuttings < 1
        or looks < 1
        or least_blocks < 1
        or (blocks is not None and blocks < 1)
        or not 0 < level < 1
    ):
        raise ValueError(
            say(
                "A trial has two treatments or more, a variety, a block, a cutting in each plot, and one look or more."
            )
        )
    wide, share = inflation_of(plot_cuttings), level * (HEADLINE if varieties > 1 else 1.0)

    def errors(b: int) -> float:
        freedom = PRIOR_FREEDOM + max(0, b - varieties) * (treatments - 1)
        return critical(spent(looks, looks, share), treatments - 1, freedom)

    asked, b = blocks is None, max(least_blocks * varieties, 1) if blocks is None else blocks
    while asked:
        n = wide * cuttings_needed(check, other, sure=sure, errors=errors(b))
        if n * treatments > MOST:
            raise ValueError(
                say(
                    "To tell {other:g} from {check:g} takes {n:,.0f} cuttings of each: seek a larger difference.",
                    other=other,
                    check=check,
                    n=n,
                )
            )
        enough = varieties * ceil(n / plot_cuttings / varieties - 1e-9)
        if enough <= b:
            break
        b = (
            b + varieties
            if enough < b + 4 * varieties
            else enough - varieties * ((enough - b) // (4 * varieties))
        )
    cuttings = b * plot_cuttings
    return Size(plot_cuttings, b, cuttings, cuttings * treatments, chance_shown(check, other, cuttings / wide, errors=errors(b)), errors(b))  # fmt: skip
