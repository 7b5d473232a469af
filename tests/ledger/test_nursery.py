"""The nursery: its own zone says which day it is."""

from datetime import UTC, date, datetime

from ortet.ledger.models import Nursery


def test_today_is_the_day_where_the_nursery_is():
    there = Nursery(zone="Pacific/Auckland", fixed_now=datetime(2027, 1, 1, 12, tzinfo=UTC))
    assert there.today() == date(2027, 1, 2)
