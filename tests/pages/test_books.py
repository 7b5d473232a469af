"""The books by page: looked at by whoever may read, written by whoever may write, the same figures in the files."""

import csv
import io
import re
from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from ortet import work
from ortet.ledger.models import Buyer, Expense, Minutes, Nursery, Receipt
from ortet.work import books, orders
from ortet.work.nursery import books_with

pytestmark = pytest.mark.usefixtures("season_kept")

DAY = date(2027, 2, 10)
PAGES = ("books", "books-owed", "books-costs", "books-stock", "books-expenses", "books-journal")
DEEDS = ("spend", "reverse-expense", "set-minutes", "give-receipt", "receipt-of-sales", "cancel-receipt")


@pytest.fixture
def trade(book, nursery, ada: User):
    """Wood of Dusk is sold for an order at 4.20 with 21 per cent of tax, and an expense is noted."""
    books_with(tax_percent=Decimal(21))
    at = nursery.now().replace(day=10)
    orders.order("Hedge Row", [orders.Line("Dusk", 12, DAY, DAY, price=Decimal("4.20"))], by=ada, at=at)
    work.sell("L1", 10, from_place="K1", order="1", by=ada, at=at)
    books.spend(Decimal("30.00"), "=pots", tax=Decimal("6.30"), by=ada, at=at)
    return book


def sent(**said: object) -> dict[str, object]:
    return {"id": uuid4(), "at": "2027-02-12 07:30", "note": "", **said}


@pytest.mark.parametrize("name", [*PAGES, *DEEDS])
def test_a_stranger_is_led_to_sign_in(name, book):
    answer = Client(REMOTE_ADDR="192.0.2.1").get(reverse(name))
    assert answer.status_code == 302 and answer.url.startswith(reverse("sign-in"))


def test_no_other_method_is_taken(book, at_desk):
    asked = [(name, "post") for name in PAGES]
    asked += [(name, method) for name in (*PAGES, *DEEDS) for method in ("put", "delete")]
    for name, method in asked:
        assert getattr(at_desk, method)(reverse(name)).status_code == 405


@pytest.mark.parametrize("name", DEEDS)
def test_whoever_may_only_read_books_nothing(name, trade, ben_at_desk):
    assert ben_at_desk.get(reverse(name)).status_code == 200
    assert ben_at_desk.post(reverse(name), sent(order=1)).status_code == 403
    assert Expense.objects.count() == 1 and not Receipt.objects.exists()


@pytest.mark.parametrize("name", PAGES)
def test_each_page_is_shown_to_whoever_may_read(name, book, ben_at_desk):
    assert ben_at_desk.get(reverse(name)).status_code == 200


def test_the_books_say_what_was_sold_and_its_tax(trade, ben_at_desk):
    page = ben_at_desk.get(reverse("books"), {"year": 2027}).content.decode()
    assert "42.00" in page and "8.82" in page and "on no receipt yet" in page and "accountant" in page
    page = ben_at_desk.get(reverse("books"), {"season": 2026}).content.decode()
    assert "42.00" not in page.partition("Receipts</h2>")[0]


def test_costs_stock_and_journal_are_shown(trade, ben_at_desk):
    costs = ben_at_desk.get(reverse("books-costs")).content.decode()
    assert "‘Dusk’" in costs and "our choice" in costs and "reckoned at" in costs
    stock = ben_at_desk.get(reverse("books-stock")).content.decode()
    assert "K3" in stock and "‘Lantern’" in stock
    page = ben_at_desk.get(reverse("books-journal")).content.decode()
    assert (
        "Sent and not on a receipt (assets)" in page and page.count("78.30") == 2
    )  # 42.00 + 36.30 on both sides


@pytest.mark.parametrize("wrong", ["year=twenty", "year=12345", "season=1900", "year=²027", "year=0000"])
def test_a_year_that_is_none_is_told(wrong, trade, ben_at_desk):
    answer = ben_at_desk.get(f"{reverse('books')}?{wrong}")
    assert answer.status_code == 422 and "write a year" in answer.content.decode()


def test_an_expense_by_page_and_its_reversal(trade, at_desk):
    answer = at_desk.post(
        reverse("spend"),
        sent(what="soil", net="12,50", tax="", outlay="material", on="2027-02-11"),
        follow=True,
    )
    assert "12.50 and 0 tax for soil, noted." in answer.content.decode()
    bill = Expense.objects.get(what="soil")
    at_desk.post(reverse("reverse-expense"), sent(expense=bill.pk, note="typed twice"))
    assert Expense.objects.get(reverses=bill).net == Decimal("-12.50")
    page = at_desk.get(reverse("books-expenses"), {"year": 2027}).content.decode()
    assert "reversal" in page and "typed twice" in page


@pytest.mark.parametrize(
    "wrong", [{"net": "0"}, {"net": "many"}, {"on": "2028-01-01"}, {"variety": "Nobody"}, {"net": "1.234"}]
)
def test_a_bad_expense_comes_back_with_the_reason(wrong, trade, at_desk):
    said = {"what": "soil", "net": "5", "tax": "", "outlay": "material", "on": "2027-02-11"} | wrong
    answer = at_desk.post(reverse("spend"), sent(**said))
    assert answer.status_code == 422 and answer.context["form"].errors
    assert Expense.objects.count() == 1


