"""A receipt: its sums hold to the cent, whatever its lines, and are what stands on the sheet."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ortet.paper.receipt import Paid, ReceiptLine, ReceiptSheet, ReceiptTax, receipt_sheet
from ortet.paper.sender import Sender
from tests.paper.reading import LONG, SIZES, is_clear, pages, sizes

D = Decimal
SENDER = Sender(("Hill Nursery", "7 Kiln Lane", "Nether Tarn"), "post@hill.example")


def sheet(**said):
    """Return a receipt for cuttings at 42.00 and carriage at 8.00, taxed at 21 %."""
    usual = {
        "number": "17",
        "day": "12 February 2027",
        "to": ("Wren Hedges", "Tithe Barn 2"),
        "lines": (
            ReceiptLine("Ribes nigrum ‘Dusk’", D("42.00"), D(21), 28, D("1.50"), "order 3/1"),
            ReceiptLine("Carriage", D("8.00"), D(21)),
        ),
        "taxes": (ReceiptTax(D(21), D("50.00"), D("10.50")),),
        "paid": (Paid("1 February 2027", D("20.00"), "deposit"),),
    }
    return ReceiptSheet(SENDER, **usual | said)


@pytest.mark.parametrize("paper", SIZES)
def test_the_worked_order_comes_out_to_the_cent_on_the_right_paper(paper):
    """By hand: 28 at 1.50 are 42.00, with 8.00 carriage 50.00; 21 % of it 10.50, in all 60.50. [our figures]"""
    one = sheet()
    assert (one.net, one.tax, one.total, one.owed) == (D("50.00"), D("10.50"), D("60.50"), D("40.50"))
    pdf = receipt_sheet(one, paper=paper)
    assert sizes(pdf) == [pytest.approx(SIZES[paper], abs=0.01)]
    (text,) = pages(pdf)
    for words in (
        "Receipt 17",
        "Hill Nursery",
        "Wren Hedges",
        "28 1.50 21 % 42.00",
        "EUR 60.50",
        "EUR 40.50",
        "Still to be paid",
        "deposit",
    ):
        assert words in text  # fmt: skip


def test_tax_stands_apart_by_its_rate_and_what_has_none_says_so():
    lines = (
        ReceiptLine("Plants", D("10.00"), D("7")),
        ReceiptLine("Boxes", D("10.00"), D("19.00")),
        ReceiptLine("Gift", D("1.00")),
    )
    rates = (
        ReceiptTax(D("7"), D("10.00"), D("0.70"), "plants"),
        ReceiptTax(D("19"), D("10.00"), D("1.90")),
        ReceiptTax(None, D("1.00"), D("0.00")),
    )
    text = pages(receipt_sheet(sheet(lines=lines, taxes=rates, paid=())))[0]
    assert "7 % 10.00 0.70 10.70 plants" in text and "19 % 10.00 1.90 11.90" in text
    assert "none 1.00 0.00 1.00" in text and "EUR 23.60" in text


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"lines": (ReceiptLine("Dusk", D("42.01"), D(21), 28, D("1.50")),)}, "28 at 1.50 are 42.00, not 42.01"),
        ({"lines": (ReceiptLine("Dusk", D("42.005"), D(21)),)}, "not divided so finely"),
        ({"taxes": (ReceiptTax(D(21), D("49.99"), D("10.50")),)}, "do not add up"),
        ({"taxes": (ReceiptTax(D(21), D("25.00"), D("5.25")),) * 2}, "do not add up"),
        ({"paid": (Paid("today", D("NaN")),)}, "not divided so finely"),
    ],
)  # fmt: skip
def test_parts_that_contradict_each_other_are_refused(wrong, words):
    with pytest.raises(ValueError, match=words):
        sheet(**wrong)


cents = st.integers(-1_000_000, 1_000_000).map(lambda n: D(n) / 100)


@settings(max_examples=60)
@given(
    st.lists(st.tuples(cents, st.sampled_from([None, D(7), D(19)])), min_size=1, max_size=20),
    st.lists(cents, max_size=3),
)
def test_sums_are_those_of_the_lines_whatever_they_are(rows, paid):
    lines = tuple(ReceiptLine("x", net, rate) for net, rate in rows)
    nets = {rate: sum((net for net, of in rows if of == rate), D()) for rate in {rate for _, rate in rows}}
    rates = tuple(
        ReceiptTax(rate, net, (net * (rate or 0) / 100).quantize(D("0.01"))) for rate, net in nets.items()
    )
    one = sheet(lines=lines, taxes=rates, paid=tuple(Paid("d", amount) for amount in paid))
    assert one.total * 100 == sum(int(net * 100) for net, _ in rows) + sum(
        int(rate.tax * 100) for rate in rates
    )
    assert one.owed + sum(paid, D()) == one.total


def test_a_currency_without_cents_is_written_and_rounded_as_it_is_divided():
    """ISO 4217: the yen has no minor unit. Three at 1.50 are 4.50, which is 5 yen. [published; halves away from nothing our choice]"""
    lines = (ReceiptLine("Dusk", D("5"), D(10), 3, D("1.50")), ReceiptLine("Carriage", D("1195"), D(10)))
    one = sheet(lines=lines, taxes=(ReceiptTax(D(10), D("1200"), D("120")),), currency="JPY", paid=())
    text = pages(receipt_sheet(one))[0]
    assert "JPY 1,320" in text and "1,195" in text and "1,320.00" not in text


def test_what_cancels_another_tells_nothing_owed():
    lines = (ReceiptLine("Dusk", D("-42.00"), None, -28, D("1.50")),)
    one = sheet(lines=lines, taxes=(ReceiptTax(None, D("-42.00"), D("0.00")),), paid=(), tells_owed=False)
    text = pages(receipt_sheet(one))[0]
    assert "EUR \N{MINUS SIGN}42.00" in text and "given back" not in text and "paid" not in text


def test_many_lines_run_over_pages_and_a_long_name_stays_off_the_margins():
    lines = tuple(ReceiptLine(f"{LONG} {n}", D("1.00"), D(21), 1, D("1.00")) for n in range(60))
    pdf = receipt_sheet(sheet(lines=lines, taxes=(ReceiptTax(D(21), D("60.00"), D("12.60")),)))
    found = pages(pdf)
    assert len(found) > 1 and all("without tax EUR" in page for page in found[:-1])
    assert is_clear(pdf, 16) and receipt_sheet(sheet()) == receipt_sheet(sheet())
    text = pages(receipt_sheet(sheet(paid=(Paid("1 Feb", D("60.50")),))))[0]
    assert "Nothing is owed EUR 0.00" in text
    assert "To be given back EUR 9.50" in pages(receipt_sheet(sheet(paid=(Paid("1 Feb", D("70.00")),))))[0]
