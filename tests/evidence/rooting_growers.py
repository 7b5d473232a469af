"""Growers drawn from the model of time to root, and how often the bands told to them hold the truth.

    .venv/bin/python -m tests.evidence.rooting_growers 1000

draws a thousand growers for each way of counting and prints the share of bands of 90 in 100 that held. A test draws fewer.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from ortet.evidence import levels
from ortet.evidence.rooting import Batch, Count, Gone, Prior, learn_rooting

DAY = date(2027, 1, 10)
# counted whole; whole, with deaths; a part lifted; whole or a part, with cuttings potted on or taken out
WAYS = ("whole", "deaths", "parts", "mixed")
FURTHER = np.array([0.1, 0.3, 0.7, 2.5])  # the days ahead: progress after the last count


@dataclass
class Tray:
    """A batch with what nobody sees: when each cutting roots, and when each dies."""

    days: float
    never: float
    roots: np.ndarray
    dies: np.ndarray
    there: np.ndarray
    seen: float = 0.0
    events: list[Count | Gone] = field(default_factory=list)


def grow(rng, spread, days, never, way):
    """Return a tray after up to four counts."""
    n = int(rng.integers(8, 80))
    stuck = rng.random(n) < never
    roots = np.where(stuck, np.inf, np.exp(days + spread * rng.normal(size=n)))
    dead = stuck & (rng.random(n) < rng.random()) if way == "deaths" else np.zeros(n, bool)
    tray = Tray(days, never, roots, np.where(dead, rng.uniform(0.2, 2.5, n), np.inf), np.ones(n, bool))
    for number, x in enumerate(np.sort(rng.uniform(0.3, 2.0, rng.integers(0, 5)))):
        look(tray, rng, DAY + timedelta(number), x, way)
    return tray


def look(tray, rng, on, x, way):
    """Count a tray, whole or in part; some then leave it."""
    standing = np.flatnonzero(tray.there)
    whole = way in ("whole", "deaths") or (way == "mixed" and rng.random() < 0.4)
    looked = standing if whole else rng.choice(standing, min(standing.size, int(rng.integers(3, 16))), False)
    if not looked.size:
        return
    tray.seen = x
    dead = looked[tray.dies[looked] < x]
    tray.events.append(Count(on, x, int((tray.roots[looked] <= x).sum()), looked.size, dead.size))
    if not whole:
        return
    rooted, bare = (
        standing[has]
        for has in (tray.roots[standing] <= x, (tray.roots[standing] > x) & (tray.dies[standing] > x))
    )
    for kind, who, chance in (("dead", dead, 0.5), ("rooted", rooted[::2], 0.3), ("bare", bare[::4], 0.2)):
        if who.size and rng.random() < chance and way == ("deaths" if kind == "dead" else "mixed"):
            tray.there[who] = False
            tray.events.append(Gone(on, x, **{kind: who.size}))


def season(rng, way):
    """Return a prior, the truths of the species, and batches by name with their trays."""
    prior = Prior(
        rng.uniform(0.2, 0.45),
        rng.uniform(0.15, 0.4),
        rng.choice([0.15, 0.3, 0.5]),
        rng.choice([5.0, 10.0, 20.0]),
        rng.uniform(0.15, 0.33),
    )
    half = prior.doubt / np.sqrt(2.0)
    a, b = prior.never * prior.never_cuttings, (1.0 - prior.never) * prior.never_cuttings
    draws = rng.beta(2 * a, 2 * b, 4000)
    logits = np.log(draws / (1.0 - draws))
    spread, species = prior.spread * np.exp(prior.spread_doubt * rng.normal()), rng.normal(0, half)
    trays = {}
    for variety in "ABC"[: rng.integers(1, 4)]:
        days, logit = rng.normal(species, half), rng.normal(logits[0], logits.std())
        for number in range(rng.integers(1, 3)):
            never = 1.0 / (1.0 + np.exp(-rng.normal(logit, levels.LOT_NEVER)))
            tray = grow(rng, spread, rng.normal(days, levels.LOT_SPREAD), never, way)
            batch = Batch(f"{variety}{number}", variety, tray.there.size, DAY, tuple(tray.events))
            trays[batch] = tray
    return prior, {"spread": spread, "species": np.exp(species)}, trays


def judge(rng, way, held):
    """Draw one grower and note for each band whether it held."""
    prior, truth, trays = season(rng, way)
    learnt = learn_rooting(trays, prior)

    def note(name, band, true):
        held[name].append(band[0] <= true <= band[2])

    note("spread", learnt.spread, truth["spread"])
    note("days of the species", learnt.species.days, truth["species"])
    for batch, tray in trays.items():
        told = learnt.told(batch)
        note("days of a batch", told.days, np.exp(tray.days))
        note("never of a batch", told.never, tray.never)
        ahead = learnt.ahead(batch, DAY, tray.seen + FURTHER)
        left = sum(event.rooted for event in batch.events if isinstance(event, Gone))
        for place, x in enumerate(tray.seen + FURTHER):
            on, rooted = DAY + timedelta(place), left + int((tray.roots[tray.there] <= x).sum())
            # counts are whole numbers: a chance between that of more and that of as many makes 90 in 100 of it
            more, as_many = ahead.chance(on, rooted + 1), ahead.chance(on, rooted)
            held["rooted by a day"].append(0.05 < more + rng.random() * (as_many - more) < 0.95)


def main(growers):
    """Print how often bands of 90 in 100 held, way by way."""
    for way in WAYS:
        held, rng = defaultdict(list), np.random.default_rng(7)
        for _ in range(growers):
            judge(rng, way, held)
        print(
            f"{way:8}"
            + "; ".join(f"{name} {100 * np.mean(of):.1f} of {len(of)}" for name, of in held.items())
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
