"""What every template may use."""

from typing import Any

from django.http import HttpRequest

from ortet.ledger.models import Nursery
from ortet.work.nursery import may_write


def nursery(request: HttpRequest) -> dict[str, Any]:
    """Return the nursery, its now, and whether this hand may write."""
    here = getattr(request, "nursery", None) or Nursery.get()
    user = getattr(request, "user", None)
    return {
        "nursery": here,
        "now": here.now(),
        "may_write": bool(user and user.is_authenticated and may_write(user)),
    }
