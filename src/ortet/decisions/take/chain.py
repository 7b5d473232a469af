"""How many cuttings to take so that enough come through, with the confidence asked.

Every stage loses some: of m cuttings, how many come through is binomial where the share is known, and beta-binomial where it
is known only as a Beta, drawn once for the season. The chain is summed stage by stage, exactly, not simulated.

That more cuttings never lower the chance is proven, so a search by halves finds the fewest: given all the stages' shares,
each further cutting comes through or not and takes nothing from the others; the same holds averaged over the shares. For
the same reason the order of the stages does not matter to what comes out at the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import comb, isfinite, prod

import numpy as np
from numpy.typing import NDArray

from ortet.wood.speech import say

__all__ = [
    "MOST",
    "SUREST",
    "Beta",
    "Chain",
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
        return say(
            "about {mean:.0%}, known as from {cuttings:.3g} cuttings",
            mean=self.mean,
            cuttings=self.a + self.b,
        )


Stage = float | Beta  # a known share [0-1], or what is known of it
Floats = NDArray[np.float64]


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
    return Chain(stages).fewest(target, confidence, most)


def chance_to_reach(target: int, taken: int, stages: Sequence[Stage]) -> float:
    """Return the chance that at least `target` of the cuttings taken come through every stage. [0-1]"""
    return Chain(stages).chance(target, taken)


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
    return Chain(stages).through(taken)


class Chain:
    """Stages made ready for many questions: the functions of this module ask one and let it go."""

    def __init__(self, stages: Sequence[Stage]) -> None:
        self.stages = tuple(stages)
        self.links = _links(stages)
        self.expected = prod(stage.mean if isinstance(stage, Beta) else stage for stage in stages)
        self._tables = np.zeros((len(self.links), 4, 0))

    def fewest(self, target: int, confidence: float, most: int = MOST) -> int:
        """Return what `cuttings_to_take` returns."""
        from .loss_kernel import fewest

        _check_count(target, "target")
        if not 0.0 < confidence <= SUREST:
            raise ValueError(
                f"A confidence of {confidence:g}: no number of cuttings is certain. Enter above 0 and up to {SUREST}, "
                "such as 0.9 for nine winters in ten."
            )
        if target > most:
            raise OutOfReach(f"{target} wanted of at most {most} cuttings. Lower the target.")
        if target == 0 or not self.links.size:
            return target
        if self.expected == 0.0:
            raise OutOfReach(
                "A stage lets nothing through (a share of 0), so no number of cuttings is enough. Check it."
            )
        guess = min(most, int(target / self.expected))
        size = guess
        while True:
            size = min(most, size + size // 2 + 16)
            room = self._room(target, size)
            first, chance = fewest(target, *room, confidence - SLACK, guess, size)
            if first >= 0:
                break
            if size >= most:
                raise OutOfReach(self._too_vague(target, confidence, most))
            guess = size
        return first if chance > confidence + SLACK else self._settle(first, target, confidence, most)

    def chance(self, target: int, taken: int) -> float:
        """Return what `chance_to_reach` returns."""
        from .loss_kernel import chance_at

        _check_count(target, "target")
        _check_count(taken, "number taken")
        if target == 0 or target > taken or not self.links.size:
            return float(target <= taken)
        if self.expected == 0.0:
            return 0.0
        return float(chance_at(taken, target, *self._room(target, taken)))

    def through(self, taken: int) -> Through:
        """Return what `through` returns."""
        _check_count(taken, "number taken")
        if taken > MOST:
            raise ValueError(f"{taken} cuttings taken. Enter up to {MOST}.")
        held = np.zeros(taken + 1)
        held[taken] = 1.0
        return self.onward(held)

    def onward(self, held: Floats) -> Through:
        """Return what comes through where ``held[j]`` is the chance that j begin."""
        from .loss_kernel import thin

        taken = held.size - 1
        if not self.expected:
            held = np.zeros(taken + 1)
            held[0] = 1.0
        elif self.links.size:
            _, tables, _, _ = self._room(0, taken)
            for at in range(
                len(self.links) - 1, -1, -1
            ):  # the vaguest first: it fans out from one count only
                a, b, share = self.links[at]
                held = thin(held, a, b, share > 0.0, tables[at])
        return Through(taken, held)

    def _room(self, target: int, size: int) -> tuple[Floats, Floats, Floats, NDArray[np.int64]]:
        """Return the links, their tables, and empty rows for chances of 0 to `size` cuttings."""
        from .loss_kernel import ratios

        if size >= self._tables.shape[2]:
            room = max(size + 1, 2 * self._tables.shape[2])
            self._tables = np.stack([ratios(a, b, share > 0.0, room) for a, b, share in self.links])
        then = np.zeros((len(self.links), size + 1))
        then[0, target:] = 1.0
        return self.links, self._tables, then, np.zeros(len(self.links), dtype=np.int64)

    def _settle(self, first: int, target: int, confidence: float, most: int) -> int:
        """Return the fewest cuttings where the sums alone cannot tell whether `first` are enough."""
        asked, taken = _as_written(confidence), first
        while self.chance(target, taken) <= confidence + SLACK:
            if taken <= EXACT_MOST and exact_chance(target, taken, self.stages) >= asked:
                return taken
            if taken >= most:
                raise OutOfReach(self._too_vague(target, confidence, most))
            taken += 1
        return taken

    def _too_vague(self, target: int, confidence: float, most: int) -> str:
        told = "; ".join(str(s) if isinstance(s, Beta) else f"{s:.3g} known" for s in self.stages)
        return (
            f"{target} with a confidence of {confidence:g} would need more than {most} cuttings; with {most} the chance is "
            f"{self.chance(target, most):.4g}. The stages: {told}. Lower the target or the confidence, or count a batch so "
            "that the rates are known better."
        )


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


def _links(stages: Sequence[Stage]) -> Floats:
    """Return the stages as the loops take them: known shares made one, the surest first, the vaguest last; (stages, 3)."""
    share, links = 1.0, []
    for at, stage in enumerate(stages, 1):
        if isinstance(stage, Beta):
            links.append((stage.a, stage.b, 0.0))
            continue
        if not 0.0 <= stage <= 1.0:
            raise ValueError(f"Stage {at}: a share of {stage:g}. Enter 0 to 1.")
        share *= stage
    links.sort(key=lambda link: -(link[0] + link[1]))
    known = [(share, 1.0 - share, 1.0)] if share < 1.0 else []
    return np.array(known + links, dtype=np.float64).reshape(-1, 3)
