"""Bleach and chlorine powder."""

from collections.abc import Callable

from ortet.ledger.booking import Refused
from ortet.science.doses import BLEACH_TOP, doses
from ortet.wood.speech import say, to_say
from ortet.wood.strength import Parts, Strength
from ortet.wood.volume import figures
from ortet.work.cautions import BLEACH, LABEL_IS_LAW

from .asked import how_long, in_grams, stock_needed, the_stock, the_strength, the_target, the_volume
from .card import Card, Mixing, Pour, weight
from .fading import Fading, fading

__all__ = ["bleach"]

POWDER = to_say("Chlorine powder: keep it dry and away from anything that burns; never mix two kinds of it.")
SPENT = to_say(
    "Sap and dirt spend chlorine at no known rate: what goes in next makes it faster, and strips read in steps. Test again."
)
CAUTIONS = (
    *BLEACH,
    to_say("Never lower its pH, with vinegar or anything else: acid sets chlorine gas free."),
    to_say(
        "It eats metal and cloth: rinse tools at once. Do not pour leftovers into a pond or a drain to one."
    ),
    LABEL_IS_LAW,
)


def _hypochlorous(asked: Mixing) -> tuple[str, ...]:
    from ortet.science.solution import hypochlorous_share

    celsius = 20.0 if asked.water_c is None else asked.water_c
    at = (asked.ph,) if asked.ph is not None else (7.0, 8.0, 9.0, 10.0, 11.0)
    try:
        shares = ", ".join(
            say("{share:.2g} % at pH {ph:g}", share=100 * float(hypochlorous_share(ph, celsius)), ph=ph)
            for ph in at
        )
    except ValueError as error:
        raise Refused(say("{error} Nothing was reckoned.", error=error)) from None
    warm = f"{celsius * 1.8 + 32:.0f} °F" if asked.units == "US" else f"{celsius:g} °C"
    return (
        say(
            "Share of its chlorine that is hypochlorous acid, the quick form, in water of {warm}: {shares}. A bleach mix is alkaline; "
            "the rest follows as this is used up, so time makes up for it. Leave the pH alone: acid sets chlorine gas free.",
            warm=warm,
            shares=shares,
        ),
    )


IN_USE = to_say("In use: two hours at most, and fresh for each session; sooner when it clouds.")


def _bleach_keeps(fades: Fading) -> tuple[str, ...]:
    """Return how long it lasts: by the grower's own readings, else by what was published of clean bleach."""
    from ortet.science.solution import CLEAN_HALF_LIFE_DAYS, share_left

    if fades.words:
        return (*fades.words, say(IN_USE))
    day = 100 * (1 - float(share_left(8 / 24)))
    spent = say(
        "Sap, soil and bark use chlorine up at a rate that nobody has measured for cuttings. A chlorine strip shows what is left."
    )
    return (
        f"{say(IN_USE)} {spent}",
        say(
            "Clean and unused, in a clear or open vessel at 20 °C: half in about {days:.0f} days, {day:.1f} % in "
            "8 hours; closed in the dark next to nothing in 30 days (Rutala et al. 1998). So it is dirt that spends a dip, not the clock.",
            days=CLEAN_HALF_LIFE_DAYS,
            day=day,
        ),
    )


def _bleach_like(stock: str) -> Callable[[str], str]:
    """Return how a target counts that does not say of what: of the same thing as the stock's label."""
    chlorine = "chlorine" in stock or stock == "trade %"

    def counts(written: str) -> str:
        if written == "%":
            return "% available chlorine" if chlorine else "% by mass"
        return f"{written} available chlorine" if chlorine and written in ("ppm", "mg/L", "g/L") else written

    return counts


def _shows(grams: float) -> str:
    """Write a strength as a chlorine strip counts it."""
    from ortet.science.solution import CHLORINE_PER_HYPOCHLORITE

    return say("{ppm} ppm available chlorine", ppm=figures(grams * CHLORINE_PER_HYPOCHLORITE * 1000))


