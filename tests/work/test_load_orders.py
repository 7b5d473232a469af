"""Buyers and orders from CSV: columns declared once, all or nothing, booked once, and out again in the same columns."""

from datetime import UTC, datetime
from decimal import Decimal as D

import pytest

from ortet import work
from ortet.ledger.models import Buyer, Load, Order, OrderLine
from ortet.tables.columns import BUYERS, ORDERS
from ortet.tables.out import as_csv
from ortet.work import lists
from ortet.work.load import load
from ortet.work.loading_orders import buyer_rows, order_rows

AT = datetime(2027, 1, 10, 9, tzinfo=UTC)
BUYER_FILE = 'buyer,address,email,country,kind\r\nTarn Mill,"Mill Lane 3\r\n4711 Sedge",mill@tarn.example,DE,trade\r\nElm,,,,\r\n'
ORDER_FILE = """order;position;buyer;variety;count;first_day;last_day;price;tax_percent;instead;carriage;swap;in_return;country
W-7;1;Tarn Mill;Dusk;25;2027-02-15;2027-03-20;1,20;7;Dawn;6,50;no;;DE
W-7;2;Tarn Mill;'Dawn';10;2027-02-15;2027-03-20;0,90;;;6,50;no;;DE
S1;1;Elm;Dawn;4;2027-02-15;2027-03-20;;;;;yes;an old quince;
"""


@pytest.fixture
def plants(ada):
    work.add_mother("M1", "Dusk", "blackcurrant")
    work.add_mother("M2", "Dawn", "blackcurrant")
    return {"by": ada, "at": AT}


def loaded(asked, **files):
    return load([(f"{name}.csv", text.encode()) for name, text in files.items()], **asked)


def test_two_loads_of_the_same_rows_book_once(plants):
    done = loaded(plants, orders=ORDER_FILE, buyers=BUYER_FILE)
    assert [str(one) for one in done.problems] == []
    assert done.line == "Loaded: 2 buyers, 2 orders, 3 lines of orders."
    first, second, swap = OrderLine.objects.all()
    assert (first.price, first.tax_percent, first.order.carriage, first.order.country) == (
        D("1.20"),
        7,
        D("6.50"),
        "DE",
    )
    assert [other.variety.name for other in first.substitutes.all()] == ["Dawn"]
    assert (second.variety.name, second.order) == ("Dawn", first.order)
    assert (swap.order.is_swap, swap.order.in_return) == (True, "an old quince")
    assert Buyer.objects.get(name="Tarn Mill").address.splitlines() == ["Mill Lane 3", "4711 Sedge"]
    assert "Nothing new" in loaded(plants, orders=ORDER_FILE, buyers=BUYER_FILE).line
    again = loaded(plants, orders=ORDER_FILE + "\n", buyers=BUYER_FILE + "\r\n")  # other bytes, the same rows
    assert ([str(one) for one in again.problems], again.line) == (
        [],
        "Nothing new: all of it is in the book already.",
    )
    more = ORDER_FILE + "W-7;3;Tarn Mill;Dusk;5;2027-02-15;2027-03-20;;;;6,50;no;;DE\n"
    assert loaded(plants, orders=more).line == "Loaded: 1 line of an order."


def test_what_comes_out_goes_in_and_changes_nothing(plants):
    loaded(plants, orders=ORDER_FILE, buyers=BUYER_FILE)
    out = as_csv([column.name for column in ORDERS.columns], order_rows(lists.orders()))
    people = as_csv([column.name for column in BUYERS.columns], buyer_rows(lists.buyers()))
    assert loaded(plants, orders=out, buyers=people).line == "Nothing new: all of it is in the book already."
    Load.objects.all().delete()  # as in another book
    OrderLine.objects.all().delete()
    Order.objects.all().delete()
    Buyer.objects.all().delete()
    done = loaded(plants, orders=out, buyers=people)
    assert [str(one) for one in done.problems] == []
    assert as_csv([column.name for column in ORDERS.columns], order_rows(lists.orders())) == out
    assert as_csv([column.name for column in BUYERS.columns], buyer_rows(lists.buyers())) == people


def test_each_problem_has_its_row_and_column_and_nothing_is_loaded(plants):
    wrong = """order,position,buyer,variety,count,first_day,last_day,least,price,swap,country
A,1,Elm,Nameless,4,2027-02-15,2027-03-20,,,no,
A,2,Elm,Dusk,4,2027-03-15,2027-03-01,,,no,
B,1,Elm,Dusk,4,2027-02-15,2027-03-20,9,,no,
B,2,Oak,Dusk,4,2027-02-15,2027-03-20,,,no,
C,1,Elm,Dusk,4,2027-02-15,2027-03-20,,1.00,yes,
D,1,Elm,Dusk,4,2027-02-15,2027-03-20,,,no,
"""
    done = loaded(plants, orders=wrong, buyers=BUYER_FILE)
    assert [(one.line, one.column) for one in done.problems] == [
        (2, "variety"), (3, "last_day"), (4, "least"), (5, "buyer"), (6, "price"),
    ]  # fmt: skip
    assert (Order.objects.count(), Buyer.objects.count()) == (0, 0)
    read = "order,position,buyer,variety,count,first_day,last_day,price,country\nA,1,Elm,Dusk,0,15.2.2027,2027-03-20,1.234,DEU\n"
    assert [one.column for one in loaded(plants, orders=read).problems] == [
        "count",
        "first_day",
        "price",
        "country",
    ]


def test_what_the_book_says_otherwise_is_refused(plants):
    loaded(plants, orders=ORDER_FILE, buyers=BUYER_FILE)
    other = loaded(plants, orders=ORDER_FILE.replace(";25;", ";26;"))
    assert "is in the book as 25" in str(other.problems[0])
    moved = loaded(plants, buyers=BUYER_FILE.replace("mill@", "tarn@"))
    assert "another email" in str(moved.problems[0])
