"""Alcohol for blades."""

from ortet.ledger.booking import Refused
from ortet.science.doses import doses
from ortet.wood.speech import say, to_say
from ortet.wood.strength import Parts
from ortet.work.cautions import LABEL_IS_LAW

from .asked import GLOVES, stock_needed, the_stock, the_strength, the_volume
from .card import Card, Mixing, Pour
from .fading import Fading, fading

__all__ = ["alcohol"]

OPEN = to_say(
    "One rate from two readings: an open dip loses alcohol to the air and takes up water and sap, faster where it is warm or "
    "windy, so test again before you rely on it."
)
CAUTIONS = (
    to_say(
        "Alcohol burns, and so does its vapour: no flame, spark or heated mat near it, never on hot tools, small vessels only."
    ),
    GLOVES,
    to_say("Never together with bleach or other cleaners."),
    LABEL_IS_LAW,
)


def _fades(asked: Mixing, start: float) -> Fading:
    """Return how an open dip weakens, by what a spirit gauge shows."""

    def strength(name: str, text: str) -> float:
        said = the_strength(name, text, "alcohol")
        if isinstance(said, Parts) or not 0 <= said.amount <= 100:
            raise Refused(
                say("{name} {text!r}: give 0 to 100 % by volume. Nothing was reckoned.", name=name, text=text)
            )
        return said.amount

    return fading(
        asked, start, strength, lambda percent: say("{percent:.3g} % by volume", percent=percent), say(OPEN)
    )


def alcohol(asked: Mixing) -> Card:
    """Return the card for alcohol."""
    stock, target = the_stock(asked), the_strength(say("Target"), asked.target, "alcohol")
    if not 0 < stock.amount <= 100:
        raise Refused(
            say(
                "Stock {stock!r}: alcohol runs from above 0 to 100 % by volume. Nothing was reckoned.",
                stock=asked.stock,
            )
        )
    if isinstance(target, Parts):
        raise Refused(
            say(
                "Target {target}: alcohol and water shrink as they mix, so parts do not tell. Give % by volume. Nothing was reckoned.",
                target=target,
            )
        )
    if not 1 <= target.amount <= 100:
        raise Refused(
            say("Target {target!r}: give 1 to 100 % by volume. Nothing was reckoned.", target=asked.target)
        )
    ml = the_volume(asked)
    if target.amount > stock.amount:
        raise Refused(
            say(
                "The target ({percent:g} %) is stronger than the stock ({stock_percent:g} %): water makes nothing stronger. "
                "Nothing was reckoned.",
                percent=target.amount,
                stock_percent=stock.amount,
            )
        )
    spirit = stock_needed(stock.amount, target.amount, ml)
    fades = _fades(asked, target.amount)
    notes = [say("Per cent is taken by volume, as alcohol is labelled.")]
    if not 60 <= target.amount <= 90:
        notes.append(
            say(
                "Alcohol disinfects best at about 60 to 90 % by volume: without water it works worse, not better."
            )
        )
    return Card(
        agent="alcohol",
        title=say(
            "{volume} of alcohol, {percent:g} % by volume", volume=asked.show(ml), percent=target.amount
        ),
        pours=(
            asked.amount(spirit, say("alcohol, {percent:g} % by volume", percent=stock.amount)),
            Pour(
                say("up to {volume}", volume=asked.show(ml)),
                say("water"),
                say("about {rest}", rest=asked.show(ml - spirit)),
            ),
        ),
        steps=(
            say("Away from any flame, spark or heater, measure the alcohol into the vessel."),
            say(
                "Fill up with water to the mark at {volume}. Do not measure the water by itself: the two shrink by 2 to 3 % as "
                "they mix.",
                volume=asked.show(ml),
            ),
            say("Write what it is, how strong and the day on it. Close it."),
            say("Clean the blade of sap, then wipe or dip it, and let it dry. No rinse."),
        ),
        same=(say("{percent:g} mL of pure alcohol in 100 mL", percent=target.amount),),
        keeps=(
            *fades.words,
            say(
                "Closed, it keeps. Open, the alcohol leaves first: top up a dip from the bottle, and throw it away when it is dirty, at the "
                "end of the day at the latest (common practice)."
            ),
        ),
        notes=tuple(notes),
        doses=doses("alcohol"),
        cautions=tuple(say(one) for one in CAUTIONS),
        strength=f"{target.amount:g} % by volume",
        minutes=asked.minutes,
        numbers={"stock_ml": spirit, "fill_to_ml": ml} | dict(fades.numbers),
    )
