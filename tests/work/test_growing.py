"""Striking, grafting, counting, potting on and selling: each books what it says, and contradictions are refused with the figures."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from ortet import work
from ortet.ledger import rules
from ortet.ledger.booking import count_in
from ortet.ledger.models import Batch, Buyer, Count, Derivation, Lot, Movement, Place, Sale, Standing
from ortet.work.benches import set_up_bench
from ortet.work.growing.batches import OLD_ENOUGH, batches_struck
from ortet.work.growing.grafting import misfit
from ortet.work.growing.selling import right_of
from ortet.work.growing.striking import crowding
from ortet.work.lots import history
from tests.writing import write

pytestmark = pytest.mark.django_db
AT = datetime(2027, 3, 1, 9, tzinfo=UTC)
DAY = timedelta(days=1)
ID = UUID("0197a1b2-0000-7000-8000-000000000001")
TABLES = (Batch, Buyer, Count, Derivation, Lot, Movement, Place, Sale, Standing)

BOOK = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place bench Warm
    2027-01-04 08:00  place ground Yard
    2027-01-05 09:00  take M1 60 as L1
    2027-01-05 09:00  take M2 20 as L2
    2027-01-05 11:00  bag L1 50 into K1 at North
    2027-02-01 10:00  strike L1 40 from K1 as S1 on Warm base_c=22 medium=sand treatment=none
"""


@pytest.fixture
def batch(ada):
    """Forty of lot L1, struck from their bag on 1 February."""
    yield write(BOOK, ada)
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


def standing(name: str) -> int:
    place = Place.objects.get(name=name)
    return sum(place.balances.values_list("count", flat=True))


# Strike


def test_a_strike_makes_a_batch_that_stands_on_its_bench(batch):
    struck = Batch.objects.get(place__name="S1")
    assert (struck.lot.mark, struck.base_c, struck.medium, struck.craft) == ("L1", 22, "sand", "strike")
    assert struck.place.standings.get().store.name == "Warm"
    assert (standing("S1"), standing("K1")) == (40, 10)


def test_batches_are_numbered_as_they_come(batch, ada):
    one = work.strike("L2", 5, bench="Warm", by=ada, at=AT)
    two = work.strike("L2", None, bench="Warm", by=ada, at=AT)
    assert (str(one), str(two)) == ("S2", "S3")
    assert standing("S3") == 15


def test_a_strike_sent_twice_is_booked_once(batch, ada):
    one = work.strike("L2", 5, bench="Warm", by=ada, at=AT, id=ID)
    assert work.strike("L2", 5, bench="Warm", by=ada, at=AT, id=ID) == one
    assert count_in(batch.lots["L2"], batch.bench) == 15


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"count": 21}, "21 of lot"),
        ({"count": 0}, "at least 1"),
        ({"bench": "Wram"}, "no bench called 'Wram'"),
        ({"base_c": 60}, "from 0 to 40"),
        ({"name": "s1"}, "A batch is called S1 already"),
        ({"tray": "x" * 41}, "40"),
        ({"at": datetime(2027, 1, 1, tzinfo=UTC)}, "give a later time"),
    ],
)
def test_a_strike_that_cannot_be_is_refused(batch, ada, wrong, words):
    said = {"count": 5, "bench": "Warm", "by": ada, "at": AT, **wrong}
    refused(lambda: work.strike("L2", **said), words, "Nothing was booked")


def test_a_bench_fuller_than_full_is_told(batch, ada):
    warm = Place.objects.get(name="Warm")
    assert crowding(warm) == ""  # nobody said what fits
    set_up_bench("Warm", 50, air_c=10, by=ada, at=AT)
    assert crowding(warm) == ""
    work.strike("L2", 20, bench="Warm", by=ada, at=AT)
    assert "60 cuttings where 50 fit" in crowding(warm)
    work.add_place("Cool", "bench")
    work.stand("S1", "Cool", by=ada, at=AT)
    assert crowding(warm) == ""


