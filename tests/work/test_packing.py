"""Picking, packing and sending: a scan proves the bag, the parcel knows what is in it, and all of it is sold in one go."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from ortet import work
from ortet.ledger import rules
from ortet.ledger.models import Buyer, Kind, Movement, Packing, Parcel, Place, Sale, Sending, Why
from ortet.ledger.packed import lying, packed, sold
from ortet.work import orders, packing
from ortet.work.packing import contents, pack, send, walk
from tests.writing import write

pytestmark = pytest.mark.django_db
AT = datetime(2027, 2, 1, 9, tzinfo=UTC)
TODAY = date(2027, 2, 1)
ID = UUID("0197a1b2-0000-7000-8000-000000000001")
TABLES = (Movement, Packing, Parcel, Place, Sale, Sending, Buyer)

BOOK = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place store South
    2027-01-05 09:00  take M1 60 as L1
    2027-01-05 09:00  take M2 30 as L2
    2027-01-05 09:30  take M1 30 as L3
    2027-01-05 11:00  bag L1 50 into K10 at South
    2027-01-05 11:00  bag L2 30 into K2 at South
    2027-01-05 11:00  bag L3 30 into K1 at North
"""


def line(variety: str, count: int, price: str = "1.50", **more) -> orders.Line:
    return orders.Line(variety, count, date(2027, 2, 1), date(2027, 2, 20), price=Decimal(price), **more)


@pytest.fixture
def book(ada):
    """Three lots in three bags, and an order of two varieties."""
    made = write(BOOK, ada)
    orders.order("Hedge", [line("Dusk", 60), line("Lantern", 10, "2.00")], by=ada, at=AT)
    yield made
    assert rules.check() == []


def refused(deed, *words: str) -> str:
    """Do a deed that must be refused, with these words in the sentence, and nothing booked."""
    before = [model.objects.count() for model in TABLES]
    with pytest.raises(work.Refused) as caught:
        deed()
    assert [model.objects.count() for model in TABLES] == before
    for word in words:
        assert word in str(caught.value)
    return str(caught.value)


def test_the_walk_goes_by_cold_place_and_bag_and_takes_the_oldest_wood_first(book):
    stops = walk(1, today=TODAY)
    assert [(one.store, one.place.name, one.name, one.count) for one in stops] == [
        ("", "Bench", "L1", 10),
        ("South", "K2", "L2", 10),
        ("South", "K10", "L1", 50),
    ]
    assert [str(one.line) for one in stops] == ["order 1/1", "order 1/2", "order 1/1"]
    assert walk(today=TODAY) == stops, "its window is open: it is due this week"
    assert walk(today=date(2027, 1, 11)) == [], "and not before"


def test_a_scan_proves_the_bag_and_another_label_is_refused_with_where_the_right_one_lies(book, ada):
    right, other = book.lots["L2"], book.lots["L3"]
    said = refused(
        lambda: pack("1/2", other.code, by=ada, at=AT), str(other), "K1", str(right), "K2", "South"
    )
    assert "in North" not in said
    refused(lambda: pack("1/2", "K1", by=ada, at=AT), "K1, which holds", "in K2")
    refused(lambda: pack("1/2", "", by=ada, at=AT), "Scan the label")
    swapped = right.code[1] + right.code[0] + right.code[2:]
    if swapped != right.code:
        refused(lambda: pack("1/2", swapped, by=ada, at=AT))
    moved = pack("1/2", right.code.lower(), by=ada, at=AT)
    assert (moved.count, moved.why, moved.from_place.name, moved.to_place.name) == (
        10,
        Why.PACKED,
        "K2",
        "parcel 1",
    )
    assert moved.packing.line.position == 2


def test_a_bag_proves_the_lot_that_lies_in_it_alone(book, ada):
    assert pack("1/2", book.places["K2"].code, 4, by=ada, at=AT).lot == book.lots["L2"]
    work.move("L3", 5, to_place="K2", by=ada, at=AT)
    refused(lambda: pack("1/2", "K2", by=ada, at=AT), "more than one lot")
    assert pack("1/2", "L2", by=ada, at=AT).count == 6


def test_another_lot_goes_where_it_is_named(book, ada):
    refused(lambda: pack("1/1", "L3", 5, by=ada, at=AT), "label of lot", "L1")
    moved = pack("1/1", "L3", 5, lot="L3", by=ada, at=AT)
    assert (moved.lot.mark, moved.from_place.name) == ("L3", "K1")
    refused(lambda: pack("1/2", "L3", 5, lot="L3", by=ada, at=AT), "does not ask for ‘Dusk’")


