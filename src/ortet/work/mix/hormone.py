"""Rooting hormone: concentrate, crystals, salt, talc."""

from ortet.ledger.booking import Refused
from ortet.science.doses import doses
from ortet.wood.strength import Parts, Strength
from ortet.wood.volume import figures
from ortet.work.cautions import LABEL_IS_LAW

from .asked import GLOVES, how_long, in_grams, stock_needed, the_stock, the_strength, the_target, the_volume
from .card import Card, Mixing, Pour, weight
from .fading import Fading, fading

__all__ = ["hormone"]

HORMONE_TOP = 50.0  # g/L: above it per cent and ppm were mixed up
LEAST_WEIGHED = 0.1  # g
TESTED = (
    "One rate from two readings: it holds for the same vessel, warmth and light. No strip tests a hormone; the reading is a "
    "laboratory's or the maker's. Wood drags in water and dirt, which no rate counts."
)
CAUTIONS = (
    GLOVES,
    "Alcohol in a dip burns: keep flames and sparks away.",
    "Where hormones count as plant-protection products, only what is registered may be used, as its label says.",
    LABEL_IS_LAW,
)


def _hormone_count(written: str) -> str:
    return "% weight in volume" if written == "%" else written


def _hormone_same(weak: float, salt: str) -> tuple[str, ...]:
    from ortet.science.solution import ACID_SHARE

    same = [
        f"{figures(weak * 1000)} ppm = {figures(weak * 1000)} mg/L = {figures(weak / 10)} % = {figures(weak)} g/L"
    ]
    if salt in ("K-IBA", "K-NAA"):
        acid = salt.removeprefix("K-")
        same.append(
            f"counted as {acid}; as {salt} it is {figures(weak * 1000 / ACID_SHARE[salt])} ppm. If your leaflet counts {salt} "
            f"itself, weigh {ACID_SHARE[salt]:.3f} times as much"
        )
    return tuple(same)


def _fades(asked: Mixing, weak: float) -> Fading:
    """Return how the solution weakens, by what its maker or a laboratory says is left."""
    from ortet.science.solution import grams_per_litre

    def strength(name: str, text: str) -> float:
        said = the_strength(name, text, "hormone")
        if isinstance(said, Parts):
            raise Refused(f"{name} {text!r}: give ppm, % or such as 95 % left. Nothing was reckoned.")
        try:
            return float(grams_per_litre(said.amount, _hormone_count(said.written)))
        except ValueError as error:
            raise Refused(f"{name}: {error} Nothing was reckoned.") from None

    return fading(asked, weak, strength, lambda grams: f"{figures(grams * 1000)} ppm", TESTED)


def _hormone_dip(asked: Mixing, salt: str = "") -> str:
    dry = "Then set." if salt else "Let the alcohol dry off, then set."
    return how_long(asked, "Stand only the bases in it") + f" (3 to 5 s for a quick dip). {dry}"


def hormone(asked: Mixing) -> Card:
    """Return the card for a rooting hormone."""
    if asked.form == "talc":
        return _talc(asked)
    if asked.form != "liquid":
        return _hormone_solid(asked)
    stock, ml = the_stock(asked), the_volume(asked)
    strong = in_grams("Stock", stock, _hormone_count(stock.written), asked.density or 1.0)
    weak, wanted = _hormone_target(strong, asked)
    take, fades = stock_needed(strong, weak, ml), _fades(asked, weak)
    return Card(
        agent="hormone",
        title=f"{asked.show(ml)} of rooting hormone, {wanted}",
        pours=(
            asked.amount(take, f"concentrate, {stock}"),
            asked.amount(ml - take, "clean water, or what its label says"),
        ),
        steps=(
            f"Measure {asked.show(take)} of concentrate into a clean glass.",
            f"Fill up to {asked.show(ml)} with clean water, or with the thinner that its label names. Stir.",
            "Write what it is, how strong and the hour on it. Pour what you need into a cup; nothing goes back.",
            _hormone_dip(asked),
        ),
        same=(*_hormone_same(weak, ""), f"1 part concentrate + {figures(strong / weak - 1)} parts water"),
        keeps=(
            *fades.words,
            "Thinned: use it within 10 to 12 hours and throw the rest away (one maker's advice).",
        ),
        notes=(),
        doses=doses("hormone"),
        cautions=CAUTIONS,
        numbers={"stock_ml": take, "water_ml": ml - take, "g_per_l": weak} | dict(fades.numbers),
    )


def _hormone_target(strong: float, asked: Mixing) -> tuple[float, str]:
    weak, wanted = the_target(strong, asked, _hormone_count)
    if weak > HORMONE_TOP:
        raise Refused(
            f"Target {asked.target!r} is {figures(weak / 10)} %, beyond any rooting dip. 3,000 ppm is 0.3 %: were per cent and ppm "
            "mixed up? Nothing was reckoned."
        )
    return weak, wanted


