"""The season's plan on paper, to be ticked off in the shed.

Typst lays it out (season_sheet.typ beside this file), with the shipped fonts. The same plan gives the same bytes everywhere.
"""

import json
import re
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

__all__ = [
    "SHEET_PAPERS",
    "Bar",
    "Mark",
    "PickWeek",
    "SeasonSheet",
    "SheetPaper",
    "Short",
    "ToPick",
    "ToPost",
    "ToSet",
    "ToTake",
    "season_sheet",
]

SheetPaper = Literal["a4", "letter"]
# ISO 216; ANSI/ASME Y14.1 [mm]
SHEET_PAPERS: dict[str, tuple[float, float]] = {"a4": (210, 297), "letter": (215.9, 279.4)}
HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class ToTake:
    """Wood to take from a mother plant."""

    plant: str
    variety: str
    use: str
    count: int
    day: str


@dataclass(frozen=True, slots=True)
class ToPick:
    """Wood to pick out of a bag for somebody."""

    place: str  # the bag; nothing while the wood is still to be taken
    store: str  # the cold place in which the bag stands
    lot: str
    variety: str
    count: int
    whom: str
    wish: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class PickWeek:
    """What is picked in one week, in the order of the bags."""

    week: str
    picks: tuple[ToPick, ...]


@dataclass(frozen=True, slots=True)
class ToSet:
    """Wood to set on a bench."""

    start: str
    lot: str
    place: str  # where it lies until then
    variety: str
    count: int
    bench: str
    heat: str
    ready: str
    risk: str


@dataclass(frozen=True, slots=True)
class Bar:
    """A lot on a bench, as shares of the drawing's width. [0-1]"""

    bench: str
    lot: str
    start: float
    end: float
    half: float | None  # where half have rooted


@dataclass(frozen=True, slots=True)
class Mark:
    """A week named above the drawing, at a share of its width. [0-1]"""

    at: float
    words: str


@dataclass(frozen=True, slots=True)
class ToPost:
    """A parcel and its day."""

    day: str
    order: str
    buyer: str
    count: int
    pack: str
    risk: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Short:
    """A wish that does not get all it asks for."""

    wish: str
    whom: str
    variety: str
    gets: str
    why: str


@dataclass(frozen=True, slots=True)
class SeasonSheet:
    """What stands on the sheet, as it is to be read."""

    nursery: str
    planned: str
    summary: tuple[str, ...] = ()
    take: tuple[ToTake, ...] = ()
    weeks: tuple[PickWeek, ...] = ()
    sets: tuple[ToSet, ...] = ()
    bars: tuple[Bar, ...] = ()
    marks: tuple[Mark, ...] = ()
    posts: tuple[ToPost, ...] = ()
    short: tuple[Short, ...] = ()
    binds: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def season_sheet(sheet: SeasonSheet, *, paper: SheetPaper = "a4") -> bytes:
    """Return the season's plan as a PDF of as many pages as it takes.

    Raises
    ------
    ValueError
        If the paper is unknown, or if no font has a letter of a name.
    """
    import typst

    if paper not in SHEET_PAPERS:
        raise ValueError(f"Paper {paper!r}: say {' or '.join(SHEET_PAPERS)}. Nothing was printed.")
    width, height = SHEET_PAPERS[paper]
    job = {"page": {"width": width, "height": height}, "sheet": asdict(sheet)}
    missing = ""
    for shipped_only in (True, False):
        try:
            return typst.compile(
                HERE / "season_sheet.typ",
                root=HERE,
                format="pdf",
                font_paths=[HERE / "fonts"],
                ignore_system_fonts=shipped_only,
                # The words travel as data, never as Typst's own markup, so that a name prints as it is written.
                sys_inputs={"job": json.dumps(job, ensure_ascii=False)},
                pdf_standards="a-2b",
                pdf_tags=False,
            )
        except typst.TypstError as error:
            found = re.search(r"the text `\"(.*?)\"` could not be displayed", str(error))
            if not found:
                raise
            missing = re.sub(r"\\u\{(\w+)\}", lambda escaped: chr(int(escaped[1], 16)), found[1])
    raise ValueError(
        f"No font on this machine can write {missing!r}. Write the name in other letters, or install a font that has them. "
        "Nothing was printed."
    )
