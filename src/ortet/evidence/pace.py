"""What a grower's own looks tell of a kind's pace: how fast it calluses or roots, and what share never does.

The usual days to callus or root hold for a species at large. How many times longer or shorter this grower's wood takes
is learnt on three levels: the species, its varieties, and the single lots, which differ though the variety is one. Each
level leans on the one above it as far as its own counts are few. All is reckoned on a grid, so no posterior is assumed to
be normal; docs/science/pace.md tells it equation by equation.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import inf
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ortet.evidence.levels import LOG_DAYS, Levels, Prior, Told, shares
from ortet.evidence.rooting.counts import Course, Interval
from ortet.evidence.rooting.likely import STRAY, log_likely
from ortet.science.thermal_time import share_done

__all__ = ["SCORE_STEPS", "Learnt", "Look", "Prior", "Told", "learn_pace"]

Array = NDArray[np.float64]

# A score of callus goes up where this share of a lot has callused: 1 first specks, 2 half the ring, 3 most of it, 4 full.
SCORE_STEPS = (0.05, 0.3, 0.6, 0.9)  # [common practice: our choice]
SCORE_SPREAD = 0.6  # how far two people's scores differ, in standard deviations between cuttings [our choice]
LOGIT_NEVER = np.linspace(-5.3, 4.6, 28)
NEVER = shares(LOGIT_NEVER)


@dataclass(frozen=True, slots=True)
class Look:
    """What was seen of a lot when it had come so far at the usual pace: `done` of `of` cuttings, or a score of callus."""

    lot: str
    variety: str
    progress: float  # thermal time as a share of the usual median need [-]
    done: int | None = None
    of: int | None = None
    score: int | None = None  # 0 none … 4 full ring

    def __post_init__(self) -> None:
        if not self.progress >= 0:
            raise ValueError(f"lot {self.lot}: progress {self.progress:g} is below 0")
        if (self.done is None) != (self.of is None) or (self.done is None and self.score is None):
            raise ValueError(f"lot {self.lot}: give k of n, or a score")
        if self.done is not None and self.of is not None and not 0 <= self.done <= self.of:
            raise ValueError(f"lot {self.lot}: {self.done} of {self.of} cannot be")
        if self.score is not None and not 0 <= self.score <= 4:
            raise ValueError(f"lot {self.lot}: score {self.score} is not 0 to 4")


@dataclass(frozen=True, slots=True)
class Learnt:
    """What all looks of one species leave probable."""

    species: Told
    varieties: Mapping[str, Told]
    lots: Mapping[str, Told]
    other_lot: Mapping[str, Told]  # of a variety looked at: a lot of it that was not
    unseen: Told  # a lot of a variety that was not looked at

    def of(self, lot: str, variety: str) -> Told:
        """Return what is known of a lot by its own looks, else by its variety's, else by its species'."""
        return self.lots.get(lot) or self.other_lot.get(variety) or self.unseen


def learn_pace(looks: Sequence[Look], prior: Prior) -> Learnt:
    """Return what looks at lots of one species leave probable of its pace.

    Parameters
    ----------
    looks : sequence of Look
        In order of time within each lot. Looks at one lot that counted as many cuttings, and not fewer done than
        before, are taken as looks at the same cuttings; others as looks at different ones.
    prior : Prior
        The species at large.

    Returns
    -------
    Learnt

    Notes
    -----
    With x the progress at the usual pace and b the ln of a lot's days over the usual ones, a cutting has callused or
    rooted with ``F = (1 - q) Phi((ln x - b) / spread)``; k of n is binomial, a score an ordered category of
    ``(ln x - b) / spread``. A lot's b is ``N(variety, LOT_SPREAD)``, a variety's ``N(species, doubt / sqrt 2)``, a
    species' ``N(0, doubt / sqrt 2)``: half the doubt is between varieties, our choice. q goes likewise, on the logit.
    Lots, then varieties, are summed out on the grid, so the answer is exact but for the grid's step (0.04).
    """
    return _learnt(tuple(looks), prior)


@lru_cache(maxsize=64)  # every page of a lot asks, and looks are added seldom
def _learnt(looks: tuple[Look, ...], prior: Prior) -> Learnt:
    by_lot: dict[tuple[str, str], list[Look]] = defaultdict(list)
    for look in looks:
        by_lot[look.variety, look.lot].append(look)
    deep = Levels(prior, LOGIT_NEVER)
    likely = _likely(by_lot, prior)
    lots_of: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for key in likely:
        lots_of[key[0]].append(key)
    from_lot = {key: deep.up_to_variety(one) for key, one in likely.items()}
    own = {variety: sum(from_lot[key] for key in keys) for variety, keys in lots_of.items()}
    from_variety = {variety: deep.up_to_species(np.asarray(one)) for variety, one in own.items()}
    whole = deep.species + sum(from_variety.values())
    seen = {key: _cuttings(mine) for key, mine in by_lot.items()}
    total, scores = sum(seen.values()), sum(look.of is None for look in looks)

    def told(log_weight: Array, before: float, mine: int) -> Told:
        return deep.told(log_weight, before, mine, total - mine, scores)

    varieties, lots, other_lot = {}, {}, {}
    for variety, keys in lots_of.items():
        above = deep.down_to_variety(whole - from_variety[variety])
        belief = above + own[variety]
        count = sum(seen[key] for key in keys)
        varieties[variety] = told(belief, deep.variety_variance, count)
        other_lot[variety] = told(deep.down_to_lot(belief), deep.lot_variance, count)
        for key in keys:
            mine = deep.down_to_lot(belief - from_lot[key]) + likely[key]
            lots[key[1]] = told(mine, deep.lot_variance, count)
    unseen = deep.down_to_lot(deep.down_to_variety(np.asarray(whole)))
    return Learnt(
        deep.told(np.asarray(whole), deep.species_variance, total, 0, scores),
        varieties,
        lots,
        other_lot,
        told(unseen, deep.lot_variance, 0),
    )


def _again(before: Look, look: Look) -> bool:
    """Return whether a look saw the same cuttings as the one before: as many, and not fewer of them done."""
    return (
        before.of == look.of
        and before.done is not None
        and look.done is not None
        and before.done <= look.done
    )


def _cuttings(looks: Sequence[Look]) -> int:
    """Return how many cuttings of a lot were looked at, each counted once."""
    return sum(course.rooted + course.intervals[-1].cuttings for course in _courses(looks))


def _likely(looks: Mapping[tuple[str, str], Sequence[Look]], prior: Prior) -> dict[tuple[str, str], Array]:
    """Return the log likelihood of each lot's looks, shape (days, never); (days, 1) where all are scores."""
    every = [look for mine in looks.values() for look in mine]
    if not every:
        return {}
    quick = np.array([look.progress for look in every])[:, np.newaxis] * np.exp(-LOG_DAYS)
    scored = np.log(_score_share(quick, prior.spread, [look.score for look in every]))
    out, row = {}, 0
    for key, mine in looks.items():
        likely = scored[row : row + len(mine)].sum(axis=0)[:, np.newaxis]
        for course in _courses(mine):
            likely = likely + log_likely(course, np.array([prior.spread]), LOG_DAYS, NEVER)[0]
        out[key] = likely
        row += len(mine)
    return out


