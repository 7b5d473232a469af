"""The calendar: each thing on its day, no buyer in it, and the same entry however its day moves."""

from datetime import UTC, date, datetime, timedelta

import pytest
import vobject

from ortet import work
from ortet.ledger.models import Nursery, Posting, ReceivedLine
from ortet.work import orders, receiving
from ortet.work.calendar import UNNAMED, WITHOUT_NAMES, calendar, entries
from ortet.work.growing.foretold import to_count
from ortet.work.nursery import plan_with
from ortet.work.plan.whole import plan_season
from ortet.work.receiving import SlipLine
from ortet.work.today import today
from tests.writing import write

NOW = datetime(2027, 1, 20, 9, tzinfo=UTC)
WOOD = """
    2027-01-02 08:00  place store North
    2027-01-02 08:00  place store Shed
    2027-01-02 08:00  place bench Warm
    2027-01-02 09:00  mother M1 Dusk grape
    2027-01-05 10:00  take M1 60 as L1
    2027-01-05 11:00  bag L1 40 into K1 at North
    2027-01-06 09:00  strike L1 20 from Bench as S1 on Warm base_c=24
"""
FROM, UNTIL = date(2027, 1, 25), date(2027, 3, 1)
PEOPLE = ("Thorncastle", "Wrexholm", "Mill Lane")  # a buyer, a sender, where the buyer lives


@pytest.fixture
def book(ada):
    Nursery.objects.create(id=1, zone="Europe/Prague", fixed_now=NOW)
    write(WOOD, ada)
    work.buyer("Thorncastle", address="Mill Lane 3")
    orders.order("Thorncastle", [orders.Line("Dusk", 20, FROM, UNTIL)], by=ada, at=NOW)
    plan_with(country="DE", last_frost="05-15")
    came = receiving.begin(
        "Wrexholm", lines=[SlipLine("Ember", "rose", 10)], by=ada, at=NOW - timedelta(days=3)
    )
    receiving.note_found(came.number, 1, at=NOW - timedelta(days=3), counted=10, mouldy=4, dead=0)
    receiving.finish(
        came.number, store="North", quarantine="Shed", treated={1}, by=ada, at=NOW - timedelta(days=2)
    )
    receiving.begin("Wrexholm", lines=[SlipLine("Ash", "rose", 4)], by=ada, at=NOW)
    return ada


def of_kind(kind: str) -> list:
    return [entry for entry in entries(NOW) if entry.kind == kind]


def test_an_order_stands_from_the_first_to_the_last_day_it_is_wanted(book):
    (window,) = of_kind("order")
    assert (window.first, window.last, window.title) == (FROM, UNTIL, "Order 1 is wanted: 20 cuttings")
    (event,) = [
        one
        for one in vobject.readOne(calendar(NOW).decode()).vevent_list
        if one.summary.value == window.title
    ]
    assert (event.dtstart.value, event.dtend.value) == (FROM, UNTIL + timedelta(days=1))
    work.sell("L1", 8, from_place="K1", order="1", by=book, at=NOW)
    assert of_kind("order")[0].title == "Order 1 is wanted: 12 cuttings"
    orders.cancel("1", at=NOW)
    assert of_kind("order") == []


def test_an_order_that_was_sent_whole_is_wanted_no_more(book):
    work.sell("L1", 20, from_place="K1", order="1", by=book, at=NOW)
    assert of_kind("order") == []


def test_a_parcel_stands_on_its_day_and_stays_the_same_entry_when_that_moves(book):
    plan_season(by=book, now=NOW)
    assert of_kind("posting") == []  # no weather is recorded: the plan holds it
    Posting.objects.update(day=date(2027, 1, 27))
    (before,) = of_kind("posting")
    assert before.first == before.last == date(2027, 1, 27)
    assert before.title == "Post order 1: 20 cuttings" and before.words == "Wanted by 2027-03-01."
    Posting.objects.update(day=date(2027, 1, 30))
    (after,) = of_kind("posting")
    assert after.key == before.key and after.first == date(2027, 1, 30)


def test_a_batch_stands_on_the_day_to_count_it(book):
    (due,) = to_count(NOW)
    (count,) = of_kind("count")
    assert due.day and count.first == max(due.day, date(2027, 1, 20)) and "S1" in count.title


def test_wood_kept_apart_stands_a_week_after_it_was_looked_at_and_no_day_frees_it(book):
    (apart,) = of_kind("kept apart")
    assert apart.first == date(2027, 1, 25) and "Shed" in apart.title and "no date does" in apart.words
    lot = ReceivedLine.objects.get().lot
    place = lot.balances.get(count__gt=0, place__kind="bag").place
    work.inspect(place.name, lot=lot.code, sound=6, by=book, at=NOW)
    (later,) = of_kind("kept apart")
    assert later.key == apart.key and later.first == date(2027, 1, 27)


def test_todays_tasks_are_there_each_once(book):
    told = [task for task in today(NOW).tasks if task.kind not in ("post", "count", "apart")]
    found = of_kind("task")
    assert len(found) == len(told) > 1 and len({entry.key for entry in found}) == len(found)
    assert all(entry.first >= date(2027, 1, 20) for entry in found)


def test_nobody_is_named(book):
    plan_season(by=book, now=NOW)
    Posting.objects.update(day=date(2027, 1, 20))
    told = " ".join(f"{task.act} {task.reason}" for task in today(NOW).tasks)
    assert "Wrexholm" in told and "Thorncastle" in told  # Today does name them
    made = calendar(NOW).decode().replace("\r\n ", "")
    assert [name for name in PEOPLE if name in made] == []


def test_every_kind_of_task_has_words_for_the_calendar():
    from ortet.decisions.today import KINDS

    assert set(KINDS) == {*UNNAMED, *WITHOUT_NAMES}


def test_with_tasks_apart_they_are_to_dos_and_the_days_stay_days(book):
    whole = vobject.readOne(calendar(NOW, tasks_apart=True).decode())
    assert len(whole.vtodo_list) == len(of_kind("task"))
    assert len(whole.vevent_list) == len(entries(NOW)) - len(whole.vtodo_list)


def test_every_identifier_is_there_once(book):
    plan_season(by=book, now=NOW)
    uids = [event.uid.value for event in vobject.readOne(calendar(NOW).decode()).vevent_list]
    assert len(uids) == len(set(uids)) > 4
