"""DEED: one function per thing a grower does. Each reads the ledger, decides and books in one transaction.

What is heavy to import (today, labels, load) stays in its own module: `from ortet.work.today import today`.
"""

from ortet.ledger.booking import Refused, Unknown

from .bagging import bag, stand
from .buyers import buyer
from .growing import count, graft, pot_on, sell, strike
from .moving import correct, give_up, move, withdraw
from .plants import add_mother, add_place
from .reading import inspect, treat, weigh
from .remarks import note, photograph
from .taking import split, take

__all__ = [
    "Refused",
    "Unknown",
    "add_mother",
    "add_place",
    "bag",
    "buyer",
    "correct",
    "count",
    "give_up",
    "graft",
    "inspect",
    "move",
    "note",
    "photograph",
    "pot_on",
    "sell",
    "split",
    "stand",
    "strike",
    "take",
    "treat",
    "weigh",
    "withdraw",
]
