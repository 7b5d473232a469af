"""Pick, pack and send what was ordered, and answer for it afterwards."""

from .after import aftermath, arrived, complain, find_complaint, replace
from .pack import left_of, pack
from .reporting import report_address, report_link, told, told_by_link
from .send import Sent, find_parcel, find_parcels, send
from .short import Short, found_only
from .walk import Stop, halted_lines, walk

__all__ = [
    "Sent",
    "Short",
    "Stop",
    "aftermath",
    "arrived",
    "complain",
    "find_complaint",
    "find_parcel",
    "find_parcels",
    "found_only",
    "halted_lines",
    "left_of",
    "pack",
    "replace",
    "report_address",
    "report_link",
    "send",
    "told",
    "told_by_link",
    "walk",
]
