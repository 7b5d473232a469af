"""What is owed for an order: lines sold or wanted, carriage, tax, payments; and that it agrees with the receipt."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet import work
from ortet.ledger.models import Nursery, Order, OrderLine
from ortet.work.books import receipt
from ortet.work.books.journal import journal
from ortet.work.books.receipts import receipt_values
from ortet.work.dealings import dealt_with
from ortet.work.orders import Line, cancel, order
from ortet.work.owed import Part, add_up, sums
from ortet.work.packing import complain
from ortet.work.payments import pay
from ortet.work.privacy import ties

AT = datetime(2027, 1, 10, 9, tzinfo=UTC)
FROM, UNTIL = date(2027, 2, 15), date(2027, 3, 15)
D = Decimal


def test_the_worked_order_of_the_notes_comes_to_the_cent():
    """Worked entry that bean-check passes: cuttings 42.00, shipping 8.00, VAT 10.50, together 60.50. [computed, standards.md 9]"""
    found = add_up([Part(35, D("1.20"), D(21))], (D(8), D(21)), D(0), "EUR")
    assert (found.net, found.tax, found.gross, found.owed) == (D(50), D("10.50"), D("60.50"), D("60.50"))


def test_half_a_cent_is_rounded_up_for_each_line():
    """Halves away from nothing, line by line, which is how a receipt adds up what is printed on it. [our choice]"""
    found = add_up([Part(1, D("0.005"), None), Part(1, D("0.005"), None)], (D(0), None), D(0), "EUR")
    assert found.net == D("0.02")


PART = st.builds(
    Part,
    st.integers(0, 5000),
    st.one_of(st.none(), st.decimals(0, 999, places=2)),
    st.sampled_from([None, D(0), D("5.5"), D(21)]),
)


@given(st.lists(PART, max_size=8), st.decimals(0, 99, places=2), st.decimals(-999, 999, places=2))
def test_what_is_owed_and_paid_is_what_it_comes_to(parts, carriage, paid):
    found = add_up(parts, (carriage, D(21)), paid, "EUR")
    assert found.owed + found.paid == found.gross == found.net + found.tax
    assert found.gross == found.gross.quantize(D("0.01"))
    assert found.unpriced == sum(part.count for part in parts if part.price is None)


@pytest.fixture
def asked(ada):
    work.add_mother("M1", "Dusk", "blackcurrant")
    work.take("M1", 50, by=ada, at=AT, mark="A1")
    Nursery(id=1, tax_percent=D(21)).save()
    return {"by": ada, "at": AT}


def test_what_was_sold_counts_at_its_price_and_what_is_cancelled_not(asked):
    noted = order("Tarn", [Line("Dusk", 10, FROM, UNTIL, price=D("1.20"))], **asked)
    assert sums(noted).gross == D("14.52")
    Order.objects.update(carriage=D("5.00"))
    noted.refresh_from_db()
    assert sums(noted).gross == D("20.57")
    work.sell("A1", 4, order="1/1", price=D("1.00"), **asked)
    assert sums(noted).net == D("16.20")  # 4 at 1.00, 6 at 1.20, carriage
    cancel("1/1", at=AT)
    assert sums(noted).net == D("9.00")
    receipt(1, **asked)
    assert receipt_values(1).gross == sums(noted).gross


def test_what_went_back_for_a_complaint_is_not_owed_again(asked):
    """10 at 1.20 and 21 per cent are 14.52; of two that were dry 2.90 go back [computed]."""
    noted = order("Tarn", [Line("Dusk", 10, FROM, UNTIL, price=D("1.20"))], **asked)
    work.sell("A1", 10, order="1", **asked)
    pay(1, D("14.52"), **asked)
    dry = complain("1/1", "dry", 2, **asked)
    pay(1, D("-2.90"), complaint=dry.pk, **asked)
    assert (sums(noted).paid, sums(noted).owed) == (D("14.52"), 0)
    assert ties(dealt_with([noted.buyer])[noted.buyer_id]) == []
    receipt(1, **asked)
    assert [one.amount for one in receipt_values(1).paid] == [D("14.52")]
    left: dict[str, D] = {}
    for row in journal():
        left[row.account] = left.get(row.account, D()) + row.amount
    assert (left["Assets:Owed by buyers"], left["Income:Made good to buyers"]) == (0, D("2.90"))
    assert left["Assets:Cash and bank"] == D("11.62") and sum(left.values()) == 0
    pay(1, D("-1.00"), **asked)  # goes back without a complaint: then it is owed
    assert sums(noted).owed == D("1.00")


def test_a_swap_and_what_nobody_priced(asked):
    noted = order("Tarn", [Line("Dusk", 10, FROM, UNTIL)], **asked)
    assert (sums(noted).gross, sums(noted).unpriced) == (0, 10)
    OrderLine.objects.update(price=D(2), tax_percent=D(0))
    assert sums(noted).gross == D(20)
    noted.is_swap = True
    assert sums(noted).gross == 0