def test_a_strike_is_taken_back_while_nothing_followed(batch, ada):
    number = Movement.objects.get(why="struck").number
    seen = work.count("S1", rooted=3, by=ada, at=AT)
    refused(lambda: work.correct(number, note="wrong lot", by=ada, at=AT), "counted since")
    work.withdraw(seen.pk, note="wrong batch", by=ada, at=AT)
    work.correct(number, note="wrong lot", by=ada, at=AT)
    assert (standing("S1"), standing("K1")) == (0, 50)


def test_a_strike_partly_potted_is_not_taken_back(batch, ada):
    number = Movement.objects.get(why="struck").number
    work.pot_on("S1", 4, to="Yard", by=ada, at=AT)
    refused(lambda: work.correct(number, note="wrong lot", by=ada, at=AT), "Only 36 of the 40")


# What a batch and a standing ground are not


def test_a_batch_goes_to_another_bench_whole(batch, ada):
    work.add_place("Cool", "bench")
    assert work.stand("S1", "Cool", by=ada, at=AT).store.name == "Cool"
    refused(lambda: work.stand("S1", "Cool", by=ada, at=AT + DAY), "Batch S1 stands on Cool already")
    refused(lambda: work.stand("S1", "North", by=ada, at=AT + DAY), "no bench called 'North'")
    refused(lambda: work.stand("K1", "Cool", by=ada, at=AT + DAY), "no cold place called 'Cool'")


def test_wood_enters_a_batch_by_a_strike_alone(batch, ada):
    refused(
        lambda: work.move("L1", 2, from_place="K1", to_place="S1", by=ada, at=AT), "strike these cuttings"
    )


def test_what_was_struck_is_not_moved_bagged_split_or_inspected(batch, ada):
    for deed in (
        lambda: work.move("L1", 2, from_place="S1", to_place="Bench", by=ada, at=AT),
        lambda: work.bag([("L1", 2, "S1")], store="North", by=ada, at=AT),
        lambda: work.split("L1", 2, from_place="S1", by=ada, at=AT),
        lambda: work.strike("L1", 2, from_place="S1", bench="Warm", by=ada, at=AT),
    ):
        refused(deed, "S1 is a batch", "potted on, sold or given up")
    refused(lambda: work.inspect("S1", callus=2, by=ada, at=AT), "count what stands in it")


def test_plants_are_moved_from_ground_to_ground(batch, ada):
    work.add_place("Field", "ground")
    work.pot_on("S1", 4, to="Yard", by=ada, at=AT)
    work.move("L1", 3, to_place="Field", by=ada, at=AT)
    assert (standing("Yard"), standing("Field")) == (1, 3)
    refused(
        lambda: work.move("L1", 1, from_place="Yard", to_place="Bench", by=ada, at=AT),
        "Yard is a standing ground",
    )
    refused(lambda: work.move("L1", 1, from_place="K1", to_place="Yard", by=ada, at=AT), "K1 is a bag")


def test_what_was_struck_is_given_up_from_its_batch(batch, ada):
    work.give_up("L1", 6, from_place="S1", by=ada, at=AT)
    assert standing("S1") == 34


# Graft


def test_a_graft_is_a_lot_of_the_scions_variety(batch, ada):
    made = work.graft("L1", "L2", 6, bench="Warm", scion_from="K1", mark="G", by=ada, at=AT)
    graft, scion = made.lot, batch.lots["L1"]
    assert (graft.variety, graft.mother, graft.taken_at, graft.use) == (
        scion.variety,
        scion.mother,
        scion.taken_at,
        "grafting",
    )
    assert str(made) == "G1"
    assert {(link.parent.mark, link.part) for link in graft.came_from.all()} == {
        ("L1", "scion"),
        ("L2", "stock"),
    }
    assert (standing("G1"), standing("K1"), count_in(batch.lots["L2"], batch.bench)) == (6, 4, 14)