def test_minutes_by_page(trade, at_desk):
    assert 'value="60"' in at_desk.get(reverse("set-minutes"), {"deed_done": "struck"}).content.decode()
    at_desk.post(reverse("set-minutes"), sent(deed_done="struck", per_hundred="45.5"))
    assert (Minutes.objects.get().deed, Minutes.objects.get().per_hundred) == ("struck", Decimal("45.50"))


def test_a_receipt_by_page_and_its_cancellation(trade, at_desk):
    page = at_desk.post(reverse("give-receipt"), sent(order=1), follow=True).content.decode()
    assert "<h1>Receipt 1</h1>" in page and "50.82" in page and "Hedge" not in page
    answer = at_desk.post(reverse("give-receipt"), sent(order=1))
    assert answer.status_code == 422 and "lacks a receipt" in answer.content.decode()
    page = at_desk.post(reverse("cancel-receipt"), sent(number=1, note="wrong"), follow=True).content.decode()
    assert "<h1>Cancelled receipt 2</h1>" in page and "\N{MINUS SIGN}50.82" in page
    assert "Cancelled by receipt 2." in at_desk.get(reverse("receipt-of", args=[1])).content.decode()


def test_a_receipt_for_what_was_sold_at_the_gate(trade, ada, at_desk):
    """From the deed, the books or the buyer's page to the receipt: 2 at 5.00 and 21 per cent are 12.10 [computed]."""
    said = sent(lot="L1", count=2, buyer="Lane", price="5", from_place="Bench")
    page = at_desk.post(reverse("sell"), said, follow=True).content.decode()
    link = re.search(r'href="([^"]*receipt-of-sales\?sales=\d+)"', page).group(1)
    lane = Buyer.objects.get(name="Lane")
    for where in (reverse("books"), reverse("buyer-of", args=[lane.pk])):
        assert link in at_desk.get(where).content.decode()
    number = link.partition("=")[2]
    assert f'value="{number}"' in at_desk.get(link).content.decode()
    page = at_desk.post(
        reverse("receipt-of-sales"), sent(sales=number, paid="cash"), follow=True
    ).content.decode()
    assert "<h1>Receipt 1</h1>" in page and "12.10" in page and "Lane" in page and "cash" in page
    assert (
        reverse("receipt-of", args=[1]) in at_desk.get(reverse("buyer-of", args=[lane.pk])).content.decode()
    )
    assert link not in at_desk.get(reverse("books")).content.decode()
    for wrong, why in ((number, "receipt 1 already"), ("many", "Write numbers"), ("", "required")):
        answer = at_desk.post(reverse("receipt-of-sales"), sent(sales=wrong))
        assert answer.status_code == 422 and why in answer.content.decode()
    assert Receipt.objects.count() == 1


def test_a_receipt_that_is_not_there_is_not_found(trade, ben_at_desk):
    assert ben_at_desk.get(reverse("receipt-of", args=[9])).status_code == 404


def test_every_part_is_saved_as_csv_and_xlsx(trade, ada, ben_at_desk):
    from openpyxl import load_workbook

    books.receipt(1, by=ada, at=Nursery.get().now())
    for what in ("sales", "owed", "costs", "stock", "receipts", "expenses", "journal"):
        answer = ben_at_desk.get(reverse("books-file", args=[what, "csv"]), {"year": 2027})
        assert answer["Content-Disposition"] == f'attachment; filename="{what}-2027.csv"'
        rows = list(csv.reader(io.StringIO(answer.content.decode(), newline="")))
        assert len(rows) > 1 and answer.content.count(b"\r\n") == len(rows)
        whole = ben_at_desk.get(reverse("books-file", args=[what, "xlsx"]), {"year": 2027}).content
        sheet = load_workbook(io.BytesIO(whole)).worksheets[0]
        assert [cell.value for cell in sheet[1]] == rows[0] and sheet.max_row == len(rows)
        assert not any(cell.data_type == "f" for row in sheet for cell in row)


def test_the_journal_is_saved_as_plain_text_that_another_program_reads(trade, ben_at_desk):
    from beancount import loader

    text = ben_at_desk.get(reverse("books-file", args=["journal", "txt"]), {"year": 2027}).content.decode()
    entries, errors, _ = loader.load_string(text)
    assert not errors and sum(type(one).__name__ == "Transaction" for one in entries) == 2


@pytest.mark.parametrize(("what", "kind"), [("wages", "csv"), ("sales", "txt"), ("sales", "pdf")])
def test_a_file_that_there_is_not_is_not_found(what, kind, trade, ben_at_desk):
    assert ben_at_desk.get(f"/books/{what}.{kind}").status_code == 404


def test_the_nursery_page_says_what_the_books_rest_on(trade, at_desk):
    form = at_desk.get(reverse("nursery")).context["describe"]
    said = {field.name: field.value() for field in form if field.value() is not None}
    asked = {
        **said,
        "do": "describe",
        "tax_percent": "",
        "tax_number": "AB 12",
        "year_starts": "04-06",
        "wage": "15,5",
    }
    assert at_desk.post(reverse("nursery"), asked).status_code == 302
    here = Nursery.get()
    assert (here.tax_percent, here.tax_number, here.year_starts, here.wage) == (
        None,
        "AB 12",
        "04-06",
        Decimal("15.50"),
    )
    assert at_desk.post(reverse("nursery"), {**asked, "year_starts": "02-30"}).status_code == 422
