"""One cell of a grower's table, read or refused with what to enter instead."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from difflib import get_close_matches

from ortet.wood.speech import say

__all__ = [
    "Refused",
    "amount",
    "choice",
    "count",
    "moment",
    "name",
    "number",
    "score",
    "species_key",
    "text",
]

LARGEST_COUNT = 1_000_000  # a season is thousands; more is a slip of the finger
LONGEST_NAME, LONGEST_NOTE = 80, 4000

Parse = Callable[[str, bool], object]


class Refused(ValueError):
    """The cell cannot be taken. `remedy` says what to enter."""

    def __init__(self, message: str, remedy: str):
        super().__init__(message)
        self.message, self.remedy = message, remedy


def name(longest: int = LONGEST_NAME) -> Parse:
    """Return a reader of a short name that others refer to."""

    def parse(cell: str, decimal_comma: bool) -> str:
        plain = " ".join(cell.split())
        if len(plain) > longest:
            raise Refused(
                say("a name of {count} letters.", count=len(plain)),
                say("Enter at most {longest}.", longest=longest),
            )
        return plain

    return parse


def text(cell: str, decimal_comma: bool) -> str:
    """Read a note."""
    if len(cell) > LONGEST_NOTE:
        raise Refused(
            say("a note of {count:,} letters.", count=len(cell)),
            say("Enter at most {most:,}.", most=LONGEST_NOTE),
        )
    return cell


def count(least: int, most: int = LARGEST_COUNT, example: int = 120) -> Parse:
    """Return a reader of a whole number from `least` to `most`."""

    def parse(cell: str, decimal_comma: bool) -> int:
        if not re.fullmatch(r"[0-9]+", cell):
            raise Refused(
                say("{cell} is no count.", cell=_short(cell)),
                say("Enter a whole number in digits alone, such as {example}.", example=example),
            )
        plain = cell.lstrip("0") or "0"
        if len(plain) > len(str(most)) or not least <= int(plain) <= most:
            raise Refused(
                say("{cell} is out of range.", cell=_short(cell)),
                say("Enter a whole number from {least} to {most:,}.", least=least, most=most),
            )
        return int(plain)

    return parse


def score(most: int) -> Parse:
    """Return a reader of a score from 0 to `most`."""
    return count(0, most, example=min(2, most))


def number(cell: str, decimal_comma: bool) -> float:
    """Read a decimal number; the comma is a decimal sign only where it does not part cells."""
    plain = cell.replace(",", ".") if decimal_comma and "." not in cell else cell
    if not re.fullmatch(r"[+-]?(\d+(\.\d*)?|\.\d+)", plain, re.ASCII) or len(plain) > 30:
        raise Refused(
            say("{cell} is no number.", cell=_short(cell)),
            say("Enter digits with at most one decimal sign, such as 8.5."),
        )
    return float(plain)


def amount(least: float, most: float, unit: str, *, above: bool = False) -> Parse:
    """Return a reader of a measured amount from `least` (or only above it) to `most`, both in `unit`."""

    def parse(cell: str, decimal_comma: bool) -> float:
        bare = re.sub(rf"\s*{re.escape(unit)}\.?$", "", cell, flags=re.IGNORECASE)
        found = number(bare, decimal_comma)
        if not math.isfinite(found) or found > most or found < least or (above and found == least):
            raise Refused(
                say("{cell} cannot be.", cell=_short(cell)),
                say("Enter above {least:g} and at most {most:g} {unit}.", least=least, most=most, unit=unit)
                if above
                else say("Enter from {least:g} to {most:g} {unit}.", least=least, most=most, unit=unit),
            )
        return found

    return parse


def choice(*allowed: str, **also: str) -> Parse:
    """Return a reader of one word of a few; `also` maps other common words to them."""

    def parse(cell: str, decimal_comma: bool) -> str:
        asked = re.sub(r"[\s_-]+", "-", cell.strip().lower())
        for word in allowed:
            if asked == re.sub(r"[\s_-]+", "-", word.lower()):
                return word
        if asked.replace("-", "_") in also:
            return also[asked.replace("-", "_")]
        near = get_close_matches(asked, [word.lower() for word in allowed], 1)
        hint = next(
            (say("Did you mean {word}?", word=word) for word in allowed if near and word.lower() == near[0]),
            "",
        )
        unknown = say('"{cell}" is not known here.', cell=_short(cell))
        raise Refused(f"{unknown} {hint}".rstrip(), say("Enter {words}.", words=_or(allowed)))

    return parse


def species_key(cell: str, decimal_comma: bool) -> str:
    """Read a species by its key, its English name or its Latin name."""
    from ortet.science.species import known_species, species

    asked = " ".join(cell.lower().split())
    keys: dict[str, str] = {}
    for key in known_species():
        known = species(key)
        keys |= {key.lower(): key, known.name.lower(): key, known.latin.lower(): key}
    if asked in keys:
        return keys[asked]
    near = get_close_matches(asked, keys, 1)
    hint = say("Did you mean {word}?", word=keys[near[0]]) if near else ""
    unknown = say('"{cell}" is no species known here.', cell=_short(cell))
    raise Refused(f"{unknown} {hint}".rstrip(), say("Enter {words}.", words=_or(known_species())))


def moment(cell: str, decimal_comma: bool) -> object:
    """Stand in a column's `parse` for a date or time: those are judged by the whole column."""
    raise NotImplementedError("a column of moments is read by tables.when")


def _short(cell: str) -> str:
    return cell if len(cell) <= 24 else f"{cell[:20]}…"


def _or(words: tuple[str, ...]) -> str:
    if len(words) == 1:
        return words[0]
    return say("{words} or {last}", words=", ".join(words[:-1]), last=words[-1])
