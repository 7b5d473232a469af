"""Receiving a parcel: noted step by step by whoever comes by, then booked whole or not at all."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ortet import work
from ortet.ledger import rules
from ortet.ledger.booking import how_far
from ortet.ledger.models import (
    Balance,
    Inspection,
    Kind,
    Lot,
    Movement,
    Place,
    Received,
    ReceivedLine,
    Treatment,
    Variety,
    Why,
)
from ortet.work import receiving
from ortet.work.check import check
from ortet.work.receiving import SlipLine
from ortet.work.receiving.told import parcel_told

OPENED = datetime(2027, 1, 20, 9, tzinfo=UTC)
LATER = OPENED + timedelta(hours=20)
SLIP = [
    SlipLine("Dusk", "blackcurrant", 25, 500.0),
    SlipLine("Ash Lantern", "Gooseberry", 40, mark="H1"),
    SlipLine("Ember", "rose", 10),
]


@pytest.fixture
def ben(db):
    return User.objects.create_user("ben")


@pytest.fixture
def parcel(ada):
    work.add_place("North", "store")
    work.add_place("Shed", "store")
    yield receiving.begin("Hedge Farm", lines=SLIP, posted_on=date(2027, 1, 15), by=ada, at=OPENED)
    assert rules.check() == []


def look(number: int, at: datetime = OPENED) -> None:
    """Note a parcel of which the first dried, the second is sound and the third is mouldy."""
    receiving.note_found(number, 1, at=at, counted=24, came_g=412.8, mouldy=0, dead=2)
    receiving.note_found(number, 1, at=at, scratch_green=8, scratch_of=10, buds="tight")
    receiving.note_found(number, 2, at=at, counted=40, mouldy=0, dead=0, scratch_green=10, scratch_of=10)
    receiving.note_found(number, 3, at=at, counted=10, mouldy=4, dead=0)


def test_a_parcel_becomes_lots_bags_and_work_to_do(parcel, ada):
    look(parcel.number)
    receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER)
    dusk, lantern, ember = (one.lot for one in ReceivedLine.objects.order_by("position"))
    # by hand: 20 g each were sent, 17.2 g came: 14 % lost, beyond the 10 % of any wood: soak a day, then strike
    assert ReceivedLine.objects.get(lot=dusk).soaks_until == LATER + timedelta(hours=24)
    assert {b.place.name: b.count for b in dusk.balances.exclude(place__kind=Kind.SENDER)} == {
        "Bench": 22,
        "given up": 2,
    }
    (bag,) = (b.place for b in lantern.balances.filter(count__gt=0))
    assert (bag.kind, bag.standings.get().store.name, lantern.mark) == (Kind.BAG, "North", "H1")
    last = ReceivedLine.objects.get(lot=ember)
    assert (last.dip, last.dip_minutes, last.apart.name) == ("0.5 % NaOCl", 8, "Shed")
    assert ember.balances.get(count__gt=0).place.name == "Bench"
    assert dusk.taken_at.date() == date(2027, 1, 15) and dusk.made_at == OPENED
    assert Inspection.objects.get(lot=dusk).scratch_green == 8
    assert check()[1].startswith("The account holds: 0 taken + 74 received = 72 on hand + 2 given up")


def test_what_was_dipped_already_is_recorded_and_bagged_apart(parcel, ada):
    look(parcel.number)
    receiving.finish(parcel.number, store="North", quarantine="Shed", treated={3}, by=ada, at=LATER)
    ember = ReceivedLine.objects.get(position=3).lot
    dipped = Treatment.objects.get(lot=ember)
    assert (dipped.kind, dipped.strength, dipped.minutes) == ("disinfect", "0.5 % NaOCl", 8)
    assert ember.balances.get(count__gt=0).place.standings.get().store.name == "Shed"


def test_what_may_have_to_be_reported_is_held_and_nothing_is_given_up(parcel, ada):
    look(parcel.number)
    receiving.note_found(parcel.number, 1, at=OPENED, reportable=True)
    receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER)
    held = ReceivedLine.objects.get(position=1)
    assert held.is_held and held.lot.balances.get(count__gt=0).count == 24
    assert held.lot.balances.get(count__gt=0).place.standings.get().store.name == "Shed"


def test_it_is_left_and_taken_up_by_another_hand(parcel, ada, ben):
    receiving.note_found(parcel.number, 1, at=OPENED, counted=24)
    assert parcel_told(parcel.number).next_step == (1, "look")
    again = Received.objects.get(number=parcel.number)  # as another device reads it
    receiving.note_found(again.number, 1, at=OPENED, mouldy=0, dead=0)
    receiving.note_found(again.number, 1, at=OPENED, scratch_green=3, scratch_of=5)
    told = parcel_told(parcel.number)
    assert told.next_step == (2, "count") and told.lines[0].found.counted == 24
    look(parcel.number)
    done = receiving.finish(parcel.number, store="North", quarantine="Shed", by=ben, at=LATER)
    assert done.by == ada and set(Movement.objects.values_list("by__username", flat=True)) == {"ben"}


def test_two_devices_noting_one_line_lose_nothing(parcel):
    first, second = parcel_told(parcel.number), parcel_told(parcel.number)
    assert first.parcel.said == second.parcel.said  # both opened the line before either wrote
    receiving.note_found(parcel.number, 1, at=OPENED, counted=24)
    receiving.note_found(parcel.number, 1, at=OPENED, mouldy=1, dead=0)
    assert Received.objects.get().said["lines"][0]["found"] == {"counted": 24, "mouldy": 1, "dead": 0}


def test_what_is_noted_tells_whoever_remembers_though_the_clock_stands_still(parcel):
    far = set()
    for counted in (24, 25, 24):
        receiving.note_found(parcel.number, 1, at=OPENED, counted=counted)
        far.add(how_far())
    assert len(far) == 3


def test_a_line_taken_out_leaves_the_others_their_numbers(parcel):
    receiving.drop_line(parcel.number, 1, at=OPENED)
    assert receiving.add_line(parcel.number, SlipLine("Dusk", "blackcurrant", 5), at=OPENED) == 4
    with pytest.raises(work.Unknown, match="no line 1"):
        receiving.note_found(parcel.number, 1, at=OPENED, counted=3)
    assert [row["line"] for row in Received.objects.get().said["lines"]] == [2, 3, 4]


def test_all_or_nothing(parcel, ada, monkeypatch):
    look(parcel.number)
    work.add_mother("M1", "Dusk", "blackcurrant")
    work.take("M1", 3, mark="H1", by=ada, at=OPENED)  # the mark that line 2 asks for
    before = Movement.objects.count(), Lot.objects.count(), Place.objects.count(), Variety.objects.count()
    with pytest.raises(work.Refused, match="marked 'H1' already"):
        receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER)
    after = Movement.objects.count(), Lot.objects.count(), Place.objects.count(), Variety.objects.count()
    assert after == before and Received.objects.get().finished_at is None


def test_sent_twice_it_is_booked_once(parcel, ada):
    look(parcel.number)
    id = uuid4()
    for _ in range(2):
        receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER, id=id)
    assert Movement.objects.filter(why=Why.RECEIVED).count() == 3
    with pytest.raises(work.Refused, match="was finished on"):
        receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER, id=uuid4())
    one = uuid4()
    numbers = {receiving.begin("Mill", by=ada, at=LATER, id=one).number for _ in range(2)}
    assert numbers == {parcel.number + 1}


def test_a_finished_parcel_stands(parcel, ada):
    look(parcel.number)
    receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER)
    with pytest.raises(work.Refused, match="was finished on"):
        receiving.note_found(parcel.number, 1, at=LATER, counted=25)
    for sql in ("UPDATE ledger_received SET number = 9", "DELETE FROM ledger_received"):
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(sql)


def test_wood_comes_back_to_its_own_sender_by_a_correction_only(parcel, ada):
    look(parcel.number)
    receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER)
    lot = ReceivedLine.objects.get(position=3).lot
    came = lot.movements.get(why=Why.RECEIVED)
    with pytest.raises(work.Unknown):
        work.move(lot.code, 1, to_place="Hedge Farm", by=ada, at=LATER)
    work.correct(came.number, note="not ours", by=ada, at=LATER)
    assert Balance.objects.get(lot=lot, place=parcel.sender).count == 0
    assert rules.sums().received == 64


def test_the_database_refuses_wood_from_another_sender(parcel, ada):
    look(parcel.number)
    receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER)
    other = receiving.begin("Mill", by=ada, at=LATER).sender
    row = Movement.objects.order_by("-number").first()
    lot = ReceivedLine.objects.get(position=3).lot
    false = Movement(
        number=row.number + 1, lot=lot, from_place=other, to_place=Place.objects.get(name="Bench"), count=1, at=LATER, by=ada,
        why=Why.RECEIVED, chained_to=row.seal, seal="x",
    )  # fmt: skip
    with pytest.raises(IntegrityError, match="own sender"), transaction.atomic():
        false.save(force_insert=True)


@pytest.mark.parametrize(
    ("deed", "says"),
    [
        (
            lambda n, by: receiving.finish(n, store="North", by=by, at=LATER),
            "Not counted or not looked at: line 1",
        ),
        (lambda n, by: receiving.finish(n, by=by, at=OPENED - timedelta(1)), "opened later"),
        (lambda n, by: receiving.note_found(n, 1, at=OPENED, counted=5, dead=6), "6 dead and 0 bored of 5"),
        (lambda n, by: receiving.note_found(n, 1, at=OPENED, smell="nice"), "say fresh, musty, sour"),
        (lambda n, by: receiving.note_found(n, 1, at=OPENED, weight=5), "is not noted of a parcel"),
        (lambda n, by: receiving.note_found(n, 9, at=OPENED, counted=5), "no line 9"),
        (lambda n, by: receiving.note_parcel(n, at=OPENED, sent_g=-5), "weighs more than nothing"),
        (lambda n, by: receiving.add_line(n, SlipLine("Fog", "", 5), at=OPENED), "is new: say its species"),
        (lambda n, by: receiving.add_line(n, SlipLine("Fog", "fern", 5), at=OPENED), "'fern' is not known"),
        (lambda n, by: receiving.begin(" ", by=by, at=OPENED), "who sent"),
        (
            lambda n, by: receiving.begin("X", by=by, at=OPENED, posted_on=date(2028, 1, 1)),
            "one of the two is wrong",
        ),
        (lambda n, by: receiving.find_parcel(99), "no parcel 99"),
    ],
)
def test_what_is_refused_changes_nothing(parcel, ada, deed, says):
    before = Received.objects.get().said, Movement.objects.count(), Received.objects.count()
    with pytest.raises(work.Refused, match=says):
        deed(parcel.number, ada)
    assert (Received.objects.get().said, Movement.objects.count(), Received.objects.count()) == before


def test_where_something_goes_must_be_said(parcel, ada):
    look(parcel.number)
    with pytest.raises(work.Refused, match="kept apart: say in which"):
        receiving.finish(parcel.number, store="North", by=ada, at=LATER)
    with pytest.raises(work.Refused, match="is stored: say in which"):
        receiving.finish(parcel.number, quarantine="Shed", by=ada, at=LATER)


def test_a_parcel_weighed_whole_tells_of_each_line(parcel):
    receiving.drop_line(parcel.number, 1, at=OPENED)
    for line, count in ((2, 40), (3, 10)):
        receiving.note_found(parcel.number, line, at=OPENED, counted=count, mouldy=0, dead=0)
    receiving.note_parcel(parcel.number, at=OPENED, sent_g=1000, came_g=930)
    assert [round(one.advice.lost, 6) for one in parcel_told(parcel.number).lines] == [0.07, 0.07]


def test_the_mix_is_reckoned_from_the_bottle(parcel):
    look(parcel.number)
    told = parcel_told(parcel.number)
    assert told.mixing is None and "label" in told.not_mixed
    receiving.note_parcel(parcel.number, at=OPENED, stock="5 % by mass")
    told = parcel_told(parcel.number)
    # 2 L of 0.5 % from 5 %: a tenth of it bleach (C1 V1 = C2 V2)
    assert told.litres == 2 and told.mixing.numbers["stock_ml"] == pytest.approx(200)
    assert any("acid" in caution for caution in told.mixing.cautions)
    receiving.note_parcel(parcel.number, at=OPENED, stock="strong")
    assert parcel_told(parcel.number).mixing is None


def test_a_slip_comes_as_a_table_or_typed(db):
    work.add_mother("M1", "Dusk", "blackcurrant")
    table = b"variety,species,count,sent_g\nDusk,,25,480\nFog Bell,grape,10,\n"
    assert receiving.read_slip(table, "slip.csv") == [
        SlipLine("Dusk", "blackcurrant", 25, 480.0), SlipLine("Fog Bell", "grape", 10),
    ]  # fmt: skip
    assert receiving.read_line("‘Dusk’; ; 25; 0.48 kg") == SlipLine("Dusk", "blackcurrant", 25, 480.0)
    with pytest.raises(work.Refused, match="row 2"):
        receiving.read_slip(b"variety,count\nDusk,many\n", "slip.csv")
    with pytest.raises(work.Refused, match="'x' is no count"):
        receiving.read_line("Dusk;;x")


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(st.integers(0, 30), st.integers(0, 8), st.integers(0, 8), st.booleans()),
        min_size=1,
        max_size=4,
    )
)
def test_whatever_was_found_every_cutting_is_accounted_for(ada, lines):
    with transaction.atomic():
        work.add_place("North", "store")
        work.add_place("Shed", "store")
        slip = [SlipLine(f"V{n}", "elder", 20) for n in range(len(lines))]
        number = receiving.begin("Hedge Farm", lines=slip, by=ada, at=OPENED).number
        for line, (counted, dead, mouldy, scale) in enumerate(lines, 1):
            dead = min(dead, counted)
            found = {"counted": counted, "dead": dead, "mouldy": min(mouldy, counted - dead), "scale": scale}
            receiving.note_found(number, line, at=OPENED, **found)
        receiving.finish(number, store="North", quarantine="Shed", by=ada, at=LATER)
        sums = rules.sums()
        assert sums.holds and sums.received == sum(counted for counted, *_ in lines)
        assert rules.check() == []
        transaction.set_rollback(True)


def test_a_trace_begins_with_the_sender(parcel, ada):
    from ortet.work.trace import trace

    look(parcel.number)
    receiving.finish(parcel.number, store="North", quarantine="Shed", by=ada, at=LATER)
    lot = ReceivedLine.objects.get(position=1).lot
    traced = trace(lot.code)
    first, second = traced.rows[:2]
    assert (first.node.kind, first.node.name, first.count) == ("sender", "sender Hedge Farm", 24)
    assert (second.node.kind, second.count, second.came) == ("lot", 24, "received")
    assert traced.tally.holds and (traced.tally.taken, traced.tally.given_up) == (24, 2)