def _fades(asked: Mixing, weak: float, stock: str) -> Fading:
    """Return how the dip weakens; a bare ppm or mg/L counts as available chlorine, as strips do."""
    from ortet.science.solution import grams_per_litre

    def strength(name: str, text: str) -> float:
        said = the_strength(name, text, "bleach")
        if isinstance(said, Parts):
            raise Refused(
                say(
                    "{name} {text!r}: give ppm, % or such as 60 % left. Nothing was reckoned.",
                    name=name,
                    text=text,
                )
            )
        bare = said.written in ("ppm", "mg/L", "g/L")
        written = f"{said.written} available chlorine" if bare else _bleach_like(stock)(said.written)
        try:
            return float(grams_per_litre(said.amount, written))
        except ValueError as error:
            raise Refused(say("{name}: {error} Nothing was reckoned.", name=name, error=error)) from None

    return fading(asked, weak, strength, _shows, say(SPENT))


def _bleach_same(weak: float, strong: float) -> tuple[str, ...]:
    from ortet.science.solution import CHLORINE_PER_HYPOCHLORITE

    chlorine = CHLORINE_PER_HYPOCHLORITE
    return (
        say(
            "{percent} % sodium hypochlorite = {ppm} mg/L (ppm) of it",
            percent=figures(weak / 10),
            ppm=figures(weak * 1000),
        ),
        say("{ppm} mg/L (ppm) as available chlorine", ppm=figures(weak * chlorine * 1000)),
        say("1 part of this bleach + {parts} parts water", parts=figures(strong / weak - 1)),
        say(
            "In the bottle: {strong} g/L sodium hypochlorite, {chlorine} g/L available chlorine "
            "(trade {trade} %)",
            strong=figures(strong),
            chlorine=figures(strong * chlorine),
            trade=figures(strong * chlorine / 10),
        ),
    )


def _bleach_notes(asked: Mixing, stock: Strength, weak: float) -> tuple[str, ...]:
    notes = []
    if asked.density is None and stock.written in ("% by mass", "% available chlorine"):
        notes.append(
            say(
                "Reckoned at 1 kg a litre, as leaflets do. A 6 % bleach weighs about 1.08 kg a litre, which makes the mix some 8 % "
                "stronger than written. Give the density to reckon with it."
            )
        )
    if weak > BLEACH_TOP:
        notes.append(say("Stronger than anything in the list below: not for living wood."))
    notes.append(say("Bleach weakens on the shelf: an old bottle holds less than its label says."))
    return tuple(notes)


def bleach(asked: Mixing) -> Card:
    """Return the card for bleach, or for chlorine powder."""
    if asked.form == "powder":
        return _chlorine_powder(asked)
    stock = the_stock(asked)
    if stock.written == "%":
        raise Refused(
            say(
                "Stock {stock!r}: per cent of what? Write ‘{percent:g} % by mass’ if the label names sodium hypochlorite, "
                "as most household bleach does, ‘{percent:g} % available chlorine’ (or active chlorine), or "
                "‘{percent:g} trade %’ as pool and dairy chlorine often counts. Nothing was reckoned.",
                stock=asked.stock,
                percent=stock.amount,
            )
        )
    strong = in_grams(say("Stock"), stock, stock.written, asked.density or 1.0)
    weak, wanted = the_target(strong, asked, _bleach_like(stock.written))
    ml = the_volume(asked)
    bleach, fades = stock_needed(strong, weak, ml), _fades(asked, weak, stock.written)
    pure = wanted.replace("% by mass", say("% sodium hypochlorite"))
    return Card(
        agent="bleach",
        title=say("{volume} of bleach dip, {pure}", volume=asked.show(ml), pure=pure),
        pours=(
            asked.amount(ml - bleach, say("cold water, first")),
            asked.amount(bleach, say("bleach, {stock}, into it", stock=stock)),
        ),
        steps=(
            say("Wash what is to be dipped: dirt spends the chlorine first."),
            say(
                "In moving air, with gloves and eye cover, put {water} of cold water into a plastic tub.",
                water=asked.show(ml - bleach),
            ),
            say(
                "Pour {amount} of bleach into the water, never water into bleach. Stir.",
                amount=asked.show(bleach),
            ),
            say("Write what it is, how strong and the hour on the tub."),
            say("Keep all of it under {how_long}. Rinse with clean water.", how_long=how_long(asked)),
        ),
        same=_bleach_same(weak, strong),
        keeps=_bleach_keeps(fades),
        notes=(*_bleach_notes(asked, stock, weak), *_hypochlorous(asked)),
        doses=doses("bleach"),
        cautions=tuple(say(one) for one in CAUTIONS),
        strength=f"{figures(weak / 10)} % NaOCl, 1 + {figures(strong / weak - 1)}",
        minutes=asked.minutes,
        numbers={"stock_ml": bleach, "water_ml": ml - bleach, "g_per_l": weak, "stock_g_per_l": strong}
        | dict(fades.numbers),
    )


