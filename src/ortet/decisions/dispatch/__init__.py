"""On which day to post."""

from ortet.decisions.dispatch.box import LIMITS, NO_PACK, STATES, Limits, Pack, Parcel, Wood
from ortet.decisions.dispatch.posting import (
    ASSUMPTIONS,
    Day,
    Errand,
    Posting,
    Trip,
    posting_day,
    posting_days,
    trip,
)
from ortet.decisions.dispatch.way import Carrier, Weather

__all__ = [
    "ASSUMPTIONS",
    "LIMITS",
    "NO_PACK",
    "STATES",
    "Carrier",
    "Day",
    "Errand",
    "Limits",
    "Pack",
    "Parcel",
    "Posting",
    "Trip",
    "Weather",
    "Wood",
    "posting_day",
    "posting_days",
    "trip",
]
