"""The season sheet filled from the book: every wish is named, bags stand in the order of a walk."""

import re
from datetime import date, datetime
from decimal import Decimal

import pypdfium2
import pytest

from ortet import work
from ortet.work.benches import set_up_bench
from ortet.work.nursery import describe, plan_with
from ortet.work.orders import Line, limit, order, want
from ortet.work.papers.sheet import usual_paper
from ortet.work.plan.sheet import season_sheet
from ortet.work.plan.shown import shown
from ortet.work.plan.whole import plan_season
from tests.writing import write

NOW = datetime.fromisoformat("2027-01-20T09:00+00:00")
WOOD = """
2027-01-05 08:00  place store North
2027-01-05 08:30  place store South
2027-01-05 09:00  mother M1 Dusk grape
2027-01-05 09:10  mother M2 Dawn grape
2027-01-05 10:00  take M1 60 as L1
2027-01-05 11:00  bag L1 20 into K3 at North
2027-01-05 11:10  bag L1 20 into K2 at North
2027-01-05 11:20  bag L1 20 into A1 at South
2027-01-05 12:00  take M2 10 as L2
2027-01-05 12:30  bag L2 10 into K10 at North
"""


@pytest.fixture
def planned(ada):
    write(WOOD, ada)
    work.add_place("Warm bench", "bench")
    set_up_bench("Warm bench", 100, air_c=10, heats=(24,), by=ada, at=NOW)
    plan_with(country="DE", last_frost="05-15")
    window = date(2027, 1, 25), date(2027, 1, 31)
    order("Tarn Mill", [Line("Dusk", 45, *window, price=Decimal(2))], by=ada, at=NOW)
    want("Dusk", 8, by=ada, at=NOW)
    want("Dawn", 40, by=ada, at=NOW, purpose="reserve")
    want("Dusk", 2, by=ada, at=NOW, purpose="backup")
    limit("M2", 20, by=ada, at=NOW)
    plan_season(by=ada, now=NOW)


def text_of(pdf):
    with pypdfium2.PdfDocument(pdf) as sheets:
        return " ".join(" ".join(one.get_textpage().get_text_bounded() for one in sheets).split())


def test_every_wish_is_named_with_what_it_gets(planned):
    text = text_of(season_sheet())
    for promise in shown().promises:
        assert promise.wish in text and promise.who in text
    assert "Goes short" in text and "M2" in text and "Warm bench" in text and "24 °C" in text
    assert "To be kept back, not given away: 2 Dusk" in text


def test_bags_stand_in_the_order_of_a_walk(planned):
    """North before South; K2 or K3 before K10, as a person counts."""
    week = text_of(season_sheet()).partition("week of 25 January 2027")[2].partition("Set on the benches")[0]
    walk = re.findall(r"K\d+ North|A1 South|take from M\d", week.replace("K3", "K2"))
    assert list(dict.fromkeys(walk)) == [
        "K2 North",
        "K10 North",
        "A1 South",
        "take from M1",
        "take from M2",
    ]


def test_where_us_units_are_used_it_is_letter_with_the_month_first(planned):
    assert usual_paper(describe(units="US")) == "letter"
    pdf = season_sheet()
    with pypdfium2.PdfDocument(pdf) as sheets:
        assert sheets[0].get_size() == pytest.approx((8.5 * 72, 11 * 72), abs=0.1)
    text = text_of(pdf)
    assert "planned January 20, 2027" in text and "75.2 °F" in text


def test_without_a_plan_nothing_is_printed(db):
    with pytest.raises(work.Refused, match="not been planned"):
        season_sheet()
