"""The tables of selling: buyers, and orders line by line. What is downloaded has the same columns as what is loaded."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from ortet.wood.countries import is_country
from ortet.wood.speech import say, to_say

from .entry import Parse, Refused, choice, count, name, text

__all__ = ["BUYER_COLUMNS", "ORDER_COLUMNS", "BuyerRow", "OrderRow", "country", "day", "money"]


@dataclass(frozen=True, slots=True)
class BuyerRow:
    """A buyer."""

    line: int
    buyer: str
    address: str
    email: str
    country: str
    kind: str  # trade or private
    tax_number: str
    note: str


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One line of an order; rows with the same word for the order belong together."""

    line: int
    order: str
    position: int
    buyer: str
    variety: str
    count: int
    first_day: date
    last_day: date
    use: str
    least: int
    grades: str
    price: Decimal | None
    tax_percent: Decimal | None
    tax_note: str
    instead: str
    priority: int
    country: str
    carriage: Decimal | None
    swap: str
    in_return: str
    noted: date | None
    note: str


def country(cell: str, decimal_comma: bool) -> str:
    """Read a country by its two letters, ISO 3166-1."""
    if not is_country(cell):
        raise Refused(
            say('"{cell}" is no country.', cell=cell[:20]), say("Write it as two letters, such as DE.")
        )
    return cell.upper()


def day(cell: str, decimal_comma: bool) -> date:
    """Read a day, written as ISO 8601 has it."""
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", cell):
            raise ValueError
        return date.fromisoformat(cell)
    except ValueError:
        raise Refused(say('"{cell}" is no day.', cell=cell[:20]), say("Write it as 2027-02-15.")) from None


def money(most: int, what: str = to_say("amount"), figures: int = 2) -> Parse:
    """Return a reader of an amount of money, or a rate in per cent, from 0 to `most`, with so many figures behind the point."""

    def parse(cell: str, decimal_comma: bool) -> Decimal:
        plain = cell.replace(",", ".") if decimal_comma and "." not in cell else cell
        if not re.fullmatch(rf"\d{{1,9}}(\.\d{{1,{figures}}})?", plain) or Decimal(plain) > most:
            raise Refused(
                say('"{cell}" is no {what}.', cell=cell[:20], what=say(what)),
                say("Enter one from 0 to {most:,}, such as 1.20.", most=most),
            )
        return Decimal(plain)

    return parse


# (name, help, two examples, reader, whether it must be given, what stands where it is empty)
Said = tuple[str, str, tuple[str, str], Parse, bool, object]
BUYER_COLUMNS: tuple[Said, ...] = (
    ("buyer", to_say("Name of the buyer."), ("Tarn Mill", "Amber Gate"), name(120), True, None),
    ("address", to_say("Where parcels go."), ("Mill Lane 3, 4711 Sedge", ""), text, False, ""),
    ("email", to_say("Email address."), ("mill@tarn.example", ""), name(254), False, ""),
    ("country", to_say("Two letters, where parcels usually go."), ("DE", "AT"), country, False, ""),
    ("kind", to_say("trade or private."), ("trade", "private"), choice("private", "trade"), False, "private"),
    ("tax_number", to_say("Tax number, where trade needs it."), ("", ""), name(30), False, ""),
    ("note", to_say("Anything worth keeping."), ("", ""), text, False, ""),
)
ORDER_COLUMNS: tuple[Said, ...] = (
    ("order", to_say("Your word or number for the order; rows with the same one are one order."), ("W-7", "W-7"), name(40), True, None),
    ("position", to_say("Number of the line within its order."), ("1", "2"), count(1, 999), True, None),
    ("buyer", to_say("Who orders."), ("Tarn Mill", "Tarn Mill"), name(120), True, None),
    ("variety", to_say("Name of the variety."), ("Larkfield Amber", "Duskwater"), name(120), True, None),
    ("count", to_say("Cuttings ordered."), ("25", "10"), count(1), True, None),
    ("first_day", to_say("Posted from this day on."), ("2027-02-15", "2027-02-15"), day, True, None),
    ("last_day", to_say("Posted until this day."), ("2027-03-20", "2027-03-20"), day, True, None),
    ("use", to_say("rooting or grafting."), ("rooting", "grafting"), choice("rooting", "grafting"), False, "rooting"),
    ("least", to_say("Fewer than this are no use to the buyer."), ("10", ""), count(1), False, 1),
    ("grades", to_say("Grades accepted, commas between; empty: any."), ("A, B", ""), name(120), False, ""),
    ("price", to_say("Of one, without tax."), ("1.20", "0.90"), money(99_999_999, "price"), False, None),
    ("tax_percent", to_say("Tax on it; empty: the nursery's usual rate."), ("", "7"), money(100, to_say("per cent"), 4), False, None),
    ("tax_note", to_say("Why this rate."), ("", "fruit"), name(120), False, ""),
    ("instead", to_say("Varieties taken instead, the preferred first, commas between."), ("Duskwater", ""), name(300), False, ""),
    ("priority", to_say("1 gives way last when wood is short, 5 first."), ("3", "3"), count(1, 5), False, 3),
    ("country", to_say("Two letters, where it goes."), ("DE", "DE"), country, False, ""),
    ("carriage", to_say("What the buyer pays for posting, without tax; for the whole order."), ("6.50", "6.50"),
     money(99_999_999), False, None),
    ("swap", to_say("yes where no money changes hands."), ("no", "no"), choice("no", "yes"), False, "no"),
    ("in_return", to_say("What comes back for a swap."), ("", ""), text, False, ""),
    ("noted", to_say("Day it was ordered; empty: today."), ("2026-11-20", "2026-11-20"), day, False, None),
    ("note", to_say("Anything worth keeping about the line."), ("", ""), text, False, ""),
)  # fmt: skip
