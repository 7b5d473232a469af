"""The season's plan on paper, to be ticked off in the shed.

Typst lays it out (season_sheet.typ beside this file), with the shipped fonts. The same plan gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import to_say

from .typeset import SheetPaper, on_sheet

__all__ = [
    "Bar",
    "Mark",
    "PickWeek",
    "SeasonSheet",
    "Short",
    "ToPick",
    "ToPost",
    "ToSet",
    "ToTake",
    "season_sheet",
]


WORDS = (
    to_say("The season’s plan"),
    to_say("planned {day}"),
    to_say("Take"),
    to_say("The wood in store is enough."),
    to_say("mother plant"),
    to_say("variety"),
    to_say("for"),
    to_say("take"),
    to_say("best day"),
    to_say("Pick"),
    to_say("No wood is promised to anyone."),
    to_say("Pick in the {week}"),
    to_say("bag"),
    to_say("lot"),
    to_say("pick"),
    to_say("Set on the benches"),
    to_say("Nothing is to be set on a bench."),
    to_say("from"),
    to_say("set"),
    to_say("bench"),
    to_say("heat"),
    to_say("half rooted"),
    to_say("risk"),
    to_say("in {place}"),
    to_say("Risk: that leaves come before roots by more than the reserve bears."),
    to_say("The benches, week by week"),
    to_say("A bar: the lot stands there. The thick stroke in it: half have rooted."),
    to_say("Post"),
    to_say("Nothing is to be posted."),
    to_say("day"),
    to_say("order"),
    to_say("buyer"),
    to_say("cuttings"),
    to_say("in the box"),
    to_say("Risk: that the wood is harmed or late on the way."),
    to_say("Goes short"),
    to_say("wish"),
    to_say("gets"),
    to_say("why"),
    to_say("What binds"),
    to_say("What was assumed"),
    to_say("Take care"),
)


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
    return on_sheet("season_sheet", paper, words=WORDS, sheet=asdict(sheet))
