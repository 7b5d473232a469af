"""What a file is, told from its header, so that `ortet load FILES...` needs no options."""

from __future__ import annotations

import re

from .header import find_header
from .mcpd import is_passports
from .read import heading, nearest_table
from .sheet import DELIMITERS, Source, Unreadable, cells, read_text

__all__ = ["recognise"]

WEATHER = re.compile(
    r"dry.?bulb|wind|precip|rain|radiation|\bghi\b|cloud|weather|niederschlag",
    re.IGNORECASE,
)


def recognise(source: Source) -> str | None:
    """Return the name of a table, "passports", "logger" or "weather"; None where the header fits none of them.

    Of a file that fits none, `read_table` says which table is nearest and what is amiss.
    """
    try:
        text = read_text(source)
    except Unreadable:
        return None
    if is_passports(text):
        return "passports"
    first = next((line for line in text[:65_536].split("\n") if line.strip(" ,;\t")), "")
    for delimiter in DELIMITERS:
        headings = [heading(cell) for cell in cells(first, delimiter)]
        table, lacking = nearest_table(headings)
        if lacking == 0:
            return table.name
    if find_header(text, ("low", "high")):
        return "weather"
    header = find_header(text, ("air",))
    if header is None:
        return None
    return "weather" if WEATHER.search(text[:65_536].split("\n")[header.line - 1]) else "logger"