def test_nothing_is_packed_twice_or_beyond_what_a_line_asks(book, ada):
    first = pack("1/2", "L2", 7, by=ada, at=AT, id=ID)
    assert pack("1/2", "L2", 7, by=ada, at=AT, id=ID) == first
    refused(lambda: pack("1/2", "L2", 4, by=ada, at=AT), "lacks 3 of its 10")
    pack("1/2", "L2", by=ada, at=AT)
    refused(lambda: pack("1/2", "L2", 1, by=ada, at=AT), "all of them are packed")
    assert Parcel.objects.count() == 1
    assert packed()[first.packing.line_id] == 10


def test_what_is_packed_is_on_hand_and_leaves_only_with_its_parcel(book, ada):
    moved = pack("1/2", "L2", 10, by=ada, at=AT)
    assert rules.sums().on_hand == 120
    for deed in (
        lambda: work.sell("L2", 2, from_place="parcel 1", buyer="Moss", by=ada, at=AT),
        lambda: work.give_up("L2", 2, from_place="parcel 1", by=ada, at=AT),
        lambda: work.move("L2", 2, to_place="parcel 1", from_place="K2", by=ada, at=AT),
        lambda: work.move("L2", 2, to_place="K2", from_place="parcel 1", by=ada, at=AT),
        lambda: work.strike("L2", 2, from_place="parcel 1", bench="Bench", by=ada, at=AT),
    ):
        refused(deed)
    back = work.correct(moved.number, note="the wrong box", by=ada, at=AT + timedelta(hours=1))
    assert (back.to_place.name, contents(Parcel.objects.get())) == ("K2", [])
    assert packed() == {}
    refused(lambda: send(1, by=ada, at=AT), "Nothing lies in parcel 1")


def test_a_parcel_is_sold_whole_to_its_buyer_at_the_price_of_each_line(book, ada):
    pack("1/1", "L1", 30, by=ada, at=AT, from_place="K10")
    pack("1/1", "L1", 5, by=ada, at=AT, from_place="Bench")
    pack("1/2", "L2", by=ada, at=AT)
    held = contents(Parcel.objects.get())
    assert [(one.line.position, one.lot.mark, one.count, one.bag.name) for one in held] == [
        (1, "L1", 30, "K10"),
        (1, "L1", 5, "Bench"),
        (2, "L2", 10, "K2"),
    ]
    done = send(1, gross_g=840, carrier="Post", tracking="T 1", by=ada, at=AT + timedelta(hours=2), id=ID)
    assert [
        (one.count, one.sale.price, one.sale.buyer.name, one.sale.line.position) for one in done.movements
    ] == [
        (35, Decimal("1.50"), "Hedge", 1),
        (10, Decimal("2.00"), "Hedge", 2),
    ]
    assert Place.objects.get(kind=Kind.SOLD).balances.count() == 2
    assert (packed(), sum(sold().values()), rules.sums().sold) == ({}, 45, 45)
    assert contents(Parcel.objects.get()) == held
    again = send(1, gross_g=840, by=ada, at=AT, id=ID)
    assert (again.sending, again.movements) == (done.sending, done.movements)
    refused(lambda: send(1, by=ada, at=AT), "sent already")
    refused(lambda: send(2, by=ada, at=AT), "No parcel 2")
    # the next bundle of the order begins another parcel
    assert (
        pack("1/1", "L1", 5, from_place="K10", by=ada, at=AT + timedelta(days=1)).to_place.name == "parcel 2"
    )


def test_a_parcel_does_not_go_with_a_cancelled_line(book, ada):
    pack("1/2", "L2", 10, by=ada, at=AT)
    orders.cancel("1/2", at=AT)
    refused(lambda: send(1, by=ada, at=AT), "was cancelled")
    refused(lambda: pack("1/2", "L2", 1, by=ada, at=AT), "was cancelled")
    assert packing.find_parcel(1).number == 1


def test_a_sale_that_is_taken_back_lies_in_its_parcel_again_and_goes_back_into_its_bag(book, ada):
    into = pack("1/2", "L2", 10, by=ada, at=AT)
    refused(lambda: send(1, gross_g=-3, by=ada, at=AT), "weighs")
    gone = send(1, by=ada, at=AT).movements[0]
    refused(
        lambda: work.correct(into.number, note="back", by=ada, at=AT), f"Correct movement {gone.number} first"
    )
    work.correct(gone.number, note="refused at the door", by=ada, at=AT + timedelta(days=4))
    assert sum(lying(Parcel.objects.get()).values()) == 10
    work.correct(into.number, note="back into its bag", by=ada, at=AT + timedelta(days=4))
    assert (rules.sums().sold, rules.sums().on_hand) == (0, 120)
    assert contents(Parcel.objects.get()) == []
