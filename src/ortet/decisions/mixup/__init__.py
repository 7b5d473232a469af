"""Where names got swapped: which moment explains the plants found wrong, what to look at next, who else is affected."""

from .next_look import Affected, Look, affected, next_looks
from .rank import SHAPES, Candidate, Judged, Settings, judge
from .story import ACTS, LABELLED, Group, Moment, Pool, Side, Source

__all__ = [
    "ACTS",
    "LABELLED",
    "SHAPES",
    "Affected",
    "Candidate",
    "Group",
    "Judged",
    "Look",
    "Moment",
    "Pool",
    "Settings",
    "Side",
    "Source",
    "affected",
    "judge",
    "next_looks",
]
