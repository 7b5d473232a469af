"""A receipt: lines, tax kept apart by rate, carriage, what was paid and what is owed. Every sum is checked to the cent.

Typst lays it out (receipt.typ beside this file), with the shipped fonts. The same receipt gives the same bytes everywhere.
"""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from ortet.wood.money import rounded, show
from ortet.wood.speech import say, to_say

from .sender import Sender
from .typeset import SheetPaper, on_sheet

__all__ = ["Paid", "ReceiptLine", "ReceiptSheet", "ReceiptTax", "receipt_sheet"]


WORDS = (
    to_say("what"), to_say("count"), to_say("each"), to_say("tax"), to_say("without tax {currency}"), to_say("Tax by its rate"),
    to_say("rate"), to_say("without tax"), to_say("with tax"), to_say("Without tax"), to_say("Tax"), to_say("In all"),
    to_say("Paid on {day}"), to_say("Paid on {day}, {how}"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class ReceiptLine:
    """What was sold, or the carriage."""

    what: str
    net: Decimal  # without tax, to the cent
    percent: Decimal | None = None  # of tax; None: none is charged
    count: int | None = None
    each: Decimal | None = None  # price of one, without tax
    note: str = ""  # a second line: the order's line, why this rate


@dataclass(frozen=True, slots=True)
class ReceiptTax:
    """One rate of tax and what it comes to."""

    percent: Decimal | None
    net: Decimal
    tax: Decimal
    note: str = ""  # why this rate


@dataclass(frozen=True, slots=True)
class Paid:
    """Money that came, or, below nothing, went back."""

    day: str
    amount: Decimal
    how: str = ""


@dataclass(frozen=True, slots=True)
class ReceiptSheet:
    """What stands on a receipt. Its sums follow from its parts, and parts that contradict each other are refused."""

    sender: Sender
    number: str  # such as 17
    day: str
    to: tuple[str, ...]  # name and address of the buyer
    lines: tuple[ReceiptLine, ...]
    taxes: tuple[ReceiptTax, ...]  # one of each rate, together the lines
    currency: str = "EUR"
    paid: tuple[Paid, ...] = ()
    title: str = ""  # as it is said; nothing: a receipt
    facts: tuple[tuple[str, str], ...] = ()  # order, parcel, tax numbers
    notes: tuple[str, ...] = ()
    tells_owed: bool = True  # not where it cancels another

    def __post_init__(self) -> None:
        """Hold the sums together.

        Raises
        ------
        ValueError
            If an amount is no whole cent, a line is not its count at its price, or the rates do not add up to the lines.
        """
        amounts = [line.net for line in self.lines] + [one.amount for one in self.paid]
        amounts += [value for one in self.taxes for value in (one.net, one.tax)]
        if any(not amount.is_finite() or amount != rounded(amount, self.currency) for amount in amounts):
            raise ValueError(
                say(
                    "Receipt {number}: {currency} is not divided so finely as one of its amounts. Nothing was printed.",
                    number=self.number,
                    currency=self.currency,
                )
            )
        for line in self.lines:
            exact = None if line.count is None or line.each is None else line.count * line.each
            if exact is not None and rounded(exact, self.currency) != line.net:
                raise ValueError(
                    say(
                        "Receipt {number}, {what}: {count} at {each} are {exact}, not {net}. Nothing was printed.",
                        number=self.number,
                        what=line.what,
                        count=line.count,
                        each=line.each,
                        exact=exact,
                        net=line.net,
                    )
                )
        nets: dict[Decimal | None, Decimal] = defaultdict(Decimal)
        for line in self.lines:
            nets[line.percent] += line.net
        if nets != {one.percent: one.net for one in self.taxes} or len(nets) != len(self.taxes):
            raise ValueError(
                say(
                    "Receipt {number}: the rates of tax do not add up to the lines. Nothing was printed.",
                    number=self.number,
                )
            )

    @property
    def net(self) -> Decimal:
        """All lines, without tax."""
        return sum((line.net for line in self.lines), Decimal())

    @property
    def tax(self) -> Decimal:
        """All tax."""
        return sum((one.tax for one in self.taxes), Decimal())

    @property
    def total(self) -> Decimal:
        """What is to be paid in all."""
        return self.net + self.tax

    @property
    def owed(self) -> Decimal:
        """What is still to be paid; below nothing: to be given back."""
        return self.total - sum((one.amount for one in self.paid), Decimal())


def receipt_sheet(receipt: ReceiptSheet, *, paper: SheetPaper = "a4") -> bytes:
    """Return a receipt as a PDF of as many pages as it takes.

    Raises
    ------
    ValueError
        If the paper is unknown, or if no font has a letter of a name.
    """
    one, currency = receipt, receipt.currency

    def money(amount: Decimal) -> str:
        return show(amount, currency)

    taxed = any(line.percent is not None for line in one.lines)
    said = {
        "sender": {"lines": one.sender.lines, "contact": one.sender.contact},
        "title": one.title or say("Receipt"),
        "number": one.number,
        "day": one.day,
        "to": one.to,
        "facts": one.facts,
        "notes": one.notes,
        "currency": one.currency,
        "taxed": taxed,
        "lines": [
            {
                "what": line.what,
                "note": line.note,
                "count": "" if line.count is None else f"{line.count:,}",
                "each": "" if line.each is None else money(line.each),
                "rate": _rate(line.percent),
                "net": money(line.net),
            }
            for line in one.lines
        ],
        "taxes": [
            {
                "rate": _rate(rate.percent),
                "net": money(rate.net),
                "tax": money(rate.tax),
                "gross": money(rate.net + rate.tax),
                "note": rate.note,
            }
            for rate in one.taxes
        ],
        "paid": [{"day": row.day, "how": row.how, "amount": money(row.amount)} for row in one.paid],
        "net": money(one.net),
        "tax": money(one.tax),
        "total": f"{currency} {money(one.total)}",
        "owed": _owed(one) if one.tells_owed else None,
    }
    return on_sheet("receipt", paper, words=WORDS, receipt=said)


def _rate(percent: Decimal | None) -> str:
    return say("none") if percent is None else f"{percent.normalize():f} %"


def _owed(one: ReceiptSheet) -> tuple[str, str]:
    """Return what is owed, or to be given back, and how much."""
    words = (
        say("To be given back")
        if one.owed < 0
        else say("Still to be paid")
        if one.owed
        else say("Nothing is owed")
    )
    return words, f"{one.currency} {show(abs(one.owed), one.currency)}"
