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
from statistics import NormalDist

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.thermal_time import share_done

__all__ = ["SCORE_STEPS", "Learnt", "Look", "Prior", "Told", "learn_pace"]

Array = NDArray[np.float64]

# A score of callus goes up where this share of a lot has callused: 1 first specks, 2 half the ring, 3 most of it, 4 full.
SCORE_STEPS = (0.05, 0.3, 0.6, 0.9)  # [common practice: our choice]
SCORE_SPREAD = 0.6  # how far two people's scores differ, in standard deviations between cuttings [our choice]
LOT_SPREAD = 0.15  # sd of the natural log of a lot's days about its variety's [common practice: our choice]
LOT_NEVER = 0.5  # sd of the logit of a lot's share that never does, about its variety's [our choice]
STRAY = 0.005  # a look goes astray this often: a label misread, a root that was bark [our choice]
LEAST = 1e-9

LOG_DAYS = np.linspace(-2.0, 2.0, 101)  # ln of days over the usual days
LOGIT_NEVER = np.linspace(-5.3, 4.6, 28)
NEVER = 1.0 / (1.0 + np.exp(-LOGIT_NEVER))
ENDS = (0.05, 0.5, 0.95)


@dataclass(frozen=True, slots=True)
class Prior:
    """What is held of a species before any look.

    Attributes
    ----------
    spread : float
        Standard deviation of the natural log of the time that a cutting takes. [-]
    doubt : float
        Standard deviation of the natural log of the usual days: how sure they are for one variety. [-]
    never : float
        Usual share that never does. [0-1]
    never_cuttings : float
        Cuttings that this share is worth: Beta(never n, (1 - never) n).
    """

    spread: float
    doubt: float
    never: float
    never_cuttings: float

    def __post_init__(self) -> None:
        if not (self.spread > 0 and self.doubt > 0 and self.never_cuttings > 0 and 0 < self.never < 1):
            raise ValueError(
                f"{self}: spread, doubt and cuttings must be above 0, the share that never does within 0 to 1."
            )


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
class Told:
    """What the looks leave probable of one lot, variety or species; three numbers are 5, 50 and 95 in 100."""

    days: tuple[float, float, float]  # times the usual days [-]
    never: tuple[float, float, float]  # share that never does [0-1]
    weight: float  # of the looks against the usual value, in the days: 0 none of theirs, 1 theirs alone
    cuttings: int  # looked at, of this lot or variety
    others: int  # looked at, of others of the species
    scores: int  # looks that gave a score only, of all the species

    @property
    def prior_cuttings(self) -> float:
        """Cuttings that the usual value counts like: with as many looked at, both weigh the same; inf if none was."""
        seen = self.cuttings + self.others
        return seen * (1.0 - self.weight) / self.weight if seen and self.weight > 0 else float("inf")


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
    deep = _Deep(prior)
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
        return _told(log_weight, before, mine, total - mine, scores)

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
        _told(np.asarray(whole), deep.species_variance, total, 0, scores),
        varieties,
        lots,
        other_lot,
        told(unseen, deep.lot_variance, 0),
    )


class _Deep:
    """The three levels: what is believed of a species, and how varieties and lots scatter about it."""

    def __init__(self, prior: Prior) -> None:
        half = prior.doubt / np.sqrt(2.0)
        a, b = prior.never * prior.never_cuttings, (1.0 - prior.never) * prior.never_cuttings
        log_beta = 2.0 * (a * np.log(NEVER) + b * np.log1p(-NEVER))  # twice the cuttings: half the doubt
        variance = _moments(np.exp(log_beta - log_beta.max()), LOGIT_NEVER)[1]
        self.species = (-0.5 * (LOG_DAYS / half) ** 2)[:, np.newaxis] + log_beta
        self.between = _scatter(LOG_DAYS, half), _scatter(LOGIT_NEVER, np.sqrt(variance))
        self.within = _scatter(LOG_DAYS, LOT_SPREAD), _scatter(LOGIT_NEVER, LOT_NEVER)
        self.species_variance = half**2
        self.variety_variance = 2.0 * half**2
        self.lot_variance = 2.0 * half**2 + LOT_SPREAD**2

    def up_to_variety(self, log_likely: Array) -> Array:
        return _mixed(log_likely, *self.within)

    def up_to_species(self, log_likely: Array) -> Array:
        return _mixed(log_likely, *self.between)

    def down_to_variety(self, log_weight: Array) -> Array:
        return _mixed(log_weight, self.between[0].T, self.between[1].T)

    def down_to_lot(self, log_weight: Array) -> Array:
        return _mixed(log_weight, self.within[0].T, self.within[1].T)


