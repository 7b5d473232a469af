"""Deeds of what grows: strike, graft, count, pot on, sell; and what the book knows of a batch."""

from .counting import count
from .grafting import graft
from .potting import pot_on
from .selling import sell
from .striking import strike

__all__ = ["count", "graft", "pot_on", "sell", "strike"]
