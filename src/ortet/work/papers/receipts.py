"""A receipt on paper, as it was given out."""

from dataclasses import replace
from datetime import date

from ortet.ledger.models import Nursery, Variety
from ortet.paper.receipt import ReceiptSheet
from ortet.paper.receipt import receipt_sheet as printed
from ortet.wood.naming import fold
from ortet.work import names
from ortet.work.books.receipts import find_receipt, receipt_values

from .sheet import Days, paper_for, printing, sender, to_lines

__all__ = ["receipt_sheet"]


def receipt_sheet(number: int, paper: str = "") -> bytes:
    """Return a receipt as a PDF: the lines and sums it was given out with, under today's head and buyer's address.

    Raises
    ------
    Refused
        If the paper is unknown, or a name cannot be written.
    Unknown
        If there is no such receipt.
    """
    nursery, said = Nursery.get(), receipt_values(number)
    on = paper_for(paper, nursery)
    whose, days = find_receipt(number).whose, Days.of(nursery)
    wanted = {fold(line.what) for line in said.lines if line.count is not None}
    full = {row.name: names.full_name(row) for row in Variety.objects.filter(name_key__in=wanted)}
    with printing():
        sheet = ReceiptSheet(
            sender=sender(nursery),
            number=str(number),
            day=days.whole(said.day),
            to=to_lines(whose),
            lines=tuple(
                line if line.count is None else replace(line, what=full.get(line.what, line.what))
                for line in said.lines
            ),
            taxes=said.taxes,
            currency=said.currency,
            paid=tuple(replace(one, day=days.whole(date.fromisoformat(one.day))) for one in said.paid),
            title=said.title,
            facts=said.facts,
            notes=said.notes,
            # of what was sold without an order the book knows only what was paid at once
            tells_owed=not said.cancels and (said.order is not None or bool(said.paid)),
        )
        return printed(sheet, paper=on)
