"""Which moments explain the plants that were found wrong, the likeliest first.

Each hypothesis is a moment, its two lots, a shape (labels exchanged, cuttings exchanged, cuttings strayed one way) and a
number; or a mother plant, a rootstock or a hand unseen. Bayes' rule over all of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from math import comb, exp, log

import numpy as np
from numpy.typing import NDArray

from ortet.wood.speech import say

from .chance import Seen, chances
from .story import ACTS, LABELLED, Group, Moment, Pool, Side, Source

__all__ = [
    "SHAPES",
    "Candidate",
    "Hypothesis",
    "Judged",
    "Settings",
    "by_number",
    "chance_of_next",
    "judge",
    "ln_sum",
]

Array = NDArray[np.float64]
Looked = tuple[tuple[int, Group], ...]

MOVED = 0.7  # what was confused is among what was moved, and not in what stayed behind: our choice
SHAPES = {"labels": 0.35, "both": 0.25, "into_first": 0.2, "into_second": 0.2}
SOURCES = {"mother": 1.0, "sender": 2.0, "part": 1.0, "stock": 3.0, "unseen": 1.0}


@dataclass(frozen=True, slots=True)
class Settings:
    """What is held before anything is found: our choice, all of it."""

    stray: float = 0.002  # plants that are wrong, or taken for wrong, for reasons of their own
    stranger: float = 0.1  # wood wrong from elsewhere turns out to be just this variety of the book
    near_h: float = 2.0  # hours apart at which confusing two lots is less likely by a factor e
    two_hands: float = 0.5
    other_species: float = 0.02  # who handles wood sees the difference
    other_thickness: float = 0.5  # where one is more than a third thicker than the other
    acts: dict[str, float] = field(default_factory=lambda: dict(ACTS))


@dataclass(frozen=True, slots=True)
class Strand:
    """Cuttings of one pool (or several) that were, or may have been, another variety."""

    variety: str  # that the wrong ones are; nothing where it may be any
    count: int
    reach: tuple[int, ...]
    is_whole: bool = False  # all of them are


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One way in which it may have happened."""

    key: int
    shape: str
    ln_prior: float
    strands: tuple[Strand, ...]
    ln_numbers: Array  # of 1, 2, … wrong ones, each strand as many; of whole strands one number


@dataclass(frozen=True, slots=True)
class Candidate:
    """A moment (or a source), and what speaks for it."""

    key: int
    chance: float
    shapes: tuple[tuple[str, float], ...]  # likeliest first, shares of this candidate's chance
    low: int  # how many cuttings, nine times in ten
    middle: int
    high: int
    expects: float  # how many of the wrong ones found it accounts for


@dataclass(frozen=True, slots=True)
class Judged:
    """All candidates, and the hypotheses they sum up."""

    candidates: tuple[Candidate, ...]
    hypotheses: tuple[Hypothesis, ...]
    weights: Array


def _numbers(most: int) -> Array:
    """Return ln of the share of each number from 1 to most: one in n, few likelier than many."""
    share = 1.0 / np.arange(1, most + 1)
    return np.asarray(np.log(share / share.sum()))


def _few_of_many(most: int) -> Array:
    """Return ln of the share of each number from 1 to most where a share of them is wrong, drawn from Beta(1, 4)."""
    k = np.arange(1, most + 1, dtype=np.float64)
    # the beta-binomial for a = 1, b = 4, but for what does not depend on k
    share = (most - k + 1) * (most - k + 2) * (most - k + 3)
    return np.asarray(np.log(share / share.sum()))


def _together(pools: Sequence[Pool], variety: str) -> Strand:
    count = sum(pool.count for pool in pools)
    reach = tuple(sum(pool.reach[g] for pool in pools) for g in range(len(pools[0].reach)))
    return Strand(variety, count, reach)


def _alike(one: Side, other: Side, held: Settings) -> float:
    if one.species != other.species:
        return held.other_species
    thin, thick = sorted((one.base_mm, other.base_mm))
    return held.other_thickness if thick > thin * 4 / 3 else 1.0


def _of_moment(moment: Moment, held: Settings) -> Iterator[Hypothesis]:
    first, second = moment.first, moment.second
    acts = (first.act, second.act)
    odds = [held.acts[act] for act in acts]
    # a moment is as risky as its riskier act, but a lot that only lay beside counts as little as that
    weight = min(odds) if "lay" in acts else max(odds)
    weight *= _alike(first, second, held) * (1.0 if moment.one_hand else held.two_hands)
    weight *= exp(-moment.apart_h / held.near_h)
    shapes = dict(SHAPES)
    if not all(act in LABELLED for act in acts):
        del shapes["labels"]
    whole = sum(shapes.values())
    for shape, share in shapes.items():
        ln_prior = log(weight * share / whole)
        if shape == "labels":
            # two labels change places: one bag (or bundle) of each lot is wholly wrong
            pairs = [(one, other) for one in first.pools for other in second.pools]
            for one, other in pairs:
                exchanged = (
                    Strand(second.variety, one.count, one.reach, is_whole=True),
                    Strand(first.variety, other.count, other.reach, is_whole=True),
                )
                yield Hypothesis(moment.key, shape, ln_prior - log(len(pairs)), exchanged, np.zeros(1))
            continue
        for part, pools in _parts(first, second):
            into_first, into_second = _together(pools[0], second.variety), _together(pools[1], first.variety)
            into = {"into_first": (into_first,), "into_second": (into_second,)}
            strands = into.get(shape, (into_first, into_second))
            most = min(strand.count for strand in strands)
            yield Hypothesis(moment.key, shape, ln_prior + log(part), strands, _numbers(most))


