"""The books: costs, sales, receipts and the journal, from a small book whose sums are worked by hand beside each check."""

import io
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ortet import work
from ortet.decisions.costs import Form, Part
from ortet.ledger.models import Balance, Expense, Nursery, Order, OrderLine, Payment, Receipt, Sale
from ortet.ledger.places import ON_HAND
from ortet.tables.journal import COLUMNS, as_plain_text, cells
from ortet.tables.out import as_csv, as_xlsx
from ortet.work import Refused, Unknown, books, orders
from ortet.work.books.costs import costs
from ortet.work.books.journal import journal, what_is_odd
from ortet.work.books.receipts import receipt_values, receipts, unreceipted, unreceipted_sales
from ortet.work.books.sales import sales
from ortet.work.books.spending import MINUTES, minutes_on
from ortet.work.books.stock import stock
from ortet.work.books.tables import tables_of
from ortet.work.books.years import season, seasons, tax_year, tax_year_of, tax_years
from ortet.work.nursery import books_with, plan_with
from ortet.work.owed import sums
from ortet.work.payments import charge, pay
from tests.keeping import kept
from tests.writing import write

BOOK = """
    2027-01-04 08:00  mother M1 Dusk blackcurrant
    2027-01-04 08:00  mother M2 Lantern gooseberry
    2027-01-05 09:00  take M1 40 as L1
    2027-01-06 09:00  take M2 20 as L2
    2027-01-28 08:00  place bench Warm
    2027-01-28 08:00  place ground Yard
    2027-01-28 10:00  strike L1 20 from Bench as S1 on Warm base_c=22
    2027-03-20 10:00  pot S1 14 to Yard
    2027-03-21 10:00  give-up L1 6 from S1
"""
AT = datetime(2027, 4, 1, 9, tzinfo=UTC)
DAY = date(2027, 4, 1)
NOW = datetime(2027, 6, 1, 12, tzinfo=UTC)


@pytest.fixture(scope="module", autouse=True)
def written(django_db_setup, django_db_blocker):
    """The book, written once: every test finds it in the database."""
    with kept(django_db_blocker):
        Nursery.objects.create(id=1, fixed_now=NOW)
        yield write(BOOK, User.objects.create_user("ada"))


@pytest.fixture
def ada(db) -> User:
    return User.objects.get(username="ada")


@pytest.fixture
def book(written, db):
    return written


@pytest.fixture
def order(book, ada: User) -> Order:
    """10 of Dusk at 4.20 and 8.00 of carriage: 42.00 + 8.00, at 21 per cent."""
    books_with(tax_percent=Decimal(21))
    noted = orders.order(
        "Hedge Row", [orders.Line("Dusk", 12, DAY, DAY, price=Decimal("4.20"))], by=ada, at=AT
    )
    return charge(noted.number, Decimal("8.00"))


def sell(count: int, by: User, order: str = "1", at: datetime = AT, **more):
    return work.sell("L1", count, from_place="Yard", order=order, by=by, at=at, **more)


# What was spent


def test_an_expense_is_noted_and_its_reversal_takes_it_off(book, ada):
    bill = books.spend(Decimal("30.00"), " potting  soil ", tax=Decimal("6.30"), by=ada, at=AT)
    assert (bill.on, bill.outlay, bill.what) == (DAY, "material", "potting soil")
    back = books.reverse_expense(bill.pk, note="typed twice", by=ada, at=AT)
    assert (back.net, back.tax, back.reverses) == (Decimal("-30.00"), Decimal("-6.30"), bill)
    assert sales(tax_year(2027)).spent == ()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"net": Decimal(0)}, "an amount like"),
        ({"net": Decimal(-3)}, "an amount like"),
        ({"net": Decimal("NaN")}, "an amount like"),
        ({"net": Decimal("1.005")}, "an amount like"),
        ({"net": Decimal(10) ** 12}, "an amount like"),
        ({"tax": Decimal(-1)}, "Tax of -1"),
        ({"outlay": "beer"}, "say material"),
        ({"what": "  "}, "What"),
        ({"on": date(2027, 5, 1)}, "still to come"),
        ({"on": date(27, 2, 15)}, "long ago"),
        ({"variety": "Dusk", "batch": "S1"}, "name one"),
        ({"variety": "Nobody"}, "No variety"),
        ({"batch": "Yard"}, "no batch"),
        ({"order": 99}, "99"),
    ],
)
def test_bad_expenses_are_refused_and_nothing_is_booked(wrong, said, book, ada):
    asked = {"net": Decimal(5), "what": "soil", "by": ada, "at": AT} | wrong
    with pytest.raises(Refused, match=said) as refused:
        books.spend(**asked)
    assert str(refused.value).endswith("Nothing was booked.")
    assert not Expense.objects.exists()


def test_a_yen_has_no_hundredths(book, ada):
    Nursery.objects.update(currency="JPY")
    with pytest.raises(Refused, match="not divided so finely"):
        books.spend(Decimal("10.5"), "soil", by=ada, at=AT)


def test_an_expense_sent_twice_is_booked_once(book, ada):
    id = uuid4()
    for _ in range(2):
        books.spend(Decimal(5), "soil", by=ada, at=AT, id=id)
    assert Expense.objects.count() == 1


