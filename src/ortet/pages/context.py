"""What every template may use."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest

from ortet.ledger.models import Nursery
from ortet.wood.speech import said_in
from ortet.work.nursery import may_write


def nursery(request: HttpRequest) -> dict[str, Any]:
    """Return the nursery, its now, whether this hand may write, and in which language is spoken."""
    here = getattr(request, "nursery", None) or Nursery.get()
    user = getattr(request, "user", None)
    return {
        "nursery": here,
        "now": here.now(),
        "language": said_in(),
        "languages": settings.LANGUAGES,
        "may_write": bool(user and user.is_authenticated and may_write(user)),
    }
