"""The page that finds the cuts: asked by address or by a table, nothing booked."""

import re

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse

from ortet.ledger.models import Movement
from ortet.tables.columns import template
from ortet.tables.shoots import CUTTING
from ortet.work import nursery as hands

pytestmark = pytest.mark.usefixtures("season_kept")

USUAL = {
    "cut": "1",
    "length": "1200",
    "base": "11",
    "nodes": "30",
    "variety": "Larkfield Amber",
    "grades": "common",
}
ROWS = "shoot,variety,length_mm,base_mm,tip_mm,nodes\n" + "".join(
    f"S{n},Duskwater,{900 + 30 * n},{8 + 0.3 * n:.1f},3.2,{20 + n}\n" for n in range(1, 13)
)


def page(client: Client, status: int = 200, **said: str) -> str:
    answer = client.get(reverse("cut"), said)
    assert answer.status_code == status, answer.content.decode()
    return answer.content.decode()


def test_who_may_look(book, at_desk, ben_at_desk):
    assert at_desk.get("/cut").status_code == 200
    assert ben_at_desk.get("/cut", USUAL).status_code == 200
    assert at_desk.put("/cut").status_code == 405
    assert at_desk.delete("/cut").status_code == 405
    assert Client(REMOTE_ADDR="192.0.2.1").get("/cut")["Location"].startswith(reverse("sign-in"))
    assert ben_at_desk.post("/cut", {"table": ROWS, "grades": "common"}).status_code == 403


def test_four_numbers_give_a_drawing_the_cuts_and_a_rule(book, at_desk):
    before = Movement.objects.count()
    shown = page(at_desk, **USUAL)
    for words in (
        "‘Larkfield Amber’",
        "2 rooting, 4 grafting",
        "Gauge the wood",
        "Gives up",
        "common practice",
        "235 mm",
    ):
        assert words in shown
    assert shown.count('class="band"') == 6 and shown.count('class="event"') == 30
    assert "Cut away from your hand" in shown and "Clean the blade between mother plants" in shown
    assert Movement.objects.count() == before


@pytest.mark.parametrize("paper", ["a6", "a4", "letter"])
def test_the_card_is_one_page_with_the_rule(book, at_desk, paper):
    answer = at_desk.get(reverse("cut"), USUAL | {"paper": paper})
    assert answer["Content-Type"] == "application/pdf"
    with pypdfium2.PdfDocument(answer.content) as sheets:
        assert len(sheets) == 1
        words = sheets[0].get_textpage().get_text_bounded()
    assert "Larkfield Amber" in words and "Gauge the wood" in words and "Hill Nursery" in words


def test_a_paper_that_is_not_there(book, at_desk):
    assert "say a6, a4, letter" in page(at_desk, 422, **USUAL | {"paper": "a9"})


def test_us_measures_by_the_nurserys_choice(book, at_desk):
    hands.describe(units="US")
    shown = page(at_desk, **USUAL | {"length": "4 ft", "base": "0.45"})
    assert "48 in, tip" in shown and "0.315 in or more" in shown


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"length": ""}, "This field is required"),
        ({"length": "a yard"}, "is not a length"),
        ({"nodes": "many"}, "whole number"),
        ({"tip": "14"}, "the base is the thick end"),
        ({"base": "4", "tip": "3"}, "no rule cuts a piece"),
        ({"above": "900"}, "give 0 to 200"),
        ({"grades": "pencil"}, "not one of the available choices"),
        ({"nodes": "501"}, "1 to 500"),
    ],
)
def test_what_makes_no_sense_is_said_and_what_was_typed_stays(book, at_desk, said, words):
    shown = page(at_desk, 200 if "no rule" in words else 422, **USUAL | said)
    assert words in shown and 'value="Larkfield Amber"' in shown


def test_a_pasted_table(book, at_desk):
    answer = at_desk.post(reverse("cut"), {"table": ROWS, "grades": "common"})
    shown = answer.content.decode()
    assert answer.status_code == 200
    assert "‘Duskwater’" in shown and "Shoot S1<" in shown and "Found on 12 shoots" in shown
    assert "had no part in finding it" in shown and ROWS.splitlines()[3] in shown


def test_a_file_and_grades_of_ones_own(book, at_desk):
    from django.core.files.uploadedfile import SimpleUploadedFile

    own = "grade,least_nodes,most_nodes,want_least\nstub,2,2,\nstick,4,8,20\n"
    said = {"file": SimpleUploadedFile("shoots.csv", ROWS.encode()), "own": own, "grades": "common"}
    answer = at_desk.post(reverse("cut"), said)
    assert answer.status_code == 200
    assert answer.context["plan"].counts["stick"] >= 20
    assert ROWS.splitlines()[3] in answer.content.decode()


def test_the_card_of_a_table(book, at_desk):
    answer = at_desk.post(reverse("cut"), {"table": ROWS, "grades": "common", "paper": "a4"})
    assert answer["Content-Type"] == "application/pdf"


def test_wishes_that_conflict_are_named(book, at_desk):
    own = "grade,least_nodes,want_least\nstick,4,2000\n"
    answer = at_desk.post(reverse("cut"), {"table": ROWS, "own": own, "grades": "common"})
    assert answer.status_code == 422
    assert "2000 stick cannot be cut from 12 shoots" in answer.content.decode()


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("", "Paste a table, or choose a file."),
        ("shoot,length_mm,base_mm,tip_mm,nodes\n1,1000,9,4,x\n", "line 2, nodes"),
        ("shoot,length_mm,base_mm,tip_mm,nodes\n1,1000,9,4,5\n1,1000,9,4,5\n", "the same shoot as row 2"),
        ("shoot,at_mm,diameter_mm,mark\n1,50,9,base\n", "one base, at 0"),
        ("shoot,at_mm,diameter_mm\n1,50,9\n1,100,9.5\n", ""),
        ("who,what\n1,2\n", "ortet cut --template"),
    ],
)
def test_problems_of_a_table_are_listed_by_row(book, at_desk, table, words):
    answer = at_desk.post(reverse("cut"), {"table": table, "grades": "common"})
    if words:
        assert answer.status_code == 422 and words in answer.content.decode()
    else:
        assert answer.status_code == 200


@pytest.mark.parametrize("name", CUTTING)
def test_empty_tables_come_as_they_are_declared(book, at_desk, name):
    assert at_desk.get(reverse("cut"), {"template": name}).content.decode() == template(name, CUTTING)
    assert at_desk.get(reverse("cut"), {"template": "orders"}).status_code == 404


def test_nothing_typed_reaches_the_page_as_markup(book, at_desk):
    shown = page(at_desk, **USUAL | {"variety": "<b>x</b>"})
    assert "<b>" not in shown and "&lt;b&gt;" in shown
    answer = at_desk.post(reverse("cut"), {"table": ROWS.replace("S1,", "<i>S</i>,"), "grades": "common"})
    assert "<i>" not in answer.content.decode()


def test_record_leads_here(book, at_desk):
    assert 'href="/cut"' in at_desk.get(reverse("record")).content.decode()


def test_drawings_have_names_of_their_own(book, at_desk):
    shown = at_desk.post(reverse("cut"), {"table": ROWS, "grades": "common"}).content.decode()
    keys = re.findall(r'<title id="(\S+)"', shown)
    assert len(keys) == len(set(keys)) == 12