def test_an_expense_is_reversed_once_and_a_reversal_never(book, ada):
    bill = books.spend(Decimal(5), "soil", by=ada, at=AT)
    with pytest.raises(Refused, match="what was wrong"):
        books.reverse_expense(bill.pk, note=" ", by=ada, at=AT)
    back = books.reverse_expense(bill.pk, note="wrong", by=ada, at=AT)
    for which, why in ((bill, "reversed already"), (back, "itself takes an expense back")):
        with pytest.raises(Refused, match=why):
            books.reverse_expense(which.pk, note="again", by=ada, at=AT)


def test_minutes_are_ours_until_the_grower_notes_others(book, ada):
    assert minutes_on(DAY)["struck"] == (MINUTES["struck"], False)
    books.minutes("struck", Decimal("45.5"), by=ada, at=AT)
    books.minutes("struck", Decimal(50), by=ada, at=AT + timedelta(days=30))
    assert minutes_on(DAY - timedelta(days=9))["struck"] == (Decimal("45.5"), True)  # the first noted after
    assert minutes_on(DAY)["struck"] == (Decimal("45.5"), True)
    assert minutes_on(DAY + timedelta(days=30))["struck"] == (Decimal(50), True)


@pytest.mark.parametrize(
    ("deed", "much"), [("dreamt", 3), ("struck", -1), ("struck", "0.001"), ("struck", 10**6)]
)
def test_bad_minutes_are_refused(deed, much, book, ada):
    with pytest.raises(Refused, match="Nothing was booked"):
        books.minutes(deed, Decimal(much), by=ada, at=AT)


@pytest.mark.parametrize(
    "wrong",
    [
        {"tax_percent": Decimal(101)},
        {"tax_percent": Decimal("7.12345")},
        {"tax_number": "a" * 31},
        {"tax_number": "=1+1"},
        {"year_starts": "13-01"},
        {"year_starts": "02-29"},
        {"year_starts": ""},
        {"wage": Decimal(-1)},
        {"wage": Decimal("NaN")},
        {"tax_percent": Decimal("NaN")},
    ],
)
def test_what_the_books_rest_on_is_checked(wrong, db):
    with pytest.raises(Refused, match="Nothing was changed"):
        books_with(**wrong)


# Years


def test_a_tax_year_begins_where_the_nursery_says(db):
    books_with(year_starts="04-06")
    year = tax_year(2026)
    assert (year.name, year.first, year.last) == ("2026/27", date(2026, 4, 6), date(2027, 4, 5))
    assert tax_year_of(date(2027, 4, 5)) == 2026 and tax_year_of(date(2027, 4, 6)) == 2027
    assert (season(2027).first, season(2027).last) == (date(2026, 8, 1), date(2027, 7, 31))


def test_every_year_that_is_offered_can_be_opened(book, ada):
    books.spend(Decimal(5), "first spade", on=date(1950, 1, 1), by=ada, at=AT)
    books_with(year_starts="04-06")
    assert [tax_year(number).first.year for number in tax_years()] == list(range(2027, 1948, -1))
    assert [season(number).last.year for number in seasons()] == list(range(2027, 1949, -1))


# What one plant costs


def test_labour_by_the_minutes_of_each_deed(book, ada):
    """At 12.00 an hour and nothing but taking, 30 minutes for a hundred: 40 of Dusk are 2.40, 20 of Lantern 1.20."""
    books_with(wage=Decimal(12))
    for deed in MINUTES:
        books.minutes(deed, Decimal(30 if deed == "taken" else 0), by=ada, at=AT)
    found = costs(tax_year(2027))
    of = {(row.variety, row.form): row for row in found.rows}
    assert found.spent[Part.LABOUR] == Decimal("3.60")
    assert of["Lantern", Form.CUTTING].total == Decimal("1.20")
    # 20 of 40 were struck, 6 of them died: the 14 in the yard carry half, 20 still on the bench the other half
    assert (of["Dusk", Form.PLANT].count, of["Dusk", Form.PLANT].total) == (14, Decimal("1.20"))
    assert (of["Dusk", Form.CUTTING].count, of["Dusk", Form.CUTTING].total) == (20, Decimal("1.20"))


def test_what_was_bought_falls_on_what_it_was_bought_for(book, ada):
    """7.00 for the batch: 0.50 on each of its 14 plants. 3.00 for Lantern. 9.40 for all, over 94 handled: 40+20+20+14."""
    books.spend(Decimal(7), "hormone", batch="S1", by=ada, at=AT)
    books.spend(Decimal(3), "virus test", variety="lantern", by=ada, at=AT)
    books.spend(Decimal("9.40"), "bags", by=ada, at=AT)
    found = costs(tax_year(2027))
    of = {(row.variety, row.form): row for row in found.rows}
    assert of["Dusk", Form.PLANT].parts[Part.OWN] == Decimal(7)
    assert of["Lantern", Form.CUTTING].parts[Part.OWN] == Decimal(3)
    assert of["Lantern", Form.CUTTING].parts[Part.SHARED] == Decimal("2.00")
    # Dusk taken 4.00, half of it in the batch, with 2.00 for striking and 1.40 for potting
    assert of["Dusk", Form.PLANT].parts[Part.SHARED] == Decimal("5.40")
    assert of["Dusk", Form.CUTTING].parts[Part.SHARED] == Decimal("2.00")
    assert found.of_rows == found.total == Decimal("19.40")


