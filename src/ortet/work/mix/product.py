"""A product by its label's own rate."""

from ortet.ledger.booking import Refused
from ortet.wood.speech import say, to_say
from ortet.wood.strength import Parts, read_rate
from ortet.wood.volume import figures
from ortet.work.cautions import LABEL_IS_LAW

from .asked import GLOVES, read, the_volume
from .card import Card, Mixing, Pour, weight

__all__ = ["product"]

CAUTIONS = (
    to_say("The label sets rate, use, protection, waiting time and disposal. This card only does its sum."),
    GLOVES,
    to_say("Mix no two products that the label does not allow together; never with bleach or acids."),
    LABEL_IS_LAW,
)


def product(asked: Mixing) -> Card:
    """Return the card for a product by its label's rate."""
    rate, ml = read(say("Target"), read_rate, asked.target), the_volume(asked)
    if isinstance(rate, Parts):
        if rate.stock == 0:
            raise Refused(say("Target {rate}: there is no product in it. Nothing was reckoned.", rate=rate))
        said = say("{rate} parts", rate=rate)
        amount, solid = ml * rate.stock / (rate.stock + rate.water), False
    else:
        amount, solid, said = rate.amount * ml / 1000, rate.unit == "g", asked.target.strip()
    if amount > ml:
        raise Refused(
            say(
                "Target {target!r} takes more product than the whole mix. Nothing was reckoned.",
                target=asked.target,
            )
        )
    pour = Pour(weight(amount), say("the product")) if solid else asked.amount(amount, say("the product"))
    return Card(
        agent="product",
        title=say("{volume} at the label's rate, {said}", volume=asked.show(ml), said=said),
        pours=(pour, Pour(say("up to {volume}", volume=asked.show(ml)), say("water"))),
        steps=(
            say("Read the label: wood, rate, protection, waiting time, what becomes of the rest."),
            say("Fill the vessel half with water."),
            say(
                "Add {amount} of the product, stir, and fill up to {volume}.",
                amount=pour.amount,
                volume=asked.show(ml),
            ),
            say("Write what it is, how strong and the hour on it."),
        ),
        same=(
            say(
                "{amount} {unit} in each litre",
                amount=figures(1000 * amount / ml),
                unit="g" if solid else "mL",
            ),
        ),
        keeps=(say("As the label says. Make no more than this session uses."),),
        notes=(say("This is the label's rate and nothing else: Ortet knows no rate for any product."),),
        doses=(),
        cautions=tuple(say(one) for one in CAUTIONS),
        strength=said[:40],
        minutes=asked.minutes,
        numbers={"powder_g" if solid else "stock_ml": amount, "fill_to_ml": ml},
    )
