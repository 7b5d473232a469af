"""Which batch is struck when, on which bench, at which heat."""

from ortet.decisions.bench.planning import Plan, plan
from ortet.decisions.bench.race import Outcome, outcome
from ortet.decisions.bench.reasons import Conflict, Heated, Struck, Unplaced
from ortet.decisions.bench.wishes import Batch, Bench, Choice, Season

__all__ = [
    "Batch",
    "Bench",
    "Choice",
    "Conflict",
    "Heated",
    "Outcome",
    "Plan",
    "Season",
    "Struck",
    "Unplaced",
    "outcome",
    "plan",
]
