"""Commands that keep the books: expenses, minutes, receipts, and what all of it adds up to."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from .app import app
from .book import As, At, Json, Note, hand_of, open_book, print_json, print_table, when
from .wishes import amount_of, day_of

PARTS = "sales, owed, costs, stock, receipts, expenses or journal"
WIDE = {  # columns that find no room in 80; they are in the file, in --json and on the page
    "costs": ("labour", "spent on it", "share of the rest", "bench and heat"),
    "expenses": ("variety", "batch", "order", "reverses", "note"),
    "journal": ("doc_no", "currency", "tax_code", "lot_ref"),
    "receipts": ("cancels", "cancelled by"),
}


@app.command()
def spend(
    net: Annotated[str, typer.Argument(help="Amount without tax, such as 12.50.")],
    what: Annotated[str, typer.Argument(help="What it was for.")],
    kind: Annotated[
        str, typer.Option(help="material, plants, heat, wages, postage, fees, tools or other.")
    ] = "material",
    tax: Annotated[str, typer.Option(help="The tax in the bill.")] = "0",
    on: Annotated[str, typer.Option(help="Day of the bill, such as 2027-02-15. Default: today.")] = "",
    variety: Annotated[str, typer.Option(help="Spent for this variety only.")] = "",
    batch: Annotated[str, typer.Option(help="Spent for this batch only.")] = "",
    order: Annotated[int | None, typer.Option(min=1, help="Spent for this order only.")] = None,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note money spent."""
    with open_book():
        from ortet.work import books

        bill = books.spend(
            amount_of(net, "NET"),
            what,
            tax=amount_of(tax, "--tax"),
            outlay=kind,
            on=day_of(on, "--on"),
            variety=variety,
            batch=batch,
            order=order,
            note=note,
            by=hand_of(hand),
            at=when(at),
        )
        print(f"Expense {bill.pk.hex[-8:]}: {bill.net} and {bill.tax} tax for {bill.what}, {bill.on}.")


