"""A product by its label's own rate."""

from ortet.ledger.booking import Refused
from ortet.wood.strength import Parts, read_rate
from ortet.wood.volume import figures
from ortet.work.cautions import LABEL_IS_LAW

from .asked import GLOVES, read, the_volume
from .card import Card, Mixing, Pour, weight

__all__ = ["product"]

CAUTIONS = (
    "The label sets rate, use, protection, waiting time and disposal. This card only does its sum.",
    GLOVES,
    "Mix no two products that the label does not allow together; never with bleach or acids.",
    LABEL_IS_LAW,
)


def product(asked: Mixing) -> Card:
    """Return the card for a product by its label's rate."""
    rate, ml = read("Target", read_rate, asked.target), the_volume(asked)
    if isinstance(rate, Parts):
        if rate.stock == 0:
            raise Refused(f"Target {rate}: there is no product in it. Nothing was reckoned.")
        amount, solid, said = ml * rate.stock / (rate.stock + rate.water), False, f"{rate} parts"
    else:
        amount, solid, said = rate.amount * ml / 1000, rate.unit == "g", asked.target.strip()
    if amount > ml:
        raise Refused(f"Target {asked.target!r} takes more product than the whole mix. Nothing was reckoned.")
    pour = Pour(weight(amount), "the product") if solid else asked.amount(amount, "the product")
    return Card(
        agent="product",
        title=f"{asked.show(ml)} at the label's rate, {said}",
        pours=(pour, Pour(f"up to {asked.show(ml)}", "water")),
        steps=(
            "Read the label: wood, rate, protection, waiting time, what becomes of the rest.",
            "Fill the vessel half with water.",
            f"Add {pour.amount} of the product, stir, and fill up to {asked.show(ml)}.",
            "Write what it is, how strong and the hour on it.",
        ),
        same=(f"{figures(1000 * amount / ml)} {'g' if solid else 'mL'} in each litre",),
        keeps=("As the label says. Make no more than this session uses.",),
        notes=("This is the label's rate and nothing else: Ortet knows no rate for any product.",),
        doses=(),
        cautions=CAUTIONS,
        strength=said[:40],
        minutes=asked.minutes,
        numbers={"powder_g" if solid else "stock_ml": amount, "fill_to_ml": ml},
    )
