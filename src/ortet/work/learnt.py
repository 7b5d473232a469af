"""What the counts in the book teach: the share of every variety that strikes, and of its grafts that take."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from ortet.ledger.booking import how_far
from ortet.ledger.models import Craft

from .growing.batches import Struck, batches_struck

if TYPE_CHECKING:
    from ortet.decisions.take import Step
    from ortet.evidence.strike import Batch, StrikePrior, StrikeRates

__all__ = ["counted_batches", "learnt_steps", "take_rates"]

STEP = {Craft.STRIKE: "strike", Craft.GRAFT: "graft"}
NOT_NOTED = "nothing noted"  # of how the base was treated


def counted_batches(craft: Craft = Craft.STRIKE) -> list[Struck]:
    """Return the batches of a craft that no more roots are waited for: what they came to is what they teach."""
    return [
        one for one in batches_struck() if one.craft == craft and one.is_finished and one.rooted is not None
    ]


def take_rates(craft: Craft = Craft.STRIKE) -> StrikeRates:
    """Return the share of each variety that strikes, or whose grafts take, with its doubt; reckoned anew once the book has changed."""
    return _rates(craft, how_far())


@lru_cache(maxsize=4)
def _rates(craft: Craft, far: str) -> StrikeRates:
    from ortet.evidence.strike import strike_rates

    return strike_rates([_batch(one) for one in counted_batches(craft)], priors=_priors(craft))


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


def _batch(one: Struck) -> Batch:
    from ortet.evidence.strike import Batch

    measures = {"thickness_mm": one.base_mm, "weeks": one.weeks, "wounded": float(one.is_wounded)}
    if one.base_c is not None:
        measures["heat_c"] = one.base_c
    return Batch(
        one.struck,
        one.rooted or 0,
        one.species,
        one.variety,
        mother=one.mother,
        handling=one.bench,
        treatment=one.treatment or NOT_NOTED,
        measures=measures,
        name=one.name,
    )


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
        rates = take_rates(craft)
        for variety, species in species_of.items():
            if species in rates.species:
                rate = rates.of(species, variety)
                share = Beta(rate.next_batch.a, rate.next_batch.b)
                steps[variety][name] = Step(name, share, rate.words)
    return steps
