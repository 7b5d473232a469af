"""Who gets which cuttings, from which bag and when."""

from ortet.decisions.allot.season import (
    KINDS,
    AllotPlan,
    Binding,
    Change,
    Conflict,
    Contradiction,
    Fixed,
    Goal,
    Pick,
    Portion,
    Short,
    Supply,
    Why,
    Wish,
    allot,
)

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
