"""How many cuttings to take so that enough come through, with the confidence asked.

Every stage loses some: of m cuttings, how many come through is binomial where the share is known, and beta-binomial where it
is known only as a Beta, drawn once for the season. The chain is summed stage by stage, exactly, not simulated.

That more cuttings never lower the chance is proven, so a search by halves finds the fewest: given all the stages' shares,
each further cutting comes through or not and takes nothing from the others; the same holds averaged over the shares. For
the same reason the order of the stages does not matter to what comes out at the end.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import comb, isfinite, prod

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "MOST",
    "SUREST",
    "Beta",
    "OutOfReach",
    "Stage",
    "Through",
    "chance_to_reach",
    "cuttings_to_take",
    "exact_chance",
    "through",
]

MOST = 50_000  # cuttings; beyond it no season of one variety is planned
SUREST = 0.999_999  # the highest confidence that may be asked
SLACK = 1e-9  # far more than the sums can be off: below 1e-10 for chains of MOST cuttings
EXACT_MOST = 1_000  # up to so many cuttings a tie is settled in whole-number fractions


class OutOfReach(ValueError):
    """No number of cuttings that may be taken reaches the target."""


@dataclass(frozen=True, slots=True)
class Beta:
    """A share that is known as if `a` had come through and `b` had not."""

    a: float
    b: float

    def __post_init__(self) -> None:
        if not (isfinite(self.a) and isfinite(self.b) and self.a > 0 and self.b > 0):
            raise ValueError(f"Beta({self.a:g}, {self.b:g}): both numbers must be above 0.")

    @property
    def mean(self) -> float:
        """The share expected. [0-1]"""
        return self.a / (self.a + self.b)

    def __str__(self) -> str:
        return f"about {self.mean:.0%}, known as from {self.a + self.b:.3g} cuttings"


Stage = float | Beta  # a known share [0-1], or what is known of it
Link = tuple[float, float, bool]  # a, b, and whether it is a known share: as the loops take it


def cuttings_to_take(target: int, stages: Sequence[Stage], confidence: float, *, most: int = MOST) -> int:
    """Return the fewest cuttings of which at least `target` come through with the confidence asked.

    Parameters
    ----------
    target : int
        How many must come through every stage.
    stages : sequence of float or Beta
        The share that comes through each stage: known [0-1], or a `Beta`, drawn once for all cuttings. None: no loss.
    confidence : float
        Above 0, at most `SUREST`. [0-1]
    most : int
        Where to stop looking.

    Returns
    -------
    int
        Cuttings. Where the chance falls on the confidence to within 1e-9 it is worked out in fractions; with more than
        `EXACT_MOST` cuttings the next number that is surely enough is returned.

    Raises
    ------
    OutOfReach
        If a stage lets nothing through, or `most` cuttings do not reach the confidence; with the figures.
    ValueError
        If a number is impossible.
    """
    chain = _chain(stages)
    _check_count(target, "target")
    if not 0.0 < confidence <= SUREST:
        raise ValueError(
            f"A confidence of {confidence:g}: no number of cuttings is certain. Enter above 0 and up to {SUREST}, "
            "such as 0.9 for nine winters in ten."
        )
    if target == 0 or not chain:
        if target > most:
            raise OutOfReach(f"{target} wanted of at most {most} cuttings. Lower the target.")
        return target
    chance = _chances(target, chain)
    expected = prod(stage.mean if isinstance(stage, Beta) else stage for stage in stages)
    low, high = target - 1, min(max(target, most), max(target, int(target / expected)))
    if chance(high) >= confidence - SLACK:
        low, high = target - 1, high
    while chance(high) < confidence - SLACK:
        if high >= most:
            raise OutOfReach(_too_vague(target, stages, confidence, most, chance(most)))
        low, high = high, min(max(high + 1, high * 5 // 4), most)
    first = _first(lambda n: chance(n) >= confidence - SLACK, low, high)
    if chance(first) > confidence + SLACK:
        return first
    return _settle(first, target, stages, confidence, chance, most)


def chance_to_reach(target: int, taken: int, stages: Sequence[Stage]) -> float:
    """Return the chance that at least `target` of the cuttings taken come through every stage. [0-1]"""
    chain = _chain(stages)
    _check_count(target, "target")
    _check_count(taken, "number taken")
    if target == 0 or target > taken or not chain:
        return float(target <= taken)
    return _chances(target, chain)(taken)


@dataclass(frozen=True, slots=True)
class Through:
    """How many of the cuttings taken may come through: ``probability[j]`` is that of exactly j."""

    taken: int
    probability: NDArray[np.float64]

    @property
    def mean(self) -> float:
        """The number expected."""
        return float(self.probability @ np.arange(self.probability.size))

    def at_least(self, target: int) -> float:
        """Return the chance that so many or more come through. [0-1]"""
        return float(self.probability[max(target, 0) :].sum()) if target > 0 else 1.0

    def quantile(self, share: float) -> int:
        """Return the least number that is not exceeded in this share of seasons. [0-1]"""
        if not 0.0 <= share <= 1.0:
            raise ValueError(f"A quantile of {share:g}. Enter 0 to 1.")
        below = np.cumsum(self.probability)
        return min(int(np.searchsorted(below, share - SLACK, side="left")), self.taken)

    def surely(self, confidence: float) -> int:
        """Return the most that come through with this confidence."""
        above = np.cumsum(self.probability[::-1])[::-1]
        return int(np.flatnonzero(above >= confidence - SLACK)[-1]) if confidence <= 1.0 else 0


def through(taken: int, stages: Sequence[Stage]) -> Through:
    """Return the distribution of how many of the cuttings taken come through every stage."""
    from .take_kernel import ratios, thin

    _check_count(taken, "number taken")
    if taken > MOST:
        raise ValueError(f"{taken} cuttings taken. Enter up to {MOST}.")
    held = np.zeros(taken + 1)
    held[taken] = 1.0
    for stage in stages:
        if isinstance(stage, int | float) and stage == 0:
            held = np.zeros(taken + 1)
            held[0] = 1.0
            return Through(taken, held)
    for link in reversed(
        _chain(stages)
    ):  # the vaguest first: it fans out from one count, the others from many
        held = thin(held, *link, ratios(*link, taken + 1))
    return Through(taken, held)


def exact_chance(target: int, taken: int, stages: Sequence[Stage]) -> Fraction:
    """Return the chance to reach the target as a fraction, reading each number as the decimal it is written as.

    Notes
    -----
    With P the product of all shares, ``P(N >= t) = sum over i from t to n of (-1)^(i-t) C(i-1, t-1) C(n, i) E[P^i]``, and
    a Beta has ``E[p^i] = a (a+1) ... (a+i-1) / ((a+b) ... (a+b+i-1))``.
    """
    if target <= 0:
        return Fraction(1)
    total, moment = Fraction(0), Fraction(1)
    for i in range(1, taken + 1):
        for stage in stages:
            if isinstance(stage, Beta):
                a, b = _as_written(stage.a), _as_written(stage.b)
                moment *= (a + i - 1) / (a + b + i - 1)
            else:
                moment *= _as_written(stage)
        if i >= target:
            total += (-1) ** (i - target) * comb(i - 1, target - 1) * comb(taken, i) * moment
    return total


def _as_written(number: float) -> Fraction:
    return Fraction(repr(float(number)))


def _check_count(count: int, name: str) -> None:
    if count < 0 or count != int(count):
        raise ValueError(f"A {name} of {count}. Enter a whole number, 0 or more.")


def _chain(stages: Sequence[Stage]) -> list[Link]:
    """Return the stages as the loops take them: known shares made one, the surest first, the vaguest last."""
    share, links = 1.0, []
    for at, stage in enumerate(stages, 1):
        if isinstance(stage, Beta):
            links.append((float(stage.a), float(stage.b), False))
            continue
        if not 0.0 <= stage <= 1.0:
            raise ValueError(f"Stage {at}: a share of {stage:g}. Enter 0 to 1.")
        share *= stage
    if share < 1.0:
        links.append((share, 1.0 - share, True))
    return sorted(links, key=lambda link: (not link[2], -(link[0] + link[1])))


def _chances(target: int, chain: list[Link]) -> Callable[[int], float]:
    """Return the chance to reach the target as a function of the number taken; what it has worked out it keeps."""
    from .take_kernel import chance_of, chances, ratios

    if any(share and a == 0.0 for a, _, share in chain):
        raise OutOfReach(
            "A stage lets nothing through (a share of 0), so no number of cuttings is enough. Check it."
        )
    *inner, last = chain
    then = [np.zeros(0) for _ in chain]  # [0]: come through, it is enough; then back, stage by stage
    tables = [np.zeros((4, 0)) for _ in chain]

    def chance(taken: int) -> float:
        if taken < target:
            return 0.0
        if taken >= then[0].size:
            size = taken + taken // 4 + 8
            then[0] = np.ones(size)
            tables[:] = [ratios(*link, size) for link in chain]
        for at, link in enumerate(inner, 1):
            known = then[at].size
            if taken >= known:
                then[at] = np.concatenate([then[at], np.zeros(taken + 1 - known)])
                chances(known, *link, tables[at - 1], then[at - 1], target, then[at])
        return float(chance_of(taken, *last, tables[-1], then[-1], target))

    return chance


def _first(enough: Callable[[int], bool], low: int, high: int) -> int:
    """Return the first number that is enough, between one that is not and one that is."""
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def _settle(
    first: int,
    target: int,
    stages: Sequence[Stage],
    confidence: float,
    chance: Callable[[int], float],
    most: int,
) -> int:
    """Return the fewest cuttings where the sums alone cannot tell whether `first` are enough."""
    asked = _as_written(confidence)
    taken = first
    while chance(taken) <= confidence + SLACK:
        if taken <= EXACT_MOST and exact_chance(target, taken, stages) >= asked:
            return taken
        if taken >= most:
            raise OutOfReach(_too_vague(target, stages, confidence, most, chance(most)))
        taken += 1
    return taken


def _too_vague(target: int, stages: Sequence[Stage], confidence: float, most: int, reached: float) -> str:
    told = "; ".join(str(stage) if isinstance(stage, Beta) else f"{stage:.3g} known" for stage in stages)
    return (
        f"{target} with a confidence of {confidence:g} would need more than {most} cuttings; with {most} the chance is "
        f"{reached:.4g}. The stages: {told}. Lower the target or the confidence, or count a batch so that the rates are known better."
    )
