"""Mix a dip or a hormone: so much stock, so much water, in which order, and what can hurt. Nothing is booked.

What labels and growers write comes in as text; a card that can be read at the tub, and printed, goes out.
"""

from ortet.ledger.booking import Refused
from ortet.wood.speech import say

from .alcohol import alcohol
from .asked import AGENTS, FORMS, STOCK_WORDS
from .bleach import bleach
from .card import Card, Mixing, Pour
from .hormone import hormone
from .product import product

__all__ = ["AGENTS", "FORMS", "STOCK_WORDS", "Card", "Mixing", "Pour", "mix"]

MAKE = {"bleach": bleach, "alcohol": alcohol, "hormone": hormone, "product": product}


def mix(asked: Mixing) -> Card:
    """Return the card for a mix: what to pour, in which order, and what to mind.

    Raises
    ------
    Refused
        If a strength, rate or volume cannot be read, can be read in two ways, or makes no sense.
    """
    if asked.agent not in AGENTS:
        raise Refused(
            say("{agent!r}: say {known}. Nothing was reckoned.", agent=asked.agent, known=", ".join(AGENTS))
        )
    if asked.form not in FORMS[asked.agent]:
        forms = ", ".join(FORMS[asked.agent])
        raise Refused(
            say(
                "{agent} as {form!r}: say {forms}. Nothing was reckoned.",
                agent=say(AGENTS[asked.agent]).capitalize(),
                form=asked.form,
                forms=forms,
            )
        )
    if asked.density is not None and not 0.6 <= asked.density <= 2:
        raise Refused(
            say(
                "Density {density:g}: give kg in a litre, 0.6 to 2, such as 1.08. Nothing was reckoned.",
                density=asked.density,
            )
        )
    if asked.minutes is not None and not 0 < asked.minutes <= 10_000:
        raise Refused(
            say("{minutes:g} minutes: give above 0 to 10000. Nothing was reckoned.", minutes=asked.minutes)
        )
    if (asked.agent == "product" or asked.form == "talc") and any(
        (asked.strip, asked.ago, asked.least, asked.mixed_at)
    ):
        raise Refused(
            say(
                "How fast it weakens is reckoned for bleach, alcohol and a hormone in solution; of this go by its label. "
                "Nothing was reckoned."
            )
        )
    return MAKE[asked.agent](asked)
