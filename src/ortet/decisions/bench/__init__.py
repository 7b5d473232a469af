"""Which batch is struck when, on which bench, at which heat."""

from ortet.decisions.bench.planning import (
    Batch,
    Bench,
    Choice,
    Conflict,
    Heated,
    Outcome,
    Plan,
    Season,
    Struck,
    Unplaced,
    latest_start,
    outcome,
    plan,
    with_choice,
    without_choice,
)

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
    "latest_start",
    "outcome",
    "plan",
    "with_choice",
    "without_choice",
]
