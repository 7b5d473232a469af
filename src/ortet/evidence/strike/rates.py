"""Strike rates of a collection from its counts: each variety's own, drawn towards its species as far as its counts are few."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ortet.wood.speech import to_say

from .asked import Batch, Column, Spreads, StrikePrior, Table
from .fit import LEVELS, Node, Z, explore
from .told import Effect, Rate, Share, Spread, effect_of, next_shares, quantiles, share_of

__all__ = ["StrikeRates", "strike_rates"]

Array = NDArray[np.float64]

POINTS = 101
REACH = 6.0  # standard deviations on either side


def strike_rates(
    batches: Sequence[Batch],
    *,
    priors: Mapping[str, StrikePrior] | None = None,
    spreads: Spreads | None = None,
) -> StrikeRates:
    """Return what batches counted leave probable of the share that roots.

    Parameters
    ----------
    batches : sequence of Batch
        All counts of the grower's; none is allowed.
    priors : mapping of str to StrikePrior, optional
        Usual shares by species; those left out are taken from species.toml.
    spreads : Spreads, optional
        How far things usually differ.

    Returns
    -------
    StrikeRates

    Raises
    ------
    ValueError
        If a variety is given under two species.
    KeyError
        If a species has no prior.

    Notes
    -----
    Of n cuttings in a batch, binomially many root, with ``logit p = species + variety + mother plant + effects + luck``; all
    but the species' level are normal about 0, with spreads that are learnt too. See docs/science/strike-rates.md.
    """
    held = dict(priors or {})
    for name in {batch.species for batch in batches} - set(held):
        held[name] = StrikePrior.of(name)
    spreads = spreads or Spreads()
    if not batches:
        return StrikeRates(held, spreads, None)
    table = Table(batches, held, spreads)
    return StrikeRates(held, spreads, _Found(table, *explore(table)))


class StrikeRates:
    """What counts leave probable: of varieties counted, of further ones, and of what handling does.

    Attributes
    ----------
    varieties : mapping of str to Rate
        Every variety counted, at the average of how it all was handled.
    species : mapping of str to Rate
        A further variety of each species counted.
    effects : tuple of Effect
    spreads : mapping of str to Spread
        How far varieties, mother plants, batches and handlings differ; empty before the first count.
    left_out : tuple of str
        Measures that could tell nothing, and why.
    """

    def __init__(self, priors: Mapping[str, StrikePrior], held: Spreads, found: _Found | None) -> None:
        self._priors, self._held, self._found = dict(priors), held, found
        self.varieties: dict[str, Rate] = found.varieties() if found else {}
        self.species: dict[str, Rate] = found.species() if found else {}
        self.effects: tuple[Effect, ...] = found.effects() if found else ()
        self.spreads: dict[str, Spread] = found.spreads() if found else {}
        self.left_out: tuple[str, ...] = found.table.left_out if found else ()

    def of(
        self,
        species: str,
        variety: str = "",
        *,
        mother: str = "",
        handling: str = "",
        treatment: str = "",
        measures: Mapping[str, float | None] | None = None,
    ) -> Rate:
        """Return the rate of a variety, or of one of its mother plants, handled so; average where nothing is said.

        Raises
        ------
        ValueError
            If the variety was counted as another species.
        KeyError
            If the species was never counted and has no prior.
        """
        found = self._found
        if found and found.kind_of.get(variety, species) != species:
            raise ValueError(
                f"{variety} was counted as {found.kind_of[variety]}, not {species}. Ask for that."
            )
        if not found or species not in self.species:
            prior = self._priors.get(species) or StrikePrior.of(species)
            return usual_rate(prior, species)
        rate = self.varieties.get(variety, self.species[species])
        return found.handled(rate, species, variety, mother, handling, treatment, measures or {})


def usual_rate(prior: StrikePrior, species: str) -> Rate:
    """Return the rate of a species of which nothing was counted: its prior alone."""
    a, b = prior.a, prior.b
    ends = np.log([_tail(a, b), 1.0 / _tail(b, a)])
    logits = np.linspace(ends[0], ends[1], POINTS)
    density = a * logits - (a + b) * np.logaddexp(0.0, logits)
    density = np.exp(density - density.max())
    density /= density.sum()
    low, median, high = quantiles(logits[np.newaxis], density[np.newaxis])[0].tolist()
    return Rate(
        low,
        median,
        high,
        Share(a, b),
        0.0,
        0.0,
        1.0,
        0,
        0,
        0,
        to_say("this variety"),
        species,
        logits,
        density,
        0.0,
    )


def _tail(a: float, b: float) -> float:
    """Return odds below which next to nothing of a Beta(a, b) lies."""
    from .asked import logit_of_beta

    mean, variance = logit_of_beta(a, b)
    return float(np.exp(max(mean - 7.0 * np.sqrt(variance), -60.0)))


@dataclass(frozen=True)
class _Mixed:
    """Distributions of logits, summed over the nodes: evenly spaced points and how likely each is, (n, POINTS)."""

    logits: Array
    density: Array
    mean: Array  # (n,)
    variance: Array


def _mixed(weight: Array, centre: Array, sd: Array, off: Sequence[Array] | None) -> _Mixed:
    """Sum normals, each bent by its `off`, over nodes; weight (k,), centre and sd (k, n), off k times (n, Z)."""
    middle = weight @ centre
    wide = np.sqrt(weight @ (sd**2 + (centre - middle) ** 2))
    place = np.linspace(-REACH, REACH, POINTS)
    logits = middle[:, np.newaxis] + wide[:, np.newaxis] * place
    density = np.zeros_like(logits)
    rows = np.arange(len(middle))[:, np.newaxis]
    for k, share in enumerate(weight):
        z = (logits - centre[k][:, np.newaxis]) / sd[k][:, np.newaxis]
        height = -0.5 * z * z
        if off is not None:
            at = np.clip((z - Z[0]) / (Z[1] - Z[0]), 0.0, Z.size - 1.0)
            low = np.minimum(at.astype(np.int64), Z.size - 2)
            part = at - low
            height += off[k][rows, low] * (1.0 - part) + off[k][rows, low + 1] * part
        one = np.exp(height)
        density += share * one / one.sum(axis=1, keepdims=True)
    mean = (density * logits).sum(axis=1)
    return _Mixed(logits, density, mean, (density * (logits - mean[:, np.newaxis]) ** 2).sum(axis=1))


class _Found:
    """The nodes of the grid, summed up."""

    def __init__(self, table: Table, nodes: Sequence[Node], hidden: Array) -> None:
        self.table, self.hidden = table, hidden
        self.kind_of = {
            name: table.species[kind] for name, kind in zip(table.varieties, table.kind_of, strict=True)
        }
        self.number = {name: at for at, name in enumerate(table.varieties)}
        self.mother_number = {key: at for at, key in enumerate(table.mothers)}
        k = len(table.species)
        weight = np.exp([node.log_weight for node in nodes])
        self.weight, self.sds = weight, np.array([node.sds for node in nodes])
        levels = np.array([node.effects for node in nodes])
        doubts = np.array([node.doubt for node in nodes])
        rate, sd = np.array([node.rate for node in nodes]), np.array([node.sd for node in nodes])
        self.mixed = _mixed(weight, rate, sd, [node.off for node in nodes])
        level_variance = doubts[:, np.arange(k), np.arange(k)]
        self.further = _mixed(weight, levels[:, :k], np.sqrt(level_variance + self.sds[:, :1] ** 2), None)
        self.level_left = weight @ level_variance / table.doubt
        self.own = weight @ np.array([node.own for node in nodes])
        self.effect = weight @ levels[:, k:]
        apart = levels[:, k:] - self.effect
        self.doubt = (
            np.einsum("k,kab->ab", weight, doubts[:, k:, k:]) + (apart * weight[:, np.newaxis]).T @ apart
        )
        self.level_with = np.einsum("k,ksc->sc", weight, doubts[:, :k, k:])
        self.with_effect = np.einsum("k,kvc->vc", weight, np.array([node.with_effects for node in nodes]))
        mothers = np.array([node.mother for node in nodes])
        self.mother = np.einsum("k,kmx->mx", weight, mothers)
        self.mother[:, 1] += weight @ (mothers[:, :, 0] - self.mother[:, 0]) ** 2
        _, self.mother_sd, self.batch_sd, self.handling_sd = (weight @ self.sds**2) ** 0.5
        self.tried = self._tried()

    def _tried(self) -> Array:
        """Return batches, struck and rooted of each mother plant, (mothers, 3)."""
        t, first = self.table, self.table.batches_of[:-1]
        sums = [np.diff(t.batches_of), *(np.add.reduceat(one, first) for one in (t.struck, t.rooted))]
        return np.column_stack(sums).astype(np.int64)

    def varieties(self) -> dict[str, Rate]:
        """Return the rate of every variety counted."""
        t = self.table
        tried = np.add.reduceat(self.tried, t.mothers_of[:-1], axis=0)
        sisters = np.diff(t.varieties_of)[t.kind_of] > 1
        prior = (1.0 - self.own) * self.level_left[t.kind_of]
        own = np.where(sisters, self.own, 1.0 - prior)
        weights = np.column_stack([own, 1.0 - own - prior, prior])
        return self._rates(self.mixed, t.varieties, [t.species[kind] for kind in t.kind_of], weights, tried)

    def species(self) -> dict[str, Rate]:
        """Return the rate of a further variety of each species."""
        kinds = self.table.species
        none = np.zeros((len(kinds), 3), dtype=np.int64)
        weights = np.column_stack([np.zeros(len(kinds)), 1.0 - self.level_left, self.level_left])
        return self._rates(self.further, kinds, kinds, weights, none)

    def _rates(
        self,
        mixed: _Mixed,
        names: Sequence[str],
        kinds: Sequence[str],
        weights: Array,
        tried: NDArray[np.int64],
    ) -> dict[str, Rate]:
        stray = float(self.mother_sd**2 + self.batch_sd**2)
        ends = quantiles(mixed.logits, mixed.density).tolist()
        shares = next_shares(mixed.logits, mixed.density, stray)
        parts, counts = weights.tolist(), tried.tolist()
        out = {}
        for at, name in enumerate(names):
            (low, median, high), (own, others, prior), (batches, struck, rooted) = (
                ends[at],
                parts[at],
                counts[at],
            )
            out[name] = Rate(
                low, median, high, shares[at], own, others, prior, batches, struck, rooted, "this variety", kinds[at],
                mixed.logits[at], mixed.density[at], stray,
            )  # fmt: skip
        return out

    def effects(self) -> tuple[Effect, ...]:
        """Return what measures, handlings and treatments do."""
        average, sd = self._average(), np.sqrt(np.diag(self.doubt))
        return tuple(
            effect_of(column, float(self.effect[at]), float(sd[at]), average)
            for at, column in enumerate(self.table.columns)
        )

    def _average(self) -> float:
        batches = np.add.reduceat(self.tried[:, 0], self.table.mothers_of[:-1])
        return float(np.average(self.mixed.mean, weights=batches))

    def spreads(self) -> dict[str, Spread]:
        """Return how far varieties, mother plants, batches and handlings differ."""
        logs = np.log(self.sds)
        mean = self.weight @ logs
        sd = np.sqrt(self.weight @ (logs - mean) ** 2 + self.hidden)
        here = float(share_of(np.array(self._average())))
        out = {}
        for at, name in enumerate(LEVELS):
            if getattr(self.table.spreads, name) is None or (
                name == "handling" and not self.table.is_level.any()
            ):
                continue
            low, median, high = np.exp(mean[at] + np.array([-1.6449, 0.0, 1.6449]) * sd[at]).tolist()
            out[name] = Spread(low, median, high, 100.0 * here * (1.0 - here) * median)
        return out

    def handled(
        self,
        rate: Rate,
        species: str,
        variety: str,
        mother: str,
        handling: str,
        treatment: str,
        measures: Mapping[str, float | None],
    ) -> Rate:
        """Return a rate moved to a mother plant and to a way of handling."""
        x = np.array([column.at(measures, handling, treatment) for column in self.table.columns])
        at = self.number.get(variety)
        cross = self.level_with[self.table.species.index(species)] if at is None else self.with_effect[at]
        moved = float(x @ self.effect)
        added = float(x @ self.doubt @ x + 2.0 * x @ cross)
        for kind, noted in (("handling", handling), ("treatment", treatment)):
            if noted and not any(column.kind == kind and column.name == noted for column in self._of(kind)):
                added += float(self.handling_sd**2) if self._of(kind) else 0.0
        stray, counts, of = (
            float(self.mother_sd**2 + self.batch_sd**2),
            (rate.batches, rate.struck, rate.rooted),
            rate.of,
        )
        number = self.mother_number.get((variety, mother)) if mother else None
        if number is not None:
            mean, variance, with_rate = self.mother[number].tolist()
            moved, added = moved + mean, added + variance + 2.0 * with_rate
            stray, of = float(self.batch_sd**2), to_say("this mother plant")
            batches, struck, rooted = self.tried[number].tolist()
            counts = (batches, struck, rooted)
        if moved == 0.0 and added == 0.0:
            return rate
        return _moved(rate, moved, added, stray, counts, of)

    def _of(self, kind: str) -> list[Column]:
        return [column for column in self.table.columns if column.kind == kind]


def _moved(rate: Rate, by: float, added: float, stray: float, counts: tuple[int, int, int], of: str) -> Rate:
    """Return a rate shifted on the logit, its variance grown by `added`, its shape kept."""
    middle = float(rate.density @ rate.logits)
    variance = float(rate.density @ (rate.logits - middle) ** 2)
    grown = np.sqrt(max(variance + added, 0.01 * variance) / variance)
    logits = middle + by + (rate.logits - middle) * grown
    low, median, high = quantiles(logits[np.newaxis], rate.density[np.newaxis])[0].tolist()
    share = next_shares(logits[np.newaxis], rate.density[np.newaxis], stray)[0]
    return Rate(
        low,
        median,
        high,
        share,
        rate.own,
        rate.others,
        rate.prior,
        *counts,
        of,
        rate.kind,
        logits,
        rate.density,
        stray,
    )
