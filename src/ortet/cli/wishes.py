"""Commands for what is wanted, and for what mother plants and benches can do."""

import re
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import As, At, Json, Note, hand_of, measure, open_book, print_json, print_table, when

if TYPE_CHECKING:
    from ortet.work.orders import Line

Priority = Annotated[int, typer.Option(help="1 gives way last when wood is short, 5 first.")]
# A comma parts off hundredths: 1,250 is not read as 1.25, nor as a thousand. Of a rate, too small to be in thousands, it may
# part off more.
AMOUNT = r"(?=.*\d)\d{{0,8}}([.,]\d{{0,{figures}}})?"
RATE = 4
NARROW = ("price", "priority", "instead")  # no room in 80 columns; they are in --json and on the page


def day_of(text: str, option: str) -> date | None:
    from ortet.work import Refused

    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refused(f"{option} {text!r}: write a day like 2027-03-15. Nothing was booked.") from None


def money(text: str, option: str, figures: int = 2) -> Decimal | None:
    """Return an amount with so many figures behind the point at most; nothing where nothing was typed."""
    from ortet.work import Refused

    if not text:
        return None
    if not re.fullmatch(AMOUNT.format(figures=figures), text.strip(), re.ASCII):
        raise Refused(f"{option} {text!r}: write an amount like 1.20. Nothing was booked.")
    return Decimal(text.strip().replace(",", "."))


def amount_of(text: str, what: str, figures: int = 2) -> Decimal:
    """Return an amount that has to be given; -12.50 for what goes the other way."""
    from ortet.work import Refused

    sign, plain = (-1, text[1:]) if text.startswith("-") else (1, text)
    amount = money(plain, what, figures)
    if amount is None:
        raise Refused(f"{what}: give an amount like 12.50. Nothing was booked.")
    return sign * amount


def _asked(text: str) -> tuple[str, int]:
    from ortet.work import Refused

    variety, _, count = text.rpartition("=")
    if not variety.strip() or not count.strip().isdecimal():
        raise Refused(f"{text!r}: write VARIETY=COUNT, such as 'Dusk Latch=12'. Nothing was booked.")
    return variety, int(count)


def _refuse_another_buyers(number: int, buyer: str) -> None:
    from ortet.wood.naming import fold
    from ortet.work import Refused
    from ortet.work.orders import find_order

    theirs = find_order(number).buyer
    if theirs.name_key != fold(buyer):
        raise Refused(f"Order {number} is of {theirs}, not of {buyer}. Nothing was booked.")