def _chlorine_powder(asked: Mixing) -> Card:
    """Weigh out chlorine powder, whose label gives per cent of available chlorine."""
    from ortet.science.solution import CHLORINE_PER_HYPOCHLORITE, grams_to_weigh

    stock = the_stock(asked)
    if stock.written not in ("%", "% available chlorine") or not 0 < stock.amount <= 100:
        raise Refused(
            say(
                "Stock {stock!r}: of a powder give its per cent of available chlorine, above 0 to 100. Nothing was reckoned.",
                stock=asked.stock,
            )
        )
    said = the_strength(say("Target"), asked.target, "bleach")
    if isinstance(said, Parts):
        raise Refused(
            say(
                "Target {said}: parts of a powder say nothing; give a strength, such as 0.5 %. Nothing was reckoned.",
                said=said,
            )
        )
    written = _bleach_like("% available chlorine")(said.written)
    weak, ml = in_grams(say("Target"), said, written), the_volume(asked)
    chlorine = weak * CHLORINE_PER_HYPOCHLORITE
    grams = float(grams_to_weigh(chlorine, ml / 1000, purity=stock.amount / 100))
    fades = _fades(asked, weak, "% available chlorine")
    return Card(
        agent="bleach",
        title=say(
            "{volume} of chlorine dip, {percent}",
            volume=asked.show(ml),
            percent=Strength(said.amount, written),
        ),
        pours=(
            asked.amount(ml, say("cold water, first")),
            Pour(weight(grams), say("powder, {percent:g} % available chlorine", percent=stock.amount)),
        ),
        steps=(
            say("Wash what is to be dipped: dirt spends the chlorine first."),
            say(
                "In moving air, with gloves, mask and eye cover, put {volume} of cold water into a plastic tub.",
                volume=asked.show(ml),
            ),
            say(
                "Strew {weight} of powder into the water, never water onto powder. Stir; let what is left settle.",
                weight=weight(grams),
            ),
            say("Write what it is, how strong and the hour on the tub."),
            say("Keep all of it under {how_long}. Rinse with clean water.", how_long=how_long(asked)),
        ),
        same=(
            say("{ppm} mg/L (ppm) as available chlorine", ppm=figures(chlorine * 1000)),
            say("as much as {percent} % sodium hypochlorite", percent=figures(weak / 10)),
            say("{grams} g of this powder in each litre", grams=figures(grams / ml * 1000)),
        ),
        keeps=_bleach_keeps(fades),
        notes=_hypochlorous(asked),
        doses=doses("bleach"),
        cautions=tuple(say(one) for one in (POWDER, *CAUTIONS)),
        strength=f"{figures(chlorine * 1000)} mg/L available chlorine",
        minutes=asked.minutes,
        numbers={"powder_g": grams, "water_ml": ml, "g_per_l": weak} | dict(fades.numbers),
    )
