"""The books as typed: expenses, minutes, receipts, what it adds up to, and the files that are written."""

import csv
import json
from decimal import Decimal

import pytest

from ortet.ledger.models import Expense, Nursery, Receipt

from .test_commands import ortet

pytestmark = pytest.mark.django_db
AT = ("--at", "2027-02-10")


@pytest.fixture
def trade() -> None:
    """Wood is sold for an order at 4.20 with 21 per cent of tax."""
    ortet(
        "nursery", "--tax-percent", "21", "--wage", "15,50", "--year-starts", "01-01", "--tax-number", "AB 1"
    )
    ortet("add-mother", "M1", "Dusk", "blackcurrant")
    ortet("take", "M1", "40", "--mark", "A1", "--at", "2027-01-05")
    days = ("--from", "2027-02-01", "--until", "2027-03-01", "--at", "2027-02-01")
    ortet("order", "Hedge", "Dusk=12", "--price", "4.20", *days)
    ortet("sell", "A1", "10", "--order", "1", *AT)


def test_the_nursery_says_what_its_books_rest_on(trade):
    said = ortet("nursery").output
    assert "21 %" in said and "15.5 an hour" in said and "from 01-01" in said and "AB 1" in said
    assert "none" in ortet("nursery", "--tax-percent", "none").output
    assert Nursery.get().tax_percent is None
    for wrong in (("--wage", "much"), ("--wage", "1,250"), ("--wage", ""), ("--tax-percent", "8.87501")):
        assert "Nothing was" in ortet("nursery", *wrong, ends=1).output
    assert Nursery.get().wage == Decimal("15.5")
    assert "8.875 %" in ortet("nursery", "--tax-percent", "8,875", "--kwh-price", "0,2875").output
    assert Nursery.get().kwh_price == Decimal("0.2875")


def test_an_expense_is_noted_listed_and_reversed(trade):
    number = ortet("spend", "12,50", "soil", "--tax", "2.50", *AT).output.split()[1].rstrip(":")
    assert "12.50" in ortet("books", "expenses").output
    ortet("reverse-expense", number, ends=1)
    assert "-12.50" in ortet("reverse-expense", number, "--note", "twice", *AT).output
    assert "No expense" in ortet("reverse-expense", "ffffffff", "--note", "twice", ends=1).output
    for wrong in (
        ("many", "soil"),
        ("0", "soil"),
        ("1,250", "soil"),
        ("5", "soil", "--on", "May"),
        ("5", "soil", "--kind", "beer"),
    ):
        assert "Nothing was booked" in ortet("spend", *wrong, *AT, ends=1).output
    assert Expense.objects.count() == 2


def test_minutes_are_shown_and_said(trade):
    assert "our choice" in ortet("minutes").output
    ortet("minutes", "struck", "45", *AT)
    said = {one["deed"]: one for one in json.loads(ortet("minutes", "--json").output)}
    assert said["struck"]["noted"] and not said["bagged"]["noted"]
    assert "Nothing was booked" in ortet("minutes", "struck", "long", ends=1).output


def test_a_receipt_is_given_and_cancelled(trade):
    assert "EUR 50.82" in ortet("receipt", "1", *AT).output
    assert "lacks a receipt" in ortet("receipt", "1", *AT, ends=1).output
    told = json.loads(ortet("cancel-receipt", "1", "--note", "wrong", "--json", *AT).output)
    assert told["number"] == 2 and told["gross"] == "-50.82"
    assert Receipt.objects.count() == 2


def test_a_receipt_for_what_was_sold_at_the_gate(trade, tmp_path):
    said = ortet("sell", "A1", "3", "--to", "Lane", "--price", "4.20", *AT).output
    assert "ortet receipt --sale 3" in said
    told = ortet("receipt", "--sale", "3", "--paid", "cash", *AT).output
    assert "Receipt 1, 2027-02-10, without an order" in told and "EUR 15.25" in told and ", cash" in told
    ortet("receipt-sheet", "1", "--out", str(tmp_path / "r.pdf"))
    assert (tmp_path / "r.pdf").read_bytes()[:4] == b"%PDF"
    for wrong in (("--sale", "3"), ("--sale", "2"), (), ("1", "--sale", "3"), ("1", "--paid", "cash")):
        assert "Nothing was booked" in ortet("receipt", *wrong, *AT, ends=1).output
    assert json.loads(ortet("books", "receipts", "--json").output)["Receipts"][0]["order"] is None


def test_every_part_is_shown_told_to_programs_and_written(trade, tmp_path):
    ortet("receipt", "1", *AT)
    ortet("spend", "5", "soil", *AT)
    for part in ("sales", "owed", "costs", "stock", "receipts", "expenses", "journal"):
        assert "in EUR" in ortet("books", part, "--year", "2027").output
        told = json.loads(ortet("books", part, "--season", "2027", "--json").output)
        assert told[part.capitalize()] and told["currency"] == "EUR"
        ortet("books", part, "--out", str(tmp_path / "part.csv"))
        with (tmp_path / "part.csv").open(newline="", encoding="utf-8") as file:
            assert len(list(csv.reader(file))) == len(told[part.capitalize()]) + 1
    ortet("books", "costs", "--out", str(tmp_path / "costs.xlsx"))
    assert (tmp_path / "costs.xlsx").read_bytes()[:2] == b"PK"


def test_a_journal_as_plain_text_balances(trade, tmp_path):
    from beancount import loader

    ortet("receipt", "1", *AT)
    ortet("books", "journal", "--out", str(tmp_path / "journal.txt"))
    entries, errors, _ = loader.load_file(str(tmp_path / "journal.txt"))
    assert len(entries) > 2 and not errors


def test_what_is_asked_wrongly_is_told(trade):
    years = ("sales", "--year", "2027", "--season", "2027")
    for wrong in (("wages",), ("sales", "--year", "1"), years, ("sales", "--out", "x.pdf")):
        assert "Refused" in ortet("books", *wrong, ends=1).output
