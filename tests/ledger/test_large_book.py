"""A book of more bags than the database takes values in one question."""

import sqlite3

import pytest
from django.db import OperationalError, connection

from ortet.ledger import slices, stock
from ortet.ledger.models import Bag, Lot, Movement
from tests.writing import write

pytestmark = pytest.mark.django_db
BAGS, MOST, SLICE = 24, 20, 7
SINCE = 494_000  # [h since 1970], spring 2026
BOOK = "\n".join(
    [
        "2027-01-04 08:00  mother M1 Dusk blackcurrant",
        "2027-01-04 08:00  place store North",
        *(
            line.format(n)
            for n in range(BAGS)
            for line in (
                "2027-01-05 09:00  take M1 10 as L{0}",
                "2027-01-05 11:00  bag L{0} 10 into K{0} at North",
                "2027-01-06 09:00  weigh K{0} 98",
                "2027-01-07 09:00  inspect K{0} L{0} callus=1",
            )
        ),
        "2027-01-08 09:00  move L0 4 from K0 to K23",
        "2027-01-08 10:00  move L23 4 from K23 to K1",
    ]
)


@pytest.fixture
def most_values():
    """Return how to set the most values that SQLite takes in one question; PostgreSQL takes 65,535, come what may."""
    if connection.vendor != "sqlite":
        yield lambda most: None
        return
    connection.ensure_connection()
    before = connection.connection.getlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER)
    yield lambda most: connection.connection.setlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER, most)
    connection.connection.setlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER, before)


def test_a_season_of_more_bags_than_one_question_takes_reads_the_same(ada, most_values, monkeypatch):
    write(BOOK, ada)
    whole = stock.season(SINCE)
    most_values(MOST)
    if connection.vendor == "sqlite":
        with pytest.raises(OperationalError, match="too many SQL variables"):
            list(Movement.objects.filter(to_place__in=[bag.place_id for bag in Bag.objects.all()]))
    monkeypatch.setattr(slices, "SLICE", SLICE)
    sliced = stock.season(SINCE)
    assert len(sliced.bags) == BAGS == Lot.objects.count()
    assert sliced.holdings == whole.holdings and sliced.bags == whole.bags
    crossed = next(bag for bag in sliced.bags if bag.name == "K23")  # wood came and went across two slices
    assert len(crossed.contents) == 3 and len(crossed.weighings) == 1
