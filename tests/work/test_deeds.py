"""Each deed books what it says, twice sent is once booked, and a refusal says what to do and books nothing."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from ortet import work
from ortet.ledger import rules
from ortet.ledger.booking import count_in
from ortet.ledger.models import (
    Inspection,
    Lot,
    MotherPlant,
    Movement,
    Place,
    Standing,
    Treatment,
    Variety,
    Weighing,
)
from ortet.work.lots import history

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("full_book_kept")]
AT = datetime(2027, 2, 1, 9, tzinfo=UTC)
ID = UUID("0197a1b2-0000-7000-8000-000000000001")


@pytest.fixture(autouse=True)
def still_holds():
    yield
    assert rules.check() == []


def refused(deed, *words: str) -> str:
    """Do a deed that must be refused, with these words in the sentence, and nothing booked."""
    before = [model.objects.count() for model in (Movement, Lot, Place, Weighing, Inspection, Treatment)]
    with pytest.raises(work.Refused) as caught:
        deed()
    assert [
        model.objects.count() for model in (Movement, Lot, Place, Weighing, Inspection, Treatment)
    ] == before
    for word in words:
        assert word in str(caught.value)
    return str(caught.value)


def test_a_variety_is_written_once_and_without_quotation_marks(full_book):
    one = work.add_mother("M7", "'Dusk'", "blackcurrant")
    assert one.variety == full_book.lot.variety
    assert str(one.variety) == "‘Dusk’"
    assert Variety.objects.filter(name="Dusk").count() == 1


def test_an_accession_number_is_given_once(full_book):
    refused(lambda: work.add_mother("m1", "Other", "grape"), "M1", "already")
    assert MotherPlant.objects.filter(accession__iexact="M1").count() == 1


def test_a_variety_keeps_its_species(full_book):
    refused(lambda: work.add_mother("M9", "Dusk", "grape"), "blackcurrant, not grape")


def test_an_unknown_species_names_the_known(db):
    refused(lambda: work.add_mother("M9", "Dusk", "triffid"), "triffid", "blackcurrant")


def test_wood_taken_twice_under_one_id_is_taken_once(full_book, ada):
    one = work.take("M1", 5, mark="again", by=ada, at=AT, id=ID)
    two = work.take("M1", 5, mark="again", by=ada, at=AT, id=ID)
    assert one == two
    assert count_in(one, full_book.bench) == 5


@pytest.mark.parametrize("count", [0, -3])
def test_at_least_one_cutting_is_taken(full_book, ada, count):
    refused(lambda: work.take("M1", count, by=ada, at=AT), f"{count} cuttings", "at least 1")


def test_a_mark_is_given_once(full_book, ada):
    refused(lambda: work.take("M1", 3, mark="l1", by=ada, at=AT), "'l1' already")


def test_an_unknown_mother_plant_names_what_is_near(full_book, ada):
    refused(lambda: work.take("M12", 3, by=ada, at=AT), "no mother plant 'M12'", "M1")


def test_the_base_is_the_thick_end(full_book, ada):
    refused(lambda: work.take("M1", 3, base_mm=4, tip_mm=6, by=ada, at=AT), "the base is the thick end")


def test_a_bag_holds_all_that_lay_there_when_no_count_is_given(full_book, ada):
    bag = work.bag([("L3", None, None)], store="North", by=ada, at=AT)
    assert count_in(full_book.lots["L3"], bag) == 18
    assert bag.name == "B1"


def test_a_bag_may_hold_several_lots(full_book, ada):
    bag = work.bag([("L1", 1, "K1"), ("L3", 2, "Bench")], name="K9", store="South", by=ada, at=AT)
    assert sorted(bag.balances.values_list("count", flat=True)) == [1, 2]
    assert Standing.objects.get(bag=bag).store.name == "South"


def test_a_bags_name_is_given_once(full_book, ada):
    refused(lambda: work.bag([("L3", 1, None)], name="k1", store="North", by=ada, at=AT), "called K1 already")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"polymer": "wool"}, "'wool' is not a film"),
        ({"closure": "hope"}, "'hope' is not a closure"),
        ({"packing": "gravel"}, "'gravel' is not a packing"),
        ({"layers": 0}, "that is no bag"),
        ({"thickness_um": -1}, "that is no bag"),
        ({"width_mm": 40_000}, "that is no bag"),
        ({"tare_g": 1e23}, "of empty weight: give nothing or more"),
        ({"tare_g": -5}, "-5.0 g of empty weight"),
        ({"packing_water_g": 1e23}, "of water in the packing: give nothing or more"),
        ({"packing_water_g": -5}, "-5.0 g of water in the packing"),
        ({"packing_water_g": float("nan")}, "nan g of water in the packing"),
        ({"note": "K\x019"}, "Note: a character that is no letter"),
    ],
)
def test_a_bag_that_cannot_be_is_refused(full_book, ada, wrong, words):
    refused(lambda: work.bag([("L3", 1, None)], name="K9", store="North", by=ada, at=AT, **wrong), words)


def test_a_misspelt_cold_place_is_not_made(full_book, ada):
    refused(
        lambda: work.bag([("L3", 1, None)], store="Noth", by=ada, at=AT),
        "no cold place called 'Noth'",
        "North",
    )


def test_an_emptied_bags_name_may_be_written_on_another(full_book, ada):
    for mark in ("L1", "L2"):
        work.move(mark, None, from_place="K2", to_place="Bench", by=ada, at=AT)
    bag = work.bag([("L3", 1, None)], name="K2", store="North", by=ada, at=AT + timedelta(days=1))
    assert bag != full_book.places["K2"]
    full_book.places["K2"].refresh_from_db()
    assert full_book.places["K2"].name.startswith("K2 (until 1 Feb 2027")


@pytest.mark.parametrize("name", ["North", "NORTH", " north "])
def test_no_two_places_share_a_name_whatever_they_are(full_book, ada, name):
    refused(lambda: work.add_place(name, "bench"), "A cold place is called North already")


@pytest.mark.parametrize(
    ("one", "other"), [("Ä1", "ä1"), ("Straße", "STRASSE"), ("é", "e\u0301"), ("A  1", "a 1")]
)
def test_marks_that_read_the_same_are_the_same_on_every_database(full_book, ada, one, other):
    """Unicode section 3.13: full case folding makes ß ss; normalisation makes e and an accent é."""
    lot = work.take("M1", 3, mark=one, by=ada, at=AT)
    refused(lambda: work.take("M1", 3, mark=other, by=ada, at=AT), "already")
    assert work.move(other, 1, to_place="K1", by=ada, at=AT).lot == lot


def test_a_mark_is_no_code_of_ours(full_book, ada):
    refused(lambda: work.take("M2", 3, mark=full_book.lot.code, by=ada, at=AT), "reads as a code")


def test_wood_does_not_leave_a_place_before_it_came(full_book, ada):
    early = datetime(2027, 1, 6, 9, 59, tzinfo=UTC)  # L1 came to K2 at 10:00
    refused(
        lambda: work.move("L1", 1, from_place="K2", to_place="K1", by=ada, at=early),
        "On 6 Jan 2027 09:59",
        "were 0",
    )


def test_wood_does_not_enter_a_bag_before_it_was_closed(full_book, ada):
    early = datetime(2027, 1, 5, 11, 15, tzinfo=UTC)  # K2 was closed at 11:30
    refused(lambda: work.move("L1", 1, from_place="Bench", to_place="K2", by=ada, at=early), "was closed on")


def test_a_correction_is_not_dated_before_what_it_corrects(full_book, ada):
    gone = work.give_up("L3", 5, by=ada, at=AT)
    early = AT - timedelta(hours=1)
    refused(lambda: work.correct(gone.number, note="x", by=ada, at=early), "corrected then or later")


def test_an_id_of_another_deed_is_not_taken_for_this_one(full_book, ada):
    work.give_up("L3", 5, by=ada, at=AT, id=ID)
    refused(lambda: work.take("M1", 5, by=ada, at=AT, id=ID), "sent before")
    refused(lambda: work.give_up("L3", 6, by=ada, at=AT, id=ID), "sent before")


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"count": 10**7}, "at most 1,000,000"),
        ({"count": 1, "mark": "x" * 41}, "40"),
        ({"count": 1, "grade": "x" * 21}, "20"),
        ({"count": 1, "use": "eat"}, "eat"),
        ({"count": 1, "length_mm": float("nan")}, "nan"),
        ({"count": 1, "base_mm": 228.6}, "Mind the unit"),
        ({"count": 1, "nodes": 10**6}, "nodes"),
    ],
)
def test_what_does_not_fit_is_refused_in_words(full_book, ada, wrong, words):
    assert words.casefold() in refused(lambda: work.take("M1", by=ada, at=AT, **wrong)).casefold()


def test_too_many_into_a_bag_leaves_no_bag_behind(full_book, ada):
    refused(
        lambda: work.bag([("L3", 99, None)], name="K9", store="North", by=ada, at=AT),
        "99 of lot",
        "18 left in Bench",
    )


def test_a_lot_in_two_places_must_be_told_where_from(full_book, ada):
    refused(lambda: work.move("L1", 1, to_place="K2", by=ada, at=AT), "K1", "K2", "Bench", "say which")


def test_moving_from_a_place_to_itself_is_refused(full_book, ada):
    refused(lambda: work.move("L3", 1, to_place="Bench", by=ada, at=AT), "in Bench already")


def test_nothing_is_moved_before_its_lot_was_made(full_book, ada):
    early = full_book.lots["L3"].made_at - timedelta(days=1)
    refused(lambda: work.move("L3", 1, to_place="K1", by=ada, at=early), "give a later time")


def test_a_split_off_lot_keeps_variety_mother_and_the_day_it_was_taken(full_book):
    child, parent = full_book.child, full_book.lot
    assert (child.variety, child.mother, child.taken_at) == (parent.variety, parent.mother, parent.taken_at)
    assert child.made_at > parent.made_at
    assert child.code != parent.code


def test_all_of_a_lot_is_not_split_off(full_book, ada):
    refused(lambda: work.split("L3", 18, by=ada, at=AT), "all of lot")


@pytest.mark.parametrize("count", [0, -3, 10**30])
def test_a_split_of_no_such_count_is_refused_in_words(full_book, ada, count):
    refused(lambda: work.split("L3", count, by=ada, at=AT), "at least 1 moves, at most 1,000,000")


def test_a_split_sent_twice_under_one_id_splits_once(full_book, ada):
    one = work.split("L3", 4, mark="L4", by=ada, at=AT, id=ID)
    assert work.split("L3", 4, mark="L4", by=ada, at=AT, id=ID) == one
    assert count_in(full_book.lots["L3"], full_book.bench) == 14


def test_a_correction_puts_back_and_stays_readable(full_book, ada):
    gone = work.give_up("L3", 5, by=ada, at=AT)
    back = work.correct(gone.number, note="wrong bag", by=ada, at=AT)
    assert (back.reverses, back.count, back.note) == (gone, 5, "wrong bag")
    assert count_in(full_book.lots["L3"], full_book.bench) == 18
    refused(lambda: work.correct(gone.number, note="again", by=ada, at=AT), "corrected already")
    refused(lambda: work.correct(back.number, note="again", by=ada, at=AT), "itself a correction")


def test_a_correction_says_what_was_wrong(full_book, ada):
    gone = work.give_up("L3", 5, by=ada, at=AT)
    refused(lambda: work.correct(gone.number, note=" ", by=ada, at=AT), "Say in a few words")


def test_what_has_moved_on_cannot_be_taken_back(full_book, ada):
    taken = full_book.lots["L3"].movements.get(why="taken")
    later = work.give_up("L3", 5, by=ada, at=AT)
    refused(
        lambda: work.correct(taken.number, note="mistaken", by=ada, at=AT),
        "Only 13 of the 20",
        f"Correct movement {later.number} first",
    )


def test_a_split_is_not_corrected(full_book, ada):
    for lot in (full_book.lot, full_book.child):
        number = lot.movements.get(why="split").number
        refused(lambda number=number: work.correct(number, note="mistaken", by=ada, at=AT))


def test_weighing_in_kilograms_by_mistake_is_refused(full_book, ada):
    refused(lambda: work.weigh("K1", 0.4, by=ada, at=AT), "0.4 g", "20.0 g", "bag and all")


def test_an_emptied_bag_is_not_weighed_but_what_it_weighed_before_may_come_late(full_book, ada):
    work.weigh("K1", 300, by=ada, at=AT)
    for row in Place.objects.get(name="K1").balances.filter(count__gt=0):
        work.give_up(row.lot.code, None, from_place="K1", by=ada, at=AT + timedelta(hours=2))
    refused(lambda: work.weigh("K1", 300, by=ada, at=AT + timedelta(hours=3)), "K1 is empty")
    assert work.weigh("K1", 299, by=ada, at=AT + timedelta(hours=1)).gross_g == 299


def test_a_weighing_is_withdrawn_once_and_stays_readable(full_book, ada):
    reading = work.weigh("K1", 300, by=ada, at=AT)
    work.withdraw(reading.pk, note="wet hands", by=ada, at=AT)
    assert Weighing.objects.filter(pk=reading.pk).exists()
    refused(lambda: work.withdraw(reading.pk, note="again", by=ada, at=AT), "withdrawn already")


@pytest.mark.parametrize(
    ("seen", "words"),
    [
        ({"sound": 500}, "500 looked at, 29 of lot"),
        ({"scratch_green": 6, "scratch_of": 5}, "6 green of 5"),
        ({"scratch_green": 3}, "give both"),
        ({"callus": 5}, "score 0 (none) to 4"),
        ({"callused": 3}, "Callus on 3 of ?: give both"),
        ({"rooted": 9, "rooted_of": 8}, "Roots on 9 of 8"),
        ({"rooted": 0, "rooted_of": 0}, "Roots on 0 of 0"),
        ({"rooted": 9, "rooted_of": 400}, "Roots on 9 of 400: 29 of lot"),
        ({"rooted": -1, "rooted_of": 8}, "nothing or more"),
        ({"free_water": "rivers"}, "none, droplets, pooled"),
        ({}, "Nothing was entered"),
    ],
)
def test_an_inspection_that_contradicts_the_account_is_refused(full_book, ada, seen, words):
    refused(lambda: work.inspect("K1", lot="L1", by=ada, at=AT, **seen), words)


def test_an_inspection_of_a_bag_with_one_lot_needs_no_lot(full_book, ada):
    assert work.inspect("K1", callus=2, by=ada, at=AT).lot == full_book.lot
    refused(lambda: work.inspect("K2", callus=2, by=ada, at=AT), "say which")


def test_callus_and_roots_are_counted_and_told_in_the_history(full_book, ada):
    work.inspect("K1", callused=12, callused_of=20, rooted=0, rooted_of=20, by=ada, at=AT)
    latest = next(event for event in history(full_book.lot) if event.reading)
    assert "callus on 12 of 20, roots on 0 of 20" in latest.what


def test_a_treatment_is_one_that_ortet_knows(full_book, ada):
    refused(lambda: work.treat("K1", "bless", by=ada, at=AT), "disinfect, wash, wax, air, wipe")


def test_a_bag_stands_in_one_cold_place_at_a_time(full_book, ada):
    refused(lambda: work.stand("K2", "South", by=ada, at=AT), "in South already")
    refused(lambda: work.stand("K2", "North", by=ada, at=AT - timedelta(days=20)), "give a later time")
    assert work.stand("K2", "North", by=ada, at=AT).store.name == "North"


def test_a_mistyped_code_is_told_from_an_unknown_one(full_book):
    from ortet.wood import code as codes
    from ortet.work import find

    right = full_book.lot.code
    wrong = right[:-1] + ("0" if right[-1] != "0" else "1")
    with pytest.raises(work.Unknown, match="as a code"):
        find.lot(wrong)
    with pytest.raises(work.Unknown, match="well-formed code, but no lot"):
        find.lot(next(codes.make(number) for number in range(2) if codes.make(number) != right))
    assert find.lot(codes.show(right).lower()) == full_book.lot
