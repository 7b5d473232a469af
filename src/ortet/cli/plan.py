"""The command that plans the season, shows the plan and prints it on paper."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .app import app
from .book import As, Json, hand_of, open_book, print_json, progress, refuse_paper_alone

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import Console

    from ortet.work.plan.sheet import Days
    from ortet.work.plan.shown import Given, Shown

RIGHT = frozenset({"take", "asked", "gets", "count", "cuttings", "risk", "order"})  # columns of numbers
WHOLE = RIGHT | {"wish", "lot", "best day", "from", "heat", "half rooted", "day"}  # columns that never wrap


@app.command()
def plan(
    show: Annotated[bool, typer.Option("--show", help="Show the plan that counts; make none.")] = False,
    sure: Annotated[float, typer.Option(help="How sure each target is to be reached, from 0 to 1.")] = 0.9,
    order: Annotated[
        int | None, typer.Option(help="Show this order alone, with each day on which it could be posted.")
    ] = None,
    sheet: Annotated[
        Path | None, typer.Option(metavar="FILE.pdf", help="Print the plan, to be ticked off in the shed.")
    ] = None,
    paper: Annotated[str, typer.Option(help="a4 or letter. Default: what the nursery prints on.")] = "",
    as_json: Json = False,
    hand: As = "",
) -> None:
    """Plan the season: what to take, who gets what, what goes on the bench, which day to post."""
    with open_book():
        from ortet import work
        from ortet.work.plan.shown import shown

        _check(sure, sheet, paper)
        refuse_paper_alone(paper, sheet, option="--sheet")
        if not show:
            plan_season(sure, hand)
        planned = shown()
        if planned is None:
            raise work.Refused("The season has not been planned yet: ortet plan. Nothing was changed.")
        if sheet:
            _print_sheet(sheet, paper)
        if order is not None:
            planned = _of(planned, order)
        if as_json:
            from dataclasses import asdict

            print_json(asdict(planned))
            return
        if order is None:
            print_plan(planned)
        else:
            print_order(planned, order)
        if sheet:
            print(f"The sheet to tick off is in {sheet}.")


def _check(sure: float, sheet: Path | None, paper: str) -> None:
    """Refuse what could not be done in the end, before anything is."""
    from ortet import work
    from ortet.paper.typeset import SHEETS

    if not 0 < sure < 1:
        raise work.Refused(f"--sure {sure:g}: give a number between 0 and 1. Nothing was planned.")
    if paper and paper not in SHEETS:
        raise work.Refused(f"--paper {paper!r}: say {' or '.join(SHEETS)}. Nothing was planned.")
    if sheet and (sheet.is_dir() or not sheet.absolute().parent.is_dir()):
        raise work.Refused(
            f"--sheet {sheet}: name a file in a folder that is there, such as season.pdf. Nothing was planned."
        )


def plan_season(sure: float = 0.9, hand: str = "") -> None:
    """Plan the season and show how far it is."""
    from ortet.work.plan.whole import STEPS
    from ortet.work.plan.whole import plan_season as make

    by = hand_of(hand)
    with progress() as bars:

        def tell(step: str, share: float) -> None:
            for before in STEPS[: STEPS.index(step)]:
                bars(before, 100, 100)
            bars(step, round(100 * share), 100)

        make(by=by, confidence=sure, tell=tell)


def _print_sheet(file: Path, paper: str) -> None:
    from ortet import work
    from ortet.work.plan.sheet import season_sheet

    pdf = season_sheet(paper)
    try:
        file.write_bytes(pdf)
    except OSError as error:
        raise work.Refused(
            f"The season is planned, but {file} cannot be written: {error.strerror or error}. "
            "Name another file: ortet plan --show --sheet FILE.pdf."
        ) from None


def print_plan(planned: Shown) -> None:
    """Print the plan as a stranger can read it: what to do, what goes short and why, what binds."""
    from django.utils import timezone
    from rich.console import Console

    from ortet.ledger.models import Nursery
    from ortet.wood.units import show_temperature
    from ortet.work.plan.sheet import Days

    console, units = Console(highlight=False, markup=False), Nursery.get().units
    days, at = Days(units == "US"), timezone.localtime(planned.at)
    console.print(f"The season as planned on {days.whole(at.date())}, {at:%H:%M}.")
    _section(console, "How much to take", ["mother plant", "variety", "for", "take", "best day"], [
        [cut.mother, cut.variety, cut.use, cut.count - cut.done, days.short(cut.day) if cut.day else "any"]
        for cut in planned.cuts if cut.count > cut.done
    ], "The wood in store is enough.")  # fmt: skip
    _who(console, planned, days)
    _section(console, "What goes on the bench", ["lot", "variety", "count", "bench", "heat", "from", "half rooted", "risk"], [
        [one.name, one.variety, one.count, one.bench + by_hand(one.by_hand),
         show_temperature(one.base_c, units).replace(".0 ", " ") or "none",
         days.short(one.start), days.short(one.ready) if one.ready else "", f"{100 * one.risk:.0f} %"]
        for one in planned.sets
    ], "Nothing is to be set on a bench.")  # fmt: skip
    _say(
        console,
        (f"{left['batch']}: {left['count']} find no place. {left['why']}" for left in planned.unplaced),
    )
    if planned.sets:
        _say(console, ["Risk: that leaves come before roots by more than the reserve bears."])
    _section(console, "Which day to post", ["order", "buyer", "cuttings", "day", "with", "risk"], [
        [post.order, post.buyer, post.count, days.short(post.day) if post.day else "hold", post.pack or "no pack",
         f"{100 * post.risk:.1f} %" if post.day else ""]
        for post in planned.posts
    ], "Nothing is to be posted.")  # fmt: skip
    held = [f"Order {post.order} is held: {post.why}" for post in planned.posts if not post.day and post.why]
    _say(console, held)
    if any(post.day for post in planned.posts):
        _say(console, ["Risk: that the wood is harmed or late on the way."])
    _binds(console, planned)


def _of(planned: Shown, order: int) -> Shown:
    """Return what the plan says of one order."""
    from dataclasses import replace

    from ortet import work

    promises = [one for one in planned.promises if one.order == order]
    if not promises:
        raise work.Refused(f"--order {order}: the plan that counts holds no such order. Nothing was changed.")
    posts = [post for post in planned.posts if post.order == order]
    return replace(planned, cuts=[], sets=[], unplaced=[], promises=promises, posts=posts)


def print_order(planned: Shown, order: int) -> None:
    """Print what an order gets, and day by day what would come of posting it."""
    from rich.console import Console

    from ortet.ledger.models import Nursery
    from ortet.work.plan.sheet import Days

    console = Console(highlight=False, markup=False)
    days = Days(Nursery.get().units == "US")
    _who(console, planned, days)
    for post in planned.posts:
        which = f"{post.count} cuttings of order {order}: {days.short(post.day) if post.day else 'hold'}"
        _section(console, f"{which}{f', with {post.pack}' if post.pack else ''}", ["day", "risk", "what to do"], [
            [f"{one.day:%a} {days.short(one.day)}", "" if one.risk is None else f"{100 * one.risk:.1f} %",
             f"{one.act}: {one.reason}"]
            for one in post.days
        ], post.why)  # fmt: skip
        _say(console, post.changes)
    if not planned.posts:
        console.print("\nNothing of it is to be posted.")


def by_hand(chosen: bool) -> str:
    """Say that a hand chose it."""
    return " (by hand)" if chosen else ""


def _who(console: Console, planned: Shown, days: Days) -> None:
    """Print the wishes, each buyer's together."""
    rows: list[list[object]] = []
    last = ""
    for promise in planned.promises:
        if promise.who != last:
            last = promise.who
            rows.append(["", promise.who])
        kept = promise in planned.kept
        rows.append([
            promise.wish, promise.variety,
            promise.asked if kept else promise.given + promise.short, "kept" if kept else promise.given,
            "\n".join(_given(pick, days) for pick in promise.picks),
        ])  # fmt: skip
    head = ["wish", "variety", "asked", "gets", "wood, week of picking"]
    _section(console, "Who gets what", head, rows, "Nothing is wanted yet: ortet order, ortet want.")
    if planned.short:
        console.print("\nWhat goes short, and why")
    _say(console, (f"{one.wish} goes {one.short} short: {'; '.join(one.why)}." for one in planned.short))


