"""A pick list: which bags to open in which order, a box to tick for each, a code that opens the step on a phone.

The code leads to the line that is to be packed, never to the lot: only the label in the bag proves the bag.
Typst lays it out (pick_list.typ beside this file), with the shipped fonts. The same list gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import counted, say, to_say

from .symbol import symbol
from .typeset import SheetPaper, on_sheet

__all__ = ["PickList", "PickStop", "pick_list"]


WORDS = (
    to_say("made {day}"), to_say("the same"), to_say("of {count}"), to_say("Lying bare"), to_say("bag"), to_say("lot"),
    to_say("pick"), to_say("for"), to_say("pack it"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PickStop:
    """One bag to open, and what to take out of it for one line."""

    store: str  # the cold place in which the bag stands; nothing where the wood lies bare
    place: str
    lot: str
    variety: str
    count: int
    there: int  # of the lot in the place, by the book
    whom: str
    line: str  # such as order 3/2
    address: str  # where the code leads
    note: str = ""


@dataclass(frozen=True, slots=True)
class PickList:
    """What stands on the list, in the order of the walk."""

    title: str
    nursery: str
    made: str
    stops: tuple[PickStop, ...]
    notes: tuple[str, ...] = ()


def pick_list(sheet: PickList, *, paper: SheetPaper = "a4") -> bytes:
    """Return a pick list as a PDF of as many pages as it takes.

    Raises
    ------
    ValueError
        If nothing is to be picked, the paper is unknown, or no font has a letter of a name.
    """
    if not sheet.stops:
        raise ValueError(say("Nothing is to be picked. Nothing was printed."))
    codes: dict[str, str] = {}
    stores: dict[str, list[dict[str, object]]] = {}
    before = ""
    for stop in sheet.stops:
        if stop.address not in codes:
            codes[stop.address] = symbol(stop.address)
        here = f"{stop.store}\0{stop.place}"
        stores.setdefault(stop.store, []).append(asdict(stop) | {"again": here == before})
        before = here
    said = {
        "title": sheet.title,
        "nursery": sheet.nursery,
        "made": sheet.made,
        "notes": sheet.notes,
        "much": _much(sheet),
        "stores": [{"name": name, "stops": stops} for name, stops in stores.items()],
    }
    return on_sheet("pick_list", paper, words=WORDS, sheet=said, codes=codes)


def _much(sheet: PickList) -> str:
    """Return how much is to be picked."""
    places = len({(stop.store, stop.place) for stop in sheet.stops})
    return say(
        "{cuttings} out of {places}",
        cuttings=counted(sum(stop.count for stop in sheet.stops), "cutting"),
        places=counted(places, "place"),
    )
