"""Receive a parcel: note what the slip says and what was found, then make lots, bags and tasks of it, and claim what is owed."""

from .claiming import claim
from .drafting import add_line, begin, discard, drop_line, find_parcel, mend_line, note_found, note_parcel
from .finishing import THEN, finish
from .showing import add_photo, parcels
from .slip import SlipLine, read_line, read_slip

__all__ = [
    "THEN",
    "SlipLine",
    "add_line",
    "add_photo",
    "begin",
    "claim",
    "discard",
    "drop_line",
    "find_parcel",
    "finish",
    "mend_line",
    "note_found",
    "note_parcel",
    "parcels",
    "read_line",
    "read_slip",
]
