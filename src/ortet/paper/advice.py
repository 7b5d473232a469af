"""An advice sheet for a buyer: how these very cuttings fared and what to do with them, on one page.

Typst lays it out (advice.typ beside this file), with the shipped fonts. The same advice gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import say, to_say

from .sender import Sender
from .symbol import symbol
from .typeset import SheetPaper, on_sheet

__all__ = ["AdvicePart", "AdviceSheet", "advice_sheet"]


WORDS = (
    to_say("lot {lot}"),
    to_say("When the parcel comes"),
    to_say("What is not known"),
    to_say("Tell us how many rooted"),
    to_say("It takes a minute and helps the next buyer. No account, no password: scan the code, or type"),
)


@dataclass(frozen=True, slots=True)
class AdvicePart:
    """What is told of one lot."""

    variety: str  # fully named, as the ICNCP writes it
    kind: str  # its common name, and what it is meant for
    lot: str
    count: int
    set_by: str
    said: tuple[tuple[str, str], ...]  # heading and sentence


@dataclass(frozen=True, slots=True)
class AdviceSheet:
    """What stands on the sheet."""

    sender: Sender
    title: str
    day: str
    to: str
    parts: tuple[AdvicePart, ...]
    on_arrival: tuple[str, ...]
    unknown: tuple[str, ...]
    report: str = ""  # the address by which the buyer tells what became of them; nothing: none is printed
    foot: str = ""


def advice_sheet(sheet: AdviceSheet, *, paper: SheetPaper = "a4") -> bytes:
    """Return an advice sheet as a PDF: one page, set smaller where much is to be said; more only for many lots.

    Raises
    ------
    ValueError
        If it tells of nothing, the paper is unknown, or no font has a letter of a name.
    """
    if not sheet.parts:
        raise ValueError(say("No lot to advise on. Nothing was printed."))
    code = symbol(sheet.report, capitals=False) if sheet.report else ""
    return on_sheet("advice", paper, words=WORDS, sheet=asdict(sheet), code=code)
