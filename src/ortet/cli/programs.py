"""Commands for programs and calendars: giving a token, which there are, and the calendar as a file."""

import sys
from typing import Annotated

import typer

from .app import app
from .book import As, Json, open_book, print_json, print_table


@app.command()
def token(
    name: Annotated[str, typer.Argument(help="What the program is called, such as 'the scale in the shed'.")],
    may: Annotated[
        list[str], typer.Option("--may", help="read, write, orders, buyers or calendar; once for each.")
    ],
    hand: As = "",
) -> None:
    """Let a program in: show its token, or a calendar's private address, once."""
    with open_book():
        from django.contrib.auth.models import User
        from django.utils.timezone import now

        from ortet.work import Refused
        from ortet.work.nursery import grower
        from ortet.work.programs import give_token

        whose = User.objects.filter(username__iexact=hand).first() if hand else grower()
        if whose is None:
            raise Refused(f"--as {hand!r}: nobody of that name is in the book. No token was given.")
        made = give_token(name, may, hand=whose, by=grower(), now=now())
        device = made.device
        print(f"{device.name} comes in as {device.user.username} and may {', '.join(device.may)}.")
        if device.scopes == "calendar":
            print("Give a calendar this path to subscribe to, after the address of your pages:")
            print(f"\n    /calendar/{made.secret}.ics\n")
        else:
            print(f"\n    {made.secret}\n")
        print(f"It is shown once. Shut it out with: ortet shut-out '{device.name}'")


@app.command()
def tokens(
    every: Annotated[bool, typer.Option("--all", help="Also those that were shut out.")] = False,
    as_json: Json = False,
) -> None:
    """List the programs and calendars that are let in: what each may do, and when it was last seen."""
    with open_book():
        from django.utils.timezone import localtime

        from ortet.work.nursery import grower
        from ortet.work.programs import programs_of

        there = programs_of(grower())
        if not every:
            there = there.filter(shut_out_at=None)
        moments = ("made_at", "last_seen", "shut_out_at") if every else ("made_at", "last_seen")
        rows = [
            {"program": one.name, "hand": one.user.username, "may": one.may}
            | {moment: at and localtime(at) for moment in moments for at in [getattr(one, moment)]}
            for one in there
        ]
        if as_json:
            print_json(rows)
        elif not rows:
            print("No program is let in. Let one in: ortet token NAME --may read")
        else:
            head = ["Program", "Books as", "May", "Let in", "Last seen", "Shut out"][: 3 + len(moments)]
            print_table(
                head,
                [
                    [row["program"], row["hand"], " ".join(row["may"])]
                    + [row[moment] and f"{row[moment]:%Y-%m-%d %H:%M}" for moment in moments]
                    for row in rows
                ],
            )


@app.command()
def calendar(
    todos: Annotated[
        bool, typer.Option("--todos", help="Today's tasks as to-dos, not as whole days.")
    ] = False,
) -> None:
    """Print the calendar: tasks, days to post and to count, when orders are wanted. Redirect it into a file, FILE.ics."""
    with open_book():
        from ortet.ledger.models import Nursery
        from ortet.work.calendar import calendar as made

        sys.stdout.buffer.write(made(Nursery.get().now(), tasks_apart=todos))  # as it is: RFC 5545 line ends
        sys.stdout.flush()