Pools = tuple[Pool, ...]


def _parts(first: Side, second: Side) -> list[tuple[float, tuple[Pools, Pools]]]:
    """Return which of the open cuttings may have been confused: those that were moved, or all that lay open."""
    moved = [tuple(pool for pool in side.pools if pool.was_moved) or side.pools for side in (first, second)]
    if moved == [first.pools, second.pools]:
        return [(1.0, (first.pools, second.pools))]
    return [(MOVED, (moved[0], moved[1])), (1.0 - MOVED, (first.pools, second.pools))]


def _of_source(source: Source, variety: str, varieties: set[str], held: Settings) -> Iterator[Hypothesis]:
    """Yield what a mother plant, a rootstock or an unseen hand may have done, if what was found is of this variety."""
    pool, is_stock = source.pool, source.kind == "stock"
    ln_stranger = 0.0 if is_stock or not variety or variety not in varieties else log(held.stranger)
    meant = source.variety if is_stock else variety
    part = Strand(meant, pool.count, pool.reach)
    if source.kind in ("mother", "sender"):
        whole = Strand(meant, pool.count, pool.reach, is_whole=True)
        ln_prior = log(SOURCES[source.kind]) + ln_stranger
        yield Hypothesis(source.key, source.kind, ln_prior, (whole,), np.zeros(1))
        return
    numbers = _few_of_many(pool.count) if is_stock else _numbers(pool.count)
    yield Hypothesis(source.key, source.kind, log(SOURCES[source.kind]) + ln_stranger, (part,), numbers)


def seen_by(group: Group, reach: int, variety: str) -> tuple[Seen, int]:
    """Return what was seen of a group as a strand explains it, and how many wrong ones it cannot explain."""
    known = {name for name, _ in group.wrong if name}
    meant = variety or (max(known, key=dict(group.wrong).__getitem__) if known else "")
    explained = sum(count for name, count in group.wrong if name in ("", meant))
    return Seen(group.count, reach, group.right, explained), group.mistaken - explained


def looked_at(groups: Sequence[Group]) -> Looked:
    """Return the groups of which something was looked at, by number: the others say nothing."""
    return tuple((g, group) for g, group in enumerate(groups) if group.looked)


def by_number(hypothesis: Hypothesis, looked: Looked, held: Settings) -> Array:
    """Return ln of prior share times chance of what was found, for each number of wrong ones a hypothesis allows."""
    out, reached, strays = hypothesis.ln_numbers, set(), 0.0
    for strand in hypothesis.strands:
        seen = []
        for g, group in looked:
            if reach := min(strand.reach[g], group.count):
                reached.add(g)
                one, unexplained = seen_by(group, reach, strand.variety)
                seen.append(one)
                strays += unexplained * log(held.stray)
        chance = chances(tuple(seen), strand.count)
        with np.errstate(divide="ignore"):
            out = out + np.log(chance[-1:] if strand.is_whole else chance[1 : 1 + len(hypothesis.ln_numbers)])
    for g, group in looked:
        if g not in reached:
            strays += group.mistaken * log(held.stray) + group.right * log(1.0 - held.stray)
    return np.asarray(out + strays)


def ln_sum(values: Array) -> float:
    """Return ln of the sum of exponentials."""
    top = float(values.max(initial=-np.inf))
    return top if top == -np.inf else top + float(np.log(np.exp(values - top).sum()))


def judge(
    groups: Sequence[Group],
    moments: Sequence[Moment],
    sources: Sequence[Source],
    held: Settings | None = None,
) -> Judged:
    """Return the moments and sources that explain what was found, the likeliest first.

    Parameters
    ----------
    groups : sequence of Group
        What was looked at and found, and what else may be.
    moments : sequence of Moment
        Pairs of lots that were open together; pairs of one variety are no mix-up and are left out.
    sources : sequence of Source
        Mother plants, rootstocks, unseen hands.

    Returns
    -------
    Judged

    Raises
    ------
    ValueError
        If nothing was found wrong, or nothing could have made it so.
    """
    held = held or Settings()
    found = {name: 0 for group in groups for name, _ in group.wrong}
    for group in groups:
        for name, count in group.wrong:
            found[name] += count
    if not sum(found.values()):
        raise ValueError(say("Nothing was found wrong: there is no mix-up to trace"))
    named = {name: count for name, count in found.items() if name}
    variety = max(named, key=named.__getitem__) if named else ""
    varieties = {side.variety for moment in moments for side in (moment.first, moment.second)}
    hypotheses = [
        h
        for moment in moments
        if moment.first.variety != moment.second.variety
        for h in _of_moment(moment, held)
    ]
    hypotheses += [h for source in sources for h in _of_source(source, variety, varieties, held)]
    hypotheses = [h for h in hypotheses if _touches(h, groups)]
    if not hypotheses:
        raise ValueError(say("No moment in the book and no plant it came from could have made these wrong"))
    looked = looked_at(groups)
    numbers = [by_number(h, looked, held) for h in hypotheses]
    ln = np.array([h.ln_prior + ln_sum(one) for h, one in zip(hypotheses, numbers, strict=True)])
    total = ln_sum(ln)
    if total == -np.inf:
        raise ValueError(
            say("What was found cannot come from one moment of the book: more are wrong than lay open")
        )
    weights = np.exp(ln - total)
    return Judged(_candidates(hypotheses, numbers, weights, groups), tuple(hypotheses), weights)


