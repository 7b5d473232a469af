"""Read what was typed, and refuse what makes no sense: per cent taken for ppm, a target stronger than the stock."""

from collections.abc import Callable
from typing import TypeVar

from ortet.ledger.booking import Refused
from ortet.wood.speech import say, to_say
from ortet.wood.strength import Parts, Strength, read_strength
from ortet.wood.volume import figures, read_volume

from .card import Mixing

__all__ = [
    "AGENTS",
    "FORMS",
    "GLOVES",
    "STOCK_WORDS",
    "how_long",
    "in_grams",
    "read",
    "stock_needed",
    "the_stock",
    "the_strength",
    "the_target",
    "the_volume",
]

AGENTS = {
    "bleach": to_say("bleach"),
    "alcohol": to_say("alcohol"),
    "hormone": to_say("rooting hormone"),
    "product": to_say("a product by its label"),
}
FORMS = {
    "bleach": ("liquid", "powder"),
    "alcohol": ("liquid",),
    "hormone": ("liquid", "powder", "K-IBA", "K-NAA", "talc"),
    "product": ("liquid",),
}
STOCK_WORDS = {  # how the labels of each count
    "bleach": (
        "% by mass",
        "% available chlorine",
        "trade %",
        "g/L available chlorine",
        "% weight in volume",
    ),
    "alcohol": ("% by volume",),
    "hormone": ("%", "ppm", "g/L"),
    "product": (),
}
GLOVES = to_say(
    "Gloves and eye protection; work in moving air. Keep it from children and out of food and drink vessels."
)
THINNEST = 0.01  # g/L: below it per cent and ppm were mixed up
Read = TypeVar("Read")


def read(name: str, by: Callable[[str], Read], text: str) -> Read:
    """Read a text; say whose it was where it cannot be read."""
    if not text.strip():
        raise Refused(say("{name}: say it. Nothing was reckoned.", name=name))
    try:
        return by(text.strip())
    except ValueError as error:
        raise Refused(say("{name} {error}. Nothing was reckoned.", name=name, error=error)) from None


def the_volume(asked: Mixing) -> float:
    """Return the volume wanted. [mL]"""
    return read(say("Volume"), lambda text: read_volume(text, asked.units), asked.volume)


def _fits(agent: str, written: str) -> bool:
    """Whether labels of this agent may count so."""
    if agent == "alcohol":
        return written in ("%", "% by volume")
    if agent == "hormone":
        return "chlorine" not in written and written not in ("% by volume", "trade %")
    return written != "% by volume"


def the_strength(name: str, text: str, agent: str) -> Strength | Parts:
    """Return a strength that counts as this agent is counted."""
    said = read(name, read_strength, text)
    if isinstance(said, Strength) and not _fits(agent, said.written):
        ways = "% by volume" if agent == "alcohol" else ", ".join(STOCK_WORDS[agent])
        raise Refused(
            say(
                "{name} {text!r}: {agent} does not count so. Write {ways}. Nothing was reckoned.",
                name=name,
                text=text,
                agent=say(AGENTS[agent]),
                ways=ways,
            )
        )
    return said


def the_stock(asked: Mixing) -> Strength:
    """Return what the stock's label says."""
    said = the_strength(say("Stock"), asked.stock, asked.agent)
    if isinstance(said, Parts):
        raise Refused(
            say(
                "Stock {stock!r}: give what its label says, such as 6 % by mass. Nothing was reckoned.",
                stock=asked.stock,
            )
        )
    return said


def in_grams(name: str, said: Strength, written: str, density: float = 1.0) -> float:
    """Return a strength in g/L; refuse what is thinner than any dip."""
    from ortet.science.solution import grams_per_litre

    try:
        grams = float(grams_per_litre(said.amount, written, density=density))
    except ValueError as error:
        raise Refused(say("{name}: {error} Nothing was reckoned.", name=name, error=error)) from None
    if grams < THINNEST:
        raise Refused(
            say(
                "{name} {said} is {mg:.2g} mg in a litre, thinner than any dip. 1 % is 10,000 ppm: was per cent "
                "meant? Nothing was reckoned.",
                name=name,
                said=said,
                mg=grams * 1000,
            )
        )
    return grams


def stock_needed(strong: float, weak: float, ml: float) -> float:
    """Return how much stock is needed; refuse a target stronger than it. [mL]"""
    from ortet.science.solution import stock_volume

    if weak > strong * (1 + 1e-9):
        raise Refused(
            say(
                "The target ({weak} g/L) is stronger than the stock ({strong} g/L): water makes nothing "
                "stronger. Ask for less, or take a stronger stock; see that per cent and ppm were not mixed up. "
                "Nothing was reckoned.",
                weak=figures(weak),
                strong=figures(strong),
            )
        )
    return float(stock_volume(strong, min(weak, strong), ml))


def the_target(strong: float, asked: Mixing, counts: Callable[[str], str]) -> tuple[float, str]:
    """Return the target in the unit of the stock, and how it was written."""
    from ortet.science.solution import mixed

    said = the_strength(say("Target"), asked.target, asked.agent)
    if isinstance(said, Strength):
        return in_grams(say("Target"), said, counts(said.written)), str(
            Strength(said.amount, counts(said.written))
        )
    if said.stock == 0:
        raise Refused(say("Target {said}: there is no stock in it. Nothing was reckoned.", said=said))
    return float(mixed(strong, said.stock, said.water)), say("{said} parts", said=said)


def how_long(asked: Mixing) -> str:
    """Say for how long."""
    if asked.minutes:
        return say("for {minutes:g} min", minutes=asked.minutes)
    return say("for as long as the label or your trial says")