def test_tax_paid_is_cost_where_there_is_no_tax_number(book, ada):
    books.spend(Decimal(10), "soil", tax=Decimal(2), by=ada, at=AT)
    assert costs(tax_year(2027)).total == Decimal(12)
    books_with(tax_number="DE 123456789")
    assert costs(tax_year(2027)).total == Decimal(10)


def test_the_heat_of_a_mat_by_its_price_and_else_by_the_bill(book, ada):
    """2 W/K, 12 K, 50 cells: 0.576 kWh a day on the whole bench, 0.01152 a cell. 20 cuttings for 51 days, 6 for one more."""
    from ortet.work.benches import set_up_bench

    set_up_bench("Warm", cells=50, heats=[22.0], air_c=10.0, watts_per_k=2.0, by=ada, at=AT)
    assert any("kilowatt-hour" in one for one in costs(tax_year(2027)).unknown)
    plan_with(kwh_price=Decimal("0.50"))
    kwh = Decimal("0.01152") * (20 * 51 + 6)
    assert abs(costs(tax_year(2027)).spent[Part.BENCH] - kwh / 2) < Decimal("0.005")
    books.spend(Decimal(80), "power", outlay="heat", by=ada, at=AT)
    found = costs(tax_year(2027))
    assert found.spent[Part.BENCH] == Decimal(80)
    assert {(row.variety, row.form) for row in found.rows if row.parts[Part.BENCH]} == {("Dusk", Form.PLANT)}


def test_a_bench_that_is_not_set_up_is_told(book, ada):
    assert any("bench Warm" in one for one in costs(tax_year(2027)).unknown)


def test_wages_paid_are_left_out_where_minutes_stand_for_them(book, ada):
    books.spend(Decimal(100), "help in March", outlay="wages", by=ada, at=AT)
    assert costs(tax_year(2027)).spent[Part.LABOUR] == Decimal(100)
    books_with(wage=Decimal(12))
    found = costs(tax_year(2027))
    assert found.left_out == Decimal(100) and found.spent[Part.LABOUR] < Decimal(100)


def test_a_movement_that_was_corrected_costs_nothing(book, ada):
    books_with(wage=Decimal(12))
    before = costs(tax_year(2027)).total
    moved = work.move("L2", 5, from_place="Bench", to_place="Warm", by=ada, at=AT)
    assert costs(tax_year(2027)).total > before
    work.correct(moved.number, note="wrong lot", by=ada, at=AT)
    assert costs(tax_year(2027)).total == before


def test_last_years_stock_stays_what_it_was(book, ada):
    """What came later changes nothing of the costs at the end of a year that is over."""
    books_with(year_starts="04-01")
    books.spend(Decimal(10), "soil", on=date(2027, 3, 1), by=ada, at=AT)
    before = costs(tax_year(2026)).rows
    books.spend(Decimal(55), "pots", on=DAY, by=ada, at=AT)
    sell(10, ada, order="", buyer="Hedge Row", price=Decimal(5))
    assert costs(tax_year(2026)).rows == before


# Receipts


def test_the_worked_receipt_and_its_journal(order, ada):
    """42.00 of cuttings + 8.00 of carriage + 10.50 of tax = 60.50 [computed], as in the worked entry that passes bean-check."""
    sell(10, ada)
    given = books.receipt(1, by=ada, at=AT)
    said = receipt_values(given.number)
    assert (said.net, said.tax, said.gross) == (Decimal("50.00"), Decimal("10.50"), Decimal("60.50"))
    assert [(line.what, line.net) for line in said.lines] == [
        ("Dusk", Decimal("42.00")),
        ("Carriage", Decimal("8.00")),
    ]
    rows = [row for row in journal() if row.entry_id == "receipt 1"]
    assert [(row.account, row.debit, row.credit) for row in rows] == [
        ("Assets:Owed by buyers", Decimal("60.50"), None),
        ("Assets:Sent and not on a receipt", None, Decimal("42.00")),
        ("Income:Carriage", None, Decimal("8.00")),
        ("Liabilities:Sales tax", None, Decimal("10.50")),
    ]


def test_a_receipt_holds_no_name_and_no_address(order, ada):
    sell(10, ada)
    order.buyer.address = "7 Long Lane"
    order.buyer.save()
    said = str(books.receipt(1, by=ada, at=AT).said)
    assert "Hedge" not in said and "Lane" not in said


def test_numbers_have_no_gaps_and_a_refusal_takes_none(order, ada):
    sell(5, ada)
    assert books.receipt(1, by=ada, at=AT).number == 1
    with pytest.raises(Refused, match="lacks a receipt"):
        books.receipt(1, by=ada, at=AT)
    sell(5, ada, at=AT + timedelta(hours=1))
    assert books.receipt(1, by=ada, at=AT + timedelta(hours=1)).number == 2


