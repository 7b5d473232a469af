"""Rooting hormone: concentrate, crystals, salt, talc."""

from ortet.ledger.booking import Refused
from ortet.science.doses import doses
from ortet.wood.speech import say, to_say
from ortet.wood.strength import Parts, Strength
from ortet.wood.volume import figures
from ortet.work.cautions import LABEL_IS_LAW

from .asked import GLOVES, how_long, in_grams, stock_needed, the_stock, the_strength, the_target, the_volume
from .card import Card, Mixing, Pour, weight
from .fading import Fading, fading

__all__ = ["hormone"]

HORMONE_TOP = 50.0  # g/L: above it per cent and ppm were mixed up
LEAST_WEIGHED = 0.1  # g
TESTED = to_say(
    "One rate from two readings: it holds for the same vessel, warmth and light. No strip tests a hormone; the reading is a "
    "laboratory's or the maker's. Wood drags in water and dirt, which no rate counts."
)
CAUTIONS = (
    GLOVES,
    to_say("Alcohol in a dip burns: keep flames and sparks away."),
    to_say(
        "Where hormones count as plant-protection products, only what is registered may be used, as its label says."
    ),
    LABEL_IS_LAW,
)
DUST = to_say("Do not breathe the dust.")


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
            say(
                "counted as {acid}; as {salt} it is {of_salt} ppm. If your leaflet counts {salt} "
                "itself, weigh {share:.3f} times as much",
                acid=acid,
                salt=salt,
                of_salt=figures(weak * 1000 / ACID_SHARE[salt]),
                share=ACID_SHARE[salt],
            )
        )
    return tuple(same)


def _fades(asked: Mixing, weak: float) -> Fading:
    """Return how the solution weakens, by what its maker or a laboratory says is left."""
    from ortet.science.solution import grams_per_litre

    def strength(name: str, text: str) -> float:
        said = the_strength(name, text, "hormone")
        if isinstance(said, Parts):
            raise Refused(
                say(
                    "{name} {text!r}: give ppm, % or such as 95 % left. Nothing was reckoned.",
                    name=name,
                    text=text,
                )
            )
        try:
            return float(grams_per_litre(said.amount, _hormone_count(said.written)))
        except ValueError as error:
            raise Refused(say("{name}: {error} Nothing was reckoned.", name=name, error=error)) from None

    return fading(asked, weak, strength, lambda grams: f"{figures(grams * 1000)} ppm", say(TESTED))


def _hormone_dip(asked: Mixing, salt: str = "") -> str:
    dry = say("Then set.") if salt else say("Let the alcohol dry off, then set.")
    return say(
        "Stand only the bases in it {how_long} (3 to 5 s for a quick dip). {dry}",
        how_long=how_long(asked),
        dry=dry,
    )


def hormone(asked: Mixing) -> Card:
    """Return the card for a rooting hormone."""
    if asked.form == "talc":
        return _talc(asked)
    if asked.form != "liquid":
        return _hormone_solid(asked)
    stock, ml = the_stock(asked), the_volume(asked)
    strong = in_grams(say("Stock"), stock, _hormone_count(stock.written), asked.density or 1.0)
    weak, wanted = _hormone_target(strong, asked)
    take, fades = stock_needed(strong, weak, ml), _fades(asked, weak)
    return Card(
        agent="hormone",
        title=say("{volume} of rooting hormone, {wanted}", volume=asked.show(ml), wanted=wanted),
        pours=(
            asked.amount(take, say("concentrate, {stock}", stock=stock)),
            asked.amount(ml - take, say("clean water, or what its label says")),
        ),
        steps=(
            say("Measure {amount} of concentrate into a clean glass.", amount=asked.show(take)),
            say(
                "Fill up to {volume} with clean water, or with the thinner that its label names. Stir.",
                volume=asked.show(ml),
            ),
            say(
                "Write what it is, how strong and the hour on it. Pour what you need into a cup; nothing goes back."
            ),
            _hormone_dip(asked),
        ),
        same=(
            *_hormone_same(weak, ""),
            say("1 part concentrate + {parts} parts water", parts=figures(strong / weak - 1)),
        ),
        keeps=(
            *fades.words,
            say("Thinned: use it within 10 to 12 hours and throw the rest away (one maker's advice)."),
        ),
        notes=(),
        doses=doses("hormone"),
        cautions=tuple(say(one) for one in CAUTIONS),
        numbers={"stock_ml": take, "water_ml": ml - take, "g_per_l": weak} | dict(fades.numbers),
    )


def _hormone_target(strong: float, asked: Mixing) -> tuple[float, str]:
    weak, wanted = the_target(strong, asked, _hormone_count)
    if weak > HORMONE_TOP:
        raise Refused(
            say(
                "Target {target!r} is {percent} %, beyond any rooting dip. 3,000 ppm is 0.3 %: were per cent and ppm "
                "mixed up? Nothing was reckoned.",
                target=asked.target,
                percent=figures(weak / 10),
            )
        )
    return weak, wanted


