"""`ortet cut`, as typed."""

import json

import pypdfium2
import pytest
from typer.testing import CliRunner

from ortet.cli import app

pytestmark = pytest.mark.django_db
USUAL = ["--length", "120cm", "--base", "11mm", "--nodes", "30", "--variety", "Larkfield Amber"]
ROWS = "shoot,length_mm,base_mm,tip_mm,nodes,alike\nA,1180,11,3,29,3\nB,960,9,3,24,1\n"


def ortet(*words: str, ends: int = 0) -> str:
    result = CliRunner().invoke(app, ["cut", *map(str, words)])
    assert result.exit_code == ends, result.output + str(result.exception)
    return result.output


def test_a_usual_shoot():
    said = " ".join(ortet(*USUAL).split())
    for words in (
        "1 shoot: 2 rooting, 4 grafting; worth 6, the best there is.",
        "Rule of thumb for ‘Larkfield Amber’, found on 25 shoots",
        "8 mm or more, count 5 nodes: rooting; thinner, count 3 nodes: grafting",
        "Gives up 2.2 %",
        "common practice",
    ):
        assert words in said


def test_a_table_with_wishes_and_a_card(tmp_path):
    shoots, grades, card = tmp_path / "s.csv", tmp_path / "g.csv", tmp_path / "card.pdf"
    shoots.write_text(ROWS)
    grades.write_text("grade,least_nodes,most_nodes,want_least,value\nshort,2,3,20,1\nlong,4,6,,3\n")
    said = ortet(shoots, "--grades", grades, "--card", card, "--paper", "letter")
    assert "4 shoots: 20 short" in said and "short: wanted 20 at least" in said and "Shoot A" in said
    with pypdfium2.PdfDocument(card.read_bytes()) as sheets:
        assert sheets[0].get_size() == pytest.approx((8.5 * 72, 11 * 72), abs=0.1)


def test_json_for_programs():
    said = json.loads(ortet(*USUAL, "--json"))
    assert said["counts"] == {"rooting": 2, "grafting": 4} and said["gap"] == 0
    (shoot,) = said["shoots"]
    assert [piece["grade"] for piece in shoot["pieces"]] == ["rooting"] * 2 + ["grafting"] * 4
    assert shoot["dropped"][0]["nodes"] == 6 and said["rules"][0]["steps"]


def test_a_saw_takes_its_part():
    knife = json.loads(ortet(*USUAL, "--json"))["shoots"][0]["pieces"]
    saw = json.loads(ortet(*USUAL, "--kerf", "25mm", "--json"))["shoots"][0]["pieces"]
    assert saw[0]["to_mm"] < knife[0]["to_mm"] or saw[1]["from_mm"] > saw[0]["to_mm"] + 25 - 1e-6


@pytest.mark.parametrize("name", ["shoots", "nodes", "grades"])
def test_an_empty_table(name):
    assert "," in ortet("--template", name)


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ([], "Name a CSV"),
        (["--length", "1m"], "Name a CSV"),
        (["nowhere.csv"], "no file nowhere.csv"),
        ([*USUAL, "--grades", "nowhere.csv"], "no file nowhere.csv"),
        (["--template", "lots"], "say shoots, nodes, grades"),
    ],
)
def test_words_that_do_not_go_together(words, why):
    assert why in " ".join(ortet(*words, ends=2).replace("│", " ").split())


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ([*USUAL, "--grades", "pencil"], "say common, eu-vine, wa-grape"),
        ([*USUAL, "--tip", "2cm"], "the base is the thick end"),
        ([*USUAL, "--above", "3m"], "give 0 to 200"),
        (["--length", "long", "--base", "9mm", "--nodes", "9"], "is not a length"),
    ],
)
def test_nonsense_is_refused_in_one_sentence(words, why):
    said = ortet(*words, ends=1)
    assert said.startswith("Refused: ") and why in said


def test_problems_of_a_table_are_listed_by_row(tmp_path):
    shoots = tmp_path / "s.csv"
    shoots.write_text(ROWS.replace("1180", "").replace("960", "long"))
    said = ortet(shoots, ends=1)
    assert 's.csv, row 2, "length_mm": is empty.' in said and "row 3" in said and "2 problems" in said


def test_wishes_that_conflict(tmp_path):
    shoots, grades = tmp_path / "s.csv", tmp_path / "g.csv"
    shoots.write_text(ROWS)
    grades.write_text("grade,least_nodes,want_least\nlong,4,200\n")
    assert "200 long cannot be cut from 4 shoots. Ask for" in ortet(shoots, "--grades", grades, ends=1)


def test_a_paper_that_is_not_there(tmp_path):
    card = tmp_path / "card.pdf"
    assert "say a6, a4, letter" in ortet(*USUAL, "--card", card, "--paper", "a9", ends=1)
    assert not card.exists()


def test_scions_and_stocks_are_paired(tmp_path):
    scions, stocks = tmp_path / "scions.csv", tmp_path / "stocks.csv"
    scions.write_text("piece,diameter_mm\nS1,8.2\nS2,7.6\nS3,5\n")
    stocks.write_text("piece,diameter_in\nR1,0.3\nR2,0.32\n")
    done = CliRunner().invoke(app, ["match", str(scions), str(stocks)])
    said = " ".join(done.output.split())
    assert "2 pairs" in said and "Scions left: S3 (5 mm)." in said
    assert said.index("S2") < said.index("R1") < said.index("S1") < said.index("R2")
    done = CliRunner().invoke(app, ["match", str(scions), str(stocks), "--thinner", "3mm", "--json"])
    assert len(json.loads(done.output)["pairs"]) == 2
    scions.write_text("piece,diameter_mm\nS1,8.2\nS1,0\n")
    done = CliRunner().invoke(app, ["match", str(scions), str(stocks)])
    assert done.exit_code == 1 and "Nothing was reckoned: " in done.stderr and "row 3" in done.stderr
    assert "no file" in CliRunner().invoke(app, ["match", "gone.csv", str(stocks)]).stderr
