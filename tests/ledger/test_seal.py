"""Seals: what a movement says is what its seal says."""

import hashlib
from datetime import UTC

import pytest

from ortet.ledger.models import Movement

pytestmark = pytest.mark.django_db


def test_the_seal_is_the_sha_256_of_the_words_in_order(full_book):
    """FIPS 180-4 SHA-256 by the standard library, over the words put together here by hand."""
    movement = Movement.objects.order_by("number")[3]
    before = Movement.objects.get(number=movement.number - 1)
    words = [
        str(movement.number),
        str(movement.id),
        movement.lot.code,
        movement.from_place.code,
        movement.to_place.code,
        str(movement.count),
        movement.at.astimezone(UTC).isoformat(timespec="microseconds"),
        str(movement.by_id),
        movement.why,
        movement.note,
        str(movement.reverses_id or ""),
        before.seal,
    ]
    assert movement.seal == hashlib.sha256("\x1f".join(words).encode()).hexdigest()


def test_the_first_movement_is_chained_to_nothing_and_numbers_have_no_gap(full_book):
    movements = list(Movement.objects.order_by("number"))
    assert movements[0].chained_to == ""
    assert [movement.number for movement in movements] == list(range(1, len(movements) + 1))
