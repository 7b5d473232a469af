"""Address labels for boxes: large enough to be read in a van, and what the carrier should know.

Typst lays it out (address.typ beside this file), with the shipped fonts. The same label gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import say, to_say

from .sender import Sender
from .typeset import PAPERS, SheetPaper, typeset, unknown_paper

__all__ = ["AddressLabel", "address_label"]

WORDS = (to_say("Address label"),)
# What a label printer or half an A5 holds: ISO 216; 4 by 6 inches is the usual roll where Letter is. [mm]
SIZES = {"a4": PAPERS["a6"], "letter": (101.6, 152.4)}


@dataclass(frozen=True, slots=True)
class AddressLabel:
    """What stands on the label. It carries no code: an address is in nobody's telephone."""

    sender: Sender
    to: tuple[str, ...]  # the country in capitals last, where it is another
    parcel: str
    handling: tuple[str, ...] = ()


def address_label(*labels: AddressLabel, paper: SheetPaper = "a4") -> bytes:
    """Return labels as a PDF, one to a page: A6 for who prints on A4, 4 by 6 inches for who prints on Letter.

    Raises
    ------
    ValueError
        If there is no address, the paper is unknown, or no font has a letter of a name.
    """
    if paper not in SIZES:
        raise unknown_paper(paper, SIZES)
    for label in labels:
        if len(label.to) < 2:
            raise ValueError(
                say(
                    "{buyer} has no address in the book: ortet buyer. Nothing was printed.",
                    buyer=label.to[0] if label.to else say("The buyer"),
                )
            )
    width, height = SIZES[paper]
    said = {"page": {"width": width, "height": height}, "labels": [asdict(label) for label in labels]}
    return typeset("address", said, WORDS)
