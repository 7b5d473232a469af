"""Trace and recall: who may look, what is shown, drawn and saved."""

import csv
import io
import re

import pytest
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.pages.views.trace_across import MOST
from tests.writing import write

pytestmark = pytest.mark.usefixtures("season_kept")

SEASON = """
    2027-01-04 08:00  place ground Yard
    2027-01-20 09:00  strike L1 8 from Bench as S1 on Shelf
    2027-01-21 09:00  graft L1 L3 2 as L4 in G1 on Shelf
    2027-02-01 09:00  pot S1 5 to Yard
    2027-02-02 09:00  sell L1 3 from Yard to Hedge
    2027-02-02 10:00  sell L4 1 from G1 to Moor
"""


@pytest.fixture
def grown(book, ada):
    write(SEASON, ada)
    work.buyer("Hedge", address="<b>Mill</b> Lane 4\nThornby", email="ask@hedge.example")
    return book


@pytest.mark.parametrize(
    "path", ["/trace", "/trace?code=L1", "/trace/recall?code=L1", "/trace/recall.csv?code=L1"]
)
def test_who_may_look(grown, at_desk, ben_at_desk, path):
    assert at_desk.get(path).status_code == 200
    assert ben_at_desk.get(path).status_code == 200
    for method in (at_desk.post, at_desk.put, at_desk.delete):
        assert method(path).status_code == 405
    stranger = Client(REMOTE_ADDR="192.0.2.1").get(path)
    assert stranger.status_code == 302 and stranger["Location"].startswith(reverse("sign-in"))


def test_ben_is_offered_no_deed(grown, ben_at_desk):
    for path in ("/trace?code=L1", "/trace/recall?code=L1"):
        assert "/do/" not in ben_at_desk.get(path).content.decode()


def test_the_drawings_and_the_lists_hold_the_same(grown, at_desk):
    answer = at_desk.get("/trace", {"code": "M1"})
    page = answer.content.decode()
    down, across = (
        re.search(rf'<svg class="{name}".*?</svg>', page, re.DOTALL)[0] for name in ("down", "across")
    )
    for word in ("L1", "L3", "L4", "batch S1", "batch G1", "Yard", "Hedge", "Moor", "M1", "M2"):
        assert word in down and word in across, word
    assert down.count('class="thing') == len(answer.context["traced"].rows) == page.count('<li class="deep-')
    assert across.count('class="thing') == len(answer.context["traced"].nodes)
    assert across.count('class="stream') == len(answer.context["traced"].flows)
    assert "40 in all: 36 on hand, 4 sold." in page
    assert page.count("movement ") >= len(answer.context["traced"].steps)


def test_boxes_do_not_lie_on_each_other(grown, at_desk):
    page = at_desk.get("/trace", {"code": "M1"}).content.decode()
    boxes = [
        tuple(map(float, found))
        for found in re.findall(
            r'class="box" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"', page
        )
    ]
    assert len(boxes) > 8
    for number, (x, y, width, height) in enumerate(boxes):
        assert y >= 0
        for x2, y2, _, _ in boxes[number + 1 :]:
            assert abs(x - x2) >= width or abs(y - y2) >= height


def test_of_more_than_a_drawing_can_show_the_rows_are_left(grown, at_desk, monkeypatch):
    monkeypatch.setattr("ortet.pages.views.trace_across.MOST", 3)
    page = at_desk.get("/trace", {"code": "M1"}).content.decode()
    assert MOST > 3 and 'class="across"' not in page and '<svg class="down"' in page


def test_a_recall_lists_buyers_what_to_stop_and_a_letter_to_all(grown, at_desk):
    page = at_desk.get("/trace/recall", {"code": "L1"}).content.decode()
    assert "To be told: 2 buyers, 4 cuttings and plants" in page
    assert "&lt;b&gt;Mill&lt;/b&gt; Lane 4<br>Thornby" in page
    assert "mailto:?bcc=ask@hedge.example&amp;subject=" in page
    assert "No address is noted" in page  # Moor's
    assert "Still here: stop these" in page and "plant-health authority" in page


def test_the_file_holds_what_the_recall_lists(grown, at_desk):
    answer = at_desk.get("/trace/recall.csv", {"code": "L1"})
    assert answer["Content-Disposition"] == 'attachment; filename="recall.csv"'
    rows = list(csv.DictReader(io.StringIO(answer.content.decode())))
    assert [(row["buyer"], row["mark"], row["count"]) for row in rows] == [
        ("Hedge", "L1", "3"),
        ("Moor", "L4", "1"),
    ]


def test_all_that_shares_its_wood_is_one_press_away(grown, at_desk):
    page = at_desk.get("/trace", {"code": "L4"}).content.decode()
    assert "Hedge" not in page
    again = re.search(r'href="\?(code=lot[^"]+whole=1)"', page)[1].replace("&amp;", "&")
    assert "sold to Hedge" in at_desk.get(f"/trace?{again}").content.decode()


def test_one_name_for_several_things_is_asked_back(grown, at_desk, ada):
    write("2027-02-03 09:00  take M2 2 as K1", ada)
    answer = at_desk.get("/trace", {"code": "K1"})
    assert answer.status_code == 422
    choices = re.findall(r'class="quiet" href="\?(code=[^"]+)"', answer.content.decode())
    assert len(choices) == 2
    assert {at_desk.get(f"/trace?{choice}").status_code for choice in choices} == {200}


@pytest.mark.parametrize(
    ("code", "status"),
    [("nothing like it", 404), ("<script>", 404), ("x" * 5000, 404), ("", 200), ("lot", 404)],
)
def test_what_is_not_in_the_book(grown, at_desk, code, status):
    for path in ("/trace", "/trace/recall", "/trace/recall.csv"):
        answer = at_desk.get(path, {"code": code})
        assert answer.status_code == status
        assert "<script>" not in answer.content.decode() and 'name="code"' in answer.content.decode()


def test_nothing_sold_says_so(grown, at_desk):
    page = at_desk.get("/trace/recall", {"code": "K3"}).content.decode()
    assert "Nobody got any of it" in page
    assert "gives none of it to anybody" in page


def test_lots_mothers_and_places_lead_to_their_trace(grown, at_desk):
    for path, code in (
        (reverse("lot", args=[grown.lot.code]), grown.lot.code),
        ("/mothers/M1", grown.mothers["M1"].place.code),
        (reverse("place", args=[grown.places["K1"].code]), grown.places["K1"].code),
    ):
        page = at_desk.get(path).content.decode()
        assert f'href="/trace?code={code}"' in page
        assert at_desk.get(f"/trace?code={code}").status_code == 200
