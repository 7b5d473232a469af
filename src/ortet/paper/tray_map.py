"""The map of a trial on paper: each tray as it stands, each plot with its number and letter, a tick and room for counts.

Typst lays it out (tray_map.typ beside this file), with the shipped fonts. The same trial gives the same bytes everywhere.
"""

from dataclasses import asdict, dataclass

from ortet.wood.speech import to_say

from .symbol import symbol
from .typeset import SheetPaper, on_sheet

__all__ = ["MapCell", "MapPlot", "TrayMap", "TrialMap", "tray_map"]


WORDS = (
    to_say("Tray map"), to_say("Seen from above, row 1 at the top: mark that corner on the tray"), to_say("plot"), to_say("tray"),
    to_say("block"), to_say("treatment"), to_say("variety"), to_say("rooted, look {number}"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class MapCell:
    """Where a cell of a plot lies, from 1."""

    row: int
    column: int


@dataclass(frozen=True, slots=True)
class MapPlot:
    """A plot as it is to be read."""

    number: int
    letter: str
    treatment: str
    variety: str
    block: int
    shade: int  # 0 white, and darker: so that plots side by side are told apart without colour
    cells: tuple[MapCell, ...]


@dataclass(frozen=True, slots=True)
class TrayMap:
    """One tray, seen from where its first row is at the top."""

    name: str
    plots: tuple[MapPlot, ...]


@dataclass(frozen=True, slots=True)
class TrialMap:
    """What stands on the map."""

    title: str
    question: str
    drawn: str  # when, by whom, from which seed
    rows: int
    columns: int
    looks: int
    key: tuple[tuple[str, str], ...]  # letter and treatment
    rules: tuple[str, ...]
    trays: tuple[TrayMap, ...]
    address: str  # where the code leads


def tray_map(trial: TrialMap, *, paper: SheetPaper = "a4") -> bytes:
    """Return the map as a PDF, one tray after another, then a list of the plots to tick off and note counts in.

    Raises
    ------
    ValueError
        If the paper is unknown, or if no font has a letter of a name.
    """
    return on_sheet("tray_map", paper, words=WORDS, trial=asdict(trial), code=symbol(trial.address))
