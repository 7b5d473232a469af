"""What is wanted in the demo season: it is in the book, it fits the wood that is there, and some of it cannot be had."""

from collections import Counter
from datetime import UTC, datetime

import pytest
from django.db.models import Sum

from ortet.ledger import rules, stock
from ortet.ledger.models import (
    BenchSetup,
    Buyer,
    Lot,
    MotherLimit,
    MotherPlant,
    Nursery,
    Order,
    OrderLine,
    Target,
    Use,
)
from ortet.ledger.places import WOOD

AUTUMN = datetime(2026, 9, 1, tzinfo=UTC)

# what may still be filled; what was ordered the winter before went out or was fetched
THIS_SEASONS = OrderLine.objects.filter(first_day__year=2027)

# The database is there when this file is run alone. That the demo loads on the other one too is looked at in test_load_demo.
pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture(autouse=True)
def in_book(season_in_book, django_db_blocker):
    with django_db_blocker.unblock():
        yield


def on_hand() -> Counter[tuple[str, str]]:
    held: Counter[tuple[str, str]] = Counter()
    for balance in stock.balances().filter(place__kind__in=WOOD):
        held[balance.lot.variety.name, balance.lot.use] += balance.count
    return held


def test_as_much_as_was_promised():
    assert Buyer.objects.count() == 80
    assert Order.objects.count() == 150
    assert THIS_SEASONS.count() == 41 + 24 + 4
    assert Target.objects.count() == 12
    assert set(Target.objects.values_list("purpose", flat=True)) == {"plants", "grafts", "reserve", "backup"}
    assert BenchSetup.objects.count() == 4
    assert 0.4 < MotherLimit.objects.count() / MotherPlant.objects.count() < 0.6
    nursery = Nursery.get()
    assert nursery.country and nursery.last_frost and nursery.kwh_price
    assert rules.check() == []


def test_orders_are_of_every_kind():
    lines = THIS_SEASONS
    assert set(lines.values_list("use", flat=True)) == set(Use.values)
    assert lines.exclude(grades="").exists() and lines.filter(substitutes__isnull=False).exists()
    assert [line.variety.name for line in lines if line.least == line.count] == ["Copper Bellows"]
    assert set(lines.values_list("priority", flat=True)) == {1, 2, 3, 4, 5}
    assert [str(line.variety) for line in lines.exclude(ended_at=None)] == ["‘Plum Saucer’"]
    assert {(day.year, day.month) for day in lines.values_list("first_day", flat=True)} == {
        (2027, 2),
        (2027, 3),
    }
    assert {(day.year, day.month) for day in lines.values_list("last_day", flat=True)} == {
        (2027, 3),
        (2027, 4),
    }


def test_grades_asked_for_are_grades_that_lots_have():
    asked = {grade for line in OrderLine.objects.all() for grade in line.grades.split(",") if grade}
    assert asked <= set(Lot.objects.values_list("grade", flat=True))


def test_all_was_noted_before_the_moment_at_which_the_season_stands_still():
    now = Nursery.get().now()
    for model in (Order, Target, BenchSetup, MotherLimit):
        assert model.objects.latest("at").at < now


def test_a_limit_is_not_below_what_the_plant_gave_this_winter():
    for most in MotherLimit.objects.select_related("mother"):
        this_winter = most.mother.place.movements_out.filter(at__gte=AUTUMN)
        given = this_winter.aggregate(sum=Sum("count"))["sum"]
        assert 0 < given <= most.cuttings, most.mother


def test_some_varieties_are_short_and_most_are_not():
    wanted: Counter[tuple[str, str]] = Counter()
    for line in THIS_SEASONS.filter(ended_at=None).select_related("variety"):
        wanted[line.variety.name, line.use] += line.count
    held = on_hand()
    short = {key for key in wanted if wanted[key] > held[key]}
    assert short >= {("Glass Thimble", "rooting"), ("Copper Bellows", "rooting")}
    assert len(short) < len(wanted) / 2