@app.command()
def order(
    buyer: Annotated[str, typer.Argument(help="Who orders; a new name makes a new buyer.")],
    lines: Annotated[list[str], typer.Argument(metavar="VARIETY=COUNT...", help="What is ordered.")],
    first: Annotated[str, typer.Option("--from", help="Posted from this day on, such as 2027-02-15.")],
    last: Annotated[str, typer.Option("--until", help="Posted until this day.")],
    use: Annotated[str, typer.Option(help="rooting or grafting.")] = "rooting",
    least: Annotated[int, typer.Option(help="Fewer than this of a variety are no use to the buyer.")] = 1,
    grades: Annotated[str, typer.Option(help="Grades accepted, separated by commas. Default: any.")] = "",
    price: Annotated[str, typer.Option(help="Price of one cutting, such as 1.20.")] = "",
    instead: Annotated[str, typer.Option(help="Varieties taken instead, the preferred first.")] = "",
    tax: Annotated[str, typer.Option(help="Tax on it in per cent. Default: the nursery's usual rate.")] = "",
    tax_note: Annotated[str, typer.Option(help="Why this rate.")] = "",
    carriage: Annotated[str, typer.Option(help="What the buyer pays for posting, without tax.")] = "",
    swap: Annotated[bool, typer.Option("--swap", help="No money changes hands.")] = False,
    in_return: Annotated[str, typer.Option(help="What comes back for a swap.")] = "",
    priority: Priority = 3,
    country: Annotated[str, typer.Option(help="Country it goes to, in two letters.")] = "",
    add_to: Annotated[int | None, typer.Option(min=1, help="Add to the order of this number.")] = None,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note what a buyer orders."""
    with open_book():
        from ortet import work
        from ortet.pages.forms.fields import read_names
        from ortet.work.orders import Line
        from ortet.work.orders import order as note_order

        from_day, until = day_of(first, "--from"), day_of(last, "--until")
        if from_day is None or until is None:
            raise work.Refused("--from and --until: give both days. Nothing was booked.")
        if add_to is not None:
            _refuse_another_buyers(add_to, buyer)
        percent = money(tax, "--tax", RATE)
        amount, accepted, others = money(price, "--price"), read_names(grades), read_names(instead)
        asked = [
            Line(
                variety=variety,
                count=count,
                first_day=from_day,
                last_day=until,
                use=use,
                least=least,
                grades=accepted,
                price=amount,
                priority=priority,
                instead=others,
                note=note if add_to is not None else "",
                tax_percent=percent,
                tax_note=tax_note,
            )
            for variety, count in map(_asked, lines)
        ]
        noted = note_order(
            buyer,
            asked,
            by=hand_of(hand),
            at=when(at),
            add_to=add_to,
            country=country,
            carriage=money(carriage, "--carriage"),
            is_swap=swap,
            in_return=in_return,
            note=note if add_to is None else "",
        )
        print(f"Order {noted.number} of {noted.buyer}: {_told(asked)} noted. See it: ortet wanted")


def _told(lines: "list[Line]") -> str:
    return ", ".join(f"{line.count} {line.variety.strip()}" for line in lines)


@app.command()
def want(
    variety: Annotated[str, typer.Argument(help="The variety.")],
    count: Annotated[int, typer.Argument(help="How many.")],
    purpose: Annotated[str, typer.Option("--for", help="plants, grafts, reserve or backup.")] = "plants",
    by_day: Annotated[str, typer.Option("--by", help="Wanted by this day, such as 2027-05-15.")] = "",
    worth: Annotated[str, typer.Option(help="What one is worth, such as 4.50.")] = "",
    priority: Priority = 3,
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Note what the nursery wants for itself."""
    with open_book():
        from ortet.work.orders import want as note_target

        target = note_target(
            variety,
            count,
            by=hand_of(hand),
            at=when(at),
            purpose=purpose,
            priority=priority,
            worth=money(worth, "--worth"),
            wanted_by=day_of(by_day, "--by"),
            note=note,
        )
        print(
            f"Target {target.number}: {count} of {target.variety}, {target.get_purpose_display()}. "
            "See it: ortet wanted --ourselves"
        )


@app.command()
def cancel(
    what: Annotated[
        list[str], typer.Argument(help="3 for order 3, 3/2 for its second line, target 4.", metavar="WHAT")
    ],
    at: At = "",
) -> None:
    """End an order, one line of it, or a target."""
    with open_book():
        from ortet.work.orders import cancel as end

        ended = end(" ".join(what), at=when(at))
        names = ", ".join(map(str, ended)) if isinstance(ended, list) else str(ended)
        print(f"No longer wanted: {names}.")


@app.command()
def limit(
    accession: Annotated[str, typer.Argument(help="The mother plant's accession number.")],
    cuttings: Annotated[int, typer.Argument(help="The most it may give in one winter; 0 spares it.")],
    note: Note = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Say how much a mother plant may give."""
    with open_book():
        from ortet.work.orders import limit as note_limit

        noted = note_limit(accession, cuttings, by=hand_of(hand), at=when(at), note=note)
        print(f"{noted.mother}: no more than {noted.cuttings} cuttings in one winter.")


@app.command("set-up-bench")
def set_up_bench(
    bench: Annotated[str, typer.Argument(help="The bench's name.")],
    cells: Annotated[int, typer.Argument(help="Cuttings that fit on it at once.")],
    air: Annotated[str, typer.Option(help="Usual air over it in spring, such as 12C.")],
    heat: Annotated[
        list[str] | None,
        typer.Option(help="A base temperature its mat can hold, such as 21C; may be given again."),
    ] = None,
    watts: Annotated[
        float, typer.Option(help="Watts for each °C that its base is warmer than the air.")
    ] = 0.0,
    first: Annotated[str, typer.Option("--from", help="Free from this day, such as 2027-02-15.")] = "",
    last: Annotated[str, typer.Option("--until", help="Free until this day.")] = "",
    at: At = "",
    hand: As = "",
) -> None:
    """Say what a bench can do: cells and heat."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.wood.units import show_temperature
        from ortet.work import Refused
        from ortet.work.benches import set_up_bench as note_bench

        air_c = measure(air, "read_temperature")
        if air_c is None:
            raise Refused("--air: give the usual air over the bench, such as 12C. Nothing was booked.")
        heats = [degrees for text in heat or () if (degrees := measure(text, "read_temperature")) is not None]
        setup = note_bench(
            bench,
            cells,
            by=hand_of(hand),
            at=when(at),
            air_c=air_c,
            heats=heats,
            watts_per_k=watts,
            first_day=day_of(first, "--from"),
            last_day=day_of(last, "--until"),
        )
        units = Nursery.get().units
        warm = ", ".join(show_temperature(degrees, units) for degrees in setup.heats)
        mat = f"its mat holds {warm}" if warm else "no mat"
        print(f"{setup.place}: {setup.cells} cells, {mat}, air {show_temperature(air_c, units)}.")


@app.command()
def wanted(
    search: Annotated[str, typer.Argument(help="Words to look for: buyer, variety, grade, note.")] = "",
    ourselves: Annotated[
        bool, typer.Option("--ourselves", help="What the nursery wants for itself, in place of orders.")
    ] = False,
    sort: Annotated[
        str, typer.Option(help="number, buyer, variety, count, window, price or priority; -count turns it.")
    ] = "",
    everything: Annotated[bool, typer.Option("--all", help="Also what was cancelled.")] = False,
    as_json: Json = False,
) -> None:
    """List what is wanted: orders line by line, or the nursery's own targets."""
    with open_book():
        head, rows = (_targets if ourselves else _lines)(search, sort, not everything)
        if as_json:
            print_json([dict(zip(head, row, strict=True)) for row in rows])
        elif rows:
            shown = [column for column in head if column not in NARROW and (everything or column != "state")]
            keep = [head.index(column) for column in shown]
            print_table(shown, [[row[column] for column in keep] for row in rows])
        elif search:
            print("Nothing that is wanted fits.")
        elif ourselves:
            print("We want nothing for ourselves yet. Note it: ortet want VARIETY COUNT --for plants")
        else:
            print("Nothing is ordered yet. Note it: ortet order BUYER VARIETY=COUNT --from DAY --until DAY")


Rows = tuple[list[str], list[list[object]]]


def _lines(search: str, sort: str, still: bool) -> Rows:
    from ortet.work import lists

    head = [
        "order",
        "buyer",
        "variety",
        "use",
        "count",
        "from",
        "until",
        "price",
        "priority",
        "instead",
        "state",
    ]
    return head, [
        [
            f"{line.order.number}/{line.position}",
            line.order.buyer.name,
            line.variety.name,
            line.use,
            line.count,
            line.first_day,
            line.last_day,
            line.price,
            line.priority,
            ", ".join(other.variety.name for other in line.substitutes.all()),
            "cancelled" if line.ended_at else "wanted",
        ]
        for line in lists.orders(search, sort=sort or "number", still=still)
    ]


def _targets(search: str, sort: str, still: bool) -> Rows:
    from ortet.work import lists

    head = ["target", "variety", "purpose", "count", "by", "worth", "priority", "state"]
    return head, [
        [
            target.number,
            target.variety.name,
            target.purpose,
            target.count,
            target.wanted_by,
            target.worth,
            target.priority,
            "cancelled" if target.ended_at else "wanted",
        ]
        for target in lists.targets(search, sort=sort or "variety", still=still)
    ]
