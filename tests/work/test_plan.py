"""The season planned from the book: each part follows from the one before, and Today takes from all."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest

from ortet import work
from ortet.ledger.models import Movement, Nursery, Pick, Plan
from ortet.work.benches import set_up_bench
from ortet.work.nursery import plan_with
from ortet.work.orders import Line, cancel, limit, order, want
from ortet.work.plan.due import to_set
from ortet.work.plan.shown import shown
from ortet.work.plan.whole import plan_season
from tests.writing import write

NOW = "2027-01-20T09:00+00:00"
WOOD = """
2027-01-05 08:00  place store North
2027-01-05 09:00  mother M1 Dusk grape
2027-01-05 09:10  mother M2 Dawn grape
2027-01-05 10:00  take M1 60 as L1
2027-01-05 11:00  bag L1 60 into K1 at North
2027-01-05 12:00  take M2 10 as L2
2027-01-05 12:30  bag L2 10 into K2 at North
"""
FROM, UNTIL = date(2027, 1, 25), date(2027, 3, 1)


@pytest.fixture
def planned(ada):
    """A book with wood, wishes and a bench, and how to plan it."""
    at = datetime.fromisoformat(NOW)
    write(WOOD, ada)
    work.add_place("Warm bench", "bench")
    set_up_bench("Warm bench", 100, air_c=10, heats=(24,), by=ada, at=at)
    plan_with(country="DE", last_frost="05-15", kwh_price=Decimal("0.30"))
    order("Tarn Mill", [Line("Dusk", 20, FROM, UNTIL, price=Decimal(2))], by=ada, at=at)
    want("Dusk", 15, by=ada, at=at)
    want("Dawn", 40, by=ada, at=at, purpose="reserve")
    limit("M2", 20, by=ada, at=at)
    return lambda: plan_season(by=ada, now=at)


def test_what_is_in_store_goes_first_and_a_plant_gives_no_more_than_its_limit(planned):
    plan = planned()
    cuts = {one.mother.accession: one.count for one in plan.take.to_take.select_related("mother")}
    # Dusk: 60 are enough for 20 posted and 15 plants. Dawn: 40 are wanted, 10 lie there, M2 has given 10 of 20.
    assert cuts == {"M2": 10}
    assert any("Dawn" in line for line in plan.take.said["binds"])


def test_every_wish_gets_wood_or_a_reason(planned):
    planned()
    seen = {one.wish: one for one in shown().promises}
    assert seen["order 1/1"].given == 20 and not seen["order 1/1"].short
    assert seen["target 2"].short > 0 and seen["target 2"].why
    for one in seen.values():
        assert one.given + one.short >= one.asked or one.why
    assert all(FROM <= pick.day <= UNTIL for pick in seen["order 1/1"].picks)


def test_own_plants_go_on_a_bench_and_the_order_gets_a_day(planned):
    plan = planned()
    slot = plan.bench.slots.get()
    assert slot.bench.name == "Warm bench" and slot.count == seen_of("target 1").given
    assert slot.start >= date(2027, 1, 18) and 0 <= slot.risk <= 1
    assert {pick.day for pick in seen_of("target 1").picks} == {slot.start}  # picked when it is set
    posting = plan.post.postings.get()
    assert posting.order.number == 1 and posting.day is None and "No weather" in posting.why


def seen_of(wish):
    return next(one for one in shown().promises if one.wish == wish)


def test_a_parcel_is_posted_on_a_working_day_once_there_is_weather(planned, ada):
    from ortet.ledger.climate import add_readings
    from ortet.ledger.models import Place

    hill = Place.objects.get(name="Hill")
    begin = int(datetime(2027, 1, 1, tzinfo=UTC).timestamp())
    at = begin + 3600 * np.arange(22 * 24)
    add_readings(hill, at, np.full(len(at), 6.0), np.full(len(at), 0.8))
    posting = planned().post.postings.get()
    assert posting.day and posting.day >= FROM and posting.day.weekday() < 5
    assert posting.risk < 0.05 and posting.pack == "none"


def test_a_choice_made_by_hand_is_kept(planned):
    first = planned().allot
    pick = first.picks.get(line__order__number=1)
    Pick.objects.filter(pk=pick.pk).update(by_hand=True, day=pick.day + timedelta(days=14))
    again = planned().allot.picks.filter(line__order__number=1, by_hand=True).get()
    assert again.count == pick.count and again.lot == pick.lot
    assert again.day >= pick.day + timedelta(days=7)


def test_what_is_cancelled_is_planned_for_no_more(planned):
    planned()
    cancel("1", at=datetime.fromisoformat(NOW))
    cancel("target 1", at=datetime.fromisoformat(NOW))
    plan = planned()
    assert {one.wish for one in shown().promises} == {"target 2"}
    assert not plan.post.postings.exists() and not plan.bench.slots.exists()


def test_today_takes_from_the_plan_until_it_is_done(planned, ada):
    from ortet.work.today import today

    at = datetime.fromisoformat(NOW)
    nursery = Nursery.get()
    nursery.fixed_now = at
    nursery.save()
    planned()
    tasks = {task.kind: task for task in today().tasks}
    assert tasks["cut"].act.startswith("Take 10 of Dawn for rooting") and "10 from M2" in tasks["cut"].act
    assert "Warm bench" in tasks["set"].act and tasks["set"].lots
    later = at + timedelta(hours=1)
    work.take("M2", 10, by=ada, at=later)
    work.move("L1", tasks["set"].count, from_place="K1", to_place="Warm bench", by=ada, at=later)
    assert not {"cut", "set"} & {task.kind for task in today(later).tasks}


def test_what_stands_on_a_bench_is_on_its_way_and_is_given_to_nobody_else(planned, ada):
    slot = planned().bench.slots.get()
    at = datetime.fromisoformat(
        NOW
    )  # a demo season stands still: a deed of the same moment counts as done, too
    work.move("L1", slot.count, from_place="K1", to_place="Warm bench", by=ada, at=at)
    assert not {one.count - one.done for one in to_set()} - {0}
    plan = planned()
    assert not plan.bench.slots.exists()
    assert not plan.allot.picks.filter(place__name="Warm bench").exists()
    assert seen_of("target 1").given == slot.count and not seen_of("target 1").short


def test_what_is_struck_is_done_whether_it_lay_on_the_bench_first_or_not(planned, ada):
    slot = planned().bench.slots.get()
    at = datetime.fromisoformat(NOW)

    def left() -> int:
        return sum(one.count - one.done for one in to_set())

    half = slot.count // 2
    work.move("L1", half, from_place="K1", to_place="Warm bench", by=ada, at=at)
    assert left() == slot.count - half
    work.strike("L1", half, from_place="Warm bench", bench="Warm bench", by=ada, at=at)
    assert left() == slot.count - half  # laid there and struck there: counted once
    work.strike("L1", slot.count - half, from_place="K1", bench="Warm bench", by=ada, at=at)
    assert left() == 0
    work.correct(Movement.objects.latest("number").number, note="other bench", by=ada, at=at)
    assert left() == slot.count - half


def test_nothing_wanted_makes_an_empty_plan(ada):
    write(WOOD, ada)
    plan_season(by=ada, now=datetime.fromisoformat(NOW))
    assert not shown().promises and not shown().cuts


def test_contradictory_wishes_are_named_and_nothing_is_booked(planned, ada):
    at = datetime.fromisoformat(NOW)
    limit("M2", 0, by=ada, at=at)
    work.give_up("L2", 10, by=ada, at=at)
    with pytest.raises(work.Refused, match=r"target 2.*M2"):
        planned()
    assert not Plan.objects.exists()


def test_a_book_that_never_stands_still_is_not_planned_and_the_refusal_says_so(planned, ada):
    at = datetime.fromisoformat(NOW)

    def meanwhile(step, share):
        if (step, share) == ("which day to post", 1.0):
            work.weigh("K1", 900, by=ada, at=at)

    with pytest.raises(
        work.Refused, match=r"Other deeds were booked each of the 3 times.*Nothing was planned"
    ):
        plan_season(by=ada, now=at, tell=meanwhile)
    assert not Plan.objects.exists()