def _hormone_solid(asked: Mixing) -> Card:
    """Weigh out the acid's crystals, or its potassium salt."""
    from ortet.science.solution import ACID_SHARE, grams_to_weigh, share_left

    said = Strength(100.0, "%") if not asked.stock.strip() else the_stock(asked)
    if said.written not in ("%", "% by mass") or not 1 <= said.amount <= 100:
        raise Refused(
            f"Stock {asked.stock!r}: of a powder give its purity, 1 to 100 %. Nothing was reckoned."
        )
    if isinstance(the_strength("Target", asked.target, "hormone"), Parts):
        raise Refused(
            f"Target {asked.target!r}: parts of a powder say nothing; give ppm or %. Nothing was reckoned."
        )
    weak, wanted = _hormone_target(1000.0, asked)
    ml, fades = the_volume(asked), _fades(asked, weak)
    salt = asked.form if asked.form in ACID_SHARE else ""
    share = ACID_SHARE.get(asked.form, 1.0)
    grams = float(grams_to_weigh(weak, ml / 1000, purity=said.amount / 100, acid_share=share))
    what = salt or "the acid (IBA or NAA)"
    if salt:
        dissolve = f"Dissolve it in about half of the water, no alcohol, then fill up with clean water to {asked.show(ml)}."
        keeps = f"In water at room temperature it loses about 5 % a month (one maker): {100 * float(share_left(7, 405)):.0f} % is left after a week."
    else:
        dissolve = (
            "It hardly dissolves in water: dissolve it in alcohol, a quarter to half of the volume, then fill up slowly with water to "
            f"{asked.show(ml)}; if it clouds, more alcohol was needed."
        )
        keeps = "Closed, cool and dark it keeps for some weeks (common practice); open, the alcohol leaves and it grows stronger."
    notes = [] if asked.stock.strip() else ["Taken as 100 % pure. The jar's label gives its purity."]
    if not salt:
        notes.append(
            "Full-strength alcohol, 95 to 100 %, injures bases (Blazich 1988); 25 to 50 % is usual. Alcohol dries off before they are set."
        )
    if grams < LEAST_WEIGHED:
        notes.append(
            "Too little for most scales: weigh ten times as much into the same volume, then thin it 1 part + 9 parts."
        )
    return Card(
        agent="hormone",
        title=f"{asked.show(ml)} of rooting hormone, {wanted}",
        pours=(
            Pour(weight(grams), f"{what}, {said.amount:g} % pure"),
            Pour(f"up to {asked.show(ml)}", "water" if salt else "alcohol, then water"),
        ),
        steps=(
            f"Weigh {weight(grams)} of {what} into a clean glass.",
            dissolve,
            "Write what it is, how strong and the day on it. Pour what you need into a cup; nothing goes back.",
            _hormone_dip(asked, salt),
        ),
        same=_hormone_same(weak, salt),
        keeps=(
            *fades.words,
            keeps,
            "A cup in use: throw it away at the end of the session; wood drags in water and dirt.",
        ),
        notes=tuple(notes),
        doses=doses("hormone"),
        cautions=CAUTIONS,
        numbers={"powder_g": grams, "fill_to_ml": ml, "g_per_l": weak} | dict(fades.numbers),
    )


def _talc(asked: Mixing) -> Card:
    """Say what a ready powder is; there is nothing to mix."""
    said = the_stock(asked)
    percent = said.amount / 10_000 if said.written == "ppm" else said.amount
    if said.written not in ("%", "% by mass", "ppm") or not 0.001 <= percent <= 5:
        raise Refused(
            f"Stock {asked.stock!r}: of talc give its per cent by mass, such as 0.8 %. Nothing was reckoned."
        )
    return Card(
        agent="hormone",
        title=f"Rooting powder in talc, {percent:g} %",
        pours=(Pour("as it is", f"talc, {percent:g} %", f"{figures(percent * 10_000)} ppm by mass"),),
        steps=(
            "Tip out no more than you need; nothing goes back into the jar.",
            "Moisten the base, dip it a finger's breadth deep, tap off what is loose.",
            "Make a hole first, so that setting does not wipe it off.",
        ),
        same=(f"{percent:g} % = {figures(percent * 10_000)} ppm by mass",),
        keeps=("Dry, closed, cool and dark as its label says. What was tipped out is thrown away.",),
        notes=(
            "Talc gives off less than a dip of the same ppm: the two numbers are not to be swapped (common practice).",
        ),
        doses=doses("hormone"),
        cautions=("Do not breathe the dust.", *CAUTIONS),
        numbers={"g_per_kg": percent * 10},
    )
