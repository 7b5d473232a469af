"""On which day to post."""

from ortet.decisions.dispatch.posting import (
    ASSUMPTIONS,
    LIMITS,
    NO_PACK,
    STATES,
    Carrier,
    Day,
    Errand,
    Limits,
    Pack,
    Parcel,
    Posting,
    Trip,
    Weather,
    Wood,
    posting_day,
    trip,
)

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
    "trip",
]
