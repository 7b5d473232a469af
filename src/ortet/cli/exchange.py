"""Commands for what goes out to others and comes in from them by open standards."""

from pathlib import Path
from typing import Annotated

import typer

from .app import app
from .book import Json, open_book, print_json


@app.command()
def name(
    text: Annotated[str, typer.Argument(metavar="NAME", help="Such as: Malus domestica 'Gala'")],
    as_json: Json = False,
) -> None:
    """Read a plant's name, write it by the ICNCP, and say what to look at. Nothing is booked."""
    with open_book():
        from ortet.work.names import read_name, told

        seen = read_name(text)
        parts = {
            "genus": seen.parts.genus,
            "species": seen.parts.species,
            "below the species": seen.parts.below,
            "group": seen.parts.group,
            "variety": seen.parts.epithet,
            "selling name": seen.parts.trade,
        }
        if as_json:
            remarks = [
                {"code": remark.code, "said": remark.said, "hint": remark.is_hint} for remark in seen.remarks
            ]
            print_json(
                {"received": seen.received, "written": seen.written, "parts": parts, "remarks": remarks}
            )
            return
        print(seen.written)
        for part, said in parts.items():
            if said:
                print(f"  {part:<18}{said}")
        for sentence in told(seen) or ["Nothing to remark on."]:
            print(sentence)


@app.command()
def archive(
    file: Annotated[
        Path, typer.Argument(metavar="FILE.zip", help="The archive to write; it must not be there yet.")
    ],
) -> None:
    """Write the whole book into one zip file of open formats, every seal recounted first."""
    with open_book():
        from ortet.work import Refused
        from ortet.work.archive import archive as write

        if file.exists():
            raise Refused(f"{file} is there already. Name another file. Nothing was archived.")
        half = file.with_name(f"{file.name}.half")  # there whole, or not at all
        try:
            with half.open("w+b") as out:
                done = write(out)
            half.replace(file)
        finally:
            half.unlink(missing_ok=True)
        print(
            f"{file}: {done.rows:,} rows in {done.tables} tables, {done.photos} photos. Keep it where the book is not."
        )


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE.zip", help="An archive that `ortet archive` wrote.")],
) -> None:
    """Make an empty book equal to an archived one: all or nothing."""
    with open_book():
        from ortet.work.archive import restore as read
        from ortet.work.check import check

        with file.open("rb") as opened:
            done = read(opened)
        print(f"Restored: {done.rows:,} rows in {done.tables} tables, {done.photos} photos.")
        print("Passwords did not come along: set them with ortet set-password NAME.")
        print(check()[1])
