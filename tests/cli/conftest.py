"""Commands in tests are given at a moment that stands still, so that their days do not lie ahead of now."""

from datetime import UTC, datetime

import pytest

from ortet.ledger.models import Nursery


@pytest.fixture(autouse=True)
def a_day_in_march(db: None) -> None:
    """It is the first of March 2027."""
    Nursery(id=1, fixed_now=datetime(2027, 3, 1, tzinfo=UTC)).save()
