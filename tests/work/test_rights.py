"""A protected variety stops until a licence or an exemption is noted, and again when that ends."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal as D

import pytest

from ortet import work
from ortet.ledger.models import Pick, Sale, Variety, Warrant
from ortet.work.orders import Line, order
from ortet.work.packing import pack, send, walk
from ortet.work.plan.shown import shown
from ortet.work.plan.whole import plan_season
from ortet.work.rights import stopped, stops, warrant

AT = datetime(2027, 1, 10, 9, tzinfo=UTC)
TODAY = AT.date()


@pytest.fixture
def kept(ada):
    work.add_mother("M1", "Guarded", "grape", right="title 12 of Tarn Breeders")
    work.add_mother("M2", "Free", "grape")
    return Variety.objects.get(name="Guarded")


def test_a_right_without_a_warrant_stops_and_says_what_to_do(kept):
    why = stops(kept, TODAY)
    assert "title 12 of Tarn Breeders" in why
    assert "Ask the rights holder" in why
    assert "ortet warrant 'Guarded'" in why
    assert stopped(TODAY) == {kept.pk: why}
    assert stops(Variety.objects.get(name="Free"), TODAY) == ""


def test_a_licence_lets_it_go_until_its_last_day_or_until_it_ended(kept, ada):
    last = TODAY + timedelta(days=30)
    warrant("guarded", "licence", words="Tarn Breeders, no. 7, 500 a year", until=last, by=ada, at=AT)
    assert stops(kept, TODAY) == stops(kept, last) == ""
    assert "held until 9 Feb 2027" in stops(kept, last + timedelta(days=1))
    warrant("Guarded", "ended", by=ada, at=AT + timedelta(days=1))
    assert "ended" in stops(kept, TODAY)
    warrant("Guarded", "exemption", words="own trial", by=ada, at=AT + timedelta(days=2))
    assert stopped(TODAY) == {}


def test_a_right_whose_last_day_is_past_stops_nothing(kept):
    """EU Reg. 2100/94 Art. 19: other than vine or tree granted in 2001, to the end of 2026. [published, as stated in a register]"""
    kept.right_until = date(2026, 12, 31)
    kept.save()
    assert stops(kept, TODAY) == ""
    assert stops(kept, date(2026, 12, 31))


def test_wrong_words(kept, ada):
    for said, error in (
        (("Guarded", "licence"), "of whom"),
        (("Guarded", "gift"), "licence, exemption, ended"),
        (("Free", "licence"), "No right is noted"),
        (("Nameless", "licence"), "No variety"),
    ):
        with pytest.raises(work.Refused, match=error):
            warrant(*said, by=ada, at=AT)
    with pytest.raises(work.Refused, match="is past"):
        warrant("Guarded", "licence", words="x", until=date(2026, 1, 1), by=ada, at=AT)
    assert not Warrant.objects.exists()


FROM, UNTIL = date(2027, 1, 5), date(2027, 3, 15)


@pytest.fixture
def sold_from(kept, ada):
    """A bag of the protected wood, one of free wood, and a line of each."""
    asked = {"by": ada, "at": AT}
    work.add_place("North", "store")
    for mother, mark in (("M1", "G1"), ("M2", "F1")):
        work.take(mother, 30, mark=mark, **asked)
        work.bag([(mark, 30, None)], store="North", name=f"K-{mark}", **asked)
    order("Tarn", [Line("Guarded", 5, FROM, UNTIL, price=D(2)), Line("Free", 5, FROM, UNTIL)], **asked)
    return asked


def test_a_line_that_stops_is_noted_but_not_picked_packed_or_sold(sold_from):
    assert [str(one.line) for one in walk(1, today=TODAY)] == ["order 1/2"]
    for deed in (
        lambda: work.sell("G1", 2, order="1/1", **sold_from),
        lambda: work.sell("G1", 2, buyer="Anybody", **sold_from),
        lambda: pack("1/1", "K-G1", 2, lot="G1", **sold_from),
    ):
        with pytest.raises(work.Refused, match=r"Ask the rights holder.*Nothing was booked"):
            deed()
    warrant("Guarded", "licence", words="Tarn Breeders", **sold_from)
    assert len(walk(1, today=TODAY)) == 2
    pack("1/1", "K-G1", 2, **sold_from)
    later = {**sold_from, "at": AT + timedelta(hours=1)}
    warrant("Guarded", "ended", **later)
    with pytest.raises(work.Refused, match="ended"):  # what is packed already does not go either
        send(1, **later)
    assert not Sale.objects.exists()


def test_the_plan_leaves_a_line_that_stops_out_and_says_why(sold_from):
    plan_season(by=sold_from["by"], now=AT)
    seen = {one.wish: one for one in shown().promises}
    assert (seen["order 1/1"].given, seen["order 1/1"].short) == (0, 5)
    assert "Ask the rights holder" in seen["order 1/1"].why[0]
    assert seen["order 1/2"].given == 5
    warrant("Guarded", "exemption", words="own trial, private", **sold_from)
    plan_season(by=sold_from["by"], now=AT)
    assert {one.wish: one.given for one in shown().promises}["order 1/1"] == 5


def test_a_protected_variety_is_taken_instead_by_nobody(sold_from):
    asked = sold_from
    order("Amber", [Line("Free", 40, FROM, UNTIL, instead=("Guarded",))], **asked)
    assert {one.lot.variety.name for one in walk(2, today=TODAY)} == {"Free"}
    plan_season(by=asked["by"], now=AT)
    picked = Pick.objects.filter(line__order__number=2)
    assert {pick.lot.variety.name for pick in picked if pick.lot} == {"Free"}
