"""What the counts of a trial say, and what they do not: effects with intervals, one sentence, no verdict from noise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.evidence.trials.score import Difference, critical, difference, unlikeness
from ortet.evidence.trials.size import HEADLINE, LEVEL, PRIOR_FREEDOM, inflation_of, spent

__all__ = ["Effect", "OfVariety", "PlotCount", "Says", "Verdict", "judge", "shrunk"]

Array = NDArray[np.float64]
Says = Literal["more", "fewer", ""]
VARIETY_SPREAD = (
    0.15  # how far one treatment's effect usually differs between varieties: sd of a half-normal [our choice]
)


@dataclass(frozen=True, slots=True)
class PlotCount:
    """How many of one plot's cuttings had rooted at a look."""

    block: int
    variety: str
    treatment: int  # 0 the check
    struck: int
    rooted: int

    def __post_init__(self) -> None:
        if not 0 <= self.rooted <= self.struck or self.struck < 1 or self.treatment < 0:
            raise ValueError(f"Block {self.block}: {self.rooted} of {self.struck} cannot be.")


@dataclass(frozen=True, slots=True)
class OfVariety:
    """What a treatment did for one variety, as shares; drawn towards the others as far as its own counts are few."""

    variety: str
    difference: float
    low: float
    high: float
    says: Says
    check: tuple[int, int]  # rooted of struck
    other: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Effect:
    """What a treatment did against the check, as shares of all cuttings struck."""

    treatment: int
    check: float
    other: float
    difference: float
    low: float
    high: float
    says: Says
    varieties: tuple[OfVariety, ...]  # empty where there was but one


@dataclass(frozen=True, slots=True)
class Verdict:
    """What one look at a trial tells."""

    look: int
    looks: int  # planned
    level: float  # share of trials without a difference that say there is one, over all looks and treatments
    inflation: float  # how many times more plots differ than chance makes them
    blocks: int
    cuttings: int
    effects: tuple[Effect, ...]

    @property
    def may_speak(self) -> bool:
        """Whether this look was planned; one beyond shows, and decides nothing."""
        return self.look <= self.looks


def judge(
    plots: Sequence[PlotCount], treatments: int, *, look: int = 1, looks: int = 1, level: float = LEVEL
) -> Verdict:
    """Return what one look at a trial's plots tells.

    Parameters
    ----------
    plots : sequence of PlotCount
        Of all blocks counted so far; a treatment is compared in those blocks where its plot and the check's are counted.
    treatments : int
        The check included.
    look, looks : int
        Which look this is, of how many planned.
    level : float
        Share of trials without any difference in which any look, treatment or variety may be said to differ. [0-1]

    Returns
    -------
    Verdict

    Raises
    ------
    ValueError
        If no block has both the check and another treatment.

    Notes
    -----
    Effects are those of `difference`, averaged over blocks. Plots of one treatment differ more than chance among cuttings
    makes them; how much is learnt from how unlike the blocks' differences are, from a usual value worth six degrees of
    freedom, and is never taken as less than chance. The level is spent over looks by `spent`, over treatments by
    Dunnett's t. Where there are several varieties, four fifths of it go to their average, a fifth to single ones: a variety is said
    to differ where its own counts reach that fifth's part, or where the average speaks and its shrunk interval does too.
    """
    tables = _tables(plots, treatments)
    if not any(((table[1] > 0) & (table[3] > 0)).any() for table in tables):
        raise ValueError(
            "No block has both the check and another treatment counted: nothing can be compared yet."
        )
    names = list(dict.fromkeys(plot.variety for plot in sorted(plots, key=lambda one: one.block)))
    blocks = sorted({plot.block for plot in plots})
    of_block = {plot.block: plot.variety for plot in plots}
    mine = np.array([[of_block[b] == name for b in blocks] for name in names])
    inflation, freedom = _noise(tables, mine, float(np.mean([plot.struck for plot in plots])))
    several = len(names) > 1
    share = spent(min(look, looks), looks, level)
    errors = critical(share * (HEADLINE if several else 1.0), treatments - 1, freedom)
    alone = critical(share * (1.0 - HEADLINE) / len(names), treatments - 1, freedom) if several else errors
    effects = tuple(
        _effect(k, table, names, mine, (errors, alone), inflation, look <= looks)
        for k, table in enumerate(tables, 1)
        if ((table[1] > 0) & (table[3] > 0)).any()
    )
    return Verdict(look, looks, level, inflation, len(blocks), sum(plot.struck for plot in plots), effects)


Table = tuple[
    Array, Array, Array, Array
]  # rooted and struck of the treatment, then of the check, each (blocks,)


def _tables(plots: Sequence[PlotCount], treatments: int) -> list[Table]:
    """Return what each treatment but the check, and the check, came to in each block."""
    place = {block: k for k, block in enumerate(sorted({plot.block for plot in plots}))}
    rooted, struck = np.zeros((2, treatments, len(place)))
    for plot in plots:
        if plot.treatment >= treatments:
            raise ValueError(
                f"Block {plot.block}: there is no treatment {plot.treatment} among {treatments}."
            )
        rooted[plot.treatment, place[plot.block]] += plot.rooted
        struck[plot.treatment, place[plot.block]] += plot.struck
    return [(rooted[k], struck[k], rooted[0], struck[0]) for k in range(1, treatments)]


