"""Pick, pack and send what was ordered, and answer for it afterwards."""

from ortet.ledger.packed import Packed, contents, open_parcel

from .after import aftermath, arrived, complain, find_complaint, replace
from .pack import left_of, pack
from .reporting import report_link, told, told_by_link
from .send import Sent, find_parcel, send
from .short import Short, found_only
from .walk import Stop, halted_lines, walk

__all__ = [
    "Packed",
    "Sent",
    "Short",
    "Stop",
    "aftermath",
    "arrived",
    "complain",
    "contents",
    "find_complaint",
    "find_parcel",
    "found_only",
    "halted_lines",
    "left_of",
    "open_parcel",
    "pack",
    "replace",
    "report_link",
    "send",
    "told",
    "told_by_link",
    "walk",
]
