"""Papers by command: each writes the PDF it names, and refuses in one sentence what it may not print."""

import json
from pathlib import Path

import pytest

from tests.cli.test_commands import ortet
from tests.paper.reading import codes, pages

pytestmark = pytest.mark.django_db


@pytest.fixture
def packed(db, tmp_path, monkeypatch):
    """Six of ten of Dusk are packed."""
    monkeypatch.chdir(tmp_path)
    ortet(
        "nursery",
        "--country",
        "NL",
        "--letterhead",
        "Hill Nursery; 7 Kiln Lane",
        "--contact",
        "post@hill.example",
    )
    ortet("add-place", "North")
    ortet("add-mother", "M1", "Dusk", "blackcurrant")
    ortet("take", "M1", "15", "--mark", "L1", "--at", "2027-02-01T09:00")
    ortet("bag", "L1=12", "--name", "K1", "--store", "North", "--at", "2027-02-01T10:00")
    ortet("order", "Hedge", "Dusk=10", "--until", "2027-03-06", "--from", "2027-03-01", "--price", "1.50")
    ortet("buyer", "Hedge", "--address", "Tithe Barn 2")
    ortet("pack", "1/1", "L1", "6", "--lot", "L1", "--from", "K1")


def text_of(name: str) -> str:
    return " ".join(pages(Path(name).read_bytes()))


def test_each_paper_is_written_where_it_says(packed):
    assert "letterhead Hill Nursery; 7 Kiln Lane" in ortet("nursery").output
    assert "pick-list-1.pdf" in ortet("pick-list", "--order", "1").output
    assert "Pick list, order 1" in text_of("pick-list-1.pdf")
    ortet("packing-slip", "1", "--prices", "--paper", "letter")
    assert "EUR 9.00" in text_of("packing-slip-1.pdf") and "7 Kiln Lane" in text_of("packing-slip-1.pdf")
    ortet("address-label", "1", "--out", "to.pdf")
    assert "Hedge Tithe Barn 2" in text_of("to.pdf")
    ortet("advise", "L1=3", "--to", "FR")
    assert "3 cuttings of 1 lot." in text_of("advice.pdf")
    assert "advice-1.pdf" in ortet("advise", "--parcel", "1", "--link").output
    assert "/r/" in codes(Path("advice-1.pdf").read_bytes())[0]
    (told,) = json.loads(ortet("advise", "--parcel", "1", "--json").output)
    assert told["count"] == 6 and told["set_by"] and "Root" in told["said"]


def test_passports_wait_for_an_operators_number(packed):
    refused = ortet("plant-passport", "L1", ends=1).stderr
    assert "authorised" in refused and not Path("passports.pdf").exists()
    ortet("nursery", "--operator", "123456789")
    said = ortet(
        "plant-passport",
        "--parcel",
        "1",
        "--each",
        "3",
        "--zone-pest",
        "ERWIAM",
        "--language",
        "de",
        "--black",
    ).output
    assert "ask the plant-health authority" in said
    assert text_of("passports.pdf").count("Pflanzenpass - Schutzgebiet / Plant Passport - PZ ERWIAM") == 3
    assert "vouch" in ortet("supplier-document", "L1", "--body", "NAK").output
    assert "Official body NAK" in text_of("supplier-documents.pdf")


def test_what_to_ask_is_said_and_printed(packed):
    said = ortet("destination", "US").output
    assert "From Netherlands to United States" in said and "[ ] Is a phytosanitary certificate needed" in said
    found = json.loads(ortet("destination", "--order", "1", "--zone", "--json").output)
    assert found["way"] == "zone" and "permits nothing" in found["caution"]
    ortet("destination", "US", "--out", "ask.pdf")
    assert "who said so" in text_of("ask.pdf")


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("advise",), "Name lots, or one parcel"),
        (("advise", "L1", "--link"), "A link is a parcel's"),
        (("advise", "L1=x"), "how many go"),
        (("address-label",), "one parcel, or one order"),
        (("packing-slip", "9"), "No parcel 9"),
        (("pick-list", "--paper", "a9"), "a4 or letter"),
        (("receipt-sheet", "9"), "no receipt 9"),
        (("nursery", "--paper", "A5"), "A4 or letter"),
        (("destination", "US", "--paper", "a4"), "name the PDF too, with --out"),
    ],
)
def test_what_cannot_be_printed_is_refused(words, why, packed):
    assert why in ortet(*words, ends=1).stderr