def test_receipts_of_one_order_come_to_the_tax_on_its_sum(order, ada):
    """Four of 0.50 at 7 per cent: 0.14 on 2.00, where each rounded alone, 0.04, would come to 0.16."""
    books_with(tax_percent=Decimal(7))
    Order.objects.update(carriage=None)
    for hour, count in enumerate((1, 1, 1, 1)):
        at = AT + timedelta(hours=hour)
        sell(count, ada, at=at, price=Decimal("0.50"))
        books.receipt(1, by=ada, at=at)
    assert sum(one.tax for one in receipts()) == Decimal("0.14")
    assert sum(one.net for one in receipts()) == Decimal("2.00")


def test_what_stands_on_a_receipt_stays_when_the_nursery_changes(order, ada):
    sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    books_with(tax_percent=Decimal(7), tax_number="NEW 1")
    Nursery.objects.update(currency="CZK")
    said = receipt_values(1)
    assert (said.tax, said.currency, said.tax_number) == (Decimal("10.50"), "EUR", "")


def test_a_cancelled_receipt_is_reversed_by_another_and_its_sales_may_stand_on_a_new_one(order, ada):
    sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    back = books.cancel_receipt(1, note="wrong rate", by=ada, at=AT)
    said = receipt_values(back.number)
    assert (back.number, said.cancels, said.gross) == (2, 1, Decimal("-60.50"))
    assert receipt_values(1).cancelled_by == 2 and receipt_values(1).gross == Decimal("60.50")
    for number in (1, 2):
        with pytest.raises(Refused, match="Nothing was booked"):
            books.cancel_receipt(number, note="again", by=ada, at=AT)
    assert books.receipt(1, by=ada, at=AT).number == 3
    assert receipt_values(3).gross == Decimal("60.50")


def test_a_cancellation_is_never_before_what_it_cancels(order, ada):
    sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    books.cancel_receipt(1, note="wrong rate", by=ada, at=AT - timedelta(days=3))
    assert [one.day for one in receipts()] == [DAY, DAY]
    assert sum(row.amount for row in journal() if row.account == "Liabilities:Sales tax") == 0


def test_what_was_sold_later_stands_on_no_receipt_of_an_earlier_day(order, ada):
    sell(4, ada)
    sell(6, ada, at=AT + timedelta(days=2))
    with pytest.raises(Refused, match="by 2027-03-31 lacks a receipt"):
        books.receipt(1, by=ada, at=AT - timedelta(days=1))
    books.receipt(1, by=ada, at=AT + timedelta(days=1))
    assert [line.count for line in receipt_values(1).lines] == [4, None]


def test_what_an_order_comes_to_follows_its_receipts_when_the_usual_rate_changes(order, ada):
    """10 of 12 and carriage at 21 per cent, as the receipt has them, 60.50; the 2 left, 8.40, at 7 per cent, 0.59."""
    sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    books_with(tax_percent=Decimal(7))
    assert (sums(order).tax, sums(order).gross) == (Decimal("11.09"), Decimal("69.49"))
    sell(2, ada, at=AT + timedelta(hours=1))
    books.receipt(1, by=ada, at=AT + timedelta(hours=1))
    assert sums(order).gross == sum(one.gross for one in receipts()) == Decimal("69.49")
    books.cancel_receipt(1, note="the new rate", by=ada, at=AT + timedelta(hours=2))
    assert sums(order).gross == Decimal("62.49")  # 58.40 at 7 per cent are 4.09


def test_a_deposit_stands_on_receipts_as_far_as_each_goes(order, ada):
    """60.50 in all: 5 of 10 and carriage are 35.09 with tax, so 24.91 of a deposit of 60.00 are left for the second."""
    pay(1, Decimal(60), is_deposit=True, by=ada, at=AT)
    for hour in (1, 2):
        at = AT + timedelta(hours=hour)
        sell(5, ada, at=at)
        books.receipt(1, by=ada, at=at)
    assert [[one.amount for one in said.paid] for said in receipts()] == [
        [Decimal("35.09")],
        [Decimal("24.91")],
    ]
    assert [said.gross for said in receipts()] == [Decimal("35.09"), Decimal("25.41")]
    left = sum(row.amount for row in journal() if row.account == "Assets:Owed by buyers")
    assert left == Decimal("0.50")


def test_what_goes_back_comes_out_of_the_deposit_that_waits(order, ada):
    pay(1, Decimal(20), is_deposit=True, by=ada, at=AT)
    pay(1, Decimal(-5), by=ada, at=AT)
    rows = journal()
    assert sum(row.amount for row in rows if row.account == "Assets:Cash and bank") == Decimal(15)
    assert sum(row.amount for row in rows if row.account == "Liabilities:Deposits of buyers") == Decimal(-15)
    sell(1, ada)
    books.receipt(1, by=ada, at=AT)
    assert [one.amount for one in receipt_values(1).paid] == [receipt_values(1).gross]  # 14.76 of the 15.00


