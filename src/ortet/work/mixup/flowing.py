"""Where cuttings that lay open at a moment are now: carried along every later movement, in proportion.

Nobody knows which cuttings of a place moved on, so each movement takes along its share of those that lay open.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import NamedTuple

from ortet.ledger.lineage import Begun, Link, Moved
from ortet.ledger.models import Kind, Part

__all__ = ["Cell", "Flows", "Held"]

GONE = (Kind.GIVEN_UP, Kind.LOST)


class Cell(NamedTuple):
    """Where cuttings of one lot are: in a place, or with a buyer."""

    lot: int
    place: int
    buyer: int = 0


class Held(NamedTuple):
    """How many cuttings a cell holds, and how many went from it to nowhere."""

    here: float
    gone: float


class Flows:
    """The movements of some lots and of all that came of them."""

    def __init__(
        self,
        moves: Iterable[Moved],
        links: Iterable[Link],
        begun: Mapping[int, Begun],
        buyers: Mapping[int, int],  # whom a movement went to, by its number
    ) -> None:
        self._moves: dict[int, list[Moved]] = defaultdict(list)
        for move in moves:
            self._moves[move.lot].append(move)
        self._buyers = buyers
        self._begun = begun
        self._children: dict[int, list[Link]] = defaultdict(list)
        for link in links:
            if link.part != Part.STOCK:  # what grows of a graft is its scion
                self._children[link.parent].append(link)

    def family(self, lot: int) -> list[int]:
        """Return a lot and all that came of it."""
        found = [lot]
        for one in found:
            found += [link.child for link in self._children[one] if link.child not in found]
        return found

    def moves_of(self, lots: Iterable[int]) -> list[Moved]:
        """Return the movements of lots, in order of time."""
        every = (move for lot in lots for move in self._moves[lot])
        return sorted(every, key=lambda move: (move.at, move.number))

    def cell(self, move: Moved, *, there: bool) -> Cell:
        """Return the cell at one end of a movement."""
        if not there:
            return Cell(move.lot, move.here)
        return Cell(move.lot, move.there, self._buyers.get(move.number, 0))

    def play(
        self, lot: int, opened: Iterable[Cell] = (), at: datetime | None = None
    ) -> tuple[dict[Cell, Held], dict[Cell, Held], dict[Cell, float]]:
        """Carry what lay open in some cells at a moment along all later movements of a lot and what came of it.

        Returns
        -------
        What each cell holds now; how much of that lay open; and how many lay in each of the cells at the moment.
        """
        count: dict[Cell, float] = defaultdict(float)
        lay_open: dict[Cell, float] = defaultdict(float)
        gone: dict[Cell, float] = defaultdict(float)
        gone_open: dict[Cell, float] = defaultdict(float)
        passing: dict[int, float] = defaultdict(float)  # what lay open and is on its way into a lot split off
        then: dict[Cell, float] | None = None
        chosen = set(opened)
        for move in self.moves_of(self.family(lot)):
            if then is None and at is not None and move.at > at:
                then = {cell: count[cell] for cell in chosen}
                lay_open.update(then)
            here, there = self.cell(move, there=False), self.cell(move, there=True)
            taken = 0.0
            if move.here_kind == Kind.BECAME:
                taken = passing.pop(move.lot, 0.0)
            elif count[here] > 0:
                taken = lay_open[here] * min(move.count / count[here], 1.0)
            count[here] -= move.count
            lay_open[here] -= taken
            if move.there_kind == Kind.BECAME:
                for link in self._children[move.lot]:
                    if link.count == move.count and self._begun[link.child].made_at == move.at:
                        passing[link.child] += taken
                        break
            elif move.there_kind in GONE:
                gone[here] += move.count
                gone_open[here] += taken
            else:
                count[there] += move.count
                lay_open[there] += taken
        if then is None:
            then = {cell: count[cell] for cell in chosen}
            lay_open.update(then)
        cells = {cell for cell in (*count, *gone) if count[cell] > 0 or gone[cell] > 0}
        now = {cell: Held(max(count[cell], 0.0), gone[cell]) for cell in cells}
        reached = {cell: Held(max(lay_open[cell], 0.0), gone_open[cell]) for cell in cells}
        return now, reached, then