def _hormone_solid(asked: Mixing) -> Card:
    """Weigh out the acid's crystals, or its potassium salt."""
    from ortet.science.solution import ACID_SHARE, grams_to_weigh, share_left

    said = Strength(100.0, "%") if not asked.stock.strip() else the_stock(asked)
    if said.written not in ("%", "% by mass") or not 1 <= said.amount <= 100:
        raise Refused(
            say(
                "Stock {stock!r}: of a powder give its purity, 1 to 100 %. Nothing was reckoned.",
                stock=asked.stock,
            )
        )
    if isinstance(the_strength(say("Target"), asked.target, "hormone"), Parts):
        raise Refused(
            say(
                "Target {target!r}: parts of a powder say nothing; give ppm or %. Nothing was reckoned.",
                target=asked.target,
            )
        )
    weak, wanted = _hormone_target(1000.0, asked)
    ml, fades = the_volume(asked), _fades(asked, weak)
    salt = asked.form if asked.form in ACID_SHARE else ""
    share = ACID_SHARE.get(asked.form, 1.0)
    grams = float(grams_to_weigh(weak, ml / 1000, purity=said.amount / 100, acid_share=share))
    what = salt or say("the acid (IBA or NAA)")
    if salt:
        dissolve = say(
            "Dissolve it in about half of the water, no alcohol, then fill up with clean water to {volume}.",
            volume=asked.show(ml),
        )
        keeps = say(
            "In water at room temperature it loses about 5 % a month (one maker): {share:.0f} % is left after a week.",
            share=100 * float(share_left(7, 405)),
        )
    else:
        dissolve = say(
            "It hardly dissolves in water: dissolve it in alcohol, a quarter to half of the volume, then fill up slowly with water to "
            "{volume}; if it clouds, more alcohol was needed.",
            volume=asked.show(ml),
        )
        keeps = say(
            "Closed, cool and dark it keeps for some weeks (common practice); open, the alcohol leaves and it grows stronger."
        )
    notes = [] if asked.stock.strip() else [say("Taken as 100 % pure. The jar's label gives its purity.")]
    if not salt:
        notes.append(
            say(
                "Full-strength alcohol, 95 to 100 %, injures bases (Blazich 1988); 25 to 50 % is usual. Alcohol dries off before they are set."
            )
        )
    if grams < LEAST_WEIGHED:
        notes.append(
            say(
                "Too little for most scales: weigh ten times as much into the same volume, then thin it 1 part + 9 parts."
            )
        )
    return Card(
        agent="hormone",
        title=say("{volume} of rooting hormone, {wanted}", volume=asked.show(ml), wanted=wanted),
        pours=(
            Pour(weight(grams), say("{what}, {percent:g} % pure", what=what, percent=said.amount)),
            Pour(
                say("up to {volume}", volume=asked.show(ml)),
                say("water") if salt else say("alcohol, then water"),
            ),
        ),
        steps=(
            say("Weigh {weight} of {what} into a clean glass.", weight=weight(grams), what=what),
            dissolve,
            say(
                "Write what it is, how strong and the day on it. Pour what you need into a cup; nothing goes back."
            ),
            _hormone_dip(asked, salt),
        ),
        same=_hormone_same(weak, salt),
        keeps=(
            *fades.words,
            keeps,
            say("A cup in use: throw it away at the end of the session; wood drags in water and dirt."),
        ),
        notes=tuple(notes),
        doses=doses("hormone"),
        cautions=tuple(say(one) for one in CAUTIONS),
        numbers={"powder_g": grams, "fill_to_ml": ml, "g_per_l": weak} | dict(fades.numbers),
    )


def _talc(asked: Mixing) -> Card:
    """Say what a ready powder is; there is nothing to mix."""
    said = the_stock(asked)
    percent = said.amount / 10_000 if said.written == "ppm" else said.amount
    if said.written not in ("%", "% by mass", "ppm") or not 0.001 <= percent <= 5:
        raise Refused(
            say(
                "Stock {stock!r}: of talc give its per cent by mass, such as 0.8 %. Nothing was reckoned.",
                stock=asked.stock,
            )
        )
    return Card(
        agent="hormone",
        title=say("Rooting powder in talc, {percent:g} %", percent=percent),
        pours=(
            Pour(
                say("as it is"),
                say("talc, {percent:g} %", percent=percent),
                say("{ppm} ppm by mass", ppm=figures(percent * 10_000)),
            ),
        ),
        steps=(
            say("Tip out no more than you need; nothing goes back into the jar."),
            say("Moisten the base, dip it a finger's breadth deep, tap off what is loose."),
            say("Make a hole first, so that setting does not wipe it off."),
        ),
        same=(say("{percent:g} % = {ppm} ppm by mass", percent=percent, ppm=figures(percent * 10_000)),),
        keeps=(say("Dry, closed, cool and dark as its label says. What was tipped out is thrown away."),),
        notes=(
            say(
                "Talc gives off less than a dip of the same ppm: the two numbers are not to be swapped (common practice)."
            ),
        ),
        doses=doses("hormone"),
        cautions=tuple(say(one) for one in (DUST, *CAUTIONS)),
        numbers={"g_per_kg": percent * 10},
    )