def test_what_goes_back_beyond_the_deposit_comes_off_what_is_owed(order, ada):
    """20.00 of deposit and 40.50 paid for a receipt that is then cancelled: all 60.50 go back and nothing is left open."""
    pay(1, Decimal(20), is_deposit=True, by=ada, at=AT)
    sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    pay(1, Decimal("40.50"), by=ada, at=AT + timedelta(days=1))
    books.cancel_receipt(1, note="never came", by=ada, at=AT + timedelta(days=2))
    pay(1, Decimal("-60.50"), by=ada, at=AT + timedelta(days=3))
    left: dict[str, Decimal] = {}
    for row in journal():
        left[row.account] = left.get(row.account, Decimal()) + row.amount
    assert {left[name] for name in left if "Sent" not in name and "Income" not in name} == {Decimal(0)}


def test_what_makes_a_complaint_good_is_no_money(order, ada):
    from ortet.work import packing

    sell(10, ada)
    complaint = packing.complain("1/1", "dead", 2, by=ada, at=AT)
    made = packing.replace(complaint.pk, by=ada, at=AT)
    sell(2, ada, order=str(made.number))
    with pytest.raises(Refused, match="without money"):
        books.receipt(made.number, by=ada, at=AT)
    found = sales(tax_year(2027))
    assert (found.count, found.net, found.varieties[0].given, found.varieties[0].unpriced) == (12, 42, 2, 0)
    assert not what_is_odd()


def test_carriage_that_is_charged_on_a_replacement_gets_its_receipt(order, ada):
    """Sent free unless the grower charges posting: 5.00 at 21 per cent are 6.05 [computed], the wood itself 0.00."""
    from ortet.work import packing

    sell(10, ada)
    complaint = packing.complain("1/1", "dead", 2, by=ada, at=AT)
    made = packing.replace(complaint.pk, by=ada, at=AT)
    assert sums(made).owed == 0
    charge(made.number, Decimal("5.00"))
    with pytest.raises(Refused, match="lacks a receipt"):
        books.receipt(made.number, by=ada, at=AT)
    sell(2, ada, order=str(made.number))
    assert unreceipted()[made.number] == Decimal("5.00")
    said = receipt_values(books.receipt(made.number, by=ada, at=AT).number)
    assert [(line.what, line.net) for line in said.lines] == [("Dusk", Decimal("0.00")), ("Carriage", 5)]
    assert said.gross == sums(made).owed == Decimal("6.05")
    assert made.number not in unreceipted()
    with pytest.raises(Refused, match="lacks a receipt"):
        books.receipt(made.number, by=ada, at=AT)
    assert sales(tax_year(2027)).carriage == Decimal("5.00")


def test_a_rate_of_three_figures_is_kept_and_reckoned_exactly(book, ada):
    """8.875 per cent, the rate that New York City charges [memory], of 42.00: 3.7275, so 3.73."""
    books_with(tax_percent=Decimal("8.875"))
    line = orders.Line("Dusk", 12, DAY, DAY, price=Decimal("4.20"))
    exempt = orders.Line("Lantern", 3, DAY, DAY, price=Decimal(1), tax_percent=Decimal("0.0625"))
    orders.order("Hedge", [line, exempt], by=ada, at=AT)
    assert Nursery.get().tax_percent == Decimal("8.875")
    assert OrderLine.objects.get(position=2).tax_percent == Decimal("0.0625")
    sell(10, ada)
    said = receipt_values(books.receipt(1, by=ada, at=AT).number)
    assert [(rate.percent, rate.net, rate.tax) for rate in said.taxes] == [
        (Decimal("8.875"), Decimal("42.00"), Decimal("3.73"))
    ]
    wrong = orders.Line("Dusk", 1, DAY, DAY, tax_percent=Decimal("8.87501"))
    with pytest.raises(Refused, match=r"8\.87501 %"):
        orders.order("Hedge", [wrong], by=ada, at=AT)


# Receipts for what was sold without an order


def gate(count, ada, price="1.05", buyer="Lane", **said):
    """Sell at the gate, and return the movement's number."""
    return sell(count, ada, order="", buyer=buyer, price=Decimal(price), **said).number


def test_what_was_sold_at_the_gate_gets_the_next_number_and_tax_on_its_sum(order, ada):
    """Seven of 1.05 at 21 per cent: 1.54 on 7.35 [computed]."""
    sell(7, ada)
    books.receipt(1, by=ada, at=AT)
    numbers = [gate(1, ada) for _ in range(7)]
    before, rows = sales(tax_year(2027)), journal()
    assert [(one.buyer, one.sales, one.net) for one in unreceipted_sales(DAY, date(2027, 12, 31))] == [
        ("Lane", tuple(numbers), Decimal("7.35"))
    ]
    given = books.receipt_of_sales(numbers, by=ada, at=AT)
    said = receipt_values(given.number)
    assert (given.number, said.order, said.buyer) == (2, None, given.whose.pk)
    assert (said.net, said.tax, said.gross) == (Decimal("7.35"), Decimal("1.54"), Decimal("8.89"))
    assert [(line.what, line.count, line.note) for line in said.lines] == [("Dusk", 7, "")]
    assert not said.paid and "Lane" not in str(given.said)
    after = sales(tax_year(2027))
    assert (after.net, after.count, after.paid, after.charged) == (
        before.net, before.count, before.paid, before.charged,
    )  # fmt: skip
    assert not after.without_receipt and before.without_receipt
    assert sum(rate.tax for rate in after.on_receipts) == Decimal("9.39")  # 7.85 and 1.54
    assert unreceipted_sales(DAY, date(2027, 12, 31)) == []
    assert [row for row in journal() if row.entry_id == "receipt 2"] == []  # 7 x 0.22 = 1.54: nothing to mend
    assert journal() == rows


