"""Money: how finely a currency is divided, rounding to that, and sharing an amount out so that nothing is lost.

ISO 4217 gives each currency its minor unit: two figures behind the point for most, none for the yen, three for the Kuwaiti
dinar. The currencies that differ from two are in the table below, as the standard's list of 1 January 2026 has them; the
tests compare it with that list. [published]
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal

from .speech import say, say_number

__all__ = ["Rate", "minor_units", "rounded", "shared", "show", "taxed", "to_minor", "together", "unit"]

USUAL = 2
OTHERS = {
    **dict.fromkeys(
        [
            "BIF",
            "CLP",
            "DJF",
            "GNF",
            "ISK",
            "JPY",
            "KMF",
            "KRW",
            "PYG",
            "RWF",
            "UGX",
            "UYI",
            "VND",
            "VUV",
            "XAF",
            "XOF",
            "XPF",
        ],
        0,
    ),
    **dict.fromkeys(["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"], 3),
    **dict.fromkeys(["CLF", "UYW"], 4),
}


def minor_units(currency: str) -> int:
    """Return how many figures a currency has behind the point: JPY 0, EUR 2, KWD 3."""
    return OTHERS.get(currency.upper(), USUAL)


def unit(currency: str) -> Decimal:
    """Return the smallest amount of a currency, such as 0.01."""
    return Decimal(1).scaleb(-minor_units(currency))


def to_minor(amount: Decimal, currency: str) -> int:
    """Return an amount in whole minor units: 1.234 KWD are 1234.

    Raises
    ------
    ValueError
        If the currency is not divided so finely.
    """
    minor = amount.scaleb(minor_units(currency))
    if minor != minor.to_integral_value():
        raise ValueError(
            say(
                "{amount} {currency}: {currency} has {figures} figures behind the point",
                amount=amount,
                currency=currency,
                figures=minor_units(currency),
            )
        )
    return int(minor)


def rounded(amount: Decimal, currency: str) -> Decimal:
    """Return an amount to the nearest minor unit, halves away from nothing."""
    return amount.quantize(unit(currency), ROUND_HALF_UP)


def shared(parts: Sequence[Decimal], currency: str, total: Decimal | None = None) -> list[Decimal]:
    """Return amounts in whole minor units, next to the exact ones, that add up to their total.

    Each is rounded towards nothing, and the units left over go one each to those that lost most by it, the first of equals
    first: the method of the largest remainder.

    Parameters
    ----------
    parts : sequence of Decimal
        Exact amounts, none below nothing.
    total : Decimal, optional
        What they must add up to, in whole minor units; None: their sum, rounded.

    Raises
    ------
    ValueError
        If a part is below nothing, or the total is not within a unit for each part of their sum.
    """
    if any(part < 0 for part in parts):
        raise ValueError("an amount to share out is nothing or more")
    least = unit(currency)
    whole = rounded(sum(parts, Decimal()), currency) if total is None else total
    cut = [part.quantize(least, ROUND_DOWN) for part in parts]
    over = to_minor(whole - sum(cut, Decimal()), currency)
    if not 0 <= over <= len(parts):
        raise ValueError(f"{len(parts)} parts of {sum(parts, Decimal())} do not add up to {whole}")
    most = sorted(range(len(parts)), key=lambda place: cut[place] - parts[place])[:over]
    for place in most:
        cut[place] += least
    return cut


def show(amount: Decimal, currency: str) -> str:
    """Write an amount as its currency is divided, three figures to a group: 1,234.50."""
    fine = max(minor_units(currency), -int(amount.normalize().as_tuple().exponent) if amount else 0)
    sign = "\N{MINUS SIGN}" if amount < 0 else ""
    return f"{sign}{say_number(abs(amount), f',.{fine}f')}"


@dataclass(frozen=True, slots=True)
class Rate:
    """What falls under one rate of tax."""

    percent: Decimal | None  # None: no tax is charged
    net: Decimal
    tax: Decimal


def taxed(
    amounts: Iterable[tuple[Decimal, Decimal | None]], currency: str, before: Iterable[Rate] = ()
) -> list[Rate]:
    """Return net amounts and their tax by rate: the tax of each rate is reckoned once, on the sum of what falls under it.

    Parameters
    ----------
    amounts : iterable of (Decimal, Decimal or None)
        A net amount and the per cent of tax on it; None: no tax is charged.
    before : iterable of Rate
        What was charged already: the tax is then what its tax lacks to that on all of it together.
    """
    had = {rate.percent: rate for rate in together(before)}
    found = []
    for one in together(Rate(percent, net, Decimal()) for net, percent in amounts):
        earlier = had.get(one.percent, Rate(one.percent, Decimal(), Decimal()))
        whole = rounded((earlier.net + one.net) * (one.percent or 0) / 100, currency)
        found.append(Rate(one.percent, one.net, whole - earlier.tax))
    return found


def together(rates: Iterable[Rate]) -> list[Rate]:
    """Return net and tax added up by rate, the highest rate first and what is not taxed last."""
    sums: dict[Decimal | None, Rate] = {}
    for one in rates:
        had = sums.get(one.percent, Rate(one.percent, Decimal(), Decimal()))
        sums[one.percent] = Rate(one.percent, had.net + one.net, had.tax + one.tax)
    return sorted(sums.values(), key=lambda rate: (rate.percent is None, -(rate.percent or 0)))