def _noise(tables: Sequence[Table], mine: NDArray[np.bool_], plot_cuttings: float) -> tuple[float, float]:
    """Return how many times more plots differ than chance makes them, and the degrees of freedom that it rests on."""
    q, freedom = 0.0, 0
    for table in tables:
        for of_variety in mine:
            more, free = unlikeness(*(one[of_variety] for one in table))
            q, freedom = q + more, freedom + free
    whole = PRIOR_FREEDOM + freedom
    return max(1.0, (PRIOR_FREEDOM * inflation_of(plot_cuttings) + q) / whole), whole


def _effect(
    treatment: int,
    table: Table,
    names: Sequence[str],
    mine: NDArray[np.bool_],
    errors: tuple[float, float],
    inflation: float,
    speaks: bool,
) -> Effect:
    headline, alone = errors
    rows = np.vstack([np.ones_like(mine[:1]), mine, mine]) if len(names) > 1 else np.ones_like(mine[:1])
    reach = np.where(
        np.arange(len(rows)) <= len(names), headline, alone
    )  # all, each by itself, each more strictly
    found = difference(*(np.where(rows, one, 0.0) for one in table), errors=reach, inflation=inflation)
    says = _says(found.low[0], found.high[0]) if speaks else ""
    counts = [np.where(mine, one, 0.0).sum(axis=1).astype(int) for one in table]
    varieties = _by_variety(names, found, counts, headline, bool(says)) if len(names) > 1 else ()
    if not speaks:
        varieties = tuple(replace(one, says="") for one in varieties)
    return Effect(treatment, float(found.check[0]), float(found.other[0]), float(found.middle[0]), float(found.low[0]), float(found.high[0]), says, varieties)  # fmt: skip


def _by_variety(
    names: Sequence[str],
    found: Difference,
    counts: Sequence[NDArray[np.int_]],
    headline: float,
    average_speaks: bool,
) -> tuple[OfVariety, ...]:
    own, strict = slice(1, len(names) + 1), slice(len(names) + 1, None)
    known = np.flatnonzero(np.isfinite(found.middle[own])).tolist()
    width = (found.high[own] - found.low[own])[known]
    middle, error = shrunk(found.middle[own][known], width / (2.0 * headline), VARIETY_SPREAD)
    told = []
    for k, at in enumerate(known):
        low, high = max(-1.0, middle[k] - headline * error[k]), min(1.0, middle[k] + headline * error[k])
        alone = float(found.low[strict][at]), float(found.high[strict][at])
        says = _says(*alone) or (_says(low, high) if average_speaks else "")
        if _says(*alone) and _says(low, high) != says:  # what is shown is what is said
            low, high = alone
        rooted, struck, check, of_check = (int(one[at]) for one in counts)
        told.append(
            OfVariety(
                names[at],
                float(middle[k]),
                float(low),
                float(high),
                says,
                (check, of_check),
                (rooted, struck),
            )
        )
    return tuple(told)


def _says(low: float, high: float) -> Says:
    return "more" if low > 0 else "fewer" if high < 0 else ""


def shrunk(effects: ArrayLike, errors: ArrayLike, spread: float) -> tuple[Array, Array]:
    """Return effects of several groups, each drawn towards the others as far as its own error is large.

    Parameters
    ----------
    effects, errors : array_like, shape (groups,)
        What each group shows by itself, and its standard error.
    spread : float
        Scale of the half-normal prior of the groups' standard deviation, in the unit of the effects.

    Returns
    -------
    tuple of two ndarrays, shape (groups,)
        Posterior means and standard deviations.

    Raises
    ------
    ValueError
        If an error is not above 0.

    References
    ----------
    Normal groups about a common mean, the mean flat, summed over a grid of the groups' standard deviation: Gelman et al.,
    Bayesian Data Analysis, 3rd ed., sec. 5.4, eq. 5.17 to 5.21. [published]
    """
    y, s = np.asarray(effects, dtype=np.float64), np.asarray(errors, dtype=np.float64)
    if not np.all(s > 0):
        raise ValueError("Each group needs a standard error above 0.")
    tau = np.linspace(0.0, 4.0 * min(spread, 100.0 * float(s.max())), 400)[:, np.newaxis]
    precision = 1.0 / (s**2 + tau**2)
    total = precision.sum(axis=1)
    mean = (precision * y).sum(axis=1) / total
    fit = 0.5 * np.log(precision) - 0.5 * precision * (y - mean[:, np.newaxis]) ** 2
    log_weight = fit.sum(axis=1) - 0.5 * np.log(total) - 0.5 * (tau[:, 0] / spread) ** 2
    weight = np.exp(log_weight - log_weight.max())
    weight = (weight / weight.sum())[:, np.newaxis]
    own = tau**2 / (tau**2 + s**2)  # how much of a group's own effect is kept
    middle = own * y + (1 - own) * mean[:, np.newaxis]
    variance = own * s**2 + (1 - own) ** 2 / total[:, np.newaxis]
    whole = (weight * middle).sum(axis=0)
    return whole, np.sqrt((weight * (variance + (middle - whole) ** 2)).sum(axis=0))
