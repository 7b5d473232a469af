"""Sentences for people: written in English where they arise, said in the language that is asked for.

Django knows which language a page is asked for in, and the ledger tells this module when it starts (`speaks`); until then, and on
the command line, all is said in English. `languages/gather.py` gathers the sentences for those who translate.
"""

from __future__ import annotations

import string
from collections.abc import Callable
from datetime import date

__all__ = [
    "ENGLISH", "counted", "month", "said_in", "say", "say_day", "say_many", "say_number", "say_short_day", "short_month",
    "short_weekday", "speaks", "to_say", "to_say_many", "weekday",
]  # fmt: skip

ENGLISH = "en"
# Between thousands in any language but English, where a comma would be read as a decimal sign (SI brochure, 9th ed., 5.4.4).
THIN = "\N{NARROW NO-BREAK SPACE}"


class _Filling(string.Formatter):
    def format_field(self, value: object, format_spec: str) -> str:
        is_number = ("," in format_spec or format_spec.endswith("%")) and not isinstance(value, str | date)
        return say_number(value, format_spec) if is_number else format(value, format_spec)


_fill = _Filling()


def _as_written(text: str) -> str:
    return text


def _as_counted(one: str, many: str, count: int) -> str:
    return one if count == 1 else many


def _english() -> str:
    return ENGLISH


_one: Callable[[str], str] = _as_written
_many: Callable[[str, str, int], str] = _as_counted
_language: Callable[[], str] = _english


def speaks(
    one: Callable[[str], str], many: Callable[[str, str, int], str], language: Callable[[], str]
) -> None:
    """Tell by what sentences are translated: like gettext, like ngettext, and which language is asked for now."""
    global _one, _many, _language  # told once, when the program starts
    _one, _many, _language = one, many, language


def said_in() -> str:
    """Return the language that is asked for now, as a BCP 47 tag."""
    return _language()


def _is_english() -> bool:
    return _language().startswith(ENGLISH)


def _in_english(text: str, values: dict[str, object]) -> str:
    """Fill in; by `str.format` itself, which is some five times as fast, wherever it writes the same."""
    return _fill.vformat(text, (), values) if "%}" in text else text.format(**values)


def say(text: str, /, **values: object) -> str:
    """Say a sentence, its {names} filled in as by `str.format`.

    Parameters
    ----------
    text
        The English sentence, written out where it is said so that it can be gathered: no f-string, no name.
    """
    if _is_english():
        return _in_english(text, values) if values else text
    said = _one(text) if text else ""  # gettext answers nothing with the catalogue's own head
    return _fill.vformat(said, (), values) if values else said


def say_many(one: str, many: str, count: int, /, **values: object) -> str:
    """Say a sentence in the form that goes with a count, which fills {count}."""
    if _is_english():
        return _in_english(_as_counted(one, many, count), {"count": count, **values})
    return _fill.vformat(_many(one, many, count), (), {"count": count, **values})


def say_number(value: object, as_written: str = ",") -> str:
    """Say a number that stands by itself, as `format` writes it in English; a share as 84 % (SI Brochure, 5.4.7)."""
    said = format(value, as_written).replace("%", " %")
    return said if _is_english() else said.replace(",", THIN)


def to_say(text: str) -> str:
    """Mark a sentence that is kept in a table, so that it is gathered; it is said later, by `say(kept)`."""
    return text


def to_say_many(one: str, many: str) -> tuple[str, str]:
    """Mark a sentence and its plural that are kept in a table; said later, by `say_many(*kept, count)`."""
    return one, many