def test_the_journal_comes_to_the_tax_on_the_receipt_whatever_each_sale_was_rounded_to(book, ada):
    """Four of 0.12 at 21 per cent: rounded one by one 4 x 0.03 = 0.12, on the receipt 0.10 on 0.48 [computed]."""
    books_with(tax_percent=Decimal(21))
    numbers = [gate(1, ada, "0.12") for _ in range(4)]
    books.receipt_of_sales(numbers, paid="cash", by=ada, at=AT)
    came: dict[str, Decimal] = {}
    for row in journal():
        came[row.account] = came.get(row.account, Decimal()) + row.amount
    assert came == {
        "Assets:Cash and bank": Decimal("0.58"),
        "Assets:Sold without an order": 0,
        "Income:Sales": Decimal("-0.48"),
        "Liabilities:Sales tax": Decimal("-0.10"),
    }
    books_with(tax_percent=Decimal(9))  # what stands on a receipt keeps its rate
    assert sum(row.amount for row in journal() if "tax" in row.account) == Decimal("-0.10")
    assert sales(tax_year(2027)).paid == Decimal("0.58")
    books.cancel_receipt(1, note="wrong name", by=ada, at=AT)
    back = receipt_values(2)
    assert (back.order, back.gross, back.paid[0].amount) == (None, Decimal("-0.58"), Decimal("-0.58"))
    assert sales(tax_year(2027)).paid == 0
    assert books.receipt_of_sales(numbers, by=ada, at=AT).number == 3


def test_a_receipt_without_an_order_is_for_one_buyer_and_each_sale_once(order, ada):
    lane, other = gate(1, ada), gate(1, ada, buyer="Mill")
    bare = sell(1, ada, order="", buyer="Lane").number
    of_order = sell(1, ada).number
    late = gate(1, ada, at=AT + timedelta(days=2))
    for numbers, word in (
        ([], "Which sales"),
        ([lane, other], "one buyer"),
        ([bare], "no price"),
        ([of_order], "order 1"),
        ([lane, late], "later than that"),
        ([99], "sold nothing"),
    ):
        with pytest.raises(Refused, match=word):
            books.receipt_of_sales(numbers, by=ada, at=AT)
    assert not Receipt.objects.exists()
    id = uuid4()
    assert books.receipt_of_sales([lane, lane], by=ada, at=AT, id=id).pk == id
    assert books.receipt_of_sales([lane], by=ada, at=AT, id=id).number == 1  # sent twice
    with pytest.raises(Refused, match="receipt 1 already"):
        books.receipt_of_sales([lane], by=ada, at=AT)
    work.correct(lane, note="came back", by=ada, at=AT + timedelta(hours=1))
    assert any("Receipt 1" in one for one in what_is_odd())


def test_what_is_owed_agrees_with_receipts_and_payments(order, ada):
    """All 12 sold and receipted in two: what the journal says buyers owe is what the order is said to owe."""
    pay(1, Decimal("11.11"), by=ada, at=AT)
    for hour, count in ((1, 5), (2, 7)):
        at = AT + timedelta(hours=hour)
        sell(count, ada, at=at)
        books.receipt(1, by=ada, at=at)
    owed = sum(row.amount for row in journal() if row.account == "Assets:Owed by buyers")
    assert owed == sums(order).owed == Decimal("59.55")  # 50.40 + 8.00 at 21 per cent are 70.66, less 11.11
    _, rows = tables_of("owed", tax_year(2027))["Owed"]
    assert rows == [(1, Decimal("58.40"), Decimal("12.26"), Decimal("70.66"), Decimal("11.11"), owed, 0)]


@pytest.mark.parametrize("number", [2, 77])
def test_what_is_not_there_is_told(number, order, ada):
    with pytest.raises(Unknown):
        books.receipt(number, by=ada, at=AT)
    with pytest.raises(Unknown):
        books.cancel_receipt(number, note="why", by=ada, at=AT)


def test_a_sale_without_a_price_stands_on_no_receipt(book, ada):
    orders.order("Hedge", [orders.Line("Dusk", 12, DAY, DAY)], by=ada, at=AT)
    sell(3, ada)
    with pytest.raises(Refused, match="has no price"):
        books.receipt(1, by=ada, at=AT)
    assert not Receipt.objects.exists()
    assert any("without a price" in one for one in what_is_odd())


def test_a_receipt_over_a_sale_that_came_back_is_told(order, ada):
    moved = sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    work.correct(moved.number, note="wrong order", by=ada, at=AT)
    assert any("Receipt 1" in one for one in what_is_odd())


# The journal


def test_a_book_in_which_all_happened_balances_and_is_read_by_another_program(order, ada):
    """Every entry sums to nothing, and Beancount reads the whole book without an error. [published: its own grammar]"""
    whole_book(order, ada)
    rows = journal()
    by_entry: dict[str, Decimal] = {}
    for row in rows:
        by_entry[row.entry_id] = by_entry.get(row.entry_id, Decimal()) + row.amount
    assert len(by_entry) >= 9 and set(by_entry.values()) == {Decimal(0)}
    entries, errors = check_text(as_plain_text('Hedge & Sons "best"', "EUR", rows))
    assert errors == []
    assert sum(type(entry).__name__ == "Transaction" for entry in entries) == len(by_entry)


