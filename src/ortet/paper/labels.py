"""Labels for bags and for single cuttings, many on a sheet, each with a code that a phone reads.

Typst lays the text out (bag.typ, wrap.typ and the sheet they share stand beside this file), symbol.py draws the codes.
The same labels give the same bytes on every machine: the fonts are shipped, and the date in the file is a fixed one.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Literal

from ortet.wood.speech import say, to_say

from .sheet import Sheet, on_labels
from .symbol import drawn
from .typeset import SheetPaper

__all__ = ["Label", "bag_labels", "wrap_labels"]

Kind = Literal["bag", "wrap"]

WORDS = (to_say("taken"), to_say("grade"), to_say("cuttings"))
KINDS: dict[Kind, str] = {"bag": to_say("bag labels"), "wrap": to_say("wrap labels")}


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label, as it is to be read."""

    variety: str  # with its quotation marks
    species: str
    code: str  # in two groups of four
    day: str  # the day the wood was taken
    grade: str
    count: int | None
    address: str  # where the code leads
    note: str = ""


@dataclass(frozen=True, slots=True)
class _Cut:
    """How labels of a kind are cut and coded."""

    sheet: Sheet
    side: float  # of the code with its quiet zone [mm]
    module: float  # the smallest square of the code that is sure to be read [mm]
    level: str  # error correction at least: l 7 %, m 15 %


# Two and three dots of a printer of 203 dpi, the coarsest in use, are 0.25 and 0.375 mm.
_CUT: dict[Kind, _Cut] = {
    "bag": _Cut(Sheet(columns=2, rows=6, width=92, height=42), side=24, module=0.376, level="m"),
    "wrap": _Cut(Sheet(columns=2, rows=16, width=92, height=16), side=14, module=0.251, level="l"),
}


def bag_labels(labels: Sequence[Label], *, paper: SheetPaper, skip: int = 0) -> bytes:
    """Return labels for bags as a PDF.

    Parameters
    ----------
    labels
        In the order of printing, row by row.
    paper
        "a4" or "letter".
    skip
        Places of the first sheet that are used up already.

    Raises
    ------
    ValueError
        If there is no label, if the paper is unknown, if the sheet has not that many places, if an address is too
        long for a code that a phone reads, or if no font has a letter of a name.
    """
    return _printed(labels, "bag", paper, skip)


def wrap_labels(labels: Sequence[Label], *, paper: SheetPaper, skip: int = 0) -> bytes:
    """Return strips that are wound round single cuttings, plain end first, as a PDF; else as `bag_labels`."""
    return _printed(labels, "wrap", paper, skip)


def _printed(labels: Sequence[Label], kind: Kind, paper: SheetPaper, skip: int) -> bytes:
    cut = _CUT[kind]
    # In order, each once: a set would put them into another order, and so into other bytes, at every start.
    codes = {address: _symbol(address, cut) for address in dict.fromkeys(label.address for label in labels)}
    order = {address: str(number) for number, address in enumerate(codes)}
    return on_labels(
        kind,
        cut.sheet,
        [_words(label) | {"symbol": order[label.address]} for label in labels],
        paper=paper,
        skip=skip,
        what=say(KINDS[kind]),
        words=WORDS,
        side=cut.side,
        symbols={order[address]: svg for address, svg in codes.items()},
    )


def _words(label: Label) -> dict[str, str | int | None]:
    """Return the words of a label, each on one line."""
    return {
        name: " ".join(value.split()) if isinstance(value, str) else value
        for name, value in asdict(label).items()
        if name != "address"
    }


def _symbol(address: str, cut: _Cut) -> str:
    """Return a QR code that is sure to be read at its size."""
    svg, size = drawn(address.upper(), cut.level)
    if cut.side / size < cut.module:
        raise ValueError(
            say(
                "The address {address!r} is too long: its code would be too fine to read. "
                "Give the nursery a shorter address. Nothing was printed.",
                address=address,
            )
        )
    return svg
