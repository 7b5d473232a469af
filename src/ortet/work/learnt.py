"""What the counts in the book teach: the share of every variety that strikes, and of its grafts that take."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from ortet.ledger.booking import how_far
from ortet.ledger.models import Craft
from ortet.wood.speech import said_in

from .growing.batches import Struck, batches_struck

if TYPE_CHECKING:
    from ortet.decisions.take import Step
    from ortet.evidence.strike import Batch, Rate, StrikePrior, StrikeRates

__all__ = ["STEP", "Learnt", "counted_batches", "learnt", "learnt_steps"]

STEP = {Craft.STRIKE: "strike", Craft.GRAFT: "graft"}
NOT_NOTED = "nothing noted"  # of how the base was treated


def counted_batches(craft: Craft = Craft.STRIKE) -> list[Struck]:
    """Return the batches of a craft that no more roots are waited for: what they came to is what they teach."""
    return [
        one for one in batches_struck() if one.craft == craft and one.is_finished and one.rooted is not None
    ]


@dataclass(frozen=True, slots=True)
class Learnt:
    """The rates that were learnt, and how each variety and species is usually handled."""

    rates: StrikeRates
    kinds: Mapping[str, str]  # the species of each variety counted
    ways: Mapping[
        tuple[str, str], Batch
    ]  # by species and variety; of a species as a whole the variety is empty

    def of(self, species: str, variety: str = "") -> Rate | None:
        """Return the rate of a variety when it is handled as it mostly was; None where nothing of its species was counted."""
        if species not in self.rates.species:
            return None
        way = self.ways.get((species, variety)) or self.ways[species, ""]
        return self.rates.of(
            species,
            variety,
            handling=way.handling,
            treatment=way.treatment,
            measures={name: value for name, value in way.measures.items() if value is not None},
        )


def learnt(craft: Craft = Craft.STRIKE) -> Learnt:
    """Return what the counts teach of cuttings that root, or of grafts that take; reckoned anew once the book has changed."""
    return _learnt(craft, how_far(), said_in())


@lru_cache(maxsize=8)
def _learnt(craft: Craft, far: str, language: str) -> Learnt:  # what was learnt says itself in a language
    from ortet.evidence.strike import strike_rates

    batches = _batches(counted_batches(craft))
    of: dict[tuple[str, str], list[Batch]] = defaultdict(list)
    for one in batches:
        of[one.species, one.variety].append(one)
        of[one.species, ""].append(one)
    return Learnt(
        strike_rates(batches, priors=_priors(craft)),
        {one.variety: one.species for one in batches},
        {key: _usual_way(mine) for key, mine in of.items()},
    )


def _batches(struck: Sequence[Struck]) -> list[Batch]:
    """Return batches as they are learnt from; a cutting is thick or thin for its species, since an elder's thin wood is a vine's thick."""
    from ortet.evidence.strike import Batch

    thick: dict[str, list[float]] = defaultdict(list)
    for one in struck:
        thick[one.species].append(one.base_mm)
    mean = {kind: sum(sizes) / len(sizes) for kind, sizes in thick.items()}
    return [
        Batch(
            one.struck,
            one.rooted or 0,
            one.species,
            one.variety,
            mother=one.mother,
            handling=one.bench,
            treatment=one.treatment or NOT_NOTED,
            measures={
                "thickness_mm": one.base_mm - mean[one.species],
                "weeks": one.weeks,
                "wounded": float(one.is_wounded),
                "heat_c": one.base_c,
            },
            name=one.name,
        )
        for one in struck
    ]


def _usual_way(batches: Sequence[Batch]) -> Batch:
    """Return how these were mostly handled: the words that most cuttings met, and the mean of each measure."""
    from ortet.evidence.strike import Batch

    first = batches[0]
    return Batch(
        1,
        0,
        first.species,
        first.variety,
        handling=_mostly((one.handling, one.struck) for one in batches),
        treatment=_mostly((one.treatment, one.struck) for one in batches),
        measures={name: _mean(batches, name) for name in first.measures},
    )


def _mostly(words: Iterable[tuple[str, int]]) -> str:
    count: Counter[str] = Counter()
    for word, cuttings in words:
        count[word] += cuttings
    return max(sorted(count), key=count.__getitem__)


def _mean(batches: Sequence[Batch], name: str) -> float | None:
    known = [(value, one.struck) for one in batches if (value := one.measures[name]) is not None]
    return sum(value * count for value, count in known) / sum(count for _, count in known) if known else None


def _priors(craft: Craft) -> dict[str, StrikePrior] | None:
    """Return the usual share of grafts that take, the same for every species; None: as species.toml has it."""
    if craft == Craft.STRIKE:
        return None
    from ortet.decisions.take import Beta, usual_steps
    from ortet.evidence.strike import StrikePrior
    from ortet.science.species import known_species

    return {
        key: StrikePrior(step.share.mean, step.share.a + step.share.b)
        for key in known_species()
        for step in usual_steps(key, "grafting")
        if step.name == STEP[craft] and isinstance(step.share, Beta)
    }


def learnt_steps(species_of: Mapping[str, str]) -> dict[str, dict[str, Step]]:
    """Return the steps of varieties that counts in the book know better than what is usual, by variety and name of step.

    Parameters
    ----------
    species_of
        The species of each variety asked for. A variety none of whose species was counted has no such step.
    """
    from ortet.decisions.take import Beta, Step

    steps: dict[str, dict[str, Step]] = {variety: {} for variety in species_of}
    for craft, name in STEP.items():
        known = learnt(craft)
        for variety, species in species_of.items():
            if rate := known.of(species, variety):
                steps[variety][name] = Step(name, Beta(rate.next_batch.a, rate.next_batch.b), rate.words)
    return steps
