"""A second scan, and what Today says of varieties that look alike and are open at once."""

from datetime import UTC, datetime

import pytest

from ortet.ledger.models import Nursery
from ortet.work import Refused, Unknown
from ortet.work.scanning import opened_today, scan
from ortet.work.today import today
from tests.writing import write

SEASON = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Raven blackcurrant
    2027-01-04 08:00  mother M3 Lantern gooseberry
    2027-01-04 08:00  place store North
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 09:20  take M3 40 as L3
    2027-01-05 10:00  bag L1 40 into K1 at North
"""
NOON = datetime(2027, 1, 6, 12, tzinfo=UTC)


@pytest.fixture
def season(ada):
    Nursery(id=1, fixed_now=NOON).save()
    return write(SEASON, ada)


def warned():
    return [task for task in today(NOON).tasks if task.kind == "alike"]


def test_nothing_is_said_where_one_variety_of_a_kind_lies_open(season):
    assert warned() == []


def test_two_of_a_kind_bare_on_one_bench_are_warned_of(season, ada):
    write(
        """
        2027-01-06 09:00  take M2 30 as L2
        2027-01-06 11:00  take M1 20 as L4
        """,
        ada,
    )
    [task] = warned()
    assert task.act == "Scan both labels on Bench: L4 ‘Dusk’, L2 ‘Raven’."
    assert task.place == "Bench" and set(task.lots) == {season_lot("L2"), season_lot("L4")}
    assert "(8 mm)" in task.reason
    assert task.command == "ortet scan LABEL LABEL --place Bench"


def season_lot(mark):
    from ortet.ledger.models import Lot

    return Lot.objects.get(mark=mark).code


def test_bags_opened_one_after_the_other_today_are_warned_of_and_tomorrow_no_more(season, ada):
    write(
        """
        2027-01-05 09:40  take M2 30 as L2
        2027-01-05 10:05  bag L2 30 into K2 at North
        2027-01-06 09:00  inspect K1 L1 sound=40 mouldy=0 dry=0
        2027-01-06 09:20  inspect K2 L2 sound=30 mouldy=0 dry=0
        """,
        ada,
    )
    [task] = warned()
    assert "on North" in task.act and "were open today" in task.reason
    assert [one for one in today(datetime(2027, 1, 7, 12, tzinfo=UTC)).tasks if one.kind == "alike"] == []


def test_bags_opened_hours_apart_are_not(season, ada):
    write(
        """
        2027-01-05 09:40  take M2 30 as L2
        2027-01-05 10:05  bag L2 30 into K2 at North
        2027-01-06 07:00  inspect K1 L1 sound=40 mouldy=0 dry=0
        2027-01-06 11:00  inspect K2 L2 sound=30 mouldy=0 dry=0
        """,
        ada,
    )
    assert warned() == []


def test_what_was_in_the_hand_says_when_and_where(season, ada):
    write("2027-01-06 09:00  inspect K1 L1 sound=40 mouldy=0 dry=0", ada)
    told = {one.name: one for one in opened_today(NOON)}
    assert told["L1"].place == "North" and not told["L1"].lies_bare and len(told["L1"].hours) == 1
    assert told["L3"].lies_bare and told["L3"].hours == ()


def test_a_label_matches_where_the_book_has_its_wood(season):
    seen = scan(["L1", "K1"], "North")
    assert seen.fits and "the book has 40 here" in seen.labels[0].says
    assert "one lot" in seen.says
    other = scan(["L3", "L1"], "North")
    assert not other.fits and other.labels[1].fits and "but 40 in Bench" in other.labels[0].says
    assert "Different varieties" in other.says
    assert scan(["L1"], "K1").fits and not scan(["K1"], "Bench").fits
    assert scan(["L3", "L1"]).fits


def test_a_lot_bagged_here_today_may_still_lie_here(season, ada):
    write("2027-01-06 09:00  bag L3 40 into K3 at North", ada)
    assert scan(["L3"], "Bench").fits


def test_what_cannot_be_read_does_not_match_and_says_why(season):
    [label] = scan(["7K3Q-9M2E"]).labels
    assert not label.fits and "as a code" in label.says


def test_without_a_label_or_a_place_there_is_nothing_to_say(season):
    with pytest.raises(Refused, match="at least one label"):
        scan(["", " "])
    with pytest.raises(Unknown, match="Cellar"):
        scan(["L1"], "Cellar")
