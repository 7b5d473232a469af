"""Loading the demo season into an empty book: the same book every time, and never into a grower's own."""

import pytest
from django.db import transaction

from ortet import work
from ortet.demo import load_demo
from ortet.ledger.models import Lot, MotherPlant, Movement, Nursery, Weighing
from ortet.work.nursery import grower


@pytest.mark.once
@pytest.mark.django_db
def test_the_same_book_every_time():
    by = grower()
    books = []
    for _ in range(2):
        with transaction.atomic():
            load_demo()
            books.append(
                (
                    list(Movement.objects.values_list("number", "id", "seal")),
                    list(Lot.objects.order_by("id").values_list("code", "mark")),
                    set(Weighing.objects.values_list("id", "gross_g")),
                )
            )
            assert Movement.objects.exclude(by=by).count() == 0
            transaction.set_rollback(True)
    assert len(books[0][0]) > 100
    assert books[0] == books[1]


@pytest.mark.django_db
def test_a_growers_own_book_is_left_alone():
    work.add_mother("X1", "Nobody's Own", "elder")
    with pytest.raises(work.Refused, match="Nothing was booked"):
        load_demo()
    assert MotherPlant.objects.count() == 1
    assert Nursery.get().fixed_now is None
