"""The batches by command: struck, grafted, counted, potted, sold, listed."""

import json

import pytest

from tests.cli.test_commands import ortet

pytestmark = pytest.mark.django_db


@pytest.fixture
def struck(db):
    """Twenty of lot A1 struck, and eight of B1 to graft on."""
    ortet("add-mother", "M1", "Dusk", "blackcurrant", "--right", "PBR 1234")
    ortet("add-mother", "M2", "Lantern", "gooseberry")
    ortet("add-place", "Warm", "--kind", "bench")
    ortet("add-place", "Yard", "--kind", "ground")
    ortet("take", "M1", "40", "--mark", "A1", "--base", "8mm", "--tip", "6mm", "--at", "2027-01-05")
    ortet("take", "M2", "8", "--mark", "B1", "--base", "8mm", "--tip", "5mm", "--at", "2027-01-05")
    how = ("--heat", "22C", "--treatment", "none", "--medium", "sand", "--tray", "T1", "--wounded")
    return ortet("strike", "A1", "20", "--bench", "Warm", *how, "--at", "2027-01-10").output


def test_a_season_of_batches_by_command(struck):
    assert "Batch S1: 20 of lot" in struck
    assert "PBR 1234" in struck and "Heated mats" in struck
    grafted = ortet("graft", "A1", "B1", "5", "--bench", "Warm", "--mark", "G", "--at", "2027-01-10").output
    assert "Batch G1: 5 grafts" in grafted and "3.0 mm thicker" in grafted
    counted = ortet(
        "count", "S1", "--rooted", "9", "--dead", "2", "--give-up-dead", "--at", "2027-02-10"
    ).output
    assert "counted in S1: 9 rooted, 2 dead. The 2 dead are given up." in counted
    assert "9 rooted on 10 Feb" in ortet("count", "S1", "--rooted", "3", "--at", "2027-02-11", ends=1).output
    assert "9 of lot" in ortet("pot", "S1", "--to", "Yard", "--at", "2027-02-12").output
    ortet(
        "order", "Tarn Mill", "Dusk=4", "--from", "2027-02-15", "--until", "2027-03-15", "--at", "2027-02-12"
    )
    at = ("--at", "2027-02-20")
    assert (
        "Ask the rights holder"
        in ortet("sell", "A1", "4", "--from", "Yard", "--order", "1", *at, ends=1).output
    )
    ortet("warrant", "Dusk", "licence", "of the holder of PBR 1234", "--at", "2027-02-12")
    sold = ortet("sell", "A1", "4", "--from", "Yard", "--order", "1", "--at", "2027-02-20").output
    assert "4 of lot" in sold and "sold to Tarn Mill" in sold and "ortet buyer 'Tarn Mill'" in sold
    assert "Mill Lane" in ortet("buyer", "Tarn Mill", "--address", "Mill Lane 3").output
    assert "Batch S1 stands on Bench" in ortet("stand", "S1", "Bench", "--at", "2027-02-21").output
    assert (
        "The account holds: 48 taken = 37 on hand + 5 one with another by grafting + 4 sold"
        in ortet("check").output
    )


def test_batches_are_listed_for_people_and_for_programs(struck):
    table = ortet("batches").output
    assert all(word in table for word in ("S1", "Dusk", "Warm", "2027-01-10", "20"))
    assert "No batch fits" in ortet("batches", "attic").output
    ortet("count", "S1", "--rooted", "9", "--at", "2027-02-10")
    (batch,) = json.loads(ortet("batches", "t1", "--json").output)
    told = {name: batch[name] for name in ("struck", "rooted", "here", "is_wounded", "base_c", "is_finished")}
    assert told == {
        "struck": 20,
        "rooted": 9,
        "here": 20,
        "is_wounded": True,
        "base_c": 22.0,
        "is_finished": False,
    }
    assert batch["counts"][0]["of"] == 20
    ortet("give-up", "A1", "--from", "S1", "--at", "2027-02-11")
    assert "No batch stands yet" in ortet("batches").output
    assert "S1" in ortet("batches", "--all").output


def test_a_batchs_label_is_printed_by_its_name(struck, tmp_path):
    pdf = tmp_path / "tray.pdf"
    ortet("labels", "S1", "--out", str(pdf))
    assert pdf.read_bytes().startswith(b"%PDF")
    ortet("labels", "S9", ends=1)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("strike", "A1", "5", "--bench", "Wram"), "no bench called 'Wram'"),
        (("strike", "A1", "5", "--bench", "Warm", "--heat", "warm"), "not a temperature"),
        (("graft", "A1", "A1", "5", "--bench", "Warm"), "scion and stock in one"),
        (("count", "S1"), "Nothing was counted in S1"),
        (("pot", "S1", "--to", "Yard"), "say how many"),
        (("sell", "A1", "1", "--from", "Bench"), "Sold to whom?"),
        (("sell", "A1", "1", "--from", "Bench", "--to", "Mill", "--price", "dear"), "write an amount"),
        (("buyer", "Mill", "--email", "mill"), "Email"),
        (("batches", "--sort", "moon"), "say day, name"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(struck, words, sentence):
    assert sentence in ortet(*words, ends=1).output
