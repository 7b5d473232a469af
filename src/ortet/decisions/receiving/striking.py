"""How many of the cuttings that came will probably strike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ortet.decisions.take.chain import Beta, Chain
from ortet.wood.speech import say

from .found import Found, percent

__all__ = ["Likely", "likely"]

JEFFREYS = 0.5  # of a share of which nothing is known: Brown, Cai & DasGupta 2001, Statist. Sci. 16:101-133


@dataclass(frozen=True, slots=True)
class Likely:
    """How many will probably strike, of those that came and look alive."""

    of: int
    low: int  # 5 in 100 seasons bring fewer
    middle: int
    high: int
    mean: float
    alive: float  # share of them expected to be alive [0-1]
    rests_on: str

    @property
    def says(self) -> str:
        """The whole in a sentence."""
        return say(
            "About {middle} of {of} will probably strike ({low} to {high}, nine times in ten).",
            middle=self.middle,
            of=self.of,
            low=self.low,
            high=self.high,
        )


def likely(found: Found, strike: Beta, rests_on: str = "") -> Likely:
    """Return how many will probably strike: those alive, as the scratch test tells, times the share of them that strikes.

    Of the N that look alive t were scratched and g were green. Those g are alive; of the other N - t a share Beta(g + 1/2,
    t - g + 1/2) is, drawn once (Jeffreys' prior). Each that is alive strikes with the share of its variety, drawn once. Both
    sums are exact. Water that was lost is not reckoned in beyond what the scratch test sees of it.
    """
    many = found.usable
    tested, green = found.scratch_of or 0, found.scratch_green or 0
    held = np.zeros(many + 1)
    if tested:
        rest = Chain([Beta(green + JEFFREYS, tested - green + JEFFREYS)]).through(many - tested)
        held[green : green + rest.probability.size] = rest.probability
        test = say("{green} green of {tested} scratched", green=green, tested=tested)
    else:
        held[many] = 1.0
        test = say("no scratch test: all that look alive are taken to be")
    struck = Chain([strike]).onward(held)
    alive = float(held @ np.arange(many + 1)) / many if many else 0.0
    return Likely(
        many,
        struck.quantile(0.05),
        struck.quantile(0.5),
        struck.quantile(0.95),
        struck.mean,
        alive,
        say(
            "{test}; of sound ones {share} strike. {rests_on}",
            test=test,
            share=percent(strike.mean),
            rests_on=rests_on,
        ).strip(),
    )