def test_a_graft_met_what_its_scion_met(batch, ada):
    from ortet.ledger.whereabouts import Whereabouts

    made = work.graft("L1", "L2", 6, bench="Warm", scion_from="K1", by=ada, at=AT)
    before = Whereabouts({made.lot_id}).before(made.lot_id, made.place_id)
    assert [stay.place for stay in before] == ["Bench", "North"]


def test_a_graft_sent_twice_is_booked_once(batch, ada):
    one = work.graft("L1", "L2", 6, bench="Warm", scion_from="K1", by=ada, at=AT, id=ID)
    assert work.graft("L1", "L2", 6, bench="Warm", scion_from="K1", by=ada, at=AT, id=ID) == one
    assert standing("K1") == 4


def test_a_graft_that_cannot_be_is_refused(batch, ada):
    refused(lambda: work.graft("L1", "L1", 2, bench="Warm", by=ada, at=AT), "scion and stock in one")
    refused(
        lambda: work.graft("L1", "L2", 21, bench="Warm", scion_from="K1", by=ada, at=AT), "20 left in Bench"
    )
    refused(lambda: work.graft("L1", "L2", 0, bench="Warm", scion_from="K1", by=ada, at=AT), "at least 1")


def test_a_graft_is_not_taken_apart(batch, ada):
    work.graft("L1", "L2", 6, bench="Warm", scion_from="K1", by=ada, at=AT)
    for movement in Movement.objects.filter(why="grafted"):
        refused(
            lambda number=movement.number: work.correct(number, note="x", by=ada, at=AT),
            "not taken apart again",
        )


def test_unlike_thicknesses_are_told(batch, ada):
    thin = work.take("M2", 3, base_mm=5, tip_mm=4, mark="thin", by=ada, at=AT)
    assert "4.0 mm thicker" in misfit(batch.lots["L1"], thin)
    even = work.take("M2", 3, base_mm=9, tip_mm=8, mark="even", by=ada, at=AT)
    assert misfit(batch.lots["L1"], even) == ""


# Count


def test_a_count_is_told_in_the_history_and_withdrawn_there(batch, ada):
    seen = work.count("S1", rooted=12, callused=20, leafed=3, dead=5, by=ada, at=AT)
    event = next(one for one in history(batch.lot) if one.reading == seen.pk)
    assert "counted in S1: 12 rooted, 20 callused, 3 in leaf without roots, 5 dead" in event.what
    assert event.is_open
    work.withdraw(seen.pk, note="wrong tray", by=ada, at=AT)
    assert next(one for one in history(batch.lot) if one.reading == seen.pk).is_void


def test_a_count_sent_twice_is_booked_once(batch, ada):
    one = work.count("S1", rooted=12, dead=2, give_up_dead=True, by=ada, at=AT, id=ID)
    assert work.count("S1", rooted=12, dead=2, give_up_dead=True, by=ada, at=AT, id=ID) == one
    assert (Count.objects.count(), standing("S1")) == (1, 38)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"rooted": 41}, ["41 rooted makes 41", "40 of lot"]),
        ({"rooted": 30, "dead": 11}, ["30 rooted + 11 dead makes 41", "40 of lot"]),
        ({"rooted": -1}, ["nothing or more"]),
        ({}, ["Nothing was counted in S1"]),
        ({"rooted": 0, "at": datetime(2027, 1, 31, tzinfo=UTC)}, ["S1 was struck on 1 Feb 2027"]),
        ({"rooted": 1, "lot": "L2"}, ["Batch S1 is of lot"]),
    ],
)
def test_a_count_that_contradicts_the_account_is_refused(batch, ada, wrong, words):
    refused(lambda: work.count("S1", **{"by": ada, "at": AT, **wrong}), *words)


