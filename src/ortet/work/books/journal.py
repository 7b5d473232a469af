"""The journal: every sale, receipt, payment and expense as an entry whose debits equal its credits.

What each account says:

- a sale is income on the day the wood left; until a receipt says so, nobody owes it: it waits between sending and receipt;
- a receipt makes it owed by buyers, adds carriage and tax, and takes off the deposits that came before;
- a sale without an order is income and tax at once; a receipt for it says the tax to the cent, and what was paid at once;
- a payment lessens what buyers owe; a deposit is the buyer's own money until a receipt stands;
- money back for a complaint lessens the income and is not owed again; whether its tax comes back, the accountant decides;
- an expense is paid from cash and bank. Tax in it is apart where the nursery has a tax number.

Nothing is edited: a corrected movement, a cancelled receipt and a reversed expense each have an entry of their own, which is the
first one turned round.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from ortet.ledger.models import Expense, Nursery, Outlay, Payment
from ortet.tables.journal import JournalRow
from ortet.wood.money import rounded
from ortet.wood.speech import say, to_say

from .receipts import ReceiptValues, receipts
from .sold import Sold, sold
from .years import Year

__all__ = ["journal", "what_is_odd"]

CASH = "Assets:Cash and bank"
OWED = "Assets:Owed by buyers"
BETWEEN = "Assets:Sent and not on a receipt"
COUNTER = "Assets:Sold without an order"  # paid or not, the book does not know
TAX_PAID = "Assets:Tax paid on what was bought"
DEPOSITS = "Liabilities:Deposits of buyers"
TAX = "Liabilities:Sales tax"
SALES = "Income:Sales"
MADE_GOOD = "Income:Made good to buyers"
CARRIAGE = "Income:Carriage"
SPENT = {
    Outlay.MATERIAL: to_say("Materials"),
    Outlay.PLANTS: to_say("Plants and wood bought"),
    Outlay.HEAT: to_say("Heat and power"),
    Outlay.WAGES: to_say("Wages"),
    Outlay.POSTAGE: to_say("Postage"),
    Outlay.FEES: to_say("Fees and licences"),
    Outlay.TOOLS: to_say("Tools and upkeep"),
    Outlay.OTHER: to_say("Other"),
}


@dataclass(frozen=True, slots=True)
class _Side:
    """An account and an amount, a credit below nothing."""

    account: str
    amount: Decimal
    tax_code: str = ""
    lot: str = ""


@dataclass(frozen=True, slots=True)
class _Entry:
    """An entry before it is written: when, in what order on its day, and its sides."""

    day: date
    order: tuple[int, str]
    id: str
    document: str
    description: str
    sides: tuple[_Side, ...]

    def turned(self, day: date, id: str, document: str, description: str) -> _Entry:
        """Return the entry that takes this one back."""
        sides = tuple(_Side(one.account, -one.amount, one.tax_code, one.lot) for one in self.sides)
        return _Entry(day, self.order, id, document, description, sides)


def journal(year: Year | None = None) -> list[JournalRow]:
    """Return the rows of the journal, entry by entry in order of days; those of one tax year where it is named."""
    nursery = Nursery.get()
    entries = [*_sales(nursery), *_receipts_and_payments(), *_at_once(nursery), *_expenses(nursery)]
    rows: list[JournalRow] = []
    for entry in sorted(entries, key=lambda one: (one.day, one.order)):
        if year is None or entry.day in year:
            rows += _rows(entry, nursery.currency)
    return rows


def _rows(entry: _Entry, currency: str) -> Iterable[JournalRow]:
    for side in entry.sides:
        if side.amount:
            yield JournalRow(
                entry_id=entry.id,
                date=entry.day,
                doc_no=entry.document,
                account=side.account,
                description=entry.description,
                currency=currency,
                debit=side.amount if side.amount > 0 else None,
                credit=-side.amount if side.amount < 0 else None,
                tax_code=side.tax_code,
                lot_ref=side.lot,
            )


def _code(percent: Decimal | None) -> str:
    return "none" if percent is None else f"{percent.normalize():f} %"


def _sales(nursery: Nursery) -> Iterable[_Entry]:
    for one in sold(with_taken_back=True):
        if not one.net:
            continue
        if one.order is None:
            tax = _tax_at_once(one, nursery.currency)
            sides = [_Side(COUNTER, one.net + tax)]
            sides += [_Side(TAX, -tax, _code(one.percent))] if tax else []
        else:
            sides = [_Side(BETWEEN, one.net)]
        sides.append(_Side(SALES, -one.net, _code(one.percent), one.lot))
        entry = _Entry(
            one.day,
            (0, f"{one.movement:012}"),
            f"sale {one.movement}",
            f"order {one.order}/{one.line}" if one.order else f"movement {one.movement}",
            f"{one.count} {one.variety}",
            tuple(sides),
        )
        yield entry
        if one.taken_back:
            yield entry.turned(
                one.taken_back,
                f"sale {one.movement} taken back",
                entry.document,
                f"Taken back: {entry.description}",
            )


def _receipts_and_payments() -> Iterable[_Entry]:
    """Go through receipts and payments of each order as they happened: deposits lie open until a receipt takes them off."""
    of: dict[int, list[tuple[date, int, str, ReceiptValues | Payment]]] = defaultdict(list)
    for said in receipts():
        if said.order is not None:
            of[said.order].append((said.day, 1, f"{said.number:012}", said))
    for paid in Payment.objects.select_related("order"):
        of[paid.order.number].append((paid.on, 0, f"{paid.at.isoformat()} {paid.pk}", paid))
    for order, happened in of.items():
        deposits, stands = Decimal(), 0
        given: dict[int, tuple[_Entry, Decimal]] = {}
        for _, _, _, one in sorted(happened, key=lambda row: row[:3]):
            if isinstance(one, Payment) and one.complaint_id:
                yield _made_good(one, order)
            elif isinstance(one, Payment):
                # what goes back comes out of what still waits, as far as that goes
                waits = (
                    one.amount
                    if one.is_deposit and not stands
                    else -min(deposits, max(-one.amount, Decimal()))
                )
                deposits += waits
                yield _payment(one, order, waits)
            elif one.cancels:
                entry, taken = given[one.cancels]
                deposits, stands = deposits + taken, stands - 1
                yield entry.turned(
                    one.day,
                    f"receipt {one.number}",
                    f"receipt {one.number}",
                    f"Cancels receipt {one.cancels}",
                )
            else:
                taken = min(deposits, max(one.gross, Decimal()))
                entry = _receipt(one, taken)
                given[one.number] = entry, taken
                deposits, stands = deposits - taken, stands + 1
                yield entry


def _tax_at_once(one: Sold, currency: str) -> Decimal:
    """Return the tax that a sale without an order was booked with."""
    return rounded(one.net * (one.percent or 0) / 100, currency)


def _at_once(nursery: Nursery) -> Iterable[_Entry]:
    """Go through the receipts for what was sold without an order: what their tax differs from the sales', and what was paid."""
    booked = {one.movement: one for one in sold(with_taken_back=True)}
    given: dict[int, _Entry] = {}
    for one in receipts():
        name = f"receipt {one.number}"
        if one.order is not None:
            continue
        if one.cancels:
            yield given[one.cancels].turned(one.day, name, name, f"Cancels receipt {one.cancels}")
            continue
        taxes: dict[str, Decimal] = defaultdict(Decimal)
        for rate in one.rates:
            taxes[_code(rate.percent)] += rate.tax
        for sale in (booked[number] for number in one.sales):
            taxes[_code(sale.percent)] -= _tax_at_once(sale, nursery.currency)
        paid = sum((part.amount for part in one.paid), Decimal())
        sides = [_Side(CASH, paid), _Side(COUNTER, sum(taxes.values(), Decimal()) - paid)]
        sides += [_Side(TAX, -tax, code) for code, tax in taxes.items()]
        given[one.number] = _Entry(
            one.day, (1, f"{one.number:012}"), name, name, "Sold without an order", tuple(sides)
        )
        yield given[one.number]


