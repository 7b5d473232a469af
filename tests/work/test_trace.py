"""Trace and recall: from any code back to the mother plants and forward to every buyer."""

import json

import pytest

from ortet import work
from ortet.ledger.models import Buyer, Lot, MotherPlant, Pick, Place, Plan
from ortet.wood import code as codes
from ortet.work.trace import Ambiguous, recall, trace
from tests.writing import Book, write

pytestmark = pytest.mark.django_db

SEASON = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  mother M3 Ember quince
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place bench Warm
    2027-01-04 08:00  place ground Yard
    2027-01-05 09:00  take M1 60 as L1
    2027-01-05 11:00  bag L1 30 into K1 at North
    2027-01-05 12:00  bag L1 20 into K2 at North
    2027-01-06 09:00  split L1 10 from K1 as L2
    2027-01-06 10:00  take M2 20 as L3
    2027-01-06 11:00  take M3 15 as L5
    2027-01-20 09:00  give-up L1 2 from K1
    2027-02-01 08:00  move L1 10 from K1 to Bench
    2027-02-01 08:00  move L1 12 from K2 to Bench
    2027-02-01 09:00  strike L1 18 from Bench as S1 on Warm
    2027-02-01 10:00  strike L1 12 from Bench as S2 on Warm
    2027-02-02 09:00  graft L2 L3 6 as L4 in G1 on Warm
    2027-02-03 09:00  sell L2 3 from K1 to Hedge
    2027-03-01 09:00  pot S1 10 to Yard
    2027-03-02 09:00  pot G1 5 to Yard
    2027-03-05 09:00  sell L1 6 from Yard to Hedge
    2027-03-05 09:30  sell L4 2 from Yard to Moor
    2027-03-06 09:00  not-found L1 1 from Yard
    2027-03-07 09:00  sell L3 4 from Bench to Fell
    2027-03-08 09:00  sell L1 1 from Yard to Moor
    2027-03-08 09:10  correct-last not theirs