def test_fewer_rooted_than_last_time_needs_as_many_gone(batch, ada):
    work.count("S1", rooted=20, by=ada, at=AT)
    refused(
        lambda: work.count("S1", rooted=18, by=ada, at=AT + DAY),
        "20 rooted on 1 Mar 2027 09:00, 18 on 2 Mar 2027 09:00, and between them 0 were potted or sold, 0 died",
    )
    work.pot_on("S1", 2, to="Yard", by=ada, at=AT + DAY / 2)
    work.count("S1", rooted=18, by=ada, at=AT + DAY)
    refused(lambda: work.count("S1", rooted=15, dead=2, by=ada, at=AT + 2 * DAY), "2 died or were given up")
    work.count("S1", rooted=15, dead=3, give_up_dead=True, by=ada, at=AT + 2 * DAY)
    assert standing("S1") == 35
    work.count("S1", rooted=15, by=ada, at=AT + 3 * DAY)


def test_a_count_noted_late_fits_between_its_neighbours(batch, ada):
    work.count("S1", rooted=5, by=ada, at=AT)
    work.count("S1", rooted=20, by=ada, at=AT + 10 * DAY)
    refused(
        lambda: work.count("S1", rooted=21, by=ada, at=AT + 5 * DAY), "21 rooted on 6 Mar", "20 on 11 Mar"
    )
    refused(lambda: work.count("S1", rooted=4, by=ada, at=AT + 5 * DAY), "5 rooted on 1 Mar", "4 on 6 Mar")
    work.count("S1", rooted=12, by=ada, at=AT + 5 * DAY)


def test_what_was_withdrawn_no_longer_contradicts(batch, ada):
    mistaken = work.count("S1", rooted=30, by=ada, at=AT)
    work.withdraw(mistaken.pk, note="callus, not roots", by=ada, at=AT)
    work.count("S1", rooted=10, by=ada, at=AT + DAY)


def test_nothing_leaves_a_batch_before_it_was_counted_there(batch, ada):
    work.count("S1", rooted=30, dead=10, by=ada, at=AT)
    refused(
        lambda: work.pot_on("S1", 5, to="Yard", by=ada, at=AT - DAY), "40 of lot", "35 would have been there"
    )
    work.pot_on("S1", 5, to="Yard", by=ada, at=AT)


def test_plants_on_a_standing_ground_are_counted_lot_by_lot(batch, ada):
    work.strike("L2", 10, bench="Warm", by=ada, at=AT)
    refused(lambda: work.count("Yard", rooted=1, by=ada, at=AT), "Nothing stands on Yard")
    work.pot_on("S1", 5, to="Yard", by=ada, at=AT)
    work.count("Yard", rooted=5, by=ada, at=AT)
    work.pot_on("S2", 5, to="Yard", by=ada, at=AT)
    refused(lambda: work.count("Yard", rooted=4, dead=1, by=ada, at=AT + DAY), "say which")
    work.count("Yard", lot="L2", rooted=4, dead=1, give_up_dead=True, by=ada, at=AT + DAY)
    assert standing("Yard") == 9


def test_only_what_grows_is_counted(batch, ada):
    refused(lambda: work.count("K1", rooted=1, by=ada, at=AT), "no batch or standing ground called 'K1'")


# Pot on


def test_potting_takes_all_that_were_counted_rooted(batch, ada):
    refused(lambda: work.pot_on("S1", None, to="Yard", by=ada, at=AT), "say how many")
    work.count("S1", rooted=12, by=ada, at=AT)
    assert work.pot_on("S1", None, to="Yard", by=ada, at=AT + DAY).count == 12
    refused(lambda: work.pot_on("S1", None, to="Yard", by=ada, at=AT + 2 * DAY), "say how many")


def test_more_may_be_potted_than_were_counted_rooted_but_not_than_stand(batch, ada):
    work.count("S1", rooted=12, by=ada, at=AT)
    assert work.pot_on("S1", 15, to="Yard", by=ada, at=AT + DAY).count == 15
    refused(lambda: work.pot_on("S1", 26, to="Yard", by=ada, at=AT + DAY), "26 of lot", "25 left in S1")
    refused(
        lambda: work.pot_on("S1", 1, to="Yrad", by=ada, at=AT + DAY),
        "no standing ground called 'Yrad'",
        "Yard",
    )


