"""Pick, pack and send what was ordered, and answer for it afterwards."""

from ortet.ledger.packed import Packed, contents, open_parcel

from .pack import left_of, pack
from .send import Sent, find_parcel, send
from .walk import Stop, walk

__all__ = [
    "Packed",
    "Sent",
    "Stop",
    "contents",
    "find_parcel",
    "left_of",
    "open_parcel",
    "pack",
    "send",
    "walk",
]