"""


@pytest.fixture
def book(ada) -> Book:
    return write(SEASON, ada)


def flows(found) -> set[tuple[str, str, str, int]]:
    short = {key: node.short for key, node in found.nodes.items()}
    return {(short[flow.source], flow.what, short[flow.target], flow.count) for flow in found.flows}


ALL_OF_M1 = {
    ("mother plant M1", "taken", "L1", 60),
    ("L1", "split off", "L2", 10),
    ("L1", "struck", "batch S1", 18),
    ("L1", "struck", "batch S2", 12),
    ("batch S1", "potted on", "Yard", 10),
    ("Yard", "sold", "Hedge", 6),
    ("L2", "sold", "Hedge", 3),
    ("L2", "scion", "L4", 6),
    ("mother plant M2", "taken", "L3", 20),
    ("L3", "rootstock", "L4", 6),
    ("L4", "grafted", "batch G1", 6),
    ("batch G1", "potted on", "Yard", 5),
    ("Yard", "sold", "Moor", 2),
}


@pytest.mark.parametrize(
    "text", ["M1", "m1", "mother M1", "mother plant M1", "L1", "lot L1", "Hedge", "buyer hedge"]
)
def test_a_mother_plant_its_lot_and_who_bought_of_it_lead_to_the_same_wood(book, text):
    assert flows(trace(text)) == ALL_OF_M1


def test_a_graft_leads_back_to_both_its_mother_plants(book):
    found = trace("L4")
    assert {node.code for node in found.of_kind("mother")} == {"M1", "M2"}
    assert {node.name for node in found.of_kind("buyer")} == {"Moor"}
    assert (
        next(row.came for row in found.rows if row.node.mark == "L4") == "grafted, scion L2 on rootstock L3"
    )


def test_from_the_stock_forward_the_graft_is_found_and_the_scion_stands_beside(book):
    found = trace("M2")
    assert {node.name for node in found.of_kind("buyer")} == {"Moor", "Fell"}
    assert found.nodes[f"lot:{book.lots['L2'].pk}"].role == "beside"
    assert found.tally and found.tally.holds and found.tally.taken == 20


def test_of_a_batch_only_what_lay_in_it_is_traced(book):
    found = trace("S1")
    assert flows(found) == {
        ("mother plant M1", "taken", "L1", 60),
        ("L1", "struck", "batch S1", 18),
        ("batch S1", "potted on", "Yard", 10),
        ("Yard", "sold", "Hedge", 6),
    }
    assert trace("S2").of_kind("buyer") == []
    assert found.tally is None and [keep.place for keep in recall("S1").keep] == ["S1", "Yard"]


def test_of_a_bag_what_left_it_before_is_not_traced_and_what_was_elsewhere_neither(book):
    found = trace("K2")
    assert {node.name for node in found.nodes.values() if node.kind == "batch"} == {"batch S1", "batch S2"}
    assert "L2" not in {node.mark for node in found.nodes.values()}  # split off from K1


def test_what_is_booked_in_another_order_at_one_moment_is_still_followed(ada):
    """What comes in at one moment is there before what goes out, as the account has it."""
    write(
        """
        2027-01-04 08:00  mother M1 Dusk blackcurrant
        2027-01-04 08:00  place bench Shelf
        2027-01-04 08:00  place bench Sill
        2027-01-05 09:00  take M1 9 as L1
        2027-01-05 10:00  move L1 1 from Bench to Sill
        2027-01-05 11:00  sell L1 1 from Sill to Moor
        2027-01-05 11:00  move L1 2 from Bench to Shelf
        2027-01-05 11:00  move L1 2 from Shelf to Sill
        """,
        ada,
    )
    assert [buyer.name for buyer in recall("Shelf").buyers] == ["Moor"]  # nobody can tell which one it was
    assert recall("Bench").count == 1


def test_a_store_stands_for_the_bags_that_stood_in_it_and_a_site_for_its_plants(book):
    assert {node.mark for node in trace("North").of_kind("lot")} >= {"L1", "L2", "L4"}
    assert {node.code for node in trace("Hill").of_kind("mother")} == {"M1", "M2", "M3"}


def test_what_was_taken_back_is_not_traced(book):
    assert recall("L1").buyers[0].name == "Hedge"
    assert {buyer.name for buyer in recall("L1").buyers} == {"Hedge", "Moor"}
    assert sum(buyer.count for buyer in recall("L1").buyers if buyer.name == "Moor") == 2  # of the graft


def test_all_that_shares_its_wood_begins_with_the_first_lots(book):
    assert {buyer.name for buyer in recall("L4").buyers} == {"Moor"}
    assert {buyer.name for buyer in recall("L4", whole=True).buyers} == {"Hedge", "Moor", "Fell"}


def test_every_cutting_is_found_once(book):
    tally = trace("M1").tally
    assert tally and tally.holds
    assert (tally.taken, tally.sold, tally.given_up, tally.lost, tally.joined) == (60, 11, 2, 1, 0)
    assert tally.says == "60 in all: 46 on hand, 11 sold, 2 given up, 1 not found."
    both = trace("Hill").tally  # scion and stock are both of this site: two went in, one came out
    assert both and both.holds and (both.taken, both.joined) == (95, 6)


def test_steps_tell_what_became_what_in_order_of_time(book):
    steps = trace("L4").steps
    assert [step.at for step in steps] == sorted(step.at for step in steps)
    l1, l2, l4 = (str(book.lots[mark]) for mark in ("L1", "L2", "L4"))
    told = {(step.what, step.here, step.there) for step in steps}
    assert {("split off", "K1", f"lot {l2}"), ("split off", f"lot {l1}", "K1")} <= told
    assert ("grafted", "K1", f"lot {l4}") in told and ("sold", "Yard", "Moor") in told


def test_a_code_is_read_as_typed_and_as_scanned(book):
    lot, bag, mother = book.lots["L1"], book.places["S1"], book.mothers["M1"]
    for text in (
        lot.code,
        str(lot),
        str(lot).lower(),
        f"https://farm.example/l/{lot.code}",
        f"HTTPS://F.EXAMPLE/L/{lot.code}/",
    ):
        assert trace(text).asked.called == f"lot {lot}"
    assert trace(bag.code).asked.says == "batch S1"
    assert trace(mother.place.code).asked.called == "mother M1"


def test_one_name_for_several_things_is_asked_back(book, ada):
    write("2027-03-09 09:00  take M3 2 as K1", ada)
    with pytest.raises(Ambiguous) as several:
        trace("K1")
    assert several.value.choices == [f"lot {Lot.objects.get(mark='K1')}", "place K1"]
    assert [trace(choice).asked.called for choice in several.value.choices] == several.value.choices
    assert "Say which" in str(several.value)


def test_what_is_unknown_or_mistyped_is_told(book):
    code = book.lot.code
    swapped = code[:7] + ("0" if code[7] != "0" else "1")
    other = next(made for made in map(codes.make, range(99)) if not Lot.objects.filter(code=made).exists())
    for text, said in (
        ("Hegde", "Near it: Hedge"),
        (swapped, "a character was misread"),
        (other, "well-formed code, but nothing"),
        ("order 77", "Nothing in this book"),
        ("9" * 400, "Nothing in this book"),
    ):
        with pytest.raises(work.Unknown, match=said):
            trace(text)
    with pytest.raises(work.Refused, match="Say what to trace"):
        trace("  ")


def test_a_tray_that_several_batches_share_is_one(book, ada):
    for name, count in (("S8", 1), ("S9", 2)):
        write(f"2027-03-09 09:00  strike L5 {count} from Bench as {name} on Warm tray=T7", ada)
    found = trace("T7")
    assert {node.name for node in found.nodes.values() if node.kind == "batch"} == {"batch S8", "batch S9"}


def test_a_recall_has_addresses_lots_counts_and_days_and_no_price(book):
    work.buyer("Hedge", address="Mill Lane 4\nThornby", email="ask@hedge.example")
    found = recall("M1")
    hedge = found.buyers[0]
    assert (hedge.name, hedge.address, hedge.email) == ("Hedge", "Mill Lane 4\nThornby", "ask@hedge.example")
    assert [(one.mark, one.count, one.at.isoformat()[:10]) for one in hedge.bought] == [
        ("L2", 3, "2027-02-03"),
        ("L1", 6, "2027-03-05"),
    ]
    assert found.emails == ["ask@hedge.example"] and found.count == 11
    assert "price" not in found.table() and "price" not in json.dumps(found.as_dict(), default=str)


def test_a_recall_says_what_to_stop(book):
    kept = {(keep.mark, keep.place): keep.count for keep in recall("M1").keep}
    assert kept == {
        ("L1", "Bench"): 2, ("L1", "K1"): 8, ("L1", "K2"): 8, ("L2", "K1"): 1, ("L1", "S1"): 8, ("L1", "S2"): 12,
        ("L4", "G1"): 1, ("L1", "Yard"): 3, ("L4", "Yard"): 3,
    }  # fmt: skip


def test_a_recall_says_which_open_orders_are_planned_from_it(book, ada):
    from datetime import UTC, date, datetime

    at, day = datetime(2027, 3, 9, tzinfo=UTC), date(2027, 3, 20)
    lines = [work.orders.Line("Dusk", count, day, day) for count in (4, 5, 6)]
    order = work.orders.order("Tarn", lines, by=ada, at=at)
    open_line, ended, sold = order.lines.all()
    work.orders.cancel(f"{order.number}/{ended.position}", at=at)
    place = Place.objects.get(name="K2")
    old, new = (Plan.objects.create(kind="allot", at=at.replace(day=d), by=ada) for d in (8, 9))
    for plan, line, lot in (
        (old, open_line, "L1"),
        (new, open_line, "L1"),
        (new, ended, "L1"),
        (new, open_line, "L5"),
    ):
        Pick.objects.create(plan=plan, lot=book.lots[lot], place=place, line=line, day=day, count=4)
    Pick.objects.create(plan=new, mother=MotherPlant.objects.get(accession="M1"), line=sold, day=day, count=6)
    found = recall("M1").planned
    assert [(one.who, one.order, one.count, one.mother) for one in found] == [
        ("Tarn", order.number, 6, "M1"),
        ("Tarn", order.number, 4, ""),
    ]
    work.sell("L1", 4, from_place="K2", order=f"{order.number}/{open_line.position}", by=ada, at=at)
    assert [one.count for one in recall("L1").planned] == []  # that line has all it asked for
    assert trace(f"order {order.number}").asked.says == f"order {order.number} of Tarn"
    assert recall(f"{order.number}").count == recall("L1").count


def test_nothing_sold_is_nothing_to_trace(book):
    Buyer.objects.create(name="Nobody yet")
    assert trace("Nobody yet").nodes == {} and recall("Nobody yet").buyers == []
