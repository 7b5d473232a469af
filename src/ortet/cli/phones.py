"""Commands for phones on the farm's network: which there are, letting one in, shutting one out."""

import sys
from typing import Annotated

import typer

from .app import app
from .book import Json, open_book, print_json, print_table


@app.command()
def phones(
    every: Annotated[bool, typer.Option("--all", help="Also those that were shut out.")] = False,
    as_json: Json = False,
) -> None:
    """List the paired phones: whose they are and when they were last seen."""
    with open_book():
        from django.utils.timezone import localtime

        from ortet.ledger.models import Device

        devices = Device.objects.filter(is_program=False).select_related("user")
        if not every:
            devices = devices.filter(shut_out_at=None)
        moments = ("made_at", "last_seen", "shut_out_at") if every else ("made_at", "last_seen")
        rows = [
            {"phone": device.name, "hand": device.user.username}
            | {moment: at and localtime(at) for moment in moments for at in [getattr(device, moment)]}
            for device in devices
        ]
        if as_json:
            print_json(rows)
        elif not rows:
            print("No phone is paired. Let one in: ortet pair NAME")
        else:
            print_table(
                ["Phone", "Books as", "Paired", "Last seen", "Shut out"][: 2 + len(moments)],
                [
                    [
                        said if isinstance(said, str) else said and f"{said:%Y-%m-%d %H:%M}"
                        for said in row.values()
                    ]
                    for row in rows
                ],
            )


@app.command()
def pair(
    name: Annotated[str, typer.Argument(help="Whose phone: a hand of the book, or a new helper's name.")],
    phone: Annotated[str, typer.Option(help="What the phone is called. Default: after its hand.")] = "",
    only_read: Annotated[bool, typer.Option("--only-read", help="Let a new helper read, not write.")] = False,
) -> None:
    """Show a one-time code that pairs a phone with a hand, to scan or to type."""
    with open_book():
        from django.utils.timezone import localtime, now

        from ortet.pages.farm.scan import printed
        from ortet.pages.farm.where import open_now
        from ortet.wood import code as codes
        from ortet.work import Refused
        from ortet.work.nursery import grower
        from ortet.work.phones import invite

        where = open_now()
        if where is None:
            raise Refused(
                "No phone could use a code now: start `ortet serve --farm` first. No code was made."
            )
        made = invite(name, by=grower(), now=now(), name=phone, may_write=not only_read)
        link = f"{where.pages}/pair/{made.token}"
        print(printed(link, in_colour=sys.stdout.isatty()))
        print(
            f"{made.name} will book as {made.user.username}. Scan this, or open {where.pages}/pair there and type"
        )
        print(f"\n    {codes.show(made.code)}\n")
        print(f"It pairs one phone, once, until {localtime(made.until):%H:%M}. Show it to nobody else.")
        print(
            f"A phone that does not trust this desk yet opens {where.trust}/ first; the certificate's SHA-256 is"
        )
        print(f"    {where.fingerprint}")


@app.command("shut-out")
def shut_out(
    name: Annotated[str, typer.Argument(help="What the phone is called: see `ortet phones`.")],
) -> None:
    """Shut a lost phone out, at once."""
    with open_book():
        from django.utils.timezone import now

        from ortet.work.nursery import grower
        from ortet.work.phones import shut_out as shut

        device = shut(name, by=grower(), now=now())
        print(f"{device.name} is shut out: nobody comes in with it any more.")
