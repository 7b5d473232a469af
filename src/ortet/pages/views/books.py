"""The books by page: sales and tax, costs, stock, expenses, receipts, the journal; and the deeds about them."""

from collections import defaultdict
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from ortet.ledger.models import Expense, Order
from ortet.pages.forms.books import (
    CancelReceipt,
    GiveReceipt,
    ReceiptOfSales,
    ReverseExpense,
    SetMinutes,
    Spend,
)
from ortet.pages.forms.deed import Deed
from ortet.wood.speech import say
from ortet.work import Refused, books
from ortet.work.books.costs import costs as reckon
from ortet.work.books.journal import journal as entries
from ortet.work.books.journal import what_is_odd
from ortet.work.books.receipts import find_receipt, receipt_values, receipts, unreceipted, unreceipted_sales
from ortet.work.books.sales import sales
from ortet.work.books.stock import stock as on_hand
from ortet.work.books.tables import FILES, file_of, tables_of
from ortet.work.books.years import Year, season, seasons, tax_year, tax_year_of, tax_years

from .asking import Done, a_deed
from .refusing import says_why

__all__ = [
    "books_file", "cancel_receipt", "costs", "expenses", "give_receipt", "journal", "owed", "receipt_of_sales", "reverse_expense",
    "set_minutes", "spend", "stock", "the_books", "the_receipt",
]  # fmt: skip

TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "txt": "text/plain; charset=utf-8",
}
ROWS = 100


def _year(request: HttpRequest) -> Year:
    """Return the tax year or the season that the address names; this tax year where it names none."""
    for word, of in (("season", season), ("year", tax_year)):
        if said := request.GET.get(word, ""):
            if not (said.isdecimal() and said.isascii() and len(said) == 4):
                raise Refused(say("{said!r}: write a year like 2027.", said=said[:20]))
            return of(int(said))
    return tax_year(tax_year_of(request.nursery.today()))


def _seen(request: HttpRequest, part: str, **more: Any) -> dict[str, Any]:
    """Return what every page of the books shows: the years to choose from, and which is chosen."""
    span = _year(request)
    chosen = urlencode({name: request.GET[name] for name in ("season", "year") if request.GET.get(name)})
    years = [(tax_year(number).name, f"year={number}") for number in tax_years()]
    spans = (
        [(say("season {number}", number=number), f"season={number}") for number in seasons()]
        if part == "books"
        else []
    )
    usual = f"year={tax_year_of(span.first)}"
    return {
        "part": part, "span": span, "chosen": chosen or usual, "years": [*years, *spans],
        "currency": request.nursery.currency, **more,
    }  # fmt: skip


@require_safe
@says_why
def the_books(request: HttpRequest) -> HttpResponse:
    """Show what was sold, its tax by rate, money in and out, and the receipts."""
    seen = _seen(request, "books", odd=what_is_odd(), waiting=sorted(unreceipted().items()))
    seen["sales"] = sales(seen["span"])
    at_the_gate = unreceipted_sales(seen["span"].first, seen["span"].last)
    seen["at_the_gate"], seen["more_at_the_gate"] = at_the_gate[:ROWS], len(at_the_gate[ROWS:])
    seen["receipts"] = [one for one in receipts() if one.day in seen["span"]]
    return render(request, "books.html", seen)


@require_safe
@says_why
def costs(request: HttpRequest) -> HttpResponse:
    """Show what one saleable plant of each variety cost."""
    seen = _seen(request, "costs")
    return render(request, "books_costs.html", {**seen, "costs": reckon(seen["span"])})


@require_safe
@says_why
def owed(request: HttpRequest) -> HttpResponse:
    """List what orders come to, what was paid for them and what is owed."""
    seen = _seen(request, "owed")
    _, rows = tables_of("owed", seen["span"])["Owed"]
    page = Paginator(rows, ROWS).get_page(request.GET.get("page"))
    whole = [sum((row[column] for row in rows), Decimal()) for column in (3, 4, 5)]
    numbers = [number for number, *_ in page]
    buyers = dict(Order.objects.filter(number__in=numbers).values_list("number", "buyer__name"))
    shown = [(buyers[number], number, *sums) for number, *sums in page]
    return render(request, "books_owed.html", {**seen, "page": page, "rows": shown, "whole": whole})


@require_safe
@says_why
def stock(request: HttpRequest) -> HttpResponse:
    """Show what lies on hand at cost."""
    seen = _seen(request, "stock")
    found = on_hand(seen["span"])
    page = Paginator(found.rows, ROWS).get_page(request.GET.get("page"))
    return render(request, "books_stock.html", {**seen, "stock": found, "page": page})


