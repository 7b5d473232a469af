"""Commands for buyers, money, protected varieties and privacy, as typed."""

import json
import zipfile
from decimal import Decimal as D

import pytest

from ortet import work
from ortet.ledger.models import Buyer, Order, Payment, Variety, Warrant

from .test_commands import ortet

pytestmark = pytest.mark.django_db
WINDOW = ("--from", "2027-03-05", "--until", "2027-04-10")


@pytest.fixture
def plants():
    work.add_mother("M1", "Dusk Latch", "blackcurrant")


def test_a_buyer_orders_pays_and_is_erased(plants, tmp_path):
    said = ortet(
        "buyer", "Tarn Mill", "--address", "Mill Lane 3", "--country", "de", "--trade", "--tax-number", "DE9"
    ).output
    assert "trade" in said and "Mill Lane 3" in said
    ortet(
        "order",
        "Tarn Mill",
        "Dusk Latch=10",
        *WINDOW,
        "--price",
        "1.20",
        "--tax",
        "10",
        "--tax-note",
        "fruit",
        "--carriage",
        "3",
    )
    assert "Owed now: 6.20" in ortet("pay", "1", "10", "--deposit", "--how", "cash").output
    assert "-2 noted" in ortet("pay", "1", "-2").output
    assert Payment.objects.filter(is_deposit=True).get().amount == 10
    assert "More" not in ortet("charge", "1", "4").output
    assert Order.objects.get().carriage == 4
    rows = json.loads(ortet("buyers", "--json").output)
    assert [(row["buyer"], row["orders"], row["open"], row["may be erased"]) for row in rows] == [
        ("Tarn Mill", 1, 1, "no")
    ]
    assert D(rows[0]["owed"]) == D("9.20")
    assert "No buyer fits" in ortet("buyers", "--erasable").output
    assert json.loads(ortet("buyer", "Tarn Mill", "--json").output)["orders"] == [1]
    ortet("export-buyer", "tarn mill", "--to", str(tmp_path / "x.zip"))
    assert (
        "there already" in ortet("export-buyer", "tarn mill", "--to", str(tmp_path / "x.zip"), ends=1).output
    )
    assert "buyer.json" in zipfile.ZipFile(tmp_path / "x.zip").namelist()
    assert "still needed" in ortet("erase-buyer", "Tarn Mill", "--yes", ends=1).output
    assert "End each first" in ortet("erase-buyer", "Tarn Mill", "--yes", "--reason", "so", ends=1).output
    ortet("cancel", "1")
    ortet("pay", "1", "-8")
    work.add_place("North", "store")
    ortet("note", "kept for Tarn Mill", "--place", "North")
    assert "still kept" in ortet("erase-buyer", "Tarn Mill", "--yes", ends=1).output
    said = ortet("erase-buyer", "Tarn Mill", "--yes", "--reason", "asked for it").output
    assert "are out" in said and "North: note" in said
    assert Buyer.objects.get().address == ""


def test_a_swap_by_command(plants):
    assert (
        "without money"
        in ortet("order", "Elm", "Dusk Latch=2", *WINDOW, "--swap", "--price", "1", ends=1).output
    )
    ortet("order", "Elm", "Dusk Latch=2", *WINDOW, "--swap", "--in-return", "a quince")
    assert (Order.objects.get().is_swap, Order.objects.get().in_return) == (True, "a quince")
    assert "without money" in ortet("pay", "1", "3", ends=1).output


def test_a_variety_and_its_licence(plants):
    ortet(
        "add-mother", "M2", "Dusk Latch", "blackcurrant", "--right", "title 4", "--right-until", "2040-12-31"
    )
    said = ortet("variety", "Dusk Latch", "--group", "Nightfall", "--selling-name", "moonrise").output
    assert "(Nightfall Group) ‘Dusk Latch’ MOONRISE" in said
    assert "Protected: title 4" in said and "Ask the rights holder" in " ".join(said.split())
    assert "of whom" in ortet("warrant", "Dusk Latch", "licence", ends=1).output
    assert (
        "Orders of it go on"
        in ortet("warrant", "Dusk Latch", "licence", "Tarn, no. 4", "--until", "2040-01-01").output
    )
    assert "noted as ended" in " ".join(ortet("warrant", "Dusk Latch", "ended").output.split())
    assert Warrant.objects.count() == 2
    ortet("variety", "Dusk Latch", "--right", "")
    assert (Variety.objects.get().right, Variety.objects.get().right_until) == ("", None)
