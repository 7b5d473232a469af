"""Amounts of money: minor units by the standard, and sharing out to the last of them."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iso4217 import Currency

from ortet.wood.money import minor_units, rounded, shared, show, taxed, to_minor


def test_every_currency_is_divided_as_the_standard_says():
    """ISO 4217, list one of 1 January 2026, as the package iso4217 carries it. [published]"""
    wrong = {one.code for one in Currency if one.exponent not in (None, minor_units(one.code))}
    assert len(list(Currency)) > 150 and wrong == set()


@pytest.mark.parametrize(
    ("amount", "currency", "minor"), [("1234", "JPY", 1234), ("1.234", "KWD", 1234), ("12.34", "EUR", 1234)]
)
def test_amounts_in_minor_units(amount, currency, minor):
    """ISO 4217: JPY has no minor unit, KWD a thousand fils, EUR a hundred cents. [published]"""
    assert to_minor(Decimal(amount), currency) == minor


def test_what_is_finer_than_the_currency_is_no_amount_of_it():
    with pytest.raises(ValueError, match="JPY has 0 figures"):
        to_minor(Decimal("1.5"), "JPY")


@pytest.mark.parametrize(
    ("amount", "currency", "said"),
    [("10.5", "EUR", "10.50"), ("1234", "JPY", "1,234"), ("-1.2", "KWD", "\N{MINUS SIGN}1.200")],
)
def test_amounts_are_written_as_their_currency_is_divided(amount, currency, said):
    assert show(Decimal(amount), currency) == said


def test_halves_are_rounded_away_from_nothing():
    assert rounded(Decimal("0.125"), "EUR") == Decimal("0.13")
    assert rounded(Decimal("-0.125"), "EUR") == Decimal("-0.13")


@given(
    st.lists(st.decimals(0, 1_000_000, places=9), min_size=1, max_size=40),
    st.sampled_from(("EUR", "JPY", "KWD")),
)
def test_what_is_shared_out_adds_up_and_is_next_to_exact(parts, currency):
    got = shared(parts, currency)
    assert sum(got) == rounded(sum(parts), currency)
    assert all(
        abs(one - part) < Decimal(1).scaleb(-minor_units(currency))
        for one, part in zip(got, parts, strict=True)
    )


def test_parts_that_do_not_add_up_are_refused():
    with pytest.raises(ValueError, match="do not add up"):
        shared([Decimal(1), Decimal(1)], "EUR", Decimal(3))


def test_the_tax_of_a_worked_bill():
    """42.00 of cuttings and 8.00 of carriage at 21 per cent are 10.50 of tax and 60.50 in all. [computed]"""
    (rate,) = taxed([(Decimal("42.00"), Decimal(21)), (Decimal("8.00"), Decimal(21))], "EUR")
    assert (rate.net, rate.tax, rate.net + rate.tax) == (Decimal("50.00"), Decimal("10.50"), Decimal("60.50"))


def test_rates_stay_apart_and_no_tax_is_not_nothing_per_cent():
    got = taxed(
        [
            (Decimal(3), None),
            (Decimal(10), Decimal(0)),
            (Decimal("0.33"), Decimal(7)),
            (Decimal("0.33"), Decimal(7)),
        ],
        "EUR",
    )
    assert [(rate.percent, rate.net, rate.tax) for rate in got] == [
        (Decimal(7), Decimal("0.66"), Decimal("0.05")),
        (Decimal(0), Decimal(10), Decimal(0)),
        (None, Decimal(3), Decimal(0)),
    ]
