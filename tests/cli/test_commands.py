"""The commands, as typed: what they print, what they book, how they end."""

import json

import pytest
from typer.testing import CliRunner

from ortet.cli import app
from ortet.ledger.booking import count_in
from ortet.ledger.models import Lot, Movement, Nursery, Treatment, Weighing

pytestmark = pytest.mark.django_db


def ortet(*words: str, ends: int = 0):
    result = CliRunner().invoke(app, list(words))
    assert result.exit_code == ends, result.output + str(result.exception)
    return result


def test_from_nothing_to_a_bag_that_is_forecast():
    ortet("nursery", "--name", "Hill nursery", "--zone", "Europe/Prague")
    assert "‘Dusk’" in ortet("add-mother", "M1", "Dusk", "blackcurrant", "--site", "Hill").output
    ortet("add-place", "North")
    taken = ortet(
        "take", "M1", "40", "--mark", "A1", "--length", "20cm", "--base", "8mm", "--at", "2027-01-05T10:00"
    )
    assert "40 cuttings of ‘Dusk’ on Bench" in taken.output
    ortet("bag", "A1=30", "--store", "North", "--name", "K1", "--tare", "18g", "--at", "2027-01-05T11:00")
    ortet("weigh", "K1", "330g", "--at", "2027-01-05T11:05")
    ortet("inspect", "K1", "--scratch", "4/5", "--water", "droplets", "--at", "2027-01-20")
    ortet("inspect", "K1", "--callused", "6/10", "--roots", "0/10", "--at", "2027-01-20T09:00")
    assert "Caution" in ortet("treat", "K1", "disinfect", "--at", "2027-01-21").output
    assert "Noted about K1." in ortet("note", "labels faded", "--place", "K1", "--at", "2027-01-21").output
    ortet("stand", "K1", "North", ends=1)
    ortet("move", "A1", "2", "--from", "Bench", "--to", "K1", "--at", "2027-01-21")
    ortet("split", "A1", "3", "--from", "K1", "--mark", "A1b", "--at", "2027-01-22")
    gone = ortet("give-up", "A1", "1", "--from", "K1", "--note", "mouldy", "--at", "2027-01-23")
    number = int(gone.output.split()[1].rstrip(":"))
    assert (
        f"reverses {number}"
        in ortet("correct", str(number), "--note", "it was sound", "--at", "2027-01-24").output
    )
    assert "The account holds: 40 taken = 40 on hand + 0 given up + 0 not found." in ortet("check").output
    today = ortet("today").output
    assert "Hill nursery" in today
    assert "40 cuttings in 2 lots kept" in today
    one = ortet("lot", "A1").output
    assert "Water lost" in one
    assert "scratch test 4 green of 5" in one
    assert "callus on 6 of 10, roots on 0 of 10" in one
    raced = ortet("race", "A1", "--base", "20C", "--air", "10C")
    assert "Chill so far" in raced.output and "half rooted" in raced.output


def test_a_race_of_a_kind_is_told_to_programs():
    said = json.loads(ortet("race", "grape", "--base", "26C", "--air", "8C", "--json").output)
    assert said["kind"] == "grape" and said["base_c"] == 26 and said["too_early"][1] < 0.01
    assert len(said["days"]) == len(said["leafed"]) and said["roots"][0] < said["roots"][1] < said["roots"][2]


def test_times_are_read_in_the_nurserys_zone():
    ortet("nursery", "--zone", "America/Denver")
    ortet("add-mother", "M1", "Dusk", "blackcurrant")
    ortet("take", "M1", "4", "--mark", "A1", "--at", "2027-01-05T10:00")
    assert Lot.objects.get().taken_at.isoformat() == "2027-01-05T17:00:00+00:00"


def test_us_units_by_choice(full_book):
    ortet("nursery", "--units", "US")
    ortet("weigh", "K1", "1 lb 3 oz", "--at", "2027-02-01")
    assert Weighing.objects.latest("at").gross_g == pytest.approx(453.59237 + 3 * 28.349523125)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["give-up", "L3", "99", "--at", "2027-02-01"], "99 of lot"),
        (["weigh", "K1", "heavy"], "is not a weight"),
        (["weigh", "K1", "3110g", "--at", "2027-02-01"], "Is a digit or the unit wrong"),
        (["correct", "1", "--note", "x", "--at", "2027-02-01"], "the rest has moved on"),
        (["take", "M1", "3", "--at", "yesterday"], "write 2027-01-15"),
        (["take", "M1", "3", "--use", "firewood"], "rooting or grafting"),
        (["take", "M1", "3", "--as", "nobody"], "nobody"),
        (["inspect", "K1", "--scratch", "4"], "green/scratched"),
        (["inspect", "K1", "--roots", "some"], "rooted/looked at"),
        (["bag", "L3=x", "--store", "North"], "LOT=COUNT"),
        (["race", "nothing"], "no lot"),
        (["race", "grape", "--on", "soon"], "write a day like"),
        (["race", "grape", "--base", "hot"], "is not a temperature"),
        (["race", "grape", "--chill", "nan"], "0 to 400 portions"),
        (["split", "L3", "0"], "at least 1 moves"),
        (["bag", "L3=²", "--store", "North"], "LOT=COUNT"),
        (["bag", "L3", "--store", "North", "--width", "0"], "that is no bag"),
        (["lot", "ZZZZ"], "no lot marked"),
        (["take", "M1", "3", "--at", "2999-01-01"], "still to come"),
        (["take", "M1", "3", "--at", "0001-01-01"], "since 1950"),
        (["correct", "9999", "--note", "x"], "no movement 9999"),
        (["nursery", "--zone", "Middle/Earth"], "not a time zone"),
        (["nursery", "--units", "cubits"], "metric or US"),
        (["nursery", "--address", "https://shed.example/ortet"], "without a path"),
        (["nursery", "--address", "shed"], "starts with http"),
        (["lots", "--sort", "luck"], "say day, variety, count, lot"),
    ],
)
def test_a_refusal_is_one_sentence_exit_code_1_and_nothing_booked(full_book, words, said):
    before = Movement.objects.count(), Weighing.objects.count(), Treatment.objects.count()
    result = ortet(*words, ends=1)
    assert result.output.startswith("Refused: ")
    assert said in result.output
    assert "Traceback" not in result.output
    assert (Movement.objects.count(), Weighing.objects.count(), Treatment.objects.count()) == before


