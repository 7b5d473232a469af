"""Commands for buyers, their money, protected varieties, and what is held of a buyer."""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from .app import app
from .book import As, At, Json, Note, hand_of, open_book, print_json, print_table, refuse_to_overwrite, when
from .wishes import amount_of, day_of

OrderArg = Annotated[int, typer.Argument(min=1, help="The order's number.")]


@app.command()
def buyer(
    name: Annotated[str, typer.Argument(help="The buyer's name; a new one makes a new buyer.")],
    address: Annotated[str | None, typer.Option(help="Where parcels go.")] = None,
    email: Annotated[str | None, typer.Option(help="Email address.")] = None,
    country: Annotated[str | None, typer.Option(help="Where parcels usually go, in two letters.")] = None,
    trade: Annotated[
        bool | None, typer.Option("--trade/--private", help="A nursery or a shop, or a private person.")
    ] = None,
    tax_number: Annotated[str | None, typer.Option(help="Tax number, where trade needs it.")] = None,
    note: Annotated[str | None, typer.Option(help="A few words about the buyer.")] = None,
    rename: Annotated[str | None, typer.Option(help="What the buyer is called from now on.")] = None,
    as_json: Json = False,
) -> None:
    """Note who a buyer is and where reached, and show it with what is owed."""
    with open_book():
        from ortet import work
        from ortet.work.dealings import view

        who = work.buyer(
            name,
            address=address,
            email=email,
            country=country,
            is_trade=trade,
            tax_number=tax_number,
            note=note,
            rename=rename,
        )
        seen = view(who.pk)
        if as_json:
            print_json(
                {
                    "number": who.pk,
                    "buyer": who.name,
                    "address": who.address,
                    "email": who.email,
                    "country": who.country,
                    "kind": "trade" if who.is_trade else "private",
                    "tax_number": who.tax_number,
                    "note": who.note,
                    "orders": [one.number for one, _ in seen.orders],
                    "owed": seen.dealt.owed,
                }
            )
            return
        print(f"{who.name}, buyer {who.pk}, {'trade' if who.is_trade else 'private'}")
        for words in filter(None, (who.address, who.email, who.country, who.tax_number, who.note)):
            print(f"  {words}")
        for one, sums in seen.orders:
            print(
                f"  order {one.number}: {'a swap' if one.is_swap else f'{sums.gross}, paid {sums.paid}, owed {sums.owed}'}"
            )


@app.command()
def buyers(
    search: Annotated[str, typer.Argument(help="Words to look for: name, address, email, country.")] = "",
    sort: Annotated[str, typer.Option(help="name or country; -name turns it.")] = "name",
    erasable: Annotated[bool, typer.Option("--erasable", help="Only who may be erased now.")] = False,
    as_json: Json = False,
) -> None:
    """List buyers: orders, what is owed, the last dealing, and who may be erased now."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.work import lists, privacy
        from ortet.work.dealings import dealt_with

        nursery = Nursery.get()
        free = {who.pk for who in privacy.erasable(nursery.today())}
        found = [who for who in lists.buyers(search, sort=sort) if not erasable or who.pk in free]
        dealt = dealt_with(found)
        head = ["number", "buyer", "country", "kind", "orders", "open", "owed", "last", "may be erased"]
        rows: list[list[object]] = [
            [
                who.pk, who.name, who.country, "trade" if who.is_trade else "private", dealt[who.pk].orders, dealt[who.pk].open,
                dealt[who.pk].owed, dealt[who.pk].last, "yes" if who.pk in free else "no",
            ]
            for who in found
        ]  # fmt: skip
        if as_json:
            print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            print_table(head, rows)
        else:
            print(
                "No buyer fits."
                if search or erasable
                else "No buyers yet. Note one: ortet buyer NAME --address ADDRESS"
            )


@app.command(context_settings={"ignore_unknown_options": True})
def pay(
    order: OrderArg,
    amount: Annotated[str, typer.Argument(help="How much came, such as 12.50; -12.50 went back.")],
    on: Annotated[str, typer.Option(help="The day it came, such as 2027-02-15. Default: today.")] = "",
    how: Annotated[str, typer.Option(help="Cash, transfer.")] = "",
    deposit: Annotated[bool, typer.Option("--deposit", help="Paid before anything was sent.")] = False,
    line: Annotated[
        str,
        typer.Option(
            "--for-complaint", help="Money back makes good the open complaint about this line, 3/2."
        ),
    ] = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note money that came for an order, or went back; a mistaken one is mended by another the other way."""
    with open_book():
        from ortet.work.owed import sums
        from ortet.work.packing import find_complaint
        from ortet.work.payments import pay as note_payment

        much = amount_of(amount, "AMOUNT")
        paid = note_payment(
            order,
            much,
            by=hand_of(hand),
            at=when(at),
            on=day_of(on, "--on"),
            how=how,
            is_deposit=deposit,
            complaint=find_complaint(line, paid_back=much > 0).pk if line else None,
            note=note,
        )
        owed = sums(paid.order).owed
        print(f"{paid.amount} noted for order {order}. Owed now: {owed}.")


