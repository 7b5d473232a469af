"""Loading the demo season into an empty book: the same book every time, and never into a grower's own."""

import sqlite3
from contextlib import closing

import pytest
from django.db import transaction

from ortet import work
from ortet.demo import load_demo
from ortet.ledger.models import Lot, MotherPlant, Movement, Nursery, Weighing
from ortet.work.nursery import grower
from tests.serving import a_demo


@pytest.mark.once
@pytest.mark.django_db
def test_the_same_book_every_time(tmp_path_factory):
    """In another process too, as `ortet demo` loads it."""
    by = grower()
    with transaction.atomic():
        load_demo()
        seals = list(Movement.objects.order_by("number").values_list("number", "seal"))
        lots = list(Lot.objects.order_by("id").values_list("code", "mark"))
        weighed = sorted((one.id.hex, one.gross_g) for one in Weighing.objects.all())
        assert Movement.objects.exclude(by=by).count() == 0
        transaction.set_rollback(True)
    (path,) = a_demo(tmp_path_factory).glob("*.sqlite3")
    with closing(sqlite3.connect(path)) as book:
        assert book.execute("SELECT number, seal FROM ledger_movement ORDER BY number").fetchall() == seals
        assert book.execute("SELECT code, mark FROM ledger_lot ORDER BY id").fetchall() == lots
        assert sorted(book.execute("SELECT id, gross_g FROM ledger_weighing").fetchall()) == weighed
    assert len(seals) > 100


@pytest.mark.django_db
def test_a_growers_own_book_is_left_alone():
    work.add_mother("X1", "Nobody's Own", "elder")
    with pytest.raises(work.Refused, match="Nothing was booked"):
        load_demo()
    assert MotherPlant.objects.count() == 1
    assert Nursery.get().fixed_now is None
