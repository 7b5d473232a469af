"""What every command shares: the book opened, moments, hands and measures read, answers printed."""

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from django.contrib.auth.models import User

__all__ = [
    "As",
    "At",
    "BagArg",
    "Base",
    "Count",
    "From",
    "Json",
    "Length",
    "LotArg",
    "Mark",
    "Note",
    "Tip",
    "hand_of",
    "measure",
    "open_book",
    "piece",
    "print_json",
    "print_table",
    "progress",
    "refuse_to_overwrite",
    "when",
]  # fmt: skip

At = Annotated[
    str,
    typer.Option("--at", help="When: 2027-01-15 or 2027-01-15T09:30, in the nursery's zone. Default: now."),
]
As = Annotated[str, typer.Option("--as", help="Whose hand books it. Default: the grower.")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
Note = Annotated[str, typer.Option(help="A few words to go with it.")]
LotArg = Annotated[str, typer.Argument(metavar="LOT", help="A lot's code or your own mark for it.")]
BagArg = Annotated[str, typer.Argument(metavar="BAG", help="A bag's name or code.")]
Count = Annotated[
    int | None, typer.Argument(metavar="[COUNT]", help="How many cuttings. Default: all that lie there.")
]
From = Annotated[str, typer.Option("--from", help="Where from. Default: the only place they are.")]
Length = Annotated[str, typer.Option(help="Length of a cutting, such as 20cm or 8in.")]
Base = Annotated[str, typer.Option(help="Thickness at the base, such as 8mm or 0.3in.")]
Tip = Annotated[str, typer.Option(help="Thickness at the tip.")]
Mark = Annotated[str, typer.Option(help="Your own name for the lot.")]


@contextmanager
def open_book(*, only_guarded: bool = True) -> Iterator[None]:
    """Open the book; end with a plain sentence and exit code 1 where a deed is refused."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "ortet.settings")
    import django

    django.setup()
    from django.db.utils import DatabaseError
    from django.utils import timezone

    from ortet.ledger.models import Nursery
    from ortet.work import Refused
    from ortet.work.nursery import open_book as make_sure

    try:
        make_sure(only_guarded=only_guarded)
        with timezone.override(Nursery.get().tz):
            yield
    except Refused as error:
        print(f"Refused: {error}", file=sys.stderr)
        raise SystemExit(1) from None
    except DatabaseError as error:
        print(f"The book cannot be used: {error}. Nothing was booked.", file=sys.stderr)
        raise SystemExit(1) from None
    except BrokenPipeError:
        os.dup2(
            os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno()
        )  # whoever read the answer has had enough
        raise SystemExit(0) from None
    except OSError as error:
        print(
            f"{error.filename or 'A file'}: {error.strerror or error}. Nothing was booked.", file=sys.stderr
        )
        raise SystemExit(1) from None


def when(text: str) -> datetime:
    """Return a moment, in UTC, from ISO 8601 text in the nursery's zone; now where there is none."""
    from ortet.ledger.models import Nursery
    from ortet.work import Refused
    from ortet.work.moments import done_at

    nursery = Nursery.get()
    if not text:
        return nursery.now()
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        raise Refused(f"--at {text!r}: write 2027-01-15 or 2027-01-15T09:30. Nothing was booked.") from None
    try:
        return done_at(at if at.tzinfo else at.replace(tzinfo=nursery.tz), nursery.now())
    except Refused as error:
        raise Refused(f"--at {text!r}: {error}") from None


def hand_of(name: str) -> "User":
    from django.contrib.auth.models import User

    from ortet.work import Refused
    from ortet.work.nursery import grower, may_write

    if not name:
        return grower()
    user = User.objects.filter(username__iexact=name).first()
    if user is None or not may_write(user):
        raise Refused(f"--as {name!r}: nobody of that name may write in this book. Nothing was booked.")
    return user


def measure(text: str, read: str) -> float | None:
    from ortet.ledger.models import Nursery
    from ortet.wood import units
    from ortet.work import Refused

    if not text:
        return None
    try:
        return getattr(units, read)(text, Nursery.get().units)
    except ValueError as error:
        raise Refused(f"{error}. Nothing was booked.") from None


def refuse_to_overwrite(path: Path) -> None:
    """Refuse a file that is there already, before anything is reckoned.

    Raises
    ------
    Refused
        If it is there.
    """
    from ortet.work import Refused

    if path.exists():
        raise Refused(f"{path} is there already. Name another file. Nothing was written.")


def refuse_paper_alone(paper: str, *files: Path | None, option: str = "--out") -> None:
    """Refuse a paper where nothing is printed on it.

    Raises
    ------
    Refused
        If a paper is named, and no file.
    """
    from ortet.work import Refused

    if paper and not any(files):
        raise Refused(f"--paper {paper}: name the PDF too, with {option}. Nothing was printed.")


def piece(length: str, base: str, tip: str, nodes: int | None) -> dict[str, Any]:
    return {
        "length_mm": measure(length, "read_length"),
        "base_mm": measure(base, "read_length"),
        "tip_mm": measure(tip, "read_length"),
        "nodes": nodes,
    }


def print_json(value: object) -> None:
    print(json.dumps(value, ensure_ascii=False, indent=1, default=str))


def print_table(head: list[str], rows: list[list[object]]) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.console import Console
    from rich.table import Table

    table = Table(*head, box=SIMPLE_HEAD, pad_edge=False)
    for row in rows:
        table.add_row(*(("" if cell is None else str(cell)) for cell in row))
    Console(highlight=False).print(table)


@contextmanager
def progress() -> Iterator[Any]:
    """Show a bar for each file that takes a while, on a terminal only."""
    from rich.console import Console
    from rich.progress import Progress

    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bars:
        tasks: dict[str, Any] = {}

        def tell(name: str, done: int, total: int) -> None:
            if name not in tasks:
                tasks[name] = bars.add_task(name, total=total)
            bars.update(tasks[name], completed=done, total=total)

        yield tell
