"""Strengths, parts and rates as a label writes them and a grower types them."""

import re
from dataclasses import dataclass

from .speech import say, say_number
from .volume import ML, read_number

__all__ = ["Parts", "Rate", "Strength", "read_rate", "read_strength"]

# What a label may write: what we call it. A bare % or "of chlorine" stays open: whoever asks must know of what.
WORDS = {
    "%": "%",
    "%bymass": "% by mass",
    "%byweight": "% by mass",
    "%w/w": "% by mass",
    "%wt": "% by mass",
    "wt%": "% by mass",
    "%byvolume": "% by volume",
    "%v/v": "% by volume",
    "%weightinvolume": "% weight in volume",
    "%w/v": "% weight in volume",
    "%trade": "trade %",
    "trade%": "trade %",
    "trade": "trade %",
    "g/l": "g/L",
    "mg/l": "mg/L",
    "ppm": "ppm",
}
CHLORINE = ("availablechlorine", "activechlorine", "freechlorine")
_NUMBER = re.compile(r"\s*([+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+))\s*(\S.*)?", re.DOTALL)
_PARTS = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*(?:parts?)?\s*\+\s*(\d+(?:[.,]\d+)?)\s*(?:parts?)?\s*")
_RATIO = re.compile(r"\s*\d+(?:[.,]\d+)?\s*(?::|in|to)\s*\d+(?:[.,]\d+)?\s*")
_RATE = re.compile(r"\s*([\d.,]+)\s*([a-z. ]+?)\s*(?:/|per|in|to)\s*(?:([\d.,]+)\s*)?([a-z. ]+?)\s*")
GRAMS = {"g": 1.0, "mg": 0.001, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}  # exact, by definition


@dataclass(frozen=True, slots=True)
class Strength:
    """A number and how it is written."""

    amount: float
    written: str

    def __str__(self) -> str:
        return f"{say_number(self.amount, ',.4g' if self.amount < 10_000 else ',.0f')} {self.written}"


@dataclass(frozen=True, slots=True)
class Parts:
    """So many parts of stock + so many of water."""

    stock: float
    water: float

    def __str__(self) -> str:
        return f"{self.stock:g} + {self.water:g}"


@dataclass(frozen=True, slots=True)
class Rate:
    """So much of a product in a litre: by volume [mL], or weighed [g]."""

    amount: float
    unit: str


def _no_ratio(text: str) -> None:
    if _RATIO.fullmatch(text):
        raise ValueError(
            say("{text!r} can be read in two ways; write parts + parts, such as 1 + 9", text=text.strip())
        )


def read_strength(text: str) -> Strength | Parts:
    """Return what a label or a leaflet says: 6 % by mass, 5000 ppm, 12.5 trade %, 1 + 9."""
    _no_ratio(text)
    if parts := _PARTS.fullmatch(text):
        return Parts(read_number(parts[1]), read_number(parts[2]))
    match = _NUMBER.fullmatch(text)
    if not match:
        raise ValueError(
            say(
                "{text!r} is no strength; write a number and how it counts, such as 6 % by mass, or 1 + 9",
                text=text,
            )
        )
    word = re.sub(r"\s+", "", (match[2] or "").casefold().replace("percent", "%").replace("per cent", "%"))
    chlorine = next((said for said in CHLORINE if said in word), "")
    written = WORDS.get(
        word.replace(chlorine, "").removesuffix("as").removesuffix("of") if chlorine else word
    )
    if chlorine and written:
        written = {"% by mass": "%", "% weight in volume": "trade %"}.get(written, written)
        written = written if written == "trade %" else f"{written} available chlorine"
    if not written or written == "% by volume available chlorine":
        raise ValueError(
            say(
                "{text!r}: say how it counts: % by mass, % by volume, % weight in volume, g/L, mg/L, ppm, trade %, "
                "or any but by volume with ‘available chlorine’ behind it",
                text=text,
            )
        )
    return Strength(read_number(match[1]), written)


def read_rate(text: str) -> Rate | Parts:
    """Return a label's own rate: 1.5 mL/L, 100 g per 100 L, 2 fl oz/gal, 1 + 9."""
    _no_ratio(text)
    if parts := _PARTS.fullmatch(text):
        return Parts(read_number(parts[1]), read_number(parts[2]))
    match = _RATE.fullmatch(text.casefold())
    if not match:
        raise ValueError(
            say(
                "{text!r} is no rate; write it as the label does, such as 1.5 mL/L or 100 g per 100 L",
                text=text,
            )
        )
    what, whole = re.sub(r"[. ]", "", match[2]), re.sub(r"[. ]", "", match[4])
    litres = (
        (read_number(match[3]) if match[3] else 1.0)
        * ML.get(whole, ML.get(whole.removesuffix("s"), 0.0))
        / 1000
    )
    unit = "g" if what in GRAMS else "mL"
    amount = read_number(match[1]) * GRAMS.get(what, ML.get(what, ML.get(what.removesuffix("s"), 0.0)))
    if not (amount > 0 and litres > 0):
        raise ValueError(
            say(
                "{text!r} is no rate; write it as the label does, such as 1.5 mL/L or 100 g per 100 L",
                text=text,
            )
        )
    return Rate(amount / litres, unit)
