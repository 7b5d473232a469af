"""A book that stands under every test of a module, written once."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import transaction
from pytest_django import DjangoDbBlocker

__all__ = ["kept"]


@contextmanager
def kept(blocker: DjangoDbBlocker) -> Iterator[None]:
    """Keep what is written before this is left under every test of a module: each is rolled back to it, and it at the end."""
    with blocker.unblock():
        around = transaction.atomic()
        around._from_testcase = True  # a test's own, so that deeds may ask to be outermost within it
        with around:
            yield
            transaction.set_rollback(True)
