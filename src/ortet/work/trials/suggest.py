"""What the book's ordinary batches suggest of treatments, what they cannot tell, and the trial that would."""

from dataclasses import dataclass

from ortet.evidence.trials import Record, Suggestion, per_hundred, suggestions
from ortet.evidence.trials.records import NOTHING
from ortet.ledger.models import Batch, Nursery
from ortet.wood.speech import say
from ortet.work.growing.batches import Struck
from ortet.work.learnt import NOT_NOTED, counted_batches, learnt

__all__ = ["Hint", "hints"]


@dataclass(frozen=True, slots=True)
class Hint:
    """What records suggest of one treatment, read two ways."""

    suggestion: Suggestion
    adjusted: str  # by the model of strike rates; empty where it could not tell


def _treatment(one: Struck) -> str:
    name = " ".join(one.treatment.split())
    return "" if name.casefold() in NOTHING else name


def hints() -> list[Hint]:
    """Return what ordinary records suggest of each treatment that was struck at least twice.

    They are the finished batches that were struck without a trial: what may still root is not counted against a treatment.
    """
    zone = Nursery.get().tz
    planned = set(Batch.objects.filter(trial__isnull=False).values_list("pk", flat=True))
    records = [
        Record(
            one.variety,
            _treatment(one),
            one.struck_at.astimezone(zone).date(),
            one.stood[0][0] if one.stood else "",
            one.struck,
            one.rooted or 0,
        )
        for one in counted_batches()
        if one.place not in planned
    ]
    found = suggestions(records)
    adjusted = _adjusted() if found else {}
    return [Hint(one, adjusted.get(one.treatment or NOT_NOTED, "")) for one in found]


def _adjusted() -> dict[str, str]:
    """Return what the model of strike rates makes of each treatment, by its name."""
    said = {}
    for effect in learnt().rates.effects:
        if effect.kind == "treatment":
            low, middle, high = (per_hundred(plants / 100.0) for plants in effect.points)
            said[effect.name] = say(
                "Allowing for variety, mother plant, bench, thickness, weeks in store and heat, against the average of all treatments: "
                "{middle} of 100 ({low} to {high}).",
                middle=middle,
                low=low,
                high=high,
            )
    return said