def _touches(hypothesis: Hypothesis, groups: Sequence[Group]) -> bool:
    """Return whether a hypothesis accounts for any of the plants that were found wrong."""
    return _accounts(hypothesis, groups) > 0


def _accounts(hypothesis: Hypothesis, groups: Sequence[Group]) -> int:
    """Return how many of the plants found wrong a hypothesis accounts for."""
    return sum(
        seen_by(group, 1, strand.variety)[0].wrong
        for strand in hypothesis.strands
        for g, group in enumerate(groups)
        if strand.reach[g] and group.mistaken
    )


def _candidates(
    hypotheses: Sequence[Hypothesis], numbers: Sequence[Array], weights: Array, groups: Sequence[Group]
) -> tuple[Candidate, ...]:
    out = []
    for key in dict.fromkeys(h.key for h in hypotheses):
        mine = [n for n, h in enumerate(hypotheses) if h.key == key and weights[n] > 0]
        chance = float(weights[mine].sum())
        if not mine:
            continue
        shapes: dict[str, float] = {}
        by_count: dict[int, float] = {}
        expects = 0.0
        for n in mine:
            h, share = hypotheses[n], float(weights[n]) / chance
            shapes[h.shape] = shapes.get(h.shape, 0.0) + share
            expects += share * _accounts(h, groups)
            if h.strands[0].is_whole:
                count = max(strand.count for strand in h.strands)
                by_count[count] = by_count.get(count, 0.0) + share
                continue
            for at, part in enumerate(share * np.exp(numbers[n] - ln_sum(numbers[n])), 1):
                by_count[at] = by_count.get(at, 0.0) + float(part)
        counts = np.array(sorted(by_count))
        below = np.cumsum([by_count[int(count)] for count in counts])
        low, middle, high = (
            int(counts[min(int(np.searchsorted(below, share)), len(counts) - 1)])
            for share in (0.05, 0.5, 0.95)
        )
        order = tuple(sorted(shapes.items(), key=lambda one: -one[1]))
        out.append(Candidate(key, chance, order, low, middle, high, expects))
    return tuple(sorted(out, key=lambda one: (-one.chance, one.key)))


def chance_of_next(
    hypothesis: Hypothesis, groups: Sequence[Group], g: int, more: int, held: Settings
) -> Array:
    """Return the chance that of so many more plants of a group 0, 1, … are wrong, shape (more + 1,)."""
    strand = next((strand for strand in hypothesis.strands if strand.reach[g]), None)
    if strand is None:
        k = np.arange(more + 1)
        ways = np.array([comb(more, int(n)) for n in k], dtype=np.float64)
        return np.asarray(ways * held.stray**k * (1.0 - held.stray) ** (more - k))
    looked = looked_at(groups)
    before = ln_sum(by_number(hypothesis, looked, held))
    out = np.array(
        [
            comb(more, wrong)
            * exp(
                ln_sum(by_number(hypothesis, _after(looked, groups, g, more - wrong, wrong, strand), held))
                - before
            )
            for wrong in range(more + 1)
        ]
    )
    return np.asarray(out / out.sum())


def chance_of_none(
    hypothesis: Hypothesis, groups: Sequence[Group], g: int, more: int, held: Settings
) -> float:
    """Return the chance that so many more plants of a group are all right."""
    strand = next((strand for strand in hypothesis.strands if strand.reach[g]), None)
    if strand is None:
        return (1.0 - held.stray) ** more
    looked = looked_at(groups)
    before = ln_sum(by_number(hypothesis, looked, held))
    return exp(ln_sum(by_number(hypothesis, _after(looked, groups, g, more, 0, strand), held)) - before)


def _after(looked: Looked, groups: Sequence[Group], g: int, right: int, wrong: int, strand: Strand) -> Looked:
    """Return the groups looked at once so many more plants of one were."""
    found = dict(groups[g].wrong)
    if wrong:
        found[strand.variety] = found.get(strand.variety, 0) + wrong
    changed = replace(groups[g], right=groups[g].right + right, wrong=tuple(found.items()))
    return (*((n, group) for n, group in looked if n != g), (g, changed))