@app.command("reverse-expense")
def reverse_expense(
    expense: Annotated[str, typer.Argument(help="Its number, from `ortet books expenses`.")],
    note: Annotated[str, typer.Option(help="What was wrong.")] = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Take an expense back by another; the mistake stays readable."""
    with open_book():
        from ortet.work import books
        from ortet.work.books.spending import find_expense

        back = books.reverse_expense(find_expense(expense).pk, note=note, by=hand_of(hand), at=when(at))
        print(f"Expense {back.pk.hex[-8:]} takes back {back.what}: {back.net} and {back.tax} tax.")


@app.command()
def minutes(
    deed: Annotated[str, typer.Argument(help="taken, bagged, struck, grafted, potted, packed, sold …")] = "",
    per_hundred: Annotated[str, typer.Argument(help="Minutes for a hundred cuttings.")] = "",
    as_json: Json = False,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Show how long each deed is reckoned to take, or say it."""
    with open_book():
        from django.utils import timezone

        from ortet.work import books
        from ortet.work.books.spending import minutes_on

        if deed:
            noted = books.minutes(
                deed, amount_of(per_hundred, "MINUTES"), note=note, by=hand_of(hand), at=when(at)
            )
            print(f"A hundred {noted.deed} take {noted.per_hundred.normalize():f} minutes, noted.")
            return
        said = minutes_on(timezone.localdate(when(at)))
        if as_json:
            print_json(
                [{"deed": name, "minutes": much, "noted": noted} for name, (much, noted) in said.items()]
            )
            return
        rows = [
            [name, f"{much.normalize():f}", "noted" if noted else "our choice"]
            for name, (much, noted) in said.items()
        ]
        print_table(["deed", "minutes for a hundred", "whose"], rows)


@app.command()
def receipt(
    order: Annotated[int | None, typer.Argument(help="The order's number.")] = None,
    sale: Annotated[
        list[int] | None,
        typer.Option(help="Instead of an order: the movement of a sale without one. Once for each sale."),
    ] = None,
    paid: Annotated[
        str, typer.Option(help="With --sale: how it was paid at once, all of it, such as cash.")
    ] = "",
    note: Note = "",
    as_json: Json = False,
    at: At = "",
    hand: As = "",
) -> None:
    """Give a receipt for what was sold for an order and stands on none yet, or for sales without an order."""
    with open_book():
        from ortet.work import Refused, books

        if (order is None) == (not sale):
            raise Refused(
                "Name an order, such as ortet receipt 3, or the sales without one: ortet receipt --sale 41. "
                "Nothing was booked."
            )
        if paid and not sale:
            raise Refused(
                "--paid is for sales without an order; for an order: ortet pay. Nothing was booked."
            )
        who = {"note": note, "by": hand_of(hand), "at": when(at)}
        given = (
            books.receipt_of_sales(sale or [], paid=paid, **who)
            if order is None
            else books.receipt(order, **who)
        )
        _print_receipt(given.number, as_json=as_json)


@app.command("cancel-receipt")
def cancel_receipt(
    number: Annotated[int, typer.Argument(help="The receipt's number.")],
    note: Annotated[str, typer.Option(help="Why.")] = "",
    as_json: Json = False,
    at: At = "",
    hand: As = "",
) -> None:
    """Cancel a receipt by another, with its lines and sums reversed."""
    with open_book():
        from ortet.work import books

        back = books.cancel_receipt(number, note=note, by=hand_of(hand), at=when(at))
        _print_receipt(back.number, as_json=as_json)


def _print_receipt(number: int, *, as_json: bool) -> None:
    from dataclasses import asdict

    from ortet.wood.money import show
    from ortet.work.books.receipts import receipt_values

    said = receipt_values(number)
    if as_json:
        print_json({**asdict(said), "net": said.net, "tax": said.tax, "gross": said.gross})
        return
    whose = "without an order" if said.order is None else f"order {said.order}"
    print(f"{said.title} {said.number}, {said.day}, {whose}")
    print_table(
        ["what", "count", "net"],
        [[line.what, line.count, show(line.net, said.currency)] for line in said.lines],
    )
    for rate in said.taxes:
        named = "no tax" if rate.percent is None else f"{rate.percent.normalize():f} %"
        print(f"{named} on {show(rate.net, said.currency)}: {show(rate.tax, said.currency)}")
    print(f"{said.currency} {show(said.gross, said.currency)}", *said.notes, sep="\n")
    for one in said.paid:
        print(f"paid {one.day}: {show(one.amount, said.currency)}" + (f", {one.how}" if one.how else ""))


@app.command()
def books(
    part: Annotated[str, typer.Argument(help=f"{PARTS}.")] = "sales",
    year: Annotated[
        int | None, typer.Option(help="The tax year that begins in this year. Default: today's.")
    ] = None,
    season: Annotated[
        int | None, typer.Option(help="Instead of a tax year: the season whose spring lies in this year.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(help="Write a file: its name ends in .csv, .xlsx or, for the journal, .txt."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Show what was sold and its tax, what is owed, what plants cost, stock at cost, receipts, expenses, or the journal."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.work import Refused
        from ortet.work.books.tables import FILES, file_of, tables_of
        from ortet.work.books.years import season as season_of
        from ortet.work.books.years import tax_year, tax_year_of

        if part not in FILES:
            raise Refused(f"{part!r}: say {PARTS}.")
        if year is not None and season is not None:
            raise Refused("--year or --season: one of them.")
        today = Nursery.get().today()
        span = (
            season_of(season)
            if season is not None
            else tax_year(tax_year_of(today) if year is None else year)
        )
        if out:
            kind = out.suffix.removeprefix(".").lower()
            if kind not in ("csv", "xlsx") and not (kind == "txt" and part == "journal"):
                raise Refused(
                    f"{out.name}: end its name in .csv, .xlsx or, for the journal, .txt. Nothing was written."
                )
            out.write_bytes(file_of(part, span, kind))
            print(f"{out}: {part}, {span.first} to {span.last}.")
            return
        tables = tables_of(part, span)
        if as_json:
            print_json(
                {
                    "first": span.first,
                    "last": span.last,
                    "currency": Nursery.get().currency,
                    **{
                        name: [dict(zip(columns, row, strict=True)) for row in rows]
                        for name, (columns, rows) in tables.items()
                    },
                }
            )
            return
        print(f"{span.name}: {span.first} to {span.last}, in {Nursery.get().currency}")
        for name, (columns, rows) in tables.items():
            shown = [column for column in columns if column not in WIDE.get(part, ())]
            if rows:
                print(f"\n{name}")
                print_table(
                    shown,
                    [
                        [cell for column, cell in zip(columns, row, strict=True) if column in shown]
                        for row in rows
                    ],
                )
        print("Tables for your accountant, no advice.", file=sys.stderr)
