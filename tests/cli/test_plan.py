"""`ortet plan`, as typed: what it prints, what it books, how it refuses."""

import json
import re
from datetime import UTC, datetime

import pypdfium2
import pytest
from typer.testing import CliRunner

from ortet import work
from ortet.cli import app
from ortet.ledger.models import Nursery, Plan
from tests.writing import write

from .test_commands import ortet

pytestmark = pytest.mark.django_db
WOOD = """
2027-02-05 08:00  place store North
2027-02-05 09:00  mother M1 Dusk grape
2027-02-05 09:10  mother M2 Dawn grape
2027-02-05 10:00  take M1 40 as L1
2027-02-05 11:00  bag L1 40 into K1 at North
2027-02-05 12:00  take M2 10 as L2
2027-02-05 12:30  bag L2 10 into K2 at North
"""
SECTIONS = ("How much to take", "Who gets what", "What goes on the bench", "Which day to post")


@pytest.fixture
def wished(ada):
    """A book with wood and wishes: Dusk is enough, Dawn is not."""
    write(WOOD, ada)
    ortet("order", "Tarn Mill", "Dusk=12", "--from", "2027-03-08", "--until", "2027-04-10")
    ortet("want", "Dawn", "40", "--for", "reserve")
    ortet("limit", "M2", "15")


def test_the_season_is_planned_printed_and_shown_again(wished):
    made = ortet("plan").output
    assert Plan.objects.count() == 4
    places = [made.index(title) for title in SECTIONS]
    assert places == sorted(places)
    flat = " ".join(made.split())
    assert "M2 Dawn rooting 5" in flat and "12 of L1 in K1, 8 Mar" in flat
    assert re.search(r"target 1 goes \d+ short: all 15 of Dawn", flat) and "Order 1 is held" in flat
    assert "The season as planned on 1 March 2027" in made
    assert ortet("plan", "--show").output == made and Plan.objects.count() == 4


@pytest.mark.parametrize("width", [60, 80, 120])
def test_nothing_is_cut_off_at_any_width(wished, width):
    made = CliRunner().invoke(app, ["plan"], env={"COLUMNS": str(width)}).output
    assert "…" not in made
    assert max(len(line) for line in made.splitlines()) <= width
    assert "Tarn Mill" in made and "12 of L1 in K1" in " ".join(made.split())


def test_json_holds_the_reasons_too(wished):
    said = json.loads(ortet("plan", "--json").output)
    assert {one["wish"]: one["given"] for one in said["promises"]} == {"order 1/1": 12, "target 1": 15}
    assert said["notes"]["take"]["binds"] and said["notes"]["take"]["assumed"]
    assert json.loads(ortet("plan", "--show", "--json").output) == said


def test_the_sheet_is_written_on_the_nurserys_paper(wished, tmp_path):
    made = ortet("plan", "--sheet", str(tmp_path / "season.pdf")).output
    assert "season.pdf" in "".join(made.split()) and "Who gets what" in made
    nursery = Nursery.get()
    nursery.paper = "letter"
    nursery.save()
    ortet("plan", "--show", "--sheet", str(tmp_path / "us.pdf"), "--json")
    ortet("plan", "--show", "--sheet", str(tmp_path / "a4.pdf"), "--paper", "a4")
    sizes = {}
    for path in tmp_path.iterdir():
        with pypdfium2.PdfDocument(path.read_bytes()) as sheets:
            sizes[path.stem] = [round(side / 72 * 25.4) for side in sheets[0].get_size()]
            text = " ".join(one.get_textpage().get_text_bounded() for one in sheets)
        assert "order 1/1" in text and "target 1" in text
    # ISO 216; 8.5 by 11 inches [mm]
    assert sizes == {"season": [210, 297], "us": [216, 279], "a4": [210, 297]}
    assert Plan.objects.count() == 4


def test_a_book_without_wishes_is_planned_too(ada):
    write(WOOD, ada)
    made = ortet("plan").output
    for words in ("The wood in store is enough.", "Nothing is wanted yet", "Nothing is to be set on a bench.",
                  "Nothing is to be posted."):  # fmt: skip
        assert words in made


def test_an_empty_book_has_no_plan_to_show_and_an_empty_one_can_be_made():
    assert "has not been planned yet: ortet plan" in ortet("plan", "--show", ends=1).output
    assert "Nothing is wanted yet" in ortet("plan").output


def test_wishes_that_conflict_are_named_and_nothing_is_planned(wished, ada):
    ortet("limit", "M2", "0")
    work.give_up("L2", 10, by=ada, at=datetime(2027, 2, 28, tzinfo=UTC))
    said = ortet("plan", ends=1)
    assert said.output.startswith("Refused: ") and "target 1" in said.output and "M2" in said.output
    assert not Plan.objects.exists()


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--sure", "1"], "--sure 1: give a number between 0 and 1"),
        (["--sure", "nan"], "give a number between 0 and 1"),
        (["--paper", "a9"], "--paper 'a9': say a4 or letter"),
        (["--sheet", "no/such/folder/season.pdf"], "name a file in a folder that is there"),
        (["--sheet", "."], "name a file in a folder that is there"),
        (["--as", "nobody"], "nobody of that name may write"),
    ],
)
def test_nonsense_is_refused_before_anything_is_planned(wished, words, why):
    said = ortet("plan", *words, ends=1).output
    assert said.startswith("Refused: ") and why in said
    assert not Plan.objects.exists()


def test_a_bar_runs_on_a_terminal_only(wished):
    assert ortet("plan").stderr == ""
    seen = (
        CliRunner().invoke(app, ["plan"], env={"FORCE_COLOR": "1", "TERM": "xterm", "COLUMNS": "100"}).stderr
    )
    assert "which day to post" in seen and "who gets what" in seen and "100%" in seen


def test_one_order_alone_is_shown_with_its_days(wished):
    ortet("plan")
    shown = ortet("plan", "--show", "--order", "1").output
    assert "12 of L1 in K1" in shown and "Dawn" not in shown and "12 cuttings of order 1: hold" in shown
    said = json.loads(ortet("plan", "--show", "--order", "1", "--json").output)
    assert [one["wish"] for one in said["promises"]] == ["order 1/1"] and said["cuts"] == []
    assert "no such order" in ortet("plan", "--show", "--order", "9", ends=1).output
