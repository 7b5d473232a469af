"""Choices made by hand: kept in every plan that follows, the rest planned around them, and given back when asked."""

from datetime import date, datetime, timedelta

import pytest

from ortet import work
from ortet.ledger.models import Pick, Plan, Slot
from ortet.work.benches import set_up_bench
from ortet.work.plan.bench_look import benches_planned
from ortet.work.plan.by_hand import free_batch, free_pick, give, set_batch

from .test_plan import NOW, planned  # noqa: F401, the fixture

AT = datetime.fromisoformat(NOW)
LATER = date(2027, 2, 10)


def picks_of(plan) -> list[tuple[str, str, int, bool]]:
    rows = plan.picks.select_related("lot", "place", "line__order", "target").order_by("pk")
    return [
        (str(row.line or row.target), str(row.lot.mark), row.count, row.by_hand) for row in rows if row.lot
    ]


@pytest.fixture
def two_lots(planned, ada):  # noqa: F811
    """The book with a second lot of Dusk, as fresh as the first, and its plan."""
    work.take("M1", 40, by=ada, at=datetime(2027, 1, 6, 9, tzinfo=AT.tzinfo), mark="L3")
    at = datetime(2027, 1, 6, 10, tzinfo=AT.tzinfo)
    work.bag([("L3", 40, None)], store="North", name="K3", by=ada, at=at)
    return planned


def test_wood_given_by_hand_stays_given_and_the_rest_is_planned_around_it(two_lots, ada):
    two_lots()
    chosen = give("1/1", "L3", 12, LATER, by=ada, now=AT).allot
    (by_hand,) = chosen.picks.filter(by_hand=True)
    assert (by_hand.lot.mark, by_hand.count, str(by_hand.line)) == ("L3", 12, "order 1/1")
    assert by_hand.day - timedelta(days=by_hand.day.weekday()) == date(2027, 2, 8)
    # the order asked for 20: the plan itself finds the other 8
    assert sum(count for wish, _, count, _ in picks_of(chosen) if wish == "order 1/1") == 20
    again = two_lots().allot
    assert ("order 1/1", "L3", 12, True) in picks_of(again)


def test_what_was_given_by_hand_may_be_changed_and_given_back(two_lots, ada):
    two_lots()
    first = give("order 1/1", "L3", 12, LATER, by=ada, now=AT).allot.picks.get(by_hand=True)
    second = give("order 1/1", "L1", 20, LATER, by=ada, now=AT, instead=first.pk).allot.picks.get(
        by_hand=True
    )
    assert (second.lot.mark, second.count) == ("L1", 20)
    more = give("order 1/1", "L1", 7, LATER, by=ada, now=AT).allot.picks.get(by_hand=True)
    assert more.count == 7, "the same wood for the same wish: the later choice counts"
    freed = free_pick(more.pk, by=ada, now=AT).allot
    assert not freed.picks.filter(by_hand=True).exists()
    with pytest.raises(work.Refused, match="no hand"):
        free_pick(freed.picks.first().pk, by=ada, now=AT)


@pytest.mark.parametrize(
    ("wish", "lot", "count", "day", "says"),
    [
        ("7/1", "L1", 5, LATER, "nothing of that name is still wanted"),
        ("target x", "L1", 5, LATER, "nothing of that name is still wanted"),
        ("1/1", "L9", 5, LATER, "There is no lot"),
        ("1/1", "L1", 61, LATER, "61 of lot .* asked, 60 lie in K1"),
        ("1/1", "L1", 21, LATER, "order 1/1"),  # it asked for 20
        ("1/1", "L2", 5, LATER, "Dawn"),  # another variety
        ("1/1", "L1", 5, date(2027, 1, 4), "is past"),
        ("1/1", "L1", 5, date(2027, 9, 6), "week"),  # long after its window
    ],
)
def test_what_cannot_be_given_is_refused_and_the_plan_stays(planned, ada, wish, lot, count, day, says):  # noqa: F811
    planned()
    before = Plan.objects.count(), Pick.objects.count()
    with pytest.raises(work.Refused, match=says):
        give(wish, lot, count, day, by=ada, now=AT)
    assert (Plan.objects.count(), Pick.objects.count()) == before


