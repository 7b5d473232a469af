"""A packing slip: what lies in a parcel and for whom, with the plant passports of its lots where they are asked for.

Typst lays it out (slip.typ beside this file), with the shipped fonts. The same slip gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import say, to_say

from .passport import Passport, drawn
from .sender import Sender
from .typeset import SheetPaper, on_sheet

__all__ = ["PackingSlip", "SlipRow", "packing_slip"]


WORDS = (
    to_say("variety"), to_say("lot"), to_say("line"), to_say("each"), to_say("sum"), to_say("count"), to_say("{count} in all"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SlipRow:
    """Cuttings of one lot."""

    variety: str  # fully named, as the ICNCP writes it
    kind: str  # its common name, what it is meant for, its grade
    lot: str
    count: int
    line: str  # such as 3/2
    price: str = ""  # of one
    sum: str = ""


@dataclass(frozen=True, slots=True)
class PackingSlip:
    """What stands on the slip."""

    sender: Sender
    title: str
    day: str
    to: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    rows: tuple[SlipRow, ...]
    notes: tuple[str, ...]
    passports: tuple[Passport, ...] = ()
    total: str = ""  # of all sums, where prices are shown


def packing_slip(*slips: PackingSlip, paper: SheetPaper = "a4", colour: bool = True) -> bytes:
    """Return packing slips as a PDF, each of as many pages as it takes.

    Raises
    ------
    ValueError
        If nothing lies in a parcel, the paper is unknown, or no font has a letter of a name.
    """
    if not slips or not all(slip.rows for slip in slips):
        raise ValueError(say("Nothing lies in the parcel. Nothing was printed."))
    said = [asdict(slip) | {"passports": [drawn(one) for one in slip.passports]} for slip in slips]
    return on_sheet("slip", paper, words=WORDS, slips=said, colour=colour)
