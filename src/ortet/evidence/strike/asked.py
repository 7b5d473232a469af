"""What is asked of strike rates: batches as counted, what is held before, and both as the tables that the sums take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import isfinite, log
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from ortet.wood.speech import say, to_say

__all__ = ["MEASURES", "WIDE", "Batch", "Column", "Spreads", "StrikePrior", "Table", "logit_of_beta"]

Array = NDArray[np.float64]

# A measure, by how much of it an effect is told, and in what words.
MEASURES: Mapping[str, tuple[float, str]] = MappingProxyType(
    {
        "thickness_mm": (3.0, to_say("3 mm thicker")),
        "position": (1.0, to_say("from the base of the shoot, not its tip")),
        "weeks": (4.0, to_say("4 weeks longer in store")),
        "heat_c": (5.0, to_say("5 °C warmer at the base")),
        "wounded": (1.0, to_say("wounded")),
    }
)
WIDE = 1.0  # a spread well above this is hardly believed, so that a usual share can prove wrong instead [logit] [our choice]
LEAST_KNOWN = 3  # batches of which a measure must be known for its effect to be asked


@dataclass(frozen=True, slots=True)
class Batch:
    """Cuttings of one variety struck together, and how many rooted.

    Attributes
    ----------
    struck, rooted : int
        Cuttings.
    species : str
        A key of `ortet.science.species`, or of the priors given.
    variety : str
        Its name; it belongs to one species.
    mother : str
        The mother plant; empty where none is noted: one unnamed plant of its variety.
    handling, treatment : str
        Words as the grower writes them, such as "heated bench", "none"; empty where nothing is noted.
    measures : mapping of str to float
        Numbers by name, those of `MEASURES` or any other; left out, None or NaN where it is not known.
    name : str
        What the grower calls the batch; errors say it.
    """

    struck: int
    rooted: int
    species: str
    variety: str
    mother: str = ""
    handling: str = ""
    treatment: str = ""
    measures: Mapping[str, float | None] = field(default_factory=dict)
    name: str = ""

    def __post_init__(self) -> None:
        if not self.species or not self.variety:
            raise ValueError(
                say(
                    "{who}: species {species!r}, variety {variety!r}. Name both.",
                    who=self._who,
                    species=self.species,
                    variety=self.variety,
                )
            )
        for count, what in ((self.struck, to_say("struck")), (self.rooted, to_say("rooted"))):
            if count != count or count != int(count) or count < 0:
                raise ValueError(
                    say(
                        "{who}: {count} {what}. Enter a whole number, 0 or more.",
                        who=self._who,
                        count=count,
                        what=say(what),
                    )
                )
        if self.struck < 1:
            raise ValueError(
                say("{who}: none struck, so nothing can be learnt of it. Leave it out.", who=self._who)
            )
        if self.rooted > self.struck:
            raise ValueError(
                say(
                    "{who}: {rooted} rooted of {struck} struck cannot be. Count again, or correct the number struck.",
                    who=self._who,
                    rooted=self.rooted,
                    struck=self.struck,
                )
            )
        for name, value in self.measures.items():
            if value is not None and value in (float("inf"), float("-inf")):
                raise ValueError(
                    say(
                        "{who}: {name} is {value:g}. Enter a number, or leave it out.",
                        who=self._who,
                        name=name,
                        value=value,
                    )
                )

    @property
    def _who(self) -> str:
        return (
            say("Batch {name}", name=self.name)
            if self.name
            else say("Batch of {variety}", variety=self.variety)
        )


@dataclass(frozen=True, slots=True)
class StrikePrior:
    """The share of a species that usually roots, held as firmly as if so many cuttings had been counted."""

    share: float
    cuttings: float

    def __post_init__(self) -> None:
        if not (0.0 < self.share < 1.0 and self.cuttings > 0.0 and isfinite(self.cuttings)):
            raise ValueError(
                f"A usual share of {self.share:g} as from {self.cuttings:g} cuttings: the share must lie within 0 to 1, the "
                "cuttings above 0."
            )

    @classmethod
    def of(cls, key: str) -> StrikePrior:
        """Return what species.toml holds of a species; a KeyError lists the species there are."""
        from ortet.science.species import species

        kind = species(key)
        return cls(kind.value("strike"), kind.value("strike_cuttings"))

    @property
    def a(self) -> float:
        """As if so many had rooted."""
        return self.share * self.cuttings

    @property
    def b(self) -> float:
        """As if so many had not."""
        return (1.0 - self.share) * self.cuttings


@dataclass(frozen=True, slots=True)
class Spreads:
    """How far things usually differ, on the logit, before any count: each (median, sd of its natural log), None for not at all.

    All our choice [common practice]: batches of one variety at a usual rate of 60 % mostly lie between 50 and 70 %.
    """

    variety: tuple[float, float] | None = (0.4, 0.6)
    mother: tuple[float, float] | None = (0.2, 0.6)
    batch: tuple[float, float] | None = (0.4, 0.6)
    handling: tuple[float, float] | None = (0.4, 0.6)  # handlings and treatments
    effect: float = 0.5  # sd of the effect of a measure, by its step

    def __post_init__(self) -> None:
        for name in ("variety", "mother", "batch", "handling"):
            pair = getattr(self, name)
            if pair is not None and not (pair[0] > 0.0 and pair[1] > 0.0):
                raise ValueError(f"Spread of {name}: {pair}. Both numbers must be above 0, or give None.")
        if not self.effect > 0.0:
            raise ValueError(f"Spread of effects: {self.effect:g}. It must be above 0.")


@dataclass(frozen=True, slots=True)
class Column:
    """One effect: of a measure by its step, or of a handling or treatment against the average of what was done."""

    kind: str  # "measure", "handling" or "treatment"
    name: str
    words: str
    middle: float  # the average, in the measure's own unit; the share of batches, for a handling
    step: float
    batches: int  # of which it is known

    def at(self, measures: Mapping[str, float | None], handling: str, treatment: str) -> float:
        """Return the column's value under these conditions: 0, the average, where nothing is noted."""
        if self.kind == "measure":
            value = measures.get(self.name)
            return 0.0 if value is None or value != value else (value - self.middle) / self.step
        noted = handling if self.kind == "handling" else treatment
        return float(noted == self.name) - self.middle if noted else 0.0


