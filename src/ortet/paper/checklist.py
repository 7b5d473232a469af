"""A checklist on paper: what to ask before a parcel goes somewhere, whom, and room for what was answered.

Typst lays it out (checklist.typ beside this file), with the shipped fonts. The same list gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import to_say

from .typeset import SheetPaper, on_sheet

__all__ = ["CheckRow", "CheckSheet", "check_sheet"]


WORDS = (
    to_say("made {day}"), to_say("Ask before posting"), to_say("Ask"), to_say("Usually:"), to_say("answer"),
    to_say("who said so"), to_say("on"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class CheckRow:
    """Something to ask."""

    ask: str
    whom: str
    usual: str
    source: str


@dataclass(frozen=True, slots=True)
class CheckSheet:
    """What stands on the sheet."""

    nursery: str
    title: str
    caution: str
    made: str
    facts: tuple[tuple[str, str], ...]
    rows: tuple[CheckRow, ...]


def check_sheet(sheet: CheckSheet, *, paper: SheetPaper = "a4") -> bytes:
    """Return a checklist as a PDF.

    Raises
    ------
    ValueError
        If the paper is unknown, or no font has a letter of a name.
    """
    return on_sheet("checklist", paper, words=WORDS, sheet=asdict(sheet))
