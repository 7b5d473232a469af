"""Labels for bags and for single cuttings, many on a sheet, each with a code that a phone reads.

Typst lays the text out (bag.typ, wrap.typ and the sheet they share stand beside this file), symbol.py draws the codes.
The same labels give the same bytes on every machine: the fonts are shipped, and the date in the file is a fixed one.
"""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Literal

from .symbol import drawn
from .typeset import SHEETS, typeset

__all__ = ["Label", "Paper", "bag_labels", "sheet_places", "wrap_labels"]

Paper = Literal["a4", "letter"]
Kind = Literal["bag", "wrap"]


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
class _Sheet:
    """How many labels of which size lie on a sheet. The grid stands in the middle, 11 mm or more from every edge."""

    columns: int
    rows: int
    width: float  # [mm]
    height: float  # [mm]
    symbol: float  # side of the code with its quiet zone [mm]
    module: float  # the smallest square of the code that is sure to be read [mm]
    level: str  # error correction at least: l 7 %, m 15 %


# Two and three dots of a printer of 203 dpi, the coarsest in use, are 0.25 and 0.375 mm.
_BAG = _Sheet(columns=2, rows=6, width=92, height=42, symbol=24, module=0.376, level="m")
_WRAP = _Sheet(columns=2, rows=16, width=92, height=16, symbol=14, module=0.251, level="l")
_SHEETS: dict[Kind, dict[Paper, _Sheet]] = {
    "bag": {"a4": _BAG, "letter": _BAG},
    "wrap": {"a4": _WRAP, "letter": _WRAP},
}


def bag_labels(labels: Sequence[Label], *, paper: Paper, skip: int = 0) -> bytes:
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


def wrap_labels(labels: Sequence[Label], *, paper: Paper, skip: int = 0) -> bytes:
    """Return strips that are wound round single cuttings, plain end first, as a PDF; else as `bag_labels`."""
    return _printed(labels, "wrap", paper, skip)


def sheet_places(kind: Kind, paper: Paper) -> int:
    """Return how many labels a sheet holds."""
    sheet = _SHEETS[kind][paper]
    return sheet.columns * sheet.rows


def _printed(labels: Sequence[Label], kind: Kind, paper: Paper, skip: int) -> bytes:
    if paper not in SHEETS:
        raise ValueError(f"Paper {paper!r}: say {' or '.join(SHEETS)}. Nothing was printed.")
    if not labels:
        raise ValueError("Nothing to print: name at least one lot.")
    places, sheet = sheet_places(kind, paper), _SHEETS[kind][paper]
    if not 0 <= skip < places:
        raise ValueError(
            f"Skip {skip} places: a sheet of {kind} labels has {places}, so skip 0 to {places - 1}. Nothing was printed."
        )
    # In order, each once: a set would put them into another order, and so into other bytes, at every start.
    codes = {address: _symbol(address, sheet) for address in dict.fromkeys(label.address for label in labels)}
    order = {address: str(number) for number, address in enumerate(codes)}
    width, height = SHEETS[paper]
    job = {
        "page": {"width": width, "height": height},
        "sheet": asdict(sheet),
        "skip": skip,
        "symbols": {order[address]: svg for address, svg in codes.items()},
        "labels": [_words(label) | {"symbol": order[label.address]} for label in labels],
    }
    return typeset(kind, job)


def _words(label: Label) -> dict[str, str | int | None]:
    """Return the words of a label, each on one line."""
    return {
        name: " ".join(value.split()) if isinstance(value, str) else value
        for name, value in asdict(label).items()
        if name != "address"
    }


def _symbol(address: str, sheet: _Sheet) -> str:
    """Return a QR code that is sure to be read at its size."""
    svg, size = drawn(address.upper(), sheet.level)
    if sheet.symbol / size < sheet.module:
        raise ValueError(
            f"The address {address!r} is too long: its code would be too fine to read. Give the nursery a shorter address. "
            "Nothing was printed."
        )
    return svg