@require_safe
@says_why
def expenses(request: HttpRequest) -> HttpResponse:
    """List what was spent."""
    seen = _seen(request, "expenses")
    span = seen["span"]
    rows = Expense.objects.filter(on__gte=span.first, on__lte=span.last).order_by("-on", "-at", "-id")
    rows = rows.select_related("variety", "batch__place", "order", "reversed_by")
    page = Paginator(rows, ROWS).get_page(request.GET.get("page"))
    return render(request, "books_expenses.html", {**seen, "page": page})


@require_safe
@says_why
def journal(request: HttpRequest) -> HttpResponse:
    """Show what each account came to, and the journal row by row."""
    seen = _seen(request, "journal")
    rows = entries(seen["span"])
    sides: dict[str, list[Decimal]] = defaultdict(lambda: [Decimal(), Decimal()])
    for row in rows:
        sides[row.account][0] += row.debit or 0
        sides[row.account][1] += row.credit or 0
    accounts = [(name, debit, credit) for name, (debit, credit) in sorted(sides.items())]
    whole = [sum((one[side] for one in accounts), Decimal()) for side in (1, 2)]
    page = Paginator(rows, ROWS).get_page(request.GET.get("page"))
    return render(request, "books_journal.html", {**seen, "accounts": accounts, "whole": whole, "page": page})


@require_safe
@says_why
def the_receipt(request: HttpRequest, number: int) -> HttpResponse:
    """Show one receipt as it was given."""
    receipt = receipt_values(number)
    paid = [(date.fromisoformat(one.day), one.how, one.amount) for one in receipt.paid]
    seen = {"receipt": receipt, "paid": paid, "buyer": find_receipt(number).whose}
    return render(request, "receipt.html", seen)


@require_safe
@says_why
def books_file(request: HttpRequest, what: str, kind: str) -> HttpResponse:
    """Answer with a part of the books as a file."""
    if what not in FILES or kind not in TYPES or (kind == "txt" and what != "journal"):
        raise Http404
    span = _year(request)
    answer = HttpResponse(file_of(what, span, kind), content_type=TYPES[kind])
    name = f"{what}-{span.name.replace('/', '-').replace(' ', '-')}.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _link(deed: str, **given: object) -> str:
    return f"{reverse(deed)}?{urlencode(given)}"


@a_deed(Spend)
def spend(form: Deed, by: User) -> Done:
    """Note an expense."""
    bill = books.spend(**form.deed(), by=by)
    said = say("{net} and {tax} tax for {what}, noted.", net=bill.net, tax=bill.tax, what=bill.what)
    to = _link("books-expenses", year=tax_year_of(bill.on))
    return Done(said, to, _link("reverse-expense", expense=bill.pk), say("Mistaken? Reverse it"))


@a_deed(ReverseExpense, "reverse_expense.html")
def reverse_expense(form: Deed, by: User) -> Done:
    """Reverse an expense."""
    back = books.reverse_expense(**form.deed(), by=by)
    return Done(say("{what}: reversed.", what=back.what), _link("books-expenses", year=tax_year_of(back.on)))


@a_deed(SetMinutes)
def set_minutes(form: Deed, by: User) -> Done:
    """Say how long a deed takes."""
    noted = books.minutes(**form.deed(), by=by)
    return Done(
        say(
            "A hundred {deed} take {per_hundred:f} minutes, noted.",
            deed=say(noted.deed.replace("_", " ")),
            per_hundred=noted.per_hundred.normalize(),
        ),
        reverse("books-costs"),
    )


@a_deed(GiveReceipt)
def give_receipt(form: Deed, by: User) -> Done:
    """Give a receipt."""
    given = books.receipt(**form.deed(), by=by)
    to = reverse("receipt-of", args=[given.number])
    return Done(
        say("Receipt {receipt} for order {order}.", receipt=given.number, order=given.order.number),
        to,
        _link("cancel-receipt", number=given.number),
        say("Mistaken? Cancel it"),
    )


@a_deed(ReceiptOfSales)
def receipt_of_sales(form: Deed, by: User) -> Done:
    """Give a receipt for sales without an order."""
    given = books.receipt_of_sales(**form.deed(), by=by)
    return Done(
        say("Receipt {receipt} for {buyer}.", receipt=given.number, buyer=given.whose),
        reverse("receipt-of", args=[given.number]),
        _link("cancel-receipt", number=given.number),
        say("Mistaken? Cancel it"),
    )


@a_deed(CancelReceipt)
def cancel_receipt(form: Deed, by: User) -> Done:
    """Cancel a receipt."""
    back = books.cancel_receipt(**form.deed(), by=by)
    return Done(
        say("Receipt {receipt} cancels receipt {cancels}.", receipt=back.number, cancels=back.cancels.number),
        reverse("receipt-of", args=[back.number]),
    )
