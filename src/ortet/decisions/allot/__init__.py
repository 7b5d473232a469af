"""Who gets which cuttings, from which bag and when."""

from ortet.decisions.allot.plan import (
    AllotPlan,
    Binding,
    Change,
    Conflict,
    Contradiction,
    Goal,
    Pick,
    Portion,
    Short,
    Why,
)
from ortet.decisions.allot.season import allot
from ortet.decisions.allot.wishes import KINDS, Fixed, Supply, Wish

__all__ = [
    "KINDS",
    "AllotPlan",
    "Binding",
    "Change",
    "Conflict",
    "Contradiction",
    "Fixed",
    "Goal",
    "Pick",
    "Portion",
    "Short",
    "Supply",
    "Why",
    "Wish",
    "allot",
]
