"""What the batches of one species teach of its time to root and of the share that never does.

The levels and the grid are those of `evidence.levels`: species, variety, batch; how far cuttings of a batch differ is learnt
along, one number for the species. docs/science/time-to-root.md tells it equation by equation.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.evidence.levels import LOG_DAYS, Levels, Prior, Told, quantiles, range_doubt, shares, three
from ortet.evidence.rooting.ahead import Ahead, Belief, look_ahead
from ortet.evidence.rooting.counts import Batch
from ortet.evidence.rooting.likely import log_likely
from ortet.science.species import Species

__all__ = ["Rooting", "learn_rooting", "usual_rooting"]

Array = NDArray[np.float64]

LOGIT_NEVER = np.linspace(-5.3, 4.6, 31)
NEVER = shares(LOGIT_NEVER)
SPREAD_AT = np.linspace(-2.1, 2.1, 7)  # where the spread is reckoned, in standard deviations of its doubt


def usual_rooting(wood: Species) -> Prior:
    """Return what is held of a species' time to root before any count: its numbers in species.toml with their ranges."""
    return Prior(
        wood.value("roots_spread"),
        range_doubt(*wood.range("roots_days")),
        min(max(1.0 - wood.value("strike"), 0.01), 0.99),
        wood.value("strike_cuttings"),
        range_doubt(*wood.range("roots_spread")),
    )


def learn_rooting(batches: Iterable[Batch], prior: Prior) -> Rooting:
    """Return what batches of one species leave probable of its time to root.

    Parameters
    ----------
    batches : iterable of Batch
        Of one species, this season's and earlier ones; each name once.
    prior : Prior
        The species at large: `usual_rooting`.

    Returns
    -------
    Rooting

    Raises
    ------
    ValueError
        If two batches have one name.

    Notes
    -----
    A mixture cure model with interval censoring: a cutting has rooted by progress x with ``(1 - q) F(x)``, F as in
    `likely.came_by`, counts of a batch as in `likely.log_likely`. Levels as in `evidence.levels`. The natural log of the
    spread is normal about the prior's, at nine places.

    References
    ----------
    Interval censoring: Turnbull 1976, J. R. Statist. Soc. B 38:290-295; cure: Boag 1949, J. R. Statist. Soc. B 11:15-53;
    Farewell 1982, Biometrics 38:1041-1046. [memory] Germination counts as intervals: Ritz, Pipper & Streibig 2013, Europ. J.
    Agronomy 45:1-6. [published]
    """
    every = tuple(batches)
    names = [batch.name for batch in every]
    twice = sorted({name for name in names if names.count(name) > 1}) if len(set(names)) < len(names) else []
    if twice:
        raise ValueError(f"Batch {twice[0]} was given twice. Give each batch once, with all its counts.")
    return _learnt(every, prior)


@lru_cache(maxsize=32)  # every page of a batch asks, and counts are added seldom
def _learnt(batches: tuple[Batch, ...], prior: Prior) -> Rooting:
    return Rooting(batches, prior)


class Rooting:
    """What all batches of one species leave probable; made by `learn_rooting`."""

    def __init__(self, batches: tuple[Batch, ...], prior: Prior) -> None:
        self._levels = Levels(prior, LOGIT_NEVER)
        places = SPREAD_AT if prior.spread_doubt > 0 else np.zeros(1)
        self._spreads = prior.spread * np.exp(prior.spread_doubt * places)
        self._known = {batch.name: batch for batch in batches}
        own: dict[str, Array] = {}
        self._cuttings: dict[str, int] = defaultdict(int)
        for batch in batches:
            if not batch.course.cuttings:
                continue
            likely = self._levels.up_to_variety(self._likely(batch))
            own[batch.variety] = own[batch.variety] + likely if batch.variety in own else likely
            self._cuttings[batch.variety] += batch.course.cuttings
        self._own = own
        self._from = {variety: self._levels.up_to_species(one) for variety, one in own.items()}
        before = self._levels.species - 0.5 * (places**2)[:, np.newaxis, np.newaxis]
        self._whole = np.asarray(before + sum(self._from.values()))
        self._total = sum(self._cuttings.values())

    @property
    def spread(self) -> tuple[float, float, float]:
        """Standard deviation of the natural log of a cutting's time: 5, 50 and 95 in 100. [-]"""
        if self._spreads.size == 1:
            return (float(self._spreads[0]),) * 3
        weight = np.exp(self._whole - self._whole.max()).sum(axis=(1, 2))
        return three(np.exp(quantiles(weight / weight.sum(), np.log(self._spreads))))

    @property
    def species(self) -> Told:
        """What is known of the species."""
        return self._levels.told(self._whole, self._levels.species_variance, self._total, 0)

    def variety(self, variety: str) -> Told:
        """Return what is known of a variety, by its own batches as far as there are any."""
        mine = self._cuttings.get(variety, 0)
        return self._levels.told(
            self._of_variety(variety), self._levels.variety_variance, mine, self._total - mine
        )

    def told(self, batch: Batch) -> Told:
        """Return what is known of a batch, learnt from or not."""
        return self._told(batch, self._of_batch(batch))

    def ahead(self, batch: Batch, first: date, progress: ArrayLike) -> Ahead:
        """Return when a batch will show its roots.

        Parameters
        ----------
        batch : Batch
            Learnt from or not, with counts or without.
        first : date
            The first of the days ahead.
        progress : array_like, shape (days,) or (courses, days)
            Thermal time from striking to the end of each day over the usual median need; several courses are weathers
            taken as equally likely. [-]

        Returns
        -------
        Ahead

        Raises
        ------
        ValueError
            If progress falls, begins below that of the last count, or is no number.
        """
        table = self._of_batch(batch)
        weight = np.exp(table - table.max())
        belief = Belief(self._spreads, LOG_DAYS, NEVER, weight / weight.sum())
        return look_ahead(batch, belief, self._told(batch, table), first, progress)

    def _told(self, batch: Batch, table: Array) -> Told:
        known, variety = self._known.get(batch.name), batch.variety
        others = self._total - self._cuttings.get(variety, 0)
        mine = self._cuttings.get(variety, 0) + batch.course.cuttings
        mine -= known.course.cuttings if known else 0
        return self._levels.told(table, self._levels.lot_variance, mine, others)

    def _likely(self, batch: Batch) -> Array:
        return log_likely(batch.course, self._spreads, LOG_DAYS, NEVER)

    def _of_variety(self, variety: str) -> Array:
        """Return what is believed of a variety."""
        if variety not in self._own:
            return self._levels.down_to_variety(self._whole)
        return self._levels.down_to_variety(self._whole - self._from[variety]) + self._own[variety]

    def _of_batch(self, batch: Batch) -> Array:
        """Return what is believed of a batch: what others say of it, and its own counts."""
        known = self._known.get(batch.name)
        above = self._of_variety(batch.variety)
        if known and known.course.cuttings:
            if known.variety != batch.variety:
                raise ValueError(
                    f"Batch {batch.name} is of {batch.variety}, but was learnt as {known.variety}."
                )
            before = self._likely(known)
            above = above - self._levels.up_to_variety(before)
            if known == batch:
                return self._levels.down_to_lot(above) + before
        below = self._levels.down_to_lot(above)
        return below + self._likely(batch) if batch.course.cuttings else below