class Table:
    """Batches sorted by species, variety and mother plant, with one column for each effect."""

    def __init__(self, batches: Sequence[Batch], priors: Mapping[str, StrikePrior], spreads: Spreads) -> None:
        self.spreads = spreads
        kinds: dict[str, str] = {}
        for batch in batches:
            if kinds.setdefault(batch.variety, batch.species) != batch.species:
                raise ValueError(
                    say(
                        "{variety} is given as {other} and as {species}. A variety belongs to one species: correct one "
                        "of its batches.",
                        variety=batch.variety,
                        other=kinds[batch.variety],
                        species=batch.species,
                    )
                )
        rows = sorted(batches, key=lambda b: (b.species, b.variety, b.mother))
        self.species = sorted({row.species for row in rows})
        self.varieties = list(dict.fromkeys(row.variety for row in rows))
        self.mothers = list(dict.fromkeys((row.variety, row.mother) for row in rows))
        number = {name: at for at, name in enumerate(self.species)}
        self.kind_of = np.array([number[kinds[name]] for name in self.varieties], dtype=np.int64)
        self.batches_of = _starts([(row.variety, row.mother) for row in rows])
        self.mothers_of = _starts([variety for variety, _ in self.mothers])
        self.varieties_of = _starts(self.kind_of.tolist())
        self.struck = np.array([row.struck for row in rows], dtype=np.float64)
        self.rooted = np.array([row.rooted for row in rows], dtype=np.float64)
        self.variety_of_mother = np.repeat(np.arange(len(self.varieties)), np.diff(self.mothers_of))
        self.mother_of_batch = np.repeat(np.arange(len(self.mothers)), np.diff(self.batches_of))
        self.columns, self.left_out = _columns(rows)
        self.x = np.array(
            [
                [column.at(row.measures, row.handling, row.treatment) for column in self.columns]
                for row in rows
            ],
            dtype=np.float64,
        ).reshape(len(rows), len(self.columns))
        self.is_level = np.array([column.kind != "measure" for column in self.columns], dtype=bool)
        pairs = [logit_of_beta(priors[name].a, priors[name].b) for name in self.species]
        self.level = np.array([mean for mean, _ in pairs])
        self.doubt = np.array([variance for _, variance in pairs])