def _courses(looks: Sequence[Look]) -> list[Course]:
    """Return what looks at the same cuttings say, one course for each set of cuttings looked at."""
    sets: list[list[Look]] = []
    before = None
    for look in looks:
        if not look.of:
            continue
        if before is not None and _again(before, look):
            sets[-1].append(look)
        else:
            sets.append([look])
        before = look
    return [_course(mine) for mine in sets]


def _course(looks: Sequence[Look]) -> Course:
    """Return the course of cuttings that were looked at again and again."""
    intervals, so_far, after = [], 0, 0.0
    for look in looks:
        done = look.done or 0
        if done > so_far:
            intervals.append(Interval(after, look.progress, done - so_far))
        so_far, after = done, look.progress
    waiting = (looks[-1].of or 0) - so_far
    return Course((*intervals, Interval(after, inf, waiting)), rooted=so_far)


def _score_share(progress: Array, spread: float, scores: Sequence[int | None]) -> Array:
    """Return how often lots that have come so far are given these scores, shape (looks, days); 1 where none was given."""
    given = np.array([-1 if score is None else score for score in scores])
    steps = np.array([0.0, *(NormalDist().inv_cdf(step) for step in SCORE_STEPS), 0.0])

    def at_least(step: NDArray[np.int64]) -> Array:
        row = np.clip(step, 0, 5)[:, np.newaxis]
        inside = share_done(progress * np.exp(-spread * steps[row]), spread * SCORE_SPREAD)
        return np.asarray(np.where(row == 0, 1.0, np.where(row == 5, 0.0, inside)))

    share = STRAY + (1.0 - 5.0 * STRAY) * (at_least(given) - at_least(given + 1))
    return np.asarray(np.where(given[:, np.newaxis] < 0, 1.0, share))
