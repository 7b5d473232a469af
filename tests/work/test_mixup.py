"""From plants found wrong back to the moment, out of a book: what lay open together, where it went, who has it."""

from datetime import UTC, datetime, timedelta

import pytest

from ortet.ledger.handling import acts_at, acts_between, lay_open, sites_of
from ortet.ledger.models import Place
from ortet.work import Refused, Unknown
from ortet.work.mixup import Found, mixup
from ortet.work.mixup.nameless import whose
from tests.writing import Book, write

# L1 'Dusk' was bagged with L2 'Raven' (and a gooseberry) beside it, and half of it struck with L4 'Frost' beside it.
SEASON = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Raven blackcurrant
    2027-01-04 08:00  mother M3 Lantern gooseberry
    2027-01-04 08:00  mother M4 Frost blackcurrant
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place bench Shelf
    2027-01-04 08:00  place ground Tunnel
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 09:20  take M2 40 as L2
    2027-01-05 09:30  take M3 40 as L3
    2027-01-05 10:00  bag L1 40 into K1 at North
    2027-01-05 10:10  bag L2 40 into K2 at North
    2027-01-05 10:20  bag L3 40 into K3 at North
    2027-01-12 09:00  take M4 30 as L4
    2027-01-12 10:00  bag L4 30 into K4 at North
    2027-02-20 09:00  strike L1 20 from K1 as T1 on Shelf
    2027-02-20 09:10  strike L4 30 from K4 as T4 on Shelf
    2027-03-20 09:00  strike L2 20 from K2 as T2 on Shelf
    2027-06-01 09:00  pot T1 16 to Tunnel
    2027-07-01 09:00  sell L1 6 from Tunnel to Hilda
    2027-07-02 09:00  sell L4 10 from T4 to Otto