def test_potting_is_taken_back(batch, ada):
    moved = work.pot_on("S1", 15, to="Yard", by=ada, at=AT)
    work.correct(moved.number, note="other batch", by=ada, at=AT)
    assert (standing("S1"), standing("Yard")) == (40, 0)


# Sell


def test_plants_are_sold_to_a_buyer_who_can_be_found_again(batch, ada):
    work.pot_on("S1", 15, to="Yard", by=ada, at=AT)
    sold = work.sell("L1", 5, from_place="Yard", buyer="Hedge", price=Decimal("4.50"), by=ada, at=AT, id=ID)
    assert work.sell("L1", 5, from_place="Yard", buyer="Hedge", by=ada, at=AT, id=ID) == sold
    assert (sold.sale.buyer.name, sold.sale.price, standing("Yard")) == ("Hedge", Decimal("4.50"), 10)
    work.sell("L1", 1, from_place="K1", buyer=" hedge ", by=ada, at=AT)
    assert Buyer.objects.count() == 1


def test_a_sale_is_taken_back(batch, ada):
    sold = work.sell("L1", 5, from_place="K1", buyer="Hedge", by=ada, at=AT)
    work.correct(sold.number, note="not paid", by=ada, at=AT)
    assert standing("K1") == 10


def test_a_sale_fills_the_order_it_names(batch, ada):
    from ortet.work.orders import Line, order

    day = AT.date()
    order(
        "Hedge",
        [
            Line("Dusk", 5, day, day, price=Decimal("1.20")),
            Line("Lantern", 2, day, day),
            Line("Lantern", 3, day, day),
        ],
        by=ada,
        at=AT,
    )
    sold = work.sell("L1", 5, from_place="K1", order="1", by=ada, at=AT)
    assert (sold.sale.line.position, sold.sale.buyer.name, sold.sale.price) == (1, "Hedge", Decimal("1.20"))
    assert work.sell("L2", 2, order="1/2", by=ada, at=AT).sale.line.position == 2
    refused(lambda: work.sell("L2", 2, order="1", by=ada, at=AT), "Lines 1/2, 1/3", "say which")
    refused(lambda: work.sell("L2", 2, order="1/1", by=ada, at=AT), "Line 1/1 does not ask for ‘Lantern’")
    refused(lambda: work.sell("L2", 2, order="1/9", by=ada, at=AT), "no line 9")
    refused(lambda: work.sell("L2", 2, order="7", by=ada, at=AT), "no order 7")
    refused(lambda: work.sell("L2", 2, order="seven", by=ada, at=AT), "write 3 for order 3")
    refused(lambda: work.sell("L2", 2, order="1/2", buyer="Other", by=ada, at=AT), "is of Hedge, not Other")


def test_a_sale_has_a_buyer_and_a_price_that_is_one(batch, ada):
    refused(lambda: work.sell("L2", 2, by=ada, at=AT), "Sold to whom?")
    refused(lambda: work.sell("L2", 2, buyer="Hedge", price=Decimal(-1), by=ada, at=AT), "price of -1")
    refused(lambda: work.sell("L2", 99, buyer="New", by=ada, at=AT), "99 of lot")


def test_a_protected_variety_is_told_with_its_sale(batch, ada):
    assert right_of(batch.lots["L1"]) == ""
    work.add_mother("M9", "Guarded", "grape", right="PBR 1234")
    lot = work.take("M9", 3, by=ada, at=AT)
    assert "PBR 1234" in right_of(lot)
    assert "ask the rights holder" in right_of(lot)
    lot.variety.right_until = date(2020, 12, 31)
    assert right_of(lot) == "", "nobody's leave is asked for a right that ended"