def whole_book(order: Order, ada: User) -> None:
    """Do everything that has an entry: deposit, sale, receipt, payment, cancellation, correction, expense, reversal."""
    books_with(tax_number="DE 1")
    pay(1, Decimal(20), is_deposit=True, how="transfer", by=ada, at=AT)
    sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    pay(1, Decimal("40.50"), by=ada, at=AT + timedelta(days=9))
    books.cancel_receipt(1, note="wrong", by=ada, at=AT + timedelta(days=10))
    books.receipt(1, by=ada, at=AT + timedelta(days=11))
    bill = books.spend(Decimal("30.30"), 'pots, "large"', tax=Decimal("6.06"), by=ada, at=AT)
    books.spend(Decimal(4), "=HYPERLINK(1)", by=ada, at=AT)
    books.reverse_expense(bill.pk, note="sent back", by=ada, at=AT + timedelta(days=1))
    loose = sell(2, ada, order="", buyer="Lane", price=Decimal("5.55"))
    work.correct(loose.number, note="came back", by=ada, at=AT + timedelta(days=2))


def check_text(text: str) -> tuple[list[object], list[object]]:
    """Read a journal as bean-check does."""
    from beancount import loader

    entries, errors, _ = loader.load_string(text)
    return entries, errors


def test_the_reader_that_checks_the_journal_finds_what_does_not_balance(order, ada):
    whole_book(order, ada)
    text = as_plain_text("Book", "EUR", journal())
    _, errors = check_text(text.replace("60.50 EUR", "60.51 EUR").replace("40.50 EUR", "40.51 EUR", 1))
    assert errors


def test_the_deposit_is_the_buyers_until_a_receipt_takes_it_off(order, ada):
    whole_book(order, ada)
    rows = journal()

    def left(account: str) -> Decimal:
        return sum((row.amount for row in rows if row.account == account), Decimal())

    assert left("Liabilities:Deposits of buyers") == 0
    assert left("Assets:Owed by buyers") == 0  # 20.00 and 40.50 paid of 60.50
    assert left("Assets:Sent and not on a receipt") == 0
    assert left("Assets:Sold without an order") == 0
    assert left("Income:Sales") == Decimal("-42.00")
    assert left("Liabilities:Sales tax") == Decimal("-10.50")
    assert left("Assets:Cash and bank") == Decimal("56.50")  # 60.50 less 4.00


def test_the_journal_of_a_year_has_its_days_alone(order, ada):
    whole_book(order, ada)
    assert journal(tax_year(2026)) == []
    assert journal(tax_year(2027)) == journal()


def test_no_cell_is_taken_for_a_formula(order, ada):
    whole_book(order, ada)
    table = as_csv(COLUMNS, cells(journal()))
    assert ",'=HYPERLINK(1)," in table and "\r\n" in table
    from openpyxl import load_workbook

    sheet = load_workbook(io.BytesIO(as_xlsx({"Journal": (COLUMNS, cells(journal()))})))["Journal"]
    kinds = {cell.data_type for row in sheet.iter_rows(min_row=2) for cell in row if cell.value is not None}
    assert kinds <= {"s", "n", "d"}
    assert "=HYPERLINK(1)" in {cell.value for row in sheet.iter_rows() for cell in row}
    debits = sum(Decimal(str(row[6])) for row in sheet.iter_rows(min_row=2, values_only=True) if row[6])
    assert debits == sum(row.debit for row in journal() if row.debit)


# Sales


def test_sales_of_a_year_and_a_season_with_tax_apart(order, ada):
    sell(10, ada)
    books.receipt(1, by=ada, at=AT)
    sell(2, ada, order="", buyer="Lane", price=Decimal(5), at=AT + timedelta(hours=1))
    for span in (tax_year(2027), season(2027)):
        found = sales(span)
        assert (found.count, found.net, found.carriage) == (12, Decimal("52.00"), Decimal("8.00"))
        assert [(rate.percent, rate.net, rate.tax) for rate in found.on_receipts] == [
            (Decimal(21), Decimal(50), Decimal("10.50"))
        ]
        assert [(rate.percent, rate.net, rate.tax) for rate in found.without_receipt] == [
            (Decimal(21), Decimal(10), Decimal("2.10"))
        ]
    assert sales(season(2026)).count == 0


# Random books

PRICES = st.decimals("0.01", 90, places=2)
STEP = st.one_of(
    st.tuples(st.just("sell"), st.integers(1, 9), PRICES, st.integers(0, 2)),
    st.tuples(st.just("spend"), PRICES, PRICES, st.sampled_from(("material", "heat", "postage", "tools"))),
    st.tuples(
        st.just("pay"),
        st.one_of(PRICES, PRICES.map(lambda amount: -amount / 2)),
        st.booleans(),
        st.sampled_from((1, 2)),
    ),
    st.tuples(st.just("receipt"), st.sampled_from((1, 2))),
    st.tuples(st.just("receipt of sales"), st.integers(1, 12), st.sampled_from(("", "cash"))),
    st.tuples(st.just("cancel"), st.integers(1, 6)),
    st.tuples(st.just("take back"), st.integers(1, 12)),
    st.tuples(st.just("give up"), st.integers(1, 9)),
    st.tuples(st.just("reverse"), st.integers(0, 5)),
)