def _starts(keys: Sequence[object]) -> NDArray[np.int64]:
    """Return where each run of equal keys begins, and the end."""
    edges = [at for at, (before, key) in enumerate(pairwise([None, *keys])) if at == 0 or before != key]
    return np.array([*edges, len(keys)], dtype=np.int64)


def _columns(rows: Sequence[Batch]) -> tuple[list[Column], tuple[str, ...]]:
    columns, left_out = [], []
    for name in sorted({name for row in rows for name in row.measures}):
        given = [row.measures.get(name) for row in rows]
        known = np.array([value for value in given if value is not None and value == value])
        if not known.size:
            continue
        if known.size < LEAST_KNOWN or np.ptp(known) <= 1e-9 * max(1.0, float(np.abs(known).max())):
            few = known.size < LEAST_KNOWN
            left_out.append(
                say(
                    "{name} is known of {count} batches only, so what it does cannot be told.",
                    name=name,
                    count=known.size,
                )
                if few
                else say(
                    "{name} is {value:g} in every batch that has it, so what it does cannot be told.",
                    name=name,
                    value=known[0],
                )
            )
            continue
        step, words = MEASURES.get(name) or _own_step(name, known)
        columns.append(Column("measure", name, say(words), float(known.mean()), step, int(known.size)))
    for kind in (to_say("handling"), to_say("treatment")):
        noted = [getattr(row, kind) for row in rows if getattr(row, kind)]
        levels = sorted(set(noted))
        if len(levels) == 1:
            left_out.append(
                say(
                    "Every {kind} noted is “{level}”, so what it does cannot be told.",
                    kind=say(kind),
                    level=levels[0],
                )
            )
            continue
        for level in levels:
            count = noted.count(level)
            words = say("“{level}”, against the average of the batches", level=level)
            columns.append(Column(kind, level, words, count / len(noted), 1.0, count))
    return columns, tuple(left_out)


def _own_step(name: str, known: Array) -> tuple[float, str]:
    """Return the step of a measure of the grower's own: 1 where it is yes or no, else its standard deviation."""
    if set(known.tolist()) <= {0.0, 1.0}:
        return 1.0, say("{name}, against not", name=name)
    step = float(known.std())
    return step, say("{name} higher by {step:.3g}", name=name, step=step)


def logit_of_beta(a: float, b: float) -> tuple[float, float]:
    """Return mean and variance of the logit of a Beta(a, b): differences and sums of digamma and trigamma.

    References
    ----------
    Johnson, Kotz & Balakrishnan 1995, Continuous Univariate Distributions 2, ch. 25; Abramowitz & Stegun 1964, 6.3.18 and
    6.4.12 after raising the argument above 8 by 6.3.5 and 6.4.6. [published]
    """
    (mean_a, variance_a), (mean_b, variance_b) = _polygammas(a), _polygammas(b)
    return mean_a - mean_b, variance_a + variance_b


def _polygammas(x: float) -> tuple[float, float]:
    first = second = 0.0
    while x < 8.0:
        first -= 1.0 / x
        second += 1.0 / (x * x)
        x += 1.0
    r = 1.0 / (x * x)
    first += log(x) - 0.5 / x - r * (1 / 12 - r * (1 / 120 - r * (1 / 252 - r / 240)))
    second += 1.0 / x + 0.5 * r + r / x * (1 / 6 - r * (1 / 30 - r * (1 / 42 - r / 30)))
    return first, second
