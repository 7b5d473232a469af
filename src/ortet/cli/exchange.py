"""Commands for what goes out to others and comes in from them by open standards."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from .app import app
from .book import Json, open_book, print_json, refuse_to_overwrite


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
def passports(
    file: Annotated[Path | None, typer.Argument(metavar="FILE.csv", help="Default: print it.")] = None,
    as_json: Json = False,
) -> None:
    """Write the mother plants' passport data by the Multi-Crop Passport Descriptors (MCPD v2.1)."""
    with open_book():
        from ortet.work.passports import collection, passport_table

        if as_json:
            print_json(collection())
            return
        table = passport_table().encode()
        if file is None:
            sys.stdout.buffer.write(table)  # as it is: RFC 4180 line ends
            return
        refuse_to_overwrite(file)
        file.write_bytes(table)
        print(f"{file}: written. Open it as text, so that codes and dates keep their noughts.")


@app.command()
def passport(
    accession: Annotated[str, typer.Argument(metavar="ACCESSION", help="The mother plant's number.")],
    said: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="FIELD=TEXT", help="Such as SAMPSTAT=300. Again for more."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Show a mother plant's passport data, or note some of it; an empty text takes out what was noted."""
    pairs = [one.partition("=") for one in said or ()]
    if bad := next((one for one, (_, sign, _) in zip(said or (), pairs, strict=True) if not sign), None):
        raise typer.BadParameter(f"--set {bad!r}: write FIELD=TEXT. Nothing was booked.")
    with open_book():
        from ortet.work.passports import describe_passport
        from ortet.work.passports import passport as read

        notes = describe_passport(accession, {name: text for name, _, text in pairs}) if pairs else []
        seen = read(accession)
        if as_json:
            print_json({"said": seen, "notes": notes})
            return
        for field, text in seen.items():
            print(f"{field:<17}{text}")
        for note in notes:
            print(f"Note: {note}")


@app.command()
def archive(
    file: Annotated[
        Path, typer.Argument(metavar="FILE.zip", help="The archive to write; it must not be there yet.")
    ],
) -> None:
    """Write the whole book into one zip file of open formats, every seal recounted first."""
    with open_book():
        from ortet.work.archive import archive as write

        refuse_to_overwrite(file)
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
