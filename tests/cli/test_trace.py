"""The commands that trace and recall, as typed."""

import csv
import json

import pytest
from typer.testing import CliRunner

from ortet import work
from ortet.cli import app
from tests.writing import write

pytestmark = pytest.mark.django_db

SEASON = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-05 09:00  take M1 40 as L1
    2027-01-05 09:00  take M2 20 as L2
    2027-01-20 09:00  graft L1 L2 6 as L3 in G1 on Bench
    2027-02-01 09:00  sell L3 2 from G1 to Moor
    2027-02-02 09:00  sell L1 4 from Bench to Hedge
    2027-02-03 09:00  give-up L1 1 from Bench
"""


@pytest.fixture(autouse=True)
def book(ada):
    book = write(SEASON, ada)
    work.buyer("Moor", address="=Mill Lane 4\nThornby", email="ask@moor.example")
    return book


def ortet(*words: str, ends: int = 0):
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code == ends, result.output + str(result.exception)
    return result


def test_a_trace_is_told_as_a_tree(book):
    said = " ".join(ortet("trace", "L3").output.split())
    assert f"* lot {book.lots['L3']} (L3), ‘Dusk’, 6 grafted, scion L1 on rootstock L2, 2027-01-20" in said
    assert "mother plant M1" in said and "mother plant M2" in said
    assert "Moor, 2 sold, 2027-02-01" in said and "Hedge" not in said
    assert "6 in all: 4 on hand, 2 sold." in said and 'ortet recall "lot' in said


def test_a_name_of_several_words_needs_no_quotes():
    assert "Traced: mother plant M1" in ortet("trace", "mother", "plant", "M1").output


def test_all_that_shares_its_wood():
    assert "Hedge" in ortet("trace", "L3", "--whole").output


def test_in_order_of_time_and_for_programs():
    assert "G1" in ortet("trace", "M1", "--in-order").output
    said = json.loads(ortet("trace", "M1", "--json").output)
    assert said["tally"] == {"taken": 40, "on_hand": 33, "joined": 0, "sold": 6, "given_up": 1, "lost": 0}
    assert [step["number"] for step in said["steps"]] == sorted(step["number"] for step in said["steps"])
    assert {node["kind"] for node in said["nodes"]} == {"mother", "lot", "batch", "buyer"}


def test_a_recall_is_told_with_addresses_and_what_to_stop():
    said = ortet("recall", "M1").output
    assert "2 buyers got 6 of it" in said and "Thornby" in said and "ask@moor.example" in said
    assert "no address noted" in said  # Hedge's
    assert "Still here, 33: stop these." in said
    assert json.loads(ortet("recall", "M1", "--json").output)["emails"] == ["ask@moor.example"]


def test_a_recall_is_saved_as_a_table_without_formulas(tmp_path):
    file = tmp_path / "recall.csv"
    assert "2 buyers, 6 cuttings and plants" in ortet("recall", "M1", "--csv", str(file)).output
    with file.open(newline="") as read:
        rows = list(csv.DictReader(read))
    assert [(row["buyer"], row["mark"], row["count"], row["from"]) for row in rows] == [
        ("Hedge", "L1", "4", "Bench"),
        ("Moor", "L3", "2", "G1"),
    ]
    assert rows[1]["address"] == "'=Mill Lane 4\nThornby"
    assert "price" not in rows[0]


def test_what_cannot_be_traced_is_refused(tmp_path):
    assert "Near it" in ortet("trace", "Hedgg", ends=1).output
    assert "Refused" in ortet("recall", "nothing like it", ends=1).output
    missing = ortet("recall", "M1", "--csv", str(tmp_path / "no" / "recall.csv"), ends=1).output
    assert "No such file or directory" in missing