# Things that are counted, by their English word.
NOUNS = {
    "bag": to_say_many("{count:,} bag", "{count:,} bags"),
    "batch": to_say_many("{count:,} batch", "{count:,} batches"),
    "block": to_say_many("{count:,} block", "{count:,} blocks"),
    "buyer": to_say_many("{count:,} buyer", "{count:,} buyers"),
    "cutting": to_say_many("{count:,} cutting", "{count:,} cuttings"),
    "cutting or plant": to_say_many("{count:,} cutting or plant", "{count:,} cuttings and plants"),
    "day": to_say_many("{count:,} day", "{count:,} days"),
    "expense": to_say_many("{count:,} expense", "{count:,} expenses"),
    "line": to_say_many("{count:,} line", "{count:,} lines"),
    "lot": to_say_many("{count:,} lot", "{count:,} lots"),
    "moment": to_say_many("{count:,} moment", "{count:,} moments"),
    "more shoot": to_say_many("{count:,} more shoot", "{count:,} more shoots"),
    "mother plant": to_say_many("{count:,} mother plant", "{count:,} mother plants"),
    "movement": to_say_many("{count:,} movement", "{count:,} movements"),
    "node": to_say_many("{count:,} node", "{count:,} nodes"),
    "order": to_say_many("{count:,} order", "{count:,} orders"),
    "page": to_say_many("{count:,} page", "{count:,} pages"),
    "parcel": to_say_many("{count:,} parcel", "{count:,} parcels"),
    "photo": to_say_many("{count:,} photo", "{count:,} photos"),
    "piece": to_say_many("{count:,} piece", "{count:,} pieces"),
    "place": to_say_many("{count:,} place", "{count:,} places"),
    "plant": to_say_many("{count:,} plant", "{count:,} plants"),
    "plot": to_say_many("{count:,} plot", "{count:,} plots"),
    "problem": to_say_many("{count:,} problem", "{count:,} problems"),
    "question": to_say_many("{count:,} question", "{count:,} questions"),
    "row": to_say_many("{count:,} row", "{count:,} rows"),
    "target": to_say_many("{count:,} target", "{count:,} targets"),
    "thing": to_say_many("{count:,} thing", "{count:,} things"),
    "tray": to_say_many("{count:,} tray", "{count:,} trays"),
    "variety": to_say_many("{count:,} variety", "{count:,} varieties"),
    "wish": to_say_many("{count:,} wish", "{count:,} wishes"),
}


def counted(count: int, noun: str) -> str:
    """Say a count and what is counted: 1 cutting, 2 cuttings. The noun is one of NOUNS."""
    return say_many(*NOUNS[noun], count)


# The common names of science/species.toml, which science cannot mark: said by `say(species(key).name)`.
KINDS = (
    to_say("apple"), to_say("blackcurrant"), to_say("cherry"), to_say("elder"), to_say("fig"), to_say("gooseberry"),
    to_say("grape"), to_say("hazel"), to_say("kiwi"), to_say("mulberry"), to_say("olive"), to_say("peach"), to_say("pear"),
    to_say("plum"), to_say("pomegranate"), to_say("poplar"), to_say("quince"), to_say("redcurrant"), to_say("rose"),
    to_say("willow"),
)  # fmt: skip
# The closures and packings of science/film.py, likewise: said by `say(wrap.closure)` and `say(wrap.packing)`.
CLOSURES = (to_say("heat-seal"), to_say("knot"), to_say("zip"), to_say("fold"), to_say("open"))
PACKINGS = (
    to_say("none"),
    to_say("dry paper"),
    to_say("damp paper"),
    to_say("moist moss"),
    to_say("moist sawdust"),
)

MONTHS = (
    to_say("January"), to_say("February"), to_say("March"), to_say("April"), to_say("May"), to_say("June"), to_say("July"),
    to_say("August"), to_say("September"), to_say("October"), to_say("November"), to_say("December"),
)  # fmt: skip
SHORT_MONTHS = (
    to_say("Jan"), to_say("Feb"), to_say("Mar"), to_say("Apr"), to_say("May"), to_say("Jun"), to_say("Jul"), to_say("Aug"),
    to_say("Sep"), to_say("Oct"), to_say("Nov"), to_say("Dec"),
)  # fmt: skip
WEEKDAYS = (
    to_say("Monday"), to_say("Tuesday"), to_say("Wednesday"), to_say("Thursday"), to_say("Friday"), to_say("Saturday"),
    to_say("Sunday"),
)  # fmt: skip
SHORT_WEEKDAYS = (
    to_say("Mon"), to_say("Tue"), to_say("Wed"), to_say("Thu"), to_say("Fri"), to_say("Sat"), to_say("Sun"),
)  # fmt: skip


def month(on: date) -> str:
    """Say the month of a day, as strftime's %B."""
    return say(MONTHS[on.month - 1])


def short_month(on: date) -> str:
    """Say the month of a day in three letters, as strftime's %b."""
    return say(SHORT_MONTHS[on.month - 1])


def weekday(on: date) -> str:
    """Say the day of the week, as strftime's %A."""
    return say(WEEKDAYS[on.weekday()])


def short_weekday(on: date) -> str:
    """Say the day of the week in three letters, as strftime's %a."""
    return say(SHORT_WEEKDAYS[on.weekday()])


def say_day(on: date) -> str:
    """Say a day: 3 Feb 2026."""
    return f"{say_short_day(on)} {on.year}"


def say_short_day(on: date) -> str:
    """Say a day of a year that is known: 3 Feb."""
    return f"{on.day} {short_month(on)}"
