"""Picking, packing and sending: a scan proves the bag, the parcel knows what is in it, and all of it is sold in one go."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest
from django.contrib.auth.models import User

from ortet import work
from ortet.ledger import rules
from ortet.ledger.booking import Move
from ortet.ledger.booking import book as book_moves
from ortet.ledger.handling import acts_between
from ortet.ledger.models import (
    Arrival,
    Buyer,
    Complaint,
    Kind,
    Movement,
    Order,
    Packing,
    Parcel,
    Payment,
    Place,
    ReportLink,
    Sale,
    Sending,
    StrikeReport,
    Variety,
    Why,
)
from ortet.ledger.packed import contents, lying, packed, sold
from ortet.work import lots, orders, packing
from ortet.work.answered import answered
from ortet.work.nursery import books_with
from ortet.work.packing import found_only, pack, send, showing, told_by_link, walk
from ortet.work.packing.after import open_complaints
from ortet.work.packing.reporting import of_link
from ortet.work.payments import charge, pay
from ortet.work.plan.by_hand import give
from ortet.work.plan.whole import plan_season
from ortet.work.rights import warrant
from ortet.work.shed import snapshot
from ortet.work.today import today
from ortet.work.trace import trace
from tests.keeping import kept
from tests.writing import write

pytestmark = pytest.mark.django_db
AT = datetime(2027, 2, 1, 9, tzinfo=UTC)
TODAY = date(2027, 2, 1)
ID = UUID("0197a1b2-0000-7000-8000-000000000001")
TABLES = (Movement, Packing, Parcel, Place, Sale, Sending, Buyer, Arrival, Complaint, Order, StrikeReport)

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


@pytest.fixture(scope="module", autouse=True)
def written(django_db_setup, django_db_blocker):
    """The book, written once: every test finds it in the database."""
    with kept(django_db_blocker):
        ada = User.objects.create_user("ada")
        made = write(BOOK, ada)
        orders.order("Hedge", [line("Dusk", 60), line("Lantern", 10, "2.00")], by=ada, at=AT)
        yield made


@pytest.fixture
def ada(db) -> User:
    return User.objects.get(username="ada")


@pytest.fixture
def book(written, db):
    """Three lots in three bags, and an order of two varieties."""
    yield written
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


def test_today_says_what_is_to_be_packed_and_what_waits_to_be_sent(book, ada):
    def told(kind: str) -> list[tuple[str, str]]:
        return [(task.act, task.command) for task in today(AT).tasks if task.kind == kind]

    orders.order("Moss", [orders.Line("Lantern", 3, TODAY, TODAY)], by=ada, at=AT)
    assert told("pack") == [
        ("Pack order 2 of Moss by 1 Feb: 3 cuttings still to be picked.", "ortet pick --order 2")
    ]
    pack("2", "L2", by=ada, at=AT)
    assert told("pack") == []
    assert told("send") == [
        ("Send parcel 1 to Moss by 1 Feb: 3 cuttings of order 2 lie packed.", "ortet send 1"),
    ]
    send(1, by=ada, at=AT)
    assert told("send") == []


def test_packed_wood_is_planned_for_nobody_else_and_forecast_no_longer_in_its_bag(book, ada):
    before = today(AT).cuttings
    plan_season(by=ada, now=AT)
    stops = walk(1, today=TODAY)
    assert sum(one.count for one in stops) == 70
    assert all(one.pick for one in stops)
    first = next(one for one in stops if one.line.position == 2)
    pack("1/2", first.lot.code, by=ada, at=AT)
    assert sum(one.count for one in walk(1, today=TODAY)) == 60
    again = plan_season(by=ada, now=AT).allot
    assert sum(again.picks.values_list("count", flat=True)) == 60
    assert today(AT).cuttings == before - 10


def test_a_short_pick_books_what_was_found_and_plans_the_rest_anew(book, ada):
    plan_season(by=ada, now=AT)
    of = [one for one in walk(1, today=TODAY) if one.line.position == 1]
    first = max(of, key=lambda one: one.count)
    refused(
        lambda: found_only("1/1", first.lot.code, 5, rest="eaten", by=ada, at=AT), "not found or given up"
    )
    here = {"from_place": first.place.name, "lot": first.lot.code}
    done = found_only("1/1", first.lot.code, first.count - 8, rest="not found", by=ada, at=AT, id=ID, **here)
    assert (done.packed.count, done.gone.count, done.gone.why) == (
        first.count - 8,
        first.there - first.count + 8,
        Why.LOST,
    )
    assert done.told == "The season was planned anew."
    assert (done.missing, sum(one.count for one in done.instead), done.still) == (
        68 - first.count,
        68 - first.count,
        0,
    )
    assert {one.place.name for one in done.instead} and first.place not in {one.place for one in done.instead}
    moved = Movement.objects.count()
    again = found_only("1/1", first.lot.code, first.count - 8, rest="not found", by=ada, at=AT, id=ID, **here)
    assert (Movement.objects.count(), again.packed, again.gone) == (moved, done.packed, done.gone)


def test_a_line_that_stays_short_says_why(book, ada):
    orders.limit("M2", 30, by=ada, at=AT)
    plan_season(by=ada, now=AT)
    assert walk(1, today=TODAY)
    done = found_only("1/2", "L2", 4, rest="given up", by=ada, at=AT)
    assert (done.gone.why, done.gone.count, done.missing, done.instead) == (Why.GIVEN_UP, 26, 6, [])
    assert (done.to_take, done.still) == ([], 6)
    assert "M2 may give 0" in done.why[0], "no Lantern is left anywhere, and none may be cut"
    nothing = found_only("1/1", "L3", 0, rest="not found", lot="L3", gone=30, by=ada, at=AT)
    assert (nothing.packed, nothing.gone.count) == (None, 30)


def test_that_nothing_was_found_is_booked_once_though_sent_twice(book, ada):
    said = {"rest": "not found", "lot": "L3", "by": ada, "at": AT, "id": ID}
    first = found_only("1/1", "L3", 0, **said)
    again = found_only("1/1", "L3", 0, **said)
    assert (again.packed, again.gone) == (None, first.gone) and first.gone.count == 30


def test_without_a_plan_a_short_pick_names_what_else_lies_on_hand(book, ada):
    done = found_only("1/1", "L1", 40, from_place="K10", rest="not found", by=ada, at=AT)
    assert (done.missing, done.told[:11]) == (20, "No plan was")
    assert [(one.place.name, one.count) for one in done.instead] == [("Bench", 10), ("K1", 10)]


@pytest.fixture
def gone(book, ada):
    """Parcel 1, sent: 30 of L1 for line 1/1, 10 of L2 for 1/2."""
    pack("1/1", "L1", 30, from_place="K10", by=ada, at=AT)
    pack("1/2", "L2", by=ada, at=AT)
    return send(1, by=ada, at=AT)


def test_how_it_arrived_and_what_is_complained_of_until_it_is_answered(gone, ada):
    pack("1/1", "L1", 1, from_place="K10", by=ada, at=AT)
    later = AT + timedelta(days=3)
    refused(lambda: packing.arrived(2, "good", by=ada, at=later), "not sent yet")
    refused(lambda: packing.arrived(1, "splendid", by=ada, at=later), "hot, damaged")
    refused(lambda: packing.arrived(1, "dry", by=ada, at=AT - timedelta(days=1)), "sent later")
    packing.arrived(1, "dry", by=ada, at=later)
    refused(lambda: packing.complain("1/1", "dry", 61, by=ada, at=later), "from 1 to 60")
    refused(lambda: packing.complain("1", "dry", 1, by=ada, at=later), "several lines")
    refused(lambda: packing.complain("1/2", "sour", 1, by=ada, at=later), "mouldy")
    one = packing.complain("1/2", "dry", 6, parcel=1, by=ada, at=later, id=ID)
    assert packing.complain("1/2", "dry", 6, parcel=1, by=ada, at=later, id=ID) == one
    acts = [task.act for task in today(later).tasks if task.kind == "complaint"]
    assert acts == ["Answer Hedge: 6 of Lantern, dry (order 1/2)."]
    refused(lambda: packing.replace(one.pk, 7, by=ada, at=later), "from 1 to 6")
    made = packing.replace(one.pk, by=ada, at=later)
    new = made.lines.get()
    assert (new.variety.name, new.count, new.price, made.replaces.complaint) == ("Lantern", 6, None, one)
    refused(lambda: packing.replace(one.pk, by=ada, at=later), "in full: replaced by order 2")
    assert not [task for task in today(later).tasks if task.kind == "complaint"]
    after = packing.aftermath(one.line.order)
    assert [str(state.state) for state in after.arrivals] == ["dry"]
    assert [(about, str(how)) for about, how in after.complaints] == [(one, "replaced by order 2")]


def test_money_paid_back_answers_a_complaint(gone, ada):
    one = packing.complain("1/1", "short", 2, by=ada, at=AT)
    assert list(open_complaints()) == [one]
    Payment.objects.create(
        order=one.line.order, amount=Decimal("-3.00"), on=TODAY, complaint=one, at=AT, by=ada
    )
    assert not open_complaints()
    assert str(packing.aftermath(one.line.order).complaints[0][1]) == "3.00 paid back"


def test_a_complaint_is_answered_once_whether_by_wood_or_by_money(gone, ada):
    """Six of Dusk at 1.50 and no tax: 3 replaced leave 4.50; 3.00 of it paid back leave one to replace [computed]."""
    pay(1, Decimal(30), by=ada, at=AT)
    one = packing.complain("1/1", "dead", 6, by=ada, at=AT)
    made = packing.replace(one.pk, 3, by=ada, at=AT)
    assert packing.find_complaint("1/1") == one and not open_complaints()
    refused(lambda: packing.replace(one.pk, 4, by=ada, at=AT), "3 are not answered yet", "from 1 to 3")
    back = {"complaint": one.pk, "by": ada, "at": AT}
    refused(lambda: pay(1, Decimal("-4.51"), **back), "4.50 or less", "without naming")
    pay(1, Decimal("-3.00"), **back)
    refused(lambda: packing.replace(one.pk, 2, by=ada, at=AT), "from 1 to 1")
    again = packing.replace(one.pk, by=ada, at=AT)
    assert again.lines.get().count == 1
    refused(
        lambda: packing.replace(one.pk, by=ada, at=AT),
        "in full: replaced by order 2, replaced by order 3, 3.00",
    )
    refused(lambda: pay(1, Decimal("-0.01"), **back), "in full", "without naming")
    refused(lambda: packing.find_complaint("1/1"), "No complaint")
    orders.cancel(str(made.number), at=AT)
    assert answered(one).left == 3
    pay(1, Decimal("-5.00"), by=ada, at=AT)  # goodwill, beside the complaint


def test_money_that_went_back_by_mistake_answers_nothing_once_it_is_mended(gone, ada):
    pay(1, Decimal(30), by=ada, at=AT)
    one = packing.complain("1/1", "dead", 2, by=ada, at=AT)
    back = {"complaint": one.pk, "by": ada, "at": AT}
    pay(1, Decimal("-3.00"), **back)
    refused(lambda: packing.replace(one.pk, by=ada, at=AT), "in full: 3.00 paid back")
    refused(lambda: pay(1, Decimal("3.01"), **back), "below nothing")
    assert packing.find_complaint("1/1", paid_back=True) == one
    pay(1, Decimal("3.00"), **back)
    assert list(open_complaints()) == [one] and answered(one).left == 2
    assert packing.replace(one.pk, by=ada, at=AT).lines.get().count == 2


def test_the_price_of_one_rounded_to_the_cent_answers_one(gone, ada):
    """1.50 at 8.875 per cent are 1.633, paid back as 1.63 [computed]."""
    books_with(tax_percent=Decimal("8.875"))
    pay(1, Decimal(60), by=ada, at=AT)
    one = packing.complain("1/1", "dry", 2, by=ada, at=AT)
    pay(1, Decimal("-1.63"), complaint=one.pk, by=ada, at=AT)
    assert (answered(one).left, answered(one).most) == (1, Decimal("1.64"))


def test_a_note_of_packing_or_selling_is_seen_on_the_lot_and_not_sealed(book, ada):
    packed_now = pack("1/1", "L3", 2, lot="L3", from_place="K1", note="for Hedge's fence", by=ada, at=AT)
    sold_now = work.sell("L3", 1, buyer="Lane", note="Lane's own bag", by=ada, at=AT)
    assert (packed_now.note, sold_now.note) == ("", "")
    notes = {event.note for event in lots.view("L3").events if event.note}
    assert notes == {"for Hedge's fence", "Lane's own bag"}
    told = {step.note for step in trace("L3").steps if step.note}
    assert told == notes


def test_the_carriage_may_go_back_with_what_was_complained_of(gone, ada):
    """Two at 1.50 and carriage of 6.00, at 21 per cent: 10.89 [computed]."""
    books_with(tax_percent=Decimal(21))
    charge(1, Decimal("6.00"))
    pay(1, Decimal(60), by=ada, at=AT)
    one = packing.complain("1/1", "dry", 2, by=ada, at=AT)
    refused(lambda: pay(1, Decimal("-10.90"), complaint=one.pk, by=ada, at=AT), "10.89 or less")
    pay(1, Decimal("-10.89"), complaint=one.pk, by=ada, at=AT)


def test_a_buyer_tells_by_a_link_what_struck_and_never_more_than_was_sent(gone, ada):
    one, two = gone.movements
    parcel = of_link(gone.word)
    assert (parcel.number, of_link(gone.word + "x"), of_link("")) == (1, None, None)
    day = AT.date()
    for struck, rooted, why in ((31, 2, "30 or fewer"), (5, 6, "from 0 to 5"), (0, 0, "at least 1")):
        refused(
            lambda s=struck, r=rooted: told_by_link(parcel, {one.number: (s, r)}, at=AT, told_on=day), why
        )
    refused(lambda: told_by_link(parcel, {1: (1, 1)}, at=AT, told_on=day), "not of this parcel")
    made = told_by_link(parcel, {one.number: (30, 21), two.number: (10, 4)}, at=AT, told_on=day)
    assert [(row.struck, row.rooted, row.by_link) for row in made] == [(30, 21, True), (10, 4, True)]
    assert told_by_link(parcel, {one.number: (30, 21)}, at=AT, told_on=day) == [], "told already"
    newer = packing.report_link(1, by=ada, at=AT + timedelta(hours=1))
    assert (of_link(gone.word), of_link(newer)) == (None, parcel), (
        "the later link takes the place of the first"
    )


def test_a_link_printed_before_the_parcel_goes_opens_once_it_is_sent(book, ada):
    pack("1/2", "L2", by=ada, at=AT)
    word = packing.report_link(1, by=ada, at=AT)
    assert of_link(word) is None
    assert send(1, by=ada, at=AT).word == "", "the slip in the box has one already"
    assert of_link(word).number == 1
    assert word not in str(list(ReportLink.objects.values()))


def test_a_slip_is_copied_by_the_grower(gone, ada):
    one = gone.movements[0]
    refused(
        lambda: packing.told(one.number, 5, 5, by=ada, at=AT, told_on=date(2027, 1, 1)),
        "before they were sold",
    )
    refused(lambda: packing.told(1, 5, 5, by=ada, at=AT, told_on=TODAY), "sold nothing")
    june = date(2027, 6, 1)
    refused(lambda: packing.told(one.number, 20, 15, by=ada, at=AT, told_on=june), "still to come")
    later = {"by": ada, "at": datetime(2027, 6, 2, 9, tzinfo=UTC), "told_on": june, "id": ID}
    row = packing.told(one.number, 20, 15, **later)
    assert packing.told(one.number, 20, 15, **later) == row
    assert not row.by_link


def test_a_recount_notices_wood_that_came_into_a_parcel_unpacked(book, ada):
    into = pack("1/2", "L2", 4, by=ada, at=AT)
    assert rules.check() == []
    more = Move(into.lot, into.from_place, into.to_place, 3, Why.MOVED)
    stray = book_moves([more], by=ada, at=AT)[0]
    (fault,) = rules.check()
    assert fault.message == "4 were packed and not sent, its movements say 7"
    work.correct(stray.number, note="no such deed", by=ada, at=AT)


def test_plants_are_packed_from_their_standing_ground_and_traced_to_their_buyer(book, ada):
    more = """
        2027-02-01 09:10  place bench Warm
        2027-02-01 09:10  place ground Yard
        2027-02-01 09:20  strike L2 8 from K2 as S1 on Warm
        2027-02-01 09:30  count S1 rooted=8
        2027-02-01 09:40  pot S1 6 to Yard
    """
    write(more, ada)
    later = AT + timedelta(hours=2)
    refused(lambda: pack("1/2", "L2", 2, lot="L2", from_place="S1", by=ada, at=later), "not a bench")
    pack("1/2", "L2", 6, lot="L2", from_place="Yard", by=ada, at=later)
    send(1, by=ada, at=later)
    assert [buyer.name for buyer in trace("L2").of_kind("buyer")] == ["Hedge"]
    acts = acts_between(later, later + timedelta(minutes=1))
    assert [(act.act, act.site) for act in acts] == [("sold", Place.objects.get(name="Yard").pk)]


def test_a_lot_that_lies_in_a_parcel_is_shown_and_traced_there(book, ada):
    pack("1/2", "L2", 10, by=ada, at=AT)
    assert sorted((row.place.name, row.count) for row in lots.view("L2").where) == [
        ("K2", 20),
        ("parcel 1", 10),
    ]
    assert trace("parcel 1").of_kind("lot")
    held = snapshot()
    assert ["parcel", "parcel 1"] in [place[1:3] for place in held["places"]]


def test_what_was_noted_by_mistake_is_withdrawn(gone, ada):
    one = packing.complain("1/1", "short", 2, by=ada, at=AT)
    heard = packing.arrived(1, "wet", by=ada, at=AT + timedelta(days=2))
    told = packing.told(gone.movements[0].number, 5, 5, by=ada, at=AT, told_on=TODAY)
    for reading in (one, heard, told):
        work.withdraw(reading.pk, by=ada, at=AT, note="another buyer's")
    assert not open_complaints()
    after = packing.aftermath(one.line.order)
    assert (after.arrivals, after.complaints) == ([], [])
    assert showing.view(1).sold[0].last is None
    refused(lambda: packing.replace(one.pk, by=ada, at=AT), "withdrawn")


def test_a_replacement_that_is_cancelled_answers_nothing(gone, ada):
    one = packing.complain("1/1", "short", 2, by=ada, at=AT)
    made = packing.replace(one.pk, by=ada, at=AT)
    assert not open_complaints()
    orders.cancel(str(made.number), at=AT)
    assert list(open_complaints()) == [one]
    assert packing.replace(one.pk, by=ada, at=AT).number == made.number + 1


def test_a_protected_variety_is_neither_packed_nor_sent_without_leave(book, ada):
    pack("1/2", "L2", 4, by=ada, at=AT)
    Variety.objects.filter(name="Lantern").update(right="EU 12345")
    assert {str(one.line) for one in walk(1, today=TODAY)} == {"order 1/1"}
    ((line, why),) = packing.halted_lines(1, today=TODAY)
    assert (str(line), "no licence or exemption is noted" in why) == ("order 1/2", True)
    refused(lambda: pack("1/2", "L2", 1, by=ada, at=AT), "is protected (EU 12345)", "rights holder")
    refused(lambda: send(1, by=ada, at=AT), "is protected")
    warrant("Lantern", "licence", words="Lowland Breeders, no. 7", by=ada, at=AT)
    assert send(1, by=ada, at=AT).movements[0].count == 4
    assert packing.halted_lines(1, today=TODAY) == []


def test_what_a_hand_chose_and_was_packed_is_not_chosen_once_more(book, ada):
    plan_season(by=ada, now=AT)
    give("1/1", "L3", 20, TODAY, by=ada, from_place="K1", now=AT)
    pack("1/1", "L3", 15, lot="L3", from_place="K1", by=ada, at=AT)
    picks = plan_season(by=ada, now=AT).allot.picks.filter(by_hand=True)
    assert [(pick.lot.mark, pick.count) for pick in picks] == [("L3", 5)]