def _scatter(grid: Array, spread: float) -> Array:
    """Return the chance of each value (columns) below a value of the level above (rows)."""
    weight = np.exp(-0.5 * ((grid[np.newaxis, :] - grid[:, np.newaxis]) / spread) ** 2)
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


def _mixed(log_weight: Array, days: Array, never: Array) -> Array:
    """Return the log of a table, (days, never), summed over one level."""
    top = log_weight.max()
    mixed = days @ np.exp(log_weight - top)
    if mixed.shape[1] > 1:  # where nothing is known of the share that never does, there is nothing to sum
        mixed = mixed @ never.T
    return np.asarray(np.log(np.maximum(mixed, 1e-300)) + top)


def _again(before: Look | None, look: Look) -> bool:
    """Return whether a look saw the same cuttings as the one before: as many, and not fewer of them done."""
    return (
        before is not None
        and before.of == look.of
        and before.done is not None
        and look.done is not None
        and before.done <= look.done
    )


def _cuttings(looks: Sequence[Look]) -> int:
    """Return how many cuttings of a lot were looked at, each counted once."""
    counted = [look for look in looks if look.of]
    return sum(
        look.of or 0
        for before, look in zip([None, *counted], counted, strict=False)
        if not _again(before, look)
    )


def _likely(looks: Mapping[tuple[str, str], Sequence[Look]], prior: Prior) -> dict[tuple[str, str], Array]:
    """Return the log likelihood of each lot's looks, shape (days, never); (days, 1) where all are scores."""
    every = [look for mine in looks.values() for look in mine]
    if not every:
        return {}
    quick = np.array([look.progress for look in every])[:, np.newaxis] * np.exp(-LOG_DAYS)
    within = STRAY + (1.0 - 2.0 * STRAY) * share_done(quick, prior.spread)
    scored = np.log(_score_share(quick, prior.spread, [look.score for look in every]))
    out, row = {}, 0
    for key, mine in looks.items():
        rows = slice(row, row + len(mine))
        log_likely = scored[rows].sum(axis=0)[:, np.newaxis]
        if any(look.of for look in mine):
            log_likely = log_likely + _counted(mine, within[rows])
        out[key] = log_likely
        row += len(mine)
    return out


def _counted(looks: Sequence[Look], within: Array) -> Array:
    """Return the log likelihood of the counts of one lot, shape (days, never)."""
    out = np.zeros((LOG_DAYS.size, NEVER.size))
    before: tuple[Look, Array] | None = None
    for look, share in zip(looks, within, strict=True):
        if look.done is None or not look.of:
            continue
        done = share[:, np.newaxis] * (1.0 - NEVER)
        if before and _again(before[0], look):
            earlier, then = before  # those not yet done then are done now, or still not
            out -= (look.of - (earlier.done or 0)) * np.log1p(-then)
            out += (look.done - (earlier.done or 0)) * np.log(np.maximum(done - then, LEAST))
        else:
            out += look.done * np.log(done)
        out += (look.of - look.done) * np.log1p(-done)
        before = look, done
    return out


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


def _told(log_weight: Array, before: float, mine: int, others: int, scores: int) -> Told:
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    days, never = weight.sum(axis=1), weight.sum(axis=0)
    left = _moments(days, LOG_DAYS)[1] / before
    return Told(
        _three(np.exp(_quantiles(days, LOG_DAYS))),
        _three(1.0 / (1.0 + np.exp(-_quantiles(never, LOGIT_NEVER)))),
        float(np.clip(1.0 - left, 0.0, 1.0)),
        mine,
        others,
        scores,
    )


def _moments(weight: ArrayLike, grid: Array) -> tuple[float, float]:
    share = np.asarray(weight, dtype=np.float64)
    share = share / share.sum()
    mean = float(share @ grid)
    return mean, float(share @ (grid - mean) ** 2)


def _quantiles(weight: Array, grid: Array) -> Array:
    """Return the values below which 5, 50 and 95 in 100 lie, each grid point standing for its step."""
    step = grid[1] - grid[0]
    edges = np.append(grid - step / 2, grid[-1] + step / 2)
    return np.asarray(np.interp(ENDS, np.append(0.0, np.cumsum(weight)), edges))


def _three(values: Array) -> tuple[float, float, float]:
    low, middle, high = values.tolist()
    return low, middle, high
