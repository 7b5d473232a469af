"""What buyers tell of their cuttings: by a link without signing in, or by a slip that the grower copies."""

import hashlib
import secrets
from datetime import datetime

from django.contrib.auth.models import User
from uuid_utils.compat import uuid7

from ortet.ledger.booking import created
from ortet.ledger.models import Parcel, ReportLink

__all__ = ["link_made", "made_link"]

WORD_BYTES = 15  # 120 bits: nobody guesses it, and 20 characters can be typed from paper [our choice]


def _hash(word: str) -> str:
    """Return what the book keeps of a link's word. A word drawn at random needs no key to be safe from guessing."""
    return hashlib.sha256(f"ortet report {word}".encode()).hexdigest()


def link_made(parcel: Parcel) -> bool:
    """Whether a link was made for a parcel."""
    return parcel.report_links.exists()


def made_link(parcel: Parcel, *, by: User, at: datetime) -> str:
    """Make a link for a parcel's buyer; return the word it ends with, which is not kept. An earlier link ends."""
    word = secrets.token_urlsafe(WORD_BYTES)
    created(ReportLink, id=uuid7(), parcel=parcel, word_hash=_hash(word), at=at, by=by)
    return word