"""


@pytest.fixture
def season(ada) -> Book:
    return write(SEASON, ada)


def test_what_was_done_at_a_bench_on_a_day(season):
    bench = Place.objects.get(name="Bench")
    day = datetime(2027, 1, 5, tzinfo=UTC)
    acts = acts_at(bench.pk, day, day + timedelta(days=1))
    told = [(act.act, act.lot) for act in acts]
    lots = {mark: lot.pk for mark, lot in season.lots.items()}
    assert told == [("taken", lots["L1"]), ("taken", lots["L2"]), ("taken", lots["L3"]),
                    ("bagged", lots["L1"]), ("bagged", lots["L2"]), ("bagged", lots["L3"])]  # fmt: skip
    assert {act.by for act in acts} == {"ada"}


def test_a_batch_is_handled_where_it_stands_and_a_bag_opened_with_all_that_lies_in_it(season, ada):
    write(
        """
        2027-02-01 09:00  move L2 5 from K2 to K3
        2027-02-02 09:00  inspect K3 L3 sound=40 mouldy=0 dry=0
        """,
        ada,
    )
    north, shelf = (Place.objects.get(name=name) for name in ("North", "Shelf"))
    day = datetime(2027, 2, 2, tzinfo=UTC)
    looked = acts_at(north.pk, day, day + timedelta(days=1))
    assert {(act.act, act.lot) for act in looked} == {
        ("looked", season.lots["L2"].pk),
        ("looked", season.lots["L3"].pk),
    }
    struck = acts_between(datetime(2027, 2, 20, tzinfo=UTC), datetime(2027, 2, 21, tzinfo=UTC))
    assert {(act.act, act.site) for act in struck} == {("struck", shelf.pk)}
    assert lay_open(Place.objects.get(name="K3").pk, day) == {
        season.lots["L2"].pk: 5,
        season.lots["L3"].pk: 40,
    }
    assert (shelf.pk, datetime(2027, 2, 20, tzinfo=UTC)) in sites_of({season.lots["L1"].pk}, UTC)


def test_todays_acts_are_found_however_many_came_before_and_since(season, monkeypatch):
    day = datetime(2027, 2, 20, tzinfo=UTC)
    every = acts_between(day, day + timedelta(days=300))
    monkeypatch.setattr("ortet.ledger.handling.BACK", 2)
    assert acts_between(day, day + timedelta(days=300)) == every and len(every) == 6


def test_what_was_taken_back_is_no_moment(season, ada):
    write(
        """
        2027-02-01 09:00  move L1 5 from K1 to Shelf
        2027-02-01 09:05  correct-last wrong bag
        """,
        ada,
    )
    day = datetime(2027, 2, 1, tzinfo=UTC)
    assert acts_at(Place.objects.get(name="Shelf").pk, day, day + timedelta(days=1)) == []


def test_the_moment_at_which_the_variety_found_lay_beside_comes_first(season):
    told = mixup([Found("L1", 2, 6, "frost")]).chances
    assert told[0].title.startswith("Shelf, 20 Feb 2027") and told[0].chance > 0.5
    assert {lot.variety for lot in told[0].lots} == {"Dusk", "Frost"} and told[0].by == ("ada",)
    raven = mixup([Found("L1", 2, 6, "Raven")]).chances
    assert raven[0].title == "Bench, 5 Jan 2027" and {lot.variety for lot in raven[0].lots} == {
        "Dusk",
        "Raven",
    }


def test_where_the_wrong_and_the_right_plants_stood_tells_moments_apart(season):
    """Nobody knows what they are. All in K1 are right: so it was after half of the lot had left that bag."""

    def shelf(answer) -> float:
        return sum(one.chance for one in answer.chances if one.title.startswith("Shelf"))

    whole = mixup([Found("L1", 2, 6)])
    by_place = mixup([Found("L1", 2, 6, "", "Tunnel"), Found("L1", 0, 12, "", "K1")])
    assert shelf(by_place) > shelf(whole) and by_place.chances[0].title.startswith("Shelf")


def test_another_kind_of_wood_is_hardly_confused(season):
    told = mixup([Found("L1", 2, 6)])
    assert sum(one.chance for one in told.chances if "Lantern" in {lot.variety for lot in one.lots}) < 0.05


def test_what_to_look_at_next_and_who_else_has_them(season):
    told = mixup([Found("L1", 2, 6, "Frost")])
    touched = {(one.lot, one.where): one for one in told.touched}
    code = {mark: lot.code for mark, lot in season.lots.items()}
    assert {"sold to Hilda", "in Tunnel", "in batch T1", "in bag K1"} >= {
        where for lot, where in touched if lot == code["L1"]
    }
    assert touched[code["L1"], "sold to Hilda"].buyer == "Hilda"
    assert touched[code["L4"], "sold to Otto"].rest == 10
    unknown = mixup([Found("L1", 2, 6)])
    first = unknown.next[0]
    assert first.lot in (code["L2"], code["L4"]) and "sold" not in first.where
    assert first.if_wrong[0].number and first.if_wrong[0].chance > first.if_right[0].chance


def test_a_lot_split_off_carries_what_happened_to_its_parent(season, ada):
    write("2027-01-20 09:00  split L1 10 from K1 as L9", ada)
    told = mixup([Found("L9", 3, 4, "Raven")])
    assert "Raven" in told.between[0][0] and told.chances[0].title == "Bench, 5 Jan 2027"
    assert season.lot.code in {lot.code for lot in told.chances[0].lots}
    assert season.lot.code in {one.lot for one in told.touched}


def test_a_graft_may_be_its_rootstock(season, ada):
    write(
        """
        2027-02-22 09:00  graft L1 L3 10 as G1 in T9 on Shelf
        """,
        ada,
    )
    told = mixup([Found("G1", 2, 10, "Lantern")])
    assert told.chances[0].title.startswith("The rootstock of lot")


def test_a_lot_that_is_wholly_wrong_points_to_its_mother_plant_or_a_label(season):
    told = mixup([Found("L2", 8, 8)])
    assert told.chances[0].title == "Mother plant M2" or "labels" in told.chances[0].how[0]
    assert "Mother plant M2" in {one.title for one in told.chances}


@pytest.mark.parametrize(
    ("found", "says"),
    [
        ([], "Nothing was found wrong"),
        ([Found("L1", 0, 5)], "Nothing was found wrong"),
        ([Found("L1", 6, 5)], "no more are wrong than were looked at"),
        ([Found("L1", 1, 5, "dusk")], "are right"),
        ([Found("L1", 1, 5, "", "K2")], "ever was in K2"),
        ([Found("L1", 1, 5, "", "Otto")], "bought nothing of lot"),
        ([Found("L1", 1, 5, "", "K1"), Found("L1", 1, 5)], "once with a place"),
        ([Found("L1", 1, 50)], "50 looked at, and the book has 40"),
    ],
)
def test_what_cannot_be_is_refused(season, found, says):
    with pytest.raises(Refused, match=says):
        mixup(found)


def test_what_is_not_in_the_book_is_said(season):
    with pytest.raises(Unknown, match="no lot"):
        mixup([Found("L99", 1, 2)])
    with pytest.raises(Unknown, match="no place and no buyer"):
        mixup([Found("L1", 1, 2, "", "Nowhere")])


def test_whose_a_nameless_bag_is(season):
    told = whose("North", 40)
    assert told.lots[0].lot.mark == "L3" and told.lots[0].where == "K3"
    assert whose("North", 20, species="blackcurrant").lots[0].lot.mark in ("L1", "L2")
    assert "L2" not in {one.lot.mark for one in whose("North", 20, seen=["L2"]).lots}
    with pytest.raises(Refused, match="no kind of wood"):
        whose("North", 20, species="oak")
    with pytest.raises(Unknown, match="Cellar"):
        whose("Cellar", 20)


def test_a_lot_that_came_in_a_parcel_may_have_come_with_a_wrong_name(season, ada):
    from ortet.ledger.booking import Move, book, created, new_code
    from ortet.ledger.models import Kind, Lot, Variety, Why
    from ortet.ledger.received import Received, ReceivedLine

    at = datetime(2027, 1, 8, 9, tzinfo=UTC)
    sender = Place.objects.create(kind=Kind.SENDER, name="Otto", code=new_code(Place))
    lot = created(
        Lot, code=new_code(Lot), mark="P1", variety=Variety.objects.get(name="Raven"), made_at=at, taken_at=at,
        length_mm=200.0, base_mm=8.0, tip_mm=6.0,
    )  # fmt: skip
    bench = Place.objects.get(name="Bench")
    parcel = Received.objects.create(number=1, sender=sender, opened_at=at, seen_at=at, by=ada)
    ReceivedLine.objects.create(received=parcel, position=1, lot=lot)
    book([Move(lot, sender, bench, 20, Why.RECEIVED)], by=ada, at=at)
    told = mixup([Found("P1", 6, 6, "Ember")])
    assert told.chances[0].title == f"The parcel: lot {lot} from Otto"
    assert told.chances[0].how == ("it came with a wrong name already",)
