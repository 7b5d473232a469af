"""Charts: what is drawn lies where its numbers say, and the numbers can be read without seeing it."""

import re
from datetime import UTC, datetime
from itertools import pairwise
from xml.etree import ElementTree
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.pages.chart import (
    BOTTOM,
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    Chart,
    Limit,
    day_ticks,
    svg,
    table,
    value_ticks,
)

PRAGUE = ZoneInfo("Europe/Prague")
FIRST = 500_000.0  # hours since 1970: 2027-01-15 08:00 UTC


def straight(days: int = 60, **more) -> Chart:
    """Return a chart that rises from 0 to 1 in a straight line, with a band of a tenth either way."""
    middle = np.linspace(0, 1, days + 1)
    usual = {
        "key": "c",
        "title": "Water lost",
        "says": "Now 50 %.",
        "at": FIRST + 24.0 * np.arange(days + 1),
        "middle": middle,
        "low": middle - 0.1,
        "high": middle + 0.1,
        "unit": " %",
        "scale": 100.0,
    }
    return Chart(**(usual | more))


def drawn(chart: Chart) -> ElementTree.Element:
    return ElementTree.fromstring(svg(chart, PRAGUE))


def path(root: ElementTree.Element, kind: str) -> list[tuple[float, float]]:
    line = next(e for e in root.iter("path") if e.get("class") == kind)
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", line.get("d"))]


def test_it_has_a_title_and_a_sentence_that_are_read_out():
    root = drawn(straight())
    ids = root.get("aria-labelledby").split()
    said = {e.get("id"): e.text for e in root if e.tag in ("title", "desc")}
    assert root.get("role") == "img"
    assert [said[id] for id in ids] == ["Water lost", "Now 50 %."]


def test_a_straight_line_is_drawn_straight_from_edge_to_edge():
    line = path(drawn(straight()), "middle")
    x, y = np.array(line).T
    assert (x[0], x[-1]) == (LEFT, WIDTH - RIGHT)
    assert np.allclose(np.diff(y), (y[-1] - y[0]) / 60, atol=0.11)
    assert y[-1] < y[0]  # more is higher up


def test_a_limit_lies_where_the_line_meets_it():
    root = drawn(straight(limits=[Limit(0.5, "limit 50 %")]))
    line = path(root, "middle")
    limit = next(e for e in root.iter("path") if e.get("class") == "limit")
    height = float(re.match(r"M\d+ ([\d.]+)", limit.get("d"))[1])
    assert line[30][1] == pytest.approx(height, abs=0.11)
    assert any(e.text == "limit 50 %" for e in root.iter("text"))


def test_a_limit_above_all_values_is_still_on_the_sheet():
    root = drawn(straight(limits=[Limit(3.0, "limit")]))
    limit = next(e for e in root.iter("path") if e.get("class") == "limit")
    assert TOP - 1 <= float(re.match(r"M\d+ ([\d.]+)", limit.get("d"))[1]) <= HEIGHT - BOTTOM


def test_past_and_future_meet_at_today():
    root = drawn(straight(now=FIRST + 24 * 20 + 7))
    past, ahead = path(root, "middle"), path(root, "middle ahead")
    assert past[-1] == ahead[0]
    assert len(past) + len(ahead) == 61 + 1
    assert any(e.text == "today" for e in root.iter("text"))


def test_where_nothing_is_known_nothing_is_drawn():
    middle = np.linspace(0, 1, 61)
    middle[20:30] = np.nan
    root = drawn(straight(middle=middle, low=None, high=None))
    line = next(e for e in root.iter("path") if e.get("class") == "middle").get("d")
    assert line.count("M") == 2 and line.count("L") == 51 - 2
    assert "not recorded" in {row[2] for row in table(straight(middle=middle, low=None, high=None), PRAGUE)}


def test_all_unknown_draws_an_empty_sheet():
    assert path(drawn(straight(middle=np.full(61, np.nan), low=None, high=None)), "middle") == []


def test_a_long_record_keeps_its_extremes_and_becomes_small():
    air = np.full(8760, 3.0)
    air[4321] = 19.0
    chart = Chart("t", "Temperature", "", FIRST + np.arange(8760.0), air)
    text = svg(chart, PRAGUE)
    assert len(text) < 20_000
    _, y = np.array(path(ElementTree.fromstring(text), "band")).T
    assert y.min() == pytest.approx(TOP + (HEIGHT - TOP - BOTTOM) * 0.06 / 1.12, abs=0.2)


def test_words_are_shown_as_text():
    text = svg(straight(title="<b>x</b>", limits=[Limit(0.2, "<i>")]), PRAGUE)
    assert "<b>" not in text and "<i>" not in text
    ElementTree.fromstring(text)


def test_the_table_has_first_last_and_no_more_than_fourteen_rows():
    rows = table(straight(), PRAGUE)
    assert len(rows) == 14
    assert rows[0][1:] == ("-10 %", "0 %", "10 %")
    assert rows[-1][1:] == ("90 %", "100 %", "110 %")
    assert len(table(straight(days=3), PRAGUE)) == 4


def test_days_begin_at_the_growers_midnight_also_when_clocks_change():
    """Clocks in Prague go forward on 28 March 2027 (EU Directive 2000/84/EC: last Sunday of March)."""
    spring = datetime(2027, 3, 26, 21, tzinfo=UTC).timestamp() / 3600
    ticks = day_ticks(spring, spring + 96, PRAGUE)
    assert [name for _, name in ticks] == ["27 Mar", "28 Mar", "29 Mar", "30 Mar"]
    assert [b - a for (a, _), (b, _) in pairwise(ticks)] == [24, 23, 24]


def test_days_in_utc():
    assert [name for _, name in day_ticks(FIRST, FIRST + 60 * 24, UTC)] == [
        "16 Jan",
        "30 Jan",
        "13 Feb",
        "27 Feb",
        "13 Mar",
    ]


@given(
    st.floats(-1e4, 1e4),
    st.floats(1e-3, 1e4),
)
def test_value_ticks_are_round_few_and_inside(low, width):
    ticks = value_ticks(low, low + width)
    assert 1 <= len(ticks) <= 6
    assert all(low - width * 1e-6 <= tick <= low + width * (1 + 1e-6) for tick in ticks)
    if len(ticks) > 1:
        step = ticks[1] - ticks[0]
        lead = step / 10 ** np.floor(np.log10(step * 1.0000001))
        assert min(abs(lead - round_one) for round_one in (1, 2, 5, 10)) < 1e-3


def test_what_is_good_to_reach_is_not_drawn_as_a_danger():
    root = drawn(straight(limits=[Limit(0.8, "ready 80 %", is_good=True), Limit(0.5, "limit 50 %")]))
    lines = [e.get("class") for e in root.iter("path") if "limit" in e.get("class", "")]
    assert lines == ["limit good", "limit"]
