"""The sender's slip: its lines as they are typed, or as a table has them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ortet.ledger.booking import MOST, Refused
from ortet.ledger.models import Nursery, Use, Variety
from ortet.science.species import known_species, species
from ortet.wood.naming import fold
from ortet.wood.speech import say
from ortet.wood.units import read_mass

__all__ = ["HEAVIEST_G", "SlipLine", "checked", "read_line", "read_slip"]

QUOTES = "'\"‘’“”‚‛′`"
HEAVIEST_G = 1_000_000.0


@dataclass(frozen=True, slots=True)
class SlipLine:
    """One line of a slip."""

    variety: str
    species: str = ""  # may be left out where the book knows the variety
    count: int | None = None  # stated
    sent_g: float | None = None  # the wood, as the sender weighed it [g]
    use: str = Use.ROOTING
    mark: str = ""  # the grower's own name for the lot it will be


def checked(line: SlipLine) -> SlipLine:
    """Return a line with its names as the book has them.

    Raises
    ------
    Refused
        If the variety has no name, its species is not known, or a number is out of range.
    """
    name = line.variety.strip().strip(QUOTES).strip()
    if not name:
        raise Refused(say("A line of the slip needs the name of a variety. Nothing was noted."))
    there = Variety.objects.filter(name_key=fold(name)).first()
    kind = _species(line.species.strip()) or (there.species if there else "")
    if kind not in known_species():
        what = (
            say("Species {kind!r} is not known", kind=kind)
            if kind
            else say("‘{name}’ is new: say its species", name=name)
        )
        raise Refused(
            say(
                "{what}. Known are: {known}. Nothing was noted.",
                what=what,
                known=", ".join(sorted(known_species())),
            )
        )
    if there and there.species != kind:
        raise Refused(
            say(
                "{there} is in the book as {species}, not {kind}. Nothing was noted.",
                there=there,
                species=there.species,
                kind=kind,
            )
        )
    if line.count is not None and not 1 <= line.count <= MOST:
        raise Refused(
            say(
                "{asked} of ‘{name}’: at least 1, at most {most:,}. Nothing was noted.",
                asked=line.count,
                name=name,
                most=MOST,
            )
        )
    if line.sent_g is not None and not 0 < line.sent_g <= HEAVIEST_G:
        raise Refused(
            say(
                "{grams:g} g of ‘{name}’: above nothing, at most {most:g} kg. Nothing was noted.",
                grams=line.sent_g,
                name=name,
                most=HEAVIEST_G / 1000,
            )
        )
    if line.use not in Use.values:
        raise Refused(
            say("{use!r}: say {known}. Nothing was noted.", use=line.use, known=" or ".join(Use.values))
        )
    return SlipLine(there.name if there else name, kind, line.count, line.sent_g, line.use, line.mark.strip())


def _species(text: str) -> str:
    """Return the key of a species by its key, English or Latin name; what is none of them as it is."""
    asked = text.casefold()
    return next(
        (key for key in known_species() if asked in (key, species(key).name, species(key).latin.lower())),
        text,
    )


def read_line(text: str) -> SlipLine:
    """Return a line written as ``variety; species; count; weight``; what comes last may be left out.

    Raises
    ------
    Refused
        If a count or a weight cannot be read.
    """
    parts = [part.strip() for part in text.split(";")]
    if len(parts) > 4:
        raise Refused(say("{text!r}: write variety; species; count; weight. Nothing was noted.", text=text))
    name, kind, count, grams = parts + [""] * (4 - len(parts))
    try:
        number = int(count) if count else None
    except ValueError:
        raise Refused(
            say(
                "{text!r}: {count!r} is no count. Write variety; species; count; weight. Nothing was noted.",
                text=text,
                count=count,
            )
        ) from None
    try:
        weight = read_mass(grams, Nursery.get().units) if grams else None
    except ValueError as error:
        raise Refused(say("{error}. Nothing was noted.", error=error)) from None
    return checked(SlipLine(name, kind, number, weight))


def read_slip(source: bytes, filename: str) -> list[SlipLine]:
    """Return the lines of a slip that came as a CSV file.

    Raises
    ------
    Refused
        If the file has problems; the first is said, and how many more there are.
    """
    from ortet.tables.read import read_table
    from ortet.tables.slip import RECEIVING

    read = read_table(
        source, filename, zone=Nursery.get().zone, among=RECEIVING, command="receive --template"
    )
    if read.problems:
        said = [str(read.problems[0])]
        if len(read.problems) > 1:
            said.append(say("And {count} more problems.", count=len(read.problems) - 1))
        raise Refused(" ".join([*said, say("Nothing was noted.")]))
    return list(_of_rows(read.rows))


def _of_rows(rows: Iterable[object]) -> Iterable[SlipLine]:
    from ortet.tables.slip import SlipRow

    for row in rows:
        assert isinstance(row, SlipRow)
        yield checked(SlipLine(row.variety, row.species, row.count, row.sent_g, row.use, row.mark))
