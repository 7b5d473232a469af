"""What to look at next so as to tell the candidates apart, and which plants may be wrong too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .rank import Hypothesis, Judged, Settings, chance_of_next, chance_of_none
from .story import Group

__all__ = ["Affected", "Look", "affected", "next_looks"]

Array = NDArray[np.float64]

FEW = 3  # plants looked at in one go
LIKELY = 0.995  # the hypotheses that make up this much are weighed


@dataclass(frozen=True, slots=True)
class Look:
    """A group to look at, and what each answer would tell."""

    group: int
    plants: int
    bits: float  # expected gain of information about which candidate it was
    any_wrong: float  # chance that one at least is wrong
    if_wrong: tuple[tuple[int, float], ...]  # the candidates then, likeliest first
    if_right: tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class Affected:
    """A group that may hold wrong plants that nobody has looked at."""

    group: int
    rest: int  # plants not looked at
    any_wrong: float
    expected: float  # wrong ones among them


def _likely(judged: Judged) -> tuple[list[Hypothesis], Array]:
    order = np.argsort(-judged.weights, kind="stable")
    enough = int(np.searchsorted(np.cumsum(judged.weights[order]), LIKELY)) + 1
    kept = order[:enough]
    weights = judged.weights[kept]
    return [judged.hypotheses[n] for n in kept], weights / weights.sum()


def _bits(shares: Array) -> float:
    some = shares[shares > 0]
    return float(-(some * np.log2(some)).sum())


def next_looks(
    judged: Judged, groups: Sequence[Group], held: Settings | None = None, *, most: int = 5, plants: int = FEW
) -> list[Look]:
    """Return what is best looked at next, the most telling first.

    Returns
    -------
    list of Look
        By mutual information between the number found wrong and the candidate. [bits]

    References
    ----------
    Lindley 1956, Ann. Math. Statist. 27:986-1005: the information an experiment is expected to give. [memory]
    """
    held = held or Settings()
    hypotheses, weights = _likely(judged)
    keys = list(dict.fromkeys(h.key for h in hypotheses))
    out = []
    for g, group in enumerate(groups):
        more = min(plants, group.count - group.looked)
        if more < 1 or not any(strand.reach[g] for h in hypotheses for strand in h.strands):
            continue
        joint = np.zeros((len(keys), more + 1))
        for h, weight in zip(hypotheses, weights, strict=True):
            joint[keys.index(h.key)] += weight * chance_of_next(h, groups, g, more, held)
        by_answer, by_key = joint.sum(0), joint.sum(1)
        gain = _bits(by_answer) + _bits(by_key) - _bits(joint.ravel())
        wrong, right = joint[:, 1:].sum(1), joint[:, 0]
        out.append(
            Look(g, more, max(gain, 0.0), float(wrong.sum()), _shares(keys, wrong), _shares(keys, right))
        )
    return sorted(out, key=lambda look: -look.bits)[:most]


def _shares(keys: Sequence[int], parts: Array) -> tuple[tuple[int, float], ...]:
    total = parts.sum()
    if total <= 0:
        return ()
    pairs = zip(keys, (parts / total).tolist(), strict=True)
    return tuple(sorted(pairs, key=lambda one: -one[1])[:3])


def affected(judged: Judged, groups: Sequence[Group], held: Settings | None = None) -> list[Affected]:
    """Return the groups that may hold wrong plants not looked at yet, the surest first."""
    held = held or Settings()
    hypotheses, weights = _likely(judged)
    out = []
    for g, group in enumerate(groups):
        rest = group.count - group.looked
        if rest < 1 or not any(strand.reach[g] for h in hypotheses for strand in h.strands):
            continue
        none = expected = 0.0
        for h, weight in zip(hypotheses, weights, strict=True):
            expected += weight * rest * float(chance_of_next(h, groups, g, 1, held)[1])
            none += weight * chance_of_none(h, groups, g, rest, held)
        out.append(Affected(g, rest, 1.0 - none, expected))
    return sorted(out, key=lambda one: (-one.any_wrong, -one.expected))
