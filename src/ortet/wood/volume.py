"""Volumes as a grower writes and reads them, metric or US. Inside it is mL."""

import re

from .speech import say, say_number

__all__ = ["ML", "figures", "read_number", "read_volume", "show_volume"]

# US measures, exact by definition (1 gallon = 231 cubic inches)
ML = {
    "ml": 1.0,
    "cl": 10.0,
    "dl": 100.0,
    "l": 1000.0,
    "liter": 1000.0,
    "litre": 1000.0,
    "gal": 3785.411784,
    "gallon": 3785.411784,
    "qt": 946.352946,
    "quart": 946.352946,
    "pt": 473.176473,
    "pint": 473.176473,
    "cup": 236.5882365,
    "floz": 29.5735295625,
    "tbsp": 14.78676478125,
    "tsp": 4.92892159375,
}
_DOUBTFUL = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")  # 5,000: five thousand, or five?
_PAIR = re.compile(r"\s*(\d+(?:[.,]\d+)?|[.,]\d+)\s*([a-z. ]*[a-z][.]?)\s*", re.IGNORECASE)
_BARE = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*")


def read_number(text: str) -> float:
    """Return a number; refuse one whose comma or point may part thousands."""
    if _DOUBTFUL.fullmatch(text):
        plain = re.sub(r"[.,]", "", text)
        raise ValueError(
            say(
                "{text!r}: write {plain} or {other:g}, so that nobody reads one for the other",
                text=text,
                plain=plain,
                other=float(text.replace(",", ".")),
            )
        )
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise ValueError(say("{text!r} is not a number", text=text)) from None


def _factor(word: str, text: str) -> float:
    unit = re.sub(r"[. ]", "", word.casefold())
    if (factor := ML.get(unit) or ML.get(unit.removesuffix("s"))) is None:
        raise ValueError(
            say(
                "{text!r}: {word!r} is no unit of volume; write mL, L, gal, qt, cup, fl oz, tbsp or tsp",
                text=text,
                word=word,
            )
        )
    return factor


def read_volume(text: str, units: str = "metric") -> float:
    """Return a volume, such as 10 L, 2 gal or 1 qt 4 fl oz; a bare number is litres, or US gallons. [mL]"""
    if bare := _BARE.fullmatch(text):
        total = read_number(bare[1]) * ML["gal" if units == "US" else "l"]
    else:
        total, place = 0.0, 0
        while match := _PAIR.match(text, place):
            total += read_number(match[1]) * _factor(match[2], text)
            place = match.end()
        if place == 0 or place != len(text):
            raise ValueError(
                say("{text!r} is not a volume; write a number and a unit, such as 10 L or 2 gal", text=text)
            )
    if not 1.0 <= total <= 2e6:
        raise ValueError(say("{text!r}: mix from 1 mL to 2,000 L at a time", text=text))
    return total


def figures(number: float) -> str:
    """Write three figures, and no power of ten."""
    return f"{number:.3g}" if number < 1000 else say_number(float(f"{number:.3g}"), ",.0f")


def show_volume(ml: float, units: str = "metric") -> str:
    """Write a volume by the measure in which it is measured out."""
    if units != "US":
        return f"{figures(ml / 1000)} L" if ml >= 999.5 else f"{figures(ml)} mL"
    for unit, least in (("gal", 1.0), ("fl oz", 1.0), ("tsp", 0.25)):
        if ml >= 0.9995 * least * ML[unit.replace(" ", "")]:
            return f"{figures(ml / ML[unit.replace(' ', '')])} {unit}"
    return f"{figures(ml)} mL"
