"""A claim to the sender of a parcel: what was stated and what came, with figures and photos.

Typst lays it out (claim.typ beside this file), with the shipped fonts. The same parcel gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import to_say

from .typeset import SheetPaper, on_sheet

__all__ = ["Claim", "ClaimLine", "ClaimPhoto", "claim_letter"]


WORDS = (
    to_say("Claim"), to_say("Variety"), to_say("Stated"), to_say("Came"), to_say("Unfit"), to_say("Sent"), to_say("Weighed"),
    to_say("Water lost"), to_say("Green"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ClaimLine:
    """One line of the slip against what came; what was not noted is empty."""

    line: int
    variety: str
    species: str
    stated: str
    came: str
    unfit: str
    sent: str
    weighed: str
    lost: str
    scratch: str


@dataclass(frozen=True, slots=True)
class ClaimPhoto:
    """A photo as it is kept, and what it shows."""

    jpeg: bytes
    says: str


@dataclass(frozen=True, slots=True)
class Claim:
    """What stands in the letter."""

    title: str
    to: tuple[str, ...]
    sender: str
    facts: tuple[tuple[str, str], ...]
    lines: tuple[ClaimLine, ...]
    grounds: tuple[str, ...]
    ask: tuple[str, ...]
    note: str
    photos: tuple[ClaimPhoto, ...]
    foot: str


def claim_letter(claim: Claim, *, paper: SheetPaper = "a4") -> bytes:
    """Return the claim as a PDF: the letter, then the photos two to a row.

    Raises
    ------
    ValueError
        If the paper is unknown, or if no font has a letter of a name.
    """
    said = asdict(claim)
    said["photos"] = [{"jpeg": list(photo.jpeg), "says": photo.says} for photo in claim.photos]
    return on_sheet("claim", paper, words=WORDS, claim=said)