@pytest.mark.parametrize("words", [["load"], ["match", "y" * 300], ["receive", "Someone", "--slip"], ["cut"]])
def test_a_name_too_long_for_a_file_is_a_sentence(words):
    assert "File name too long. Nothing was booked." in ortet(*words, "x" * 3000, ends=1).output


@pytest.mark.parametrize(
    "words", [["fly"], ["take"], ["load"], ["load", "nosuch.csv"], ["load", "--template", "poems"]]
)
def test_a_command_that_is_not_understood_ends_with_2(words):
    ortet(*words, ends=2)


def test_json_for_programs(full_book):
    lots = json.loads(ortet("lots", "--json").output)
    assert {lot["mark"]: lot["on hand"] for lot in lots} == {
        "L1": 31,
        "L2": 8,
        "L3": 18,
        "R1": 6,
        "W1": 6,
        "W3": 3,
    }
    assert {row["accession"]: row["taken"] for row in json.loads(ortet("mothers", "--json").output)} == {
        "M1": 53,
        "M2": 23,
    }
    assert "K1" in [row["place"] for row in json.loads(ortet("places", "--json").output)]
    assert json.loads(ortet("check", "--json").output)["holds"] is True
    today = json.loads(ortet("today", "--json").output)
    assert (today["lots"], today["cuttings"]) == (4, 63)
    assert all(task["act"] and task["reason"] for task in today["tasks"])
    assert json.loads(ortet("lot", "L1", "--json").output)["where"] == {"K1": 29, "Bench": 1, "K2": 1}


def test_check_ends_with_1_when_the_book_does_not_hold(full_book):
    from django.db import connection

    from ortet.ledger import guard

    guard.remove(connection)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE ledger_balance SET count = count + 1 WHERE count = 8")
    guard.install(connection)
    assert "the balance says 9" in ortet("check", ends=1).output


def test_a_book_whose_guard_is_gone_books_nothing_until_it_is_mended(full_book):
    from django.db import connection

    from ortet.ledger import guard

    guard.remove(connection)
    assert "guard is not complete" in ortet("give-up", "L3", "1", "--at", "2027-02-01", ends=1).output
    assert "guard_movement_no_update" in ortet("check", ends=1).output
    ortet("mend-guard")
    ortet("give-up", "L3", "1", "--at", "2027-02-01")
    assert count_in(full_book.lots["L3"], full_book.bench) == 17


def test_load_prints_each_problem_with_row_and_remedy_and_ends_with_1(tmp_path):
    file = tmp_path / "lots.csv"
    file.write_text("lot,accession,taken,count\nA1,M-1,2026-12-01,-4\n")
    said = ortet("load", str(file), ends=1).output
    assert 'lots.csv, row 2, "count"' in said
    assert "Nothing was loaded" in said


def test_templates_are_printed_ready_to_fill():
    assert ortet("load", "--template", "lots").output.startswith("lot,accession,taken,count")


def test_a_second_hand_needs_the_growers_password_first():
    said = CliRunner().invoke(app, ["add-hand", "ada"], input="three-dry-sticks\nthree-dry-sticks\n")
    assert "ortet set-password" in said.output
    set_ = CliRunner().invoke(app, ["set-password"], input="nine-wet-sticks\nnine-wet-sticks\n")
    assert set_.exit_code == 0, set_.output
    added = CliRunner().invoke(
        app, ["add-hand", "ben", "--only-read"], input="three-dry-sticks\nthree-dry-sticks\n"
    )
    assert "ben may read" in added.output


def test_the_nursery_is_shown_and_described():
    assert "zone       UTC" in ortet("nursery").output
    ortet("nursery", "--address", "https://shed.example/")
    assert Nursery.get().address == "https://shed.example"
