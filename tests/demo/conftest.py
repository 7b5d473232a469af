"""The demo season, loaded once for all tests of a file and taken away again."""

from collections.abc import Iterator

import pytest
from django.db import transaction


@pytest.fixture(scope="module")
def season_in_book(django_db_setup: None, django_db_blocker) -> Iterator[None]:
    """The demo's book, as `ortet demo` leaves it."""
    from ortet.demo import load_demo

    with django_db_blocker.unblock(), transaction.atomic():
        load_demo()
        yield
        transaction.set_rollback(True)
