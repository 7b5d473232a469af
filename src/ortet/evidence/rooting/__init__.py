"""Time to root: what counts of a batch tell of it and of its kind, and when to count again."""

from ortet.evidence.levels import Prior, Told
from ortet.evidence.rooting.ahead import Ahead, Recount
from ortet.evidence.rooting.counts import Batch, Count, Gone
from ortet.evidence.rooting.learn import Rooting, learn_rooting, usual_rooting

__all__ = [
    "Ahead",
    "Batch",
    "Count",
    "Gone",
    "Prior",
    "Recount",
    "Rooting",
    "Told",
    "learn_rooting",
    "usual_rooting",
]
