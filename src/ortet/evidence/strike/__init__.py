"""Strike rates: what share of a variety's cuttings roots, as far as counts can tell, and what the next batch may bring.

3 of 4 is not 75 %: a variety with few counts leans on its species, one with many speaks for itself, and how far batches differ
though all was alike is learnt beside. Every answer is a distribution. docs/science/strike-rates.md tells it by equation.
"""

from .asked import MEASURES, Batch, Spreads, StrikePrior
from .rates import StrikeRates, strike_rates
from .told import Effect, Rate, Share, Spread

__all__ = [
    "MEASURES",
    "Batch",
    "Effect",
    "Rate",
    "Share",
    "Spread",
    "Spreads",
    "StrikePrior",
    "StrikeRates",
    "strike_rates",
]
