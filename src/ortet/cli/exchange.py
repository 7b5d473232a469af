"""Commands for what goes out to others and comes in from them by open standards."""

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