@app.command()
def charge(
    order: OrderArg,
    carriage: Annotated[
        str, typer.Argument(help="What the buyer pays for posting, without tax, such as 6.50.")
    ],
) -> None:
    """Note what the buyer of an order pays for posting."""
    with open_book():
        from ortet.work.owed import sums
        from ortet.work.payments import charge as note_charge

        noted = note_charge(order, amount_of(carriage, "CARRIAGE"))
        print(f"Carriage {noted.carriage} on order {order}. It comes to {sums(noted).gross}.")


@app.command()
def variety(
    name: Annotated[str, typer.Argument(help="The variety's name.")],
    group: Annotated[str | None, typer.Option(help="Its Group, without the word; '' takes it out.")] = None,
    selling_name: Annotated[
        str | None, typer.Option(help="Its trade designation, which is no name of the variety.")
    ] = None,
    right: Annotated[
        str | None, typer.Option(help="A breeder's right or patent, as the register has it.")
    ] = None,
    right_until: Annotated[str | None, typer.Option(help="Its last day, such as 2031-12-31.")] = None,
    note: Annotated[str | None, typer.Option(help="A few words about the variety.")] = None,
) -> None:
    """Note a variety's Group, selling name and right, and show its whole name."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.work.names import seen, told
        from ortet.work.plants import describe_variety
        from ortet.work.rights import stops

        last: date | None = day_of(right_until, "--right-until") if right_until else None
        what = describe_variety(
            name,
            group=group,
            selling_name=selling_name,
            right=right,
            right_until="" if right_until == "" else last,
            note=note,
        )
        name_seen = seen(what)
        print(name_seen.written)
        if what.right:
            print(f"Protected: {what.right}{f', until {what.right_until}' if what.right_until else ''}")
        nursery = Nursery.get()
        for words in filter(None, (stops(what, nursery.today()), *told(name_seen))):
            print(words)


@app.command()
def warrant(
    variety: Annotated[str, typer.Argument(help="The protected variety.")],
    leave: Annotated[str, typer.Argument(help="licence, exemption or ended.")],
    words: Annotated[str, typer.Argument(help="Of whom, its number, what it allows; or the ground.")] = "",
    until: Annotated[str, typer.Option(help="Its last day, such as 2028-12-31.")] = "",
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note a licence or an exemption for a protected variety, without which orders of it stop; or that it ended."""
    with open_book():
        from django.utils import timezone

        from ortet.work.rights import stops
        from ortet.work.rights import warrant as note_warrant

        moment = when(at)
        noted = note_warrant(
            variety,
            leave,
            words=words,
            until=day_of(until, "--until"),
            by=hand_of(hand),
            at=moment,
            note=note,
        )
        why = stops(noted.variety, timezone.localdate(moment))
        print(f"{noted.variety}: {noted.get_leave_display()} noted. {why or 'Orders of it go on.'}")


@app.command("export-buyer")
def export_buyer(
    buyer: Annotated[str, typer.Argument(help="The buyer's name, or 'buyer 3'.")],
    into: Annotated[
        Path | None, typer.Option("--to", help="The file to write. Default: buyer-3.zip, here.")
    ] = None,
) -> None:
    """Write all that the book holds of one buyer, as JSON and CSV in a zip."""
    with open_book():
        from ortet.work.privacy import export_buyer as packed_of

        name, packed = packed_of(buyer)
        path = into or Path(name)
        refuse_to_overwrite(path)
        path.write_bytes(packed)
        print(
            f"Written: {path}. It holds a person's data: hand it to nobody else, and delete it when it was handed over."
        )


@app.command("erase-buyer")
def erase_buyer(
    buyer: Annotated[str, typer.Argument(help="The buyer's name, or 'buyer 3'.")],
    reason: Annotated[
        str,
        typer.Option(help="Needed while the last dealing is young; without the buyer's name."),
    ] = "",
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask again.")] = False,
    at: At = "",
    hand: As = "",
) -> None:
    """Take a buyer's name and addresses out of the book for good; counts, sales and sums stay."""
    with open_book():
        from ortet.work.buyers import find_buyer
        from ortet.work.privacy import erase_buyer as take_out

        who = find_buyer(buyer)
        if not yes:
            typer.confirm(f"Take {who} out of the book for good?", abort=True)
        done = take_out(buyer, reason=reason, by=hand_of(hand), at=when(at))
        print(
            f"The name and addresses are out: {done.erasure.buyer}. Old archives and copies still hold them: delete those."
        )
        if done.still:
            print("Words of theirs, or like them, still stand here. Look, and change what is not sealed:")
        for where in done.still:
            print(f"  {where}")
