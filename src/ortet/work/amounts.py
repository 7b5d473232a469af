"""Amounts of money and rates of tax that the book can keep."""

from decimal import Decimal

from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery
from ortet.wood.money import rounded
from ortet.wood.speech import say

__all__ = ["is_percent", "refuse_wrong_amount"]

MOST = Decimal(10) ** 8
FINE = 4  # figures behind the point of a rate: 8.875 per cent is charged somewhere


def refuse_wrong_amount(what: str, amount: Decimal | None, *, least: Decimal = Decimal(0)) -> None:
    """Refuse an amount below the least, too large, finer than a hundredth, or finer than the nursery's currency is divided.

    Raises
    ------
    Refused
        If it is one of these.
    """
    if amount is None:
        return
    if not (amount.is_finite() and least <= amount < MOST and amount == round(amount, 2)):
        raise Refused(
            say("{what} {amount}: give an amount like 4.50. Nothing was booked.", what=what, amount=amount)
        )
    if amount != rounded(amount, currency := Nursery.get().currency):
        raise Refused(
            say(
                "{what} {amount}: {currency} is not divided so finely. Nothing was booked.",
                what=what,
                amount=amount,
                currency=currency,
            )
        )


def is_percent(rate: Decimal) -> bool:
    """Whether the book can keep a rate of tax: from 0 to 100, with four figures behind the point at most."""
    return rate.is_finite() and 0 <= rate <= 100 and rate == round(rate, FINE)