def _payment(one: Payment, order: int, waits: Decimal) -> _Entry:
    what = "Paid back" if one.amount < 0 else "Deposit" if one.is_deposit else "Payment"
    said = f"{what} for order {order}" + (f", {one.how}" if one.how else "")
    id = f"payment {one.pk.hex[-8:]}"
    sides = (_Side(CASH, one.amount), _Side(DEPOSITS, -waits), _Side(OWED, waits - one.amount))
    return _Entry(one.on, (2, f"{one.at.isoformat()} {one.pk}"), id, f"order {order}", said, sides)


def _made_good(one: Payment, order: int) -> _Entry:
    what = "Paid back for a complaint" if one.amount < 0 else "Paid back by mistake, and mended"
    said = f"{what}, order {order}" + (f", {one.how}" if one.how else "")
    sides = (_Side(CASH, one.amount), _Side(MADE_GOOD, -one.amount))
    key = f"{one.at.isoformat()} {one.pk}"
    return _Entry(one.on, (2, key), f"payment {one.pk.hex[-8:]}", f"order {order}", said, sides)


def _receipt(one: ReceiptValues, deposits: Decimal) -> _Entry:
    sides = [_Side(OWED, one.gross - deposits)]
    sides += [_Side(DEPOSITS, deposits)]
    sides += [_Side(BETWEEN, -(one.net - one.carriage))]
    sides += [_Side(CARRIAGE, -line.net, _code(line.percent)) for line in one.lines if line.count is None]
    sides += [_Side(TAX, -rate.tax, _code(rate.percent)) for rate in one.taxes]
    name = f"receipt {one.number}"
    return _Entry(one.day, (1, f"{one.number:012}"), name, name, f"Order {one.order}", tuple(sides))


def _expenses(nursery: Nursery) -> Iterable[_Entry]:
    for bill in Expense.objects.order_by("on", "at", "id"):
        apart = bill.tax if nursery.tax_number else Decimal()
        sides = (
            _Side(f"Expenses:{SPENT[Outlay(bill.outlay)]}", bill.net + bill.tax - apart),
            _Side(TAX_PAID, apart),
            _Side(CASH, -(bill.net + bill.tax)),
        )
        id = f"expense {bill.pk.hex[-8:]}"
        said = f"Reversed: {bill.what}" if bill.reverses_id else bill.what
        yield _Entry(bill.on, (3, f"{bill.at.isoformat()} {bill.pk}"), id, id, said, sides)


def what_is_odd() -> list[str]:
    """Return in sentences what in the books asks for a look: receipts over sales that were taken back, sales without a price."""
    all_sold = {one.movement: one for one in sold(with_taken_back=True)}
    said = [
        say(
            "Receipt {receipt} is for movement {number}, which was corrected since: cancel it and give another.",
            receipt=one.number,
            number=number,
        )
        for one in receipts()
        if not one.cancels and not one.cancelled_by
        for number in one.sales
        if number in all_sold and all_sold[number].taken_back
    ]
    bare: list[Sold] = [one for one in all_sold.values() if one.price is None and not one.taken_back]
    if bare:
        count = sum(one.count for one in bare)
        said.append(
            say(
                "{count} cuttings or plants were sold without a price: they are in no sum of money.",
                count=count,
            )
        )
    return said