def _given(pick: Given, days: Days) -> str:
    from ortet.work.plan.desk import monday

    wood = f"{pick.count} of {pick.name} in {pick.place}" if pick.place else f"{pick.count} {pick.name}"
    note = f" {pick.note}" if pick.note else ""
    return f"{wood}{note}, {days.short(monday(pick.day))}{by_hand(pick.by_hand)}"


def _binds(console: Console, planned: Shown) -> None:
    named = {"take": "taking", "allot": "allotting", "bench": "the benches", "post": "posting"}
    for kind, title in named.items():
        if lines := planned.notes[kind].binds:
            console.print(f"\nWhat binds {title}")
            _say(console, lines)
    console.print()
    _say(console, ["What would change it, and what it assumes: ortet plan --show --json, or the page /plan."], "")  # fmt: skip


def _say(console: Console, lines: Iterable[str], indent: str = "  ") -> None:
    """Print sentences, each wrapped to the terminal's width."""
    import textwrap

    for line in lines:
        words = textwrap.fill(
            line, console.width, initial_indent=indent, subsequent_indent=indent * 2, break_on_hyphens=False
        )
        console.print(words, soft_wrap=True)


def _section(console: Console, title: str, head: list[str], rows: list[list[object]], none: str) -> None:
    """Print a table under its title; a row of two cells is a heading in it."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table
    from rich.text import Text

    console.print(f"\n{title}")
    if not rows:
        console.print(f"  {none}")
        return
    table = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for name in head:
        table.add_column(
            name,
            justify="right" if name in RIGHT else "left",
            no_wrap=name in WHOLE,
            overflow="fold",
        )
    for row in rows:
        is_heading = len(row) == 2 and len(head) > 2
        table.add_row(*(Text(str(cell), style="bold" if is_heading else "") for cell in row))
    console.print(table)
