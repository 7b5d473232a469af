"""The demo season in the book: the story is there, the account holds, and Today has things to say."""

from datetime import date

import pytest
from django.db.models import Sum

from ortet.demo import load_demo
from ortet.ledger import rules
from ortet.ledger.models import (
    Arrival,
    Bag,
    Batch,
    Buyer,
    ClimateReading,
    Complaint,
    Count,
    Derivation,
    Inspection,
    Kind,
    Load,
    Lot,
    MotherPlant,
    Movement,
    Nursery,
    Order,
    Parcel,
    Payment,
    Place,
    Receipt,
    Received,
    Replacement,
    Sale,
    Sending,
    Standing,
    StrikeReport,
    Treatment,
    Trial,
    Variety,
    Weighing,
    Why,
    Withdrawal,
)
from ortet.ledger.places import ON_HAND
from ortet.work.growing.batches import batches_struck

pytestmark = pytest.mark.django_db  # so that the database is there when this file is run alone


# of the season itself: what is marked 25- was typed in from the winter before
LOTS = Lot.objects.exclude(mark__startswith="25-")
BAGS = Bag.objects.exclude(place__name__startswith="25-")


@pytest.fixture
def in_book(season_in_book, django_db_blocker):
    with django_db_blocker.unblock():
        yield


def test_the_account_holds(in_book):
    assert rules.check() == []


def test_as_many_as_were_promised(in_book):
    assert MotherPlant.objects.count() == 40 + 1  # and a row of rootstocks
    assert Variety.objects.count() == 26 + 1
    assert LOTS.count() == 60
    taken = Movement.objects.filter(why=Why.TAKEN, lot__in=LOTS)
    assert taken.aggregate(Sum("count"))["count__sum"] == 1400
    assert BAGS.count() == 39
    assert Place.objects.filter(kind=Kind.STORE).count() == 2


def test_it_stands_still_at_a_moment_after_all_that_happened(in_book):
    nursery = Nursery.get()
    assert nursery.now() == nursery.fixed_now
    for model in (Movement, Weighing, Inspection, Treatment, Standing):
        last = model.objects.order_by("since" if model is Standing else "at").last()
        assert getattr(last, "since", None) or last.at < nursery.now()


def test_what_happened_is_in_the_record(in_book):
    assert Derivation.objects.filter(part="split").count() == 3
    assert Movement.objects.filter(why=Why.GIVEN_UP, reversed_by=None, lot__in=LOTS).count() == 5
    assert Movement.objects.filter(why=Why.LOST).count() == 1
    assert Movement.objects.filter(why=Why.CORRECTED, reverses__isnull=False).count() == 2
    assert set(Treatment.objects.values_list("kind", flat=True)) == {
        "disinfect",
        "wash",
        "wax",
        "air",
        "wipe",
    }
    assert Withdrawal.objects.count() == 1
    assert Standing.objects.filter(bag__bag__in=BAGS).count() == BAGS.count() + 2
    assert Inspection.objects.filter(mouldy__gt=0).exists()
    assert Inspection.objects.filter(free_water="pooled").exists()
    assert BAGS.filter(place__weighings=None).exclude(place__name="D9").get().place.name == "A8"


def test_last_season_was_struck_counted_potted_and_sold(in_book):
    assert Batch.objects.filter(craft="strike", trial=None).count() == 34
    assert Trial.objects.get().batches.count() == 12
    assert Batch.objects.filter(craft="graft").count() == 1
    assert Count.objects.count() == 34 * 3 + 12 + 2
    struck = batches_struck()
    assert all(batch.is_finished and not batch.here for batch in struck)
    assert 0.55 < sum(batch.rooted for batch in struck) / sum(batch.struck for batch in struck) < 0.85
    assert Sale.objects.filter(line=None).count() == 18
    assert all(buyer.address for buyer in Buyer.objects.filter(sales__isnull=False))


def test_orders_went_out_came_well_or_ill_and_were_paid(in_book):
    from ortet.work.owed import sums

    then = Order.objects.filter(lines__first_day__lt=date(2027, 1, 1)).distinct()
    assert all(Sale.objects.filter(line__order=one).exists() for one in then)
    assert Sending.objects.count() == Parcel.objects.count() - 1 == 37
    assert {one.state for one in Arrival.objects.all()} == {"good", "dry"}
    assert Complaint.objects.count() == 2 and Replacement.objects.count() == 1
    assert (
        Payment.objects.filter(amount__lt=0).count() == 1 and Payment.objects.filter(is_deposit=True).exists()
    )
    assert StrikeReport.objects.exists() and Order.objects.filter(is_swap=True).count() == 1
    owing = [one for one in then if sums(one).owed > 0]
    assert 0 < len(owing) < then.count() / 5
    assert Receipt.objects.count() > 3 and all(one.order.buyer.is_trade for one in Receipt.objects.all())


def test_one_parcel_lies_open_and_one_of_the_winter_before_came_to_nothing(in_book):
    then, now = Received.objects.order_by("number")
    assert then.finished_at and now.finished_at is None
    lots = Lot.objects.filter(received__received=then)
    assert (
        lots.count() == 2
        and not lots.filter(balances__count__gt=0, balances__place__kind__in=ON_HAND).exists()
    )


def test_the_records_of_both_fridges_and_the_field_are_in(in_book):
    for place, least in (("Cellar fridge", 2500), ("Barn fridge", 15_000), ("Brook field", 3900)):
        assert ClimateReading.objects.filter(place__name=place).count() > least
    assert Load.objects.count() == 8


def test_loading_it_again_changes_nothing(in_book):
    before = Movement.objects.count(), Load.objects.count()
    load_demo()
    assert (Movement.objects.count(), Load.objects.count()) == before


def test_today_has_one_of_each_thing_that_goes_wrong_and_is_no_sea_of_alarms(in_book):
    from ortet.work.today import today

    day = today()
    kinds = {task.kind for task in day.tasks}
    assert kinds >= {"wet", "airless", "dry", "bare", "use", "sort", "weigh", "inspect", "record", "strike"}
    assert 10 <= len(day.tasks) <= 18

    def named(kind):
        return {bag for task in day.tasks if task.kind == kind for bag in task.bags}

    assert named("airless") == {"A6"}
    assert {"A2", "C5"} <= named("dry")
    assert "B10" in named("wet")
    assert named("weigh") == {"A8"}