def do(step: tuple, at: datetime, ada: User) -> None:
    """Book one step of a random season; what the book refuses is left."""
    said = {"by": ada, "at": at}
    with suppress(Refused):
        match step:
            case "sell", count, price, order:
                whom = {"order": str(order)} if order else {"buyer": "Lane"}
                work.sell("L1", count, from_place="Bench", price=price, **whom, **said)
            case "spend", net, tax, outlay:
                books.spend(net, "something", tax=tax, outlay=outlay, **said)
            case "pay", amount, is_deposit, order:
                pay(order, amount, is_deposit=is_deposit and amount > 0, **said)
            case "receipt", order:
                books.receipt(order, **said)
            case "receipt of sales", which, how:
                if len(sales := Sale.objects.order_by("movement__number")) >= which:
                    books.receipt_of_sales([sales[which - 1].movement.number], paid=how, **said)
            case "cancel", number:
                books.cancel_receipt(number, note="wrong", **said)
            case "take back", which:
                if len(sales := Sale.objects.order_by("movement__number")) >= which:
                    work.correct(sales[which - 1].movement.number, note="wrong", **said)
            case "give up", count:
                work.give_up("L1", count, from_place="Bench", **said)
            case "reverse", which:
                if len(bills := Expense.objects.order_by("at")) > which:
                    books.reverse_expense(bills[which].pk, note="wrong", **said)


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(STEP, max_size=14),
    st.sampled_from((None, Decimal("7.7"), Decimal("8.875"), Decimal(21))),
    st.booleans(),
)
def test_whatever_happens_the_books_agree_with_the_account_to_the_cent(
    book, ada, steps, percent, is_registered
):
    with transaction.atomic():
        books_with(tax_percent="none" if percent is None else percent, wage=Decimal("13.37"))
        books_with(tax_number="AB 1" if is_registered else "")
        for number in (1, 2):
            line = orders.Line("Dusk", 40, DAY, DAY, price=Decimal(3))
            charge(orders.order(f"Hedge {number}", [line], by=ada, at=AT).number, Decimal("4.44"))
        for hour, step in enumerate(steps, 1):
            do(step, AT + timedelta(hours=hour), ada)
        whole(is_registered)
        transaction.set_rollback(True)


def whole(is_registered: bool) -> None:
    """Hold the books against the account: money, counts and numbers."""
    rows, year = journal(), tax_year(2027)
    entries: dict[str, Decimal] = {}
    came: dict[str, Decimal] = {}
    for row in rows:
        entries[row.entry_id] = entries.get(row.entry_id, Decimal()) + row.amount
        came[row.account] = came.get(row.account, Decimal()) + row.amount
        assert (row.debit is None) != (row.credit is None)
    assert set(entries.values()) <= {Decimal(0)}
    bills, paid = Expense.objects.all(), Payment.objects.all()
    spent = sum((bill.net + bill.tax for bill in bills), Decimal())
    at_once = [part.amount for one in receipts() if one.order is None for part in one.paid]
    in_cash = sum((*(one.amount for one in paid), *at_once), Decimal())
    assert came.get("Assets:Cash and bank", Decimal()) == in_cash - spent
    assert sales(year).paid == in_cash
    stands = Sale.objects.filter(movement__reversed_by=None).select_related("movement")
    net = sum((sale.price * sale.movement.count for sale in stands), Decimal())
    assert -came.get("Income:Sales", Decimal()) == net == sales(year).net
    assert sales(year).count == sum(sale.movement.count for sale in stands)
    if not what_is_odd():
        by_code: dict[str, Decimal] = {}
        for row in rows:
            if row.account.startswith("Income:"):
                by_code[row.tax_code] = by_code.get(row.tax_code, Decimal()) - row.amount
        by_rate: dict[str, Decimal] = {}
        for rate in (*sales(year).on_receipts, *sales(year).without_receipt):
            code = "none" if rate.percent is None else f"{rate.percent.normalize():f} %"
            by_rate[code] = by_rate.get(code, Decimal()) + rate.net
        assert {code: net for code, net in by_code.items() if net} == {
            code: net for code, net in by_rate.items() if net
        }
    assert [one.number for one in receipts()] == list(range(1, Receipt.objects.count() + 1))
    found = costs(year)
    labour = found.spent[Part.LABOUR]
    cost = sum((bill.net + (0 if is_registered else bill.tax) for bill in bills), Decimal())
    assert found.total == cost + labour
    assert found.of_rows + sum(found.dead.values()) + found.unplaced == found.total
    held = Balance.objects.filter(place__kind__in=ON_HAND).aggregate(sum=Sum("count"))["sum"]
    assert sum(row.on_hand for row in found.rows) == held == stock(year).count
    assert check_text(as_plain_text("Random", "EUR", rows))[1] == []
