"""The season planned whole: what to take, who gets what, what goes on the bench, which day to post."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib.auth.models import User

from ortet.ledger.models import Plan, PlanKind

from .allotting import allot_wood
from .benching import plan_benches
from .desk import Desk, made
from .posting import plan_posting
from .taking import CONFIDENCE, plan_taking

if TYPE_CHECKING:
    from ortet.decisions.allot import Fixed

__all__ = ["STEPS", "Season", "plan_season"]

STEPS = (
    "reading the book",
    "how much to take",
    "who gets what",
    "what goes on the bench",
    "which day to post",
)
Tell = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Season:
    """The plans of one moment."""

    at: datetime
    take: Plan
    allot: Plan
    bench: Plan
    post: Plan


def plan_season(
    *,
    by: User,
    now: datetime | None = None,
    confidence: float = CONFIDENCE,
    also: Sequence[Fixed] = (),
    freed: Collection[tuple[str, str]] = (),
    tell: Tell = lambda step, share: None,
) -> Season:
    """Plan the whole season and book the plans; all or none. Others may book while it is reckoned.

    Parameters
    ----------
    confidence : float
        How sure each target is to be reached. [0-1]
    also, freed : sequences
        Choices made by hand since the plan before, and those that are kept no more, as in `allot_wood`.
    tell : callable
        Told which of `STEPS` is under way, and how far it is. [0-1]

    Raises
    ------
    Refused
        If wishes, or choices made by hand, contradict one another; the message names them and what to relax. Or if
        the book never stood still for long enough.
    """

    def reckon(desk: Desk) -> None:
        tell(STEPS[1], 0.0)
        need = plan_taking(desk, by=by, confidence=confidence)
        tell(STEPS[2], 0.0)
        allot_wood(
            desk,
            by=by,
            taken=need.taken,
            cuttings=need.cuttings,
            also=also,
            freed=freed,
            tell=lambda share: tell(STEPS[2], share),
        )
        tell(STEPS[3], 0.0)
        plan_benches(desk, by=by)
        tell(STEPS[4], 0.0)
        plan_posting(desk, by=by, tell=lambda share: tell(STEPS[4], share))
        tell(STEPS[4], 1.0)

    tell(STEPS[0], 0.0)
    at, plans = made(reckon, now)
    kinds = PlanKind.TAKE, PlanKind.ALLOT, PlanKind.BENCH, PlanKind.POST
    return Season(at, *(plans[kind] for kind in kinds))
