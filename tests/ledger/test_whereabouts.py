"""Where lots lay since they were taken, and which looks count."""

from datetime import UTC, datetime

import pytest

from ortet import work
from ortet.ledger import stock
from ortet.ledger.whereabouts import Whereabouts
from tests.writing import write

pytestmark = pytest.mark.django_db

MOVED = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Rook blackcurrant
    2027-01-04 08:00  place store North
    2027-01-04 08:00  place store Warm
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 11:00  bag L1 40 into K1 at North
    2027-02-01 09:00  split L1 20 from K1 as L2
    2027-02-05 09:00  bag L2 20 into K2 at Warm
    2027-02-20 09:00  inspect K2 L2 callused=5 callused_of=10
    2027-01-05 09:00  take M2 10 as L3
    2027-01-05 11:00  bag L3 10 into K3 at Warm
    2027-01-25 11:00  inspect K3 L3 callus=3
    2027-01-26 11:00  give-up L3 10 from K3
"""


def at(text: str) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp() / 3600


@pytest.fixture
def season(ada):
    book = write(MOVED, ada)
    return book, stock.season(int(at("2026-09-01")))


def test_a_split_lot_lay_where_its_parent_lay(season):
    _, found = season
    held = next(one for one in found.holdings if one.mark == "L2")
    assert [(stay.place, stay.since) for stay in held.before] == [
        ("Bench", at("2027-01-05 09:00")),
        ("North", at("2027-01-05 11:00")),
    ]
    assert held.since == at("2027-02-05 09:00")


def test_wood_that_never_moved_since_its_bag_was_closed_lay_on_the_bench_before(season):
    _, found = season
    held = next(one for one in found.holdings if one.mark == "L1")
    assert [stay.place for stay in held.before] == ["Bench"]


def test_looks_at_lots_that_are_gone_still_teach_their_species(season):
    book, found = season
    seen = found.holdings[0].seen
    assert [(look.lot, look.callus, look.callused, look.callused_of) for look in seen] == [
        (book.lots["L3"].code, 3, None, None),
        (book.lots["L2"].code, None, 5, 10),
    ]
    assert [stay.place for stay in seen[1].stays] == ["Bench", "North", "Warm"]
    assert all(held.seen is seen for held in found.holdings)


def test_a_withdrawn_look_does_not_teach(season, ada):
    from ortet.ledger.models import Inspection

    look = Inspection.objects.get(callus=3)
    work.withdraw(look.pk, note="wrong bag", by=ada, at=datetime(2027, 2, 21, tzinfo=UTC))
    assert len(stock.season(int(at("2026-09-01"))).holdings[0].seen) == 1


def test_looks_of_an_earlier_season_are_left_out(season):
    assert stock.season(int(at("2027-01-06"))).holdings[0].seen == ()


def test_a_bag_that_was_stood_elsewhere_lay_in_both(season, ada):
    book, _ = season
    work.stand("K1", "Warm", by=ada, at=datetime(2027, 2, 10, tzinfo=UTC))
    lay = Whereabouts({book.lot.pk})
    stays = lay.stays(book.lot.pk, book.places["K1"].pk, at("2027-02-15"))
    assert [stay.place for stay in stays] == ["Bench", "North", "Warm"]
    early = lay.stays(book.lot.pk, book.places["K1"].pk, at("2027-02-09"))
    assert [stay.place for stay in early] == ["Bench", "North"]


def test_wood_that_came_back_to_a_place_lay_elsewhere_between(season, ada):
    book, _ = season
    work.move("L2", 20, from_place="K2", to_place="K1", by=ada, at=datetime(2027, 2, 25, tzinfo=UTC))
    lay = Whereabouts({book.child.pk})
    assert [stay.place for stay in lay.before(book.child.pk, book.places["K1"].pk)] == [
        "Bench",
        "North",
        "Warm",
    ]