def test_a_buyer_is_reached_by_what_was_noted_last(batch):
    work.buyer("Hedge", address="1 Lane\nTown", email="a@hedge.example")
    work.buyer("hedge", email="b@hedge.example")
    hedge = Buyer.objects.get()
    assert (hedge.address, hedge.email) == ("1 Lane\nTown", "b@hedge.example")
    refused(lambda: work.buyer("Hedge", email="no address"), "Email")
    refused(lambda: work.buyer("  "), "has a name")


def test_what_is_noted_without_a_clock_stays_in_its_order(batch, ada):
    """A whole day's work, all dated the same minute, as in a book written up in the evening."""
    work.count("S1", rooted=12, dead=3, give_up_dead=True, by=ada, at=AT)
    work.pot_on("S1", 10, to="Yard", by=ada, at=AT)
    work.sell("L1", 4, from_place="Yard", buyer="Hedge", by=ada, at=AT)
    refused(lambda: work.count("S1", rooted=1, by=ada, at=AT), "12 rooted", "10 were potted or sold, 0 died")
    work.count("S1", rooted=6, dead=1, by=ada, at=AT)
    refused(lambda: work.count("S1", rooted=28, by=ada, at=AT), "27 of lot")
    (told,) = batches_struck()
    assert [(seen.rooted, seen.of) for seen in told.counts] == [(12, 40), (6, 27)]
    assert (told.rooted, told.here) == (16, 27)


def test_a_strike_taken_back_may_be_made_anew_within_the_minute(batch, ada):
    work.strike("L2", 20, bench="Warm", by=ada, at=AT)
    work.correct(Movement.objects.latest("number").number, note="other tray", by=ada, at=AT)
    again = work.strike("L2", 20, bench="Warm", by=ada, at=AT)
    assert standing(str(again)) == 20


# What is known of a batch


def test_what_is_known_to_have_rooted_is_the_most_that_counts_and_pots_tell(batch, ada):
    def told():
        return batches_struck()[0]

    assert (told().rooted, told().is_finished) == (None, False)
    work.count("S1", rooted=12, by=ada, at=AT)
    assert told().rooted == 12
    work.pot_on("S1", 15, to="Yard", by=ada, at=AT + DAY)
    assert told().rooted == 15  # potting tells
    work.count("S1", rooted=4, by=ada, at=AT + 2 * DAY)
    assert told().rooted == 19  # what was potted, and what is rooted of the rest
    work.give_up("L1", 3, from_place="S1", by=ada, at=AT + 3 * DAY)
    work.count("S1", rooted=2, dead=20, by=ada, at=AT + 4 * DAY)
    assert (told().rooted, told().is_finished) == (19, True)  # each one rooted or dead
    assert (told().gone("potted"), told().gone("given_up"), told().here) == (15, 3, 22)


def test_a_batch_is_finished_when_it_is_empty_or_counted_late(batch, ada):
    work.strike("L2", 20, bench="Warm", by=ada, at=AT)
    work.count("S1", rooted=12, callused=3, by=ada, at=AT + OLD_ENOUGH)
    work.give_up("L2", None, from_place="S2", by=ada, at=AT + DAY)
    one, two = batches_struck()
    assert one.is_finished and one.rooted == 12
    assert two.is_finished and two.rooted == 0


def test_a_batch_as_plain_values_says_how_it_was_made(batch, ada):
    work.add_place("Cool", "bench")
    work.stand("S1", "Cool", by=ada, at=AT)
    moved = work.pot_on("S1", 4, to="Yard", by=ada, at=AT)
    work.correct(moved.number, note="other batch", by=ada, at=AT)
    (told,) = batches_struck()
    assert (told.species, told.variety, told.mother, told.base_mm) == ("blackcurrant", "Dusk", "M1", 8)
    assert (told.struck, told.base_c, told.medium, told.treatment) == (40, 22, "sand", "none")
    assert told.weeks == pytest.approx(27.04 / 7, abs=0.01)
    assert [bench for bench, _ in told.stood] == ["Warm", "Cool"]
    assert told.left == ()  # what was taken back never left
    assert batches_struck([]) == []