def test_a_batch_set_by_hand_stays_and_may_be_given_back(planned, ada):  # noqa: F811
    slot = planned().bench.slots.get()
    set_up_bench("Warm bench", 100, air_c=10, heats=(18, 24), by=ada, at=AT)
    moved = set_batch("L1", "Warm bench", 18, date(2027, 2, 3), by=ada, now=AT).slots.get()
    assert (moved.base_c, moved.start, moved.by_hand) == (18, date(2027, 2, 1), True)
    assert moved.start > slot.start and moved.ready > slot.ready
    assert planned().bench.slots.get().start == moved.start
    anew = Slot.objects.filter(by_hand=True).latest("pk")
    freed = free_batch(anew.pk, by=ada, now=AT).slots.get()
    assert not freed.by_hand
    with pytest.raises(work.Refused, match="no hand"):
        free_batch(freed.pk, by=ada, now=AT)


@pytest.mark.parametrize(
    ("lot", "bench", "base_c", "start", "says"),
    [
        ("L1", "Warm bench", 30, LATER, "only to: 24 °C"),
        ("L1", "Warm bench", None, LATER, "only to: 24 °C"),
        ("L1", "Bench", 24, LATER, "Nobody said what Bench can do"),
        ("L2", "Warm bench", 24, LATER, "allotted to own plants"),
        ("L1", "Warm bench", 24, date(2027, 1, 4), "is past"),
        ("L1", "Warm bench", 24, date(2028, 1, 4), "weeks 1 to 16"),
    ],
)
def test_what_cannot_be_set_is_refused_and_the_plan_stays(planned, ada, lot, bench, base_c, start, says):  # noqa: F811
    planned()
    before = Plan.objects.count(), Slot.objects.count()
    with pytest.raises(work.Refused, match=says):
        set_batch(lot, bench, base_c, start, by=ada, now=AT)
    assert (Plan.objects.count(), Slot.objects.count()) == before


def test_the_kept_season_gives_the_outcomes_that_the_plan_was_made_of(planned):  # noqa: F811
    slot = planned().bench.slots.get()
    there = benches_planned()
    (bar,) = there.bars
    assert (bar.outcome.roots, bar.start) == (slot.ready, slot.start)
    assert bar.outcome.risk == pytest.approx(slot.risk)
    look = there.look(bar.key, "Warm bench", 24, slot.start)
    assert look.outcome == bar.outcome == look.planned and not look.in_the_way
    later = there.look(bar.key, "Warm bench", 24, slot.start + timedelta(days=7))
    assert later.outcome.risk == pytest.approx(slot.risk_later)


def test_what_stands_in_the_way_is_named(planned, ada):  # noqa: F811
    set_up_bench("Warm bench", 20, air_c=10, heats=(18, 24), by=ada, at=AT)
    planned()
    there = benches_planned()
    bar, other = there.bars[0], there.bars[-1]
    assert bar.start < other.start, "the bench is too small for all of them at once"
    look = there.look(bar.key, "Warm bench", 24, bar.start)
    assert look.in_the_way == [f"In the week of 25 Jan 0 of 20 cells are taken, and it needs {look.whole}."]
    early = there.look(bar.key, "Warm bench", 24, bar.start - timedelta(days=60))
    assert early.against == ["enough is callused only on 20 Jan 2027"]
    with pytest.raises(work.Refused, match="in no plan"):
        there.look("lot L9 in K9", "Warm bench", 24, bar.start)
    with pytest.raises(work.Refused, match="no such heat"):
        there.look(bar.key, "Warm bench", 30, bar.start)


def test_wood_still_to_be_taken_is_given_by_hand_and_kept(planned, ada):  # noqa: F811
    planned()  # 10 of Dawn are to be taken from M2
    target = "target 2"
    with pytest.raises(work.Refused, match=r"11 from M2 .* asked, 10 are to be taken"):
        give(target, None, 11, LATER, mother="M2", by=ada, now=AT)
    with pytest.raises(work.Refused, match="takes nothing from M1"):
        give(target, None, 1, LATER, mother="M1", by=ada, now=AT)
    (chosen,) = give(target, None, 6, LATER, mother="M2", by=ada, now=AT).allot.picks.filter(by_hand=True)
    assert (chosen.mother.accession, chosen.count, str(chosen.target)) == ("M2", 6, target)
    (again,) = planned().allot.picks.filter(by_hand=True)
    assert (again.mother, again.count) == (chosen.mother, 6)
    fewer = give(target, None, 4, LATER, mother="M2", by=ada, now=AT, instead=again.pk).allot
    assert [pick.count for pick in fewer.picks.filter(by_hand=True)] == [4]
    freed = free_pick(fewer.picks.get(by_hand=True).pk, by=ada, now=AT).allot
    assert not freed.picks.filter(by_hand=True).exists()
