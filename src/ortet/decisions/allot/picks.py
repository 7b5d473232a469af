"""From which bag each share is picked, and when: pressing wood first, then the fewest moves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import accumulate

import numpy as np

from ortet.decisions.solver import Model, Solved, Watch, each

from .shares import TIE_NODES, Arc, Arcs, Shares, connected
from .wishes import Ask, Pool, Span

__all__ = ["Picking", "days_to_pick", "pick_out"]

Share = tuple[str, str]  # wish key, variety
MANY = 48  # possible picks from which presolve costs more time than it saves: docs/why/allot.md


@dataclass
class Picking:
    """Cuttings of each supply for each wish, and how few moves that takes."""

    counts: dict[Arc, int] = field(default_factory=dict)
    pressing: list[Solved] = field(
        default_factory=list
    )  # cuttings times weeks that they run out before the end
    moves: list[Solved] = field(default_factory=list)  # picks, bags opened and lots split

    def add(self, other: Picking) -> None:
        """Take in what is picked for other shares, or from other supplies."""
        self.counts |= other.counts
        self.moves += other.moves


def pick_out(
    ask: Ask,
    pool: Pool,
    arcs: Arcs,
    shares: Shares,
    watch: Watch,
    before: Mapping[Arc, int],
    tell: Callable[[float], None],
) -> Picking:
    """Say from which supplies each share is picked."""
    picking = Picking()
    open_arcs = [
        (supply, wish)
        for (supply, wish), span in arcs.items()
        if (wish, ask.supply[supply].variety) in shares.counts
        and (wish not in shares.days or span.first <= shares.days[wish] <= span.last)
    ]
    if not open_arcs:
        return picking
    drawing = _Drawing(ask, pool, sorted(open_arcs), shares, watch)
    picking.pressing.append(drawing.used)
    parts = sorted(_groups(ask, drawing.arcs), key=lambda part: (len(part), part))
    ends = list(accumulate(map(len, parts), initial=0))

    def settled(number: int) -> Picking:
        # What is left of the time is shared freely by size: most are over at once, and no one can take it all.
        share = min(0.5, 3.0 * len(parts[number]) / (ends[-1] - ends[number]))
        return _Picks(ask, drawing, parts[number]).solve(watch, share, before)

    for end, part in zip(ends[1:], each(settled, range(len(parts))), strict=True):
        picking.add(part)
        tell(end / ends[-1])
    return picking


def _groups(ask: Ask, arcs: Sequence[Arc]) -> list[list[Arc]]:
    """Return arcs in groups that share no supply and no share of a wish."""
    parts = connected(((supply,), (wish, ask.supply[supply].variety)) for supply, wish in arcs)
    group = {node: number for number, nodes in enumerate(parts) for node in nodes}
    together: list[list[Arc]] = [[] for _ in parts]
    for arc in sorted(arcs):
        together[group[(arc[0],)]].append(arc)
    return together


class _Drawing:
    """What is drawn from where so that most pressing wood is used, moves aside.

    This is a transport, so its best plan comes out whole, and its prices say what every best plan has in common: which
    supplies are never used for a wish, which are always emptied. That is all the later goal has to keep.
    """

    def __init__(self, ask: Ask, pool: Pool, arcs: Sequence[Arc], shares: Shares, watch: Watch) -> None:
        self.free = pool.free
        self.asked = shares.counts
        wanted, drawn = _ends(ask, arcs)
        flow = Model()
        column = {
            (supply, wish): flow.column(
                min(self.free[supply], self.asked[wish, ask.supply[supply].variety]), whole=False
            )
            for supply, wish in arcs
        }
        for share, of in wanted.items():
            flow.row({column[arc]: 1.0 for arc in of}, least=self.asked[share], most=self.asked[share])
        for supply, of in drawn.items():
            flow.row({column[arc]: 1.0 for arc in of}, most=self.free[supply])
        pressing = {column[arc]: -float(ask.pressing(ask.supply[arc[0]])) for arc in arcs}
        used = round(flow.least(pressing, watch).value)
        self.used = Solved(used, used)
        columns, rows = flow.prices()
        # Weeks are whole numbers, and so are the prices of a transport: anything from a half up is not nought.
        self.arcs = [arc for arc in arcs if columns[column[arc]] < 0.5]
        self.most = {arc: round(flow.upper[column[arc]]) for arc in self.arcs}
        self.least = {arc: self.most[arc] if columns[column[arc]] < -0.5 else 0 for arc in self.arcs}
        self.emptied = {key for number, key in enumerate(drawn, len(wanted)) if abs(rows[number]) > 0.5}
        self.begin = {arc: round(flow.x[column[arc]]) for arc in self.arcs}


def _ends(ask: Ask, arcs: Sequence[Arc]) -> tuple[dict[Share, list[Arc]], dict[str, list[Arc]]]:
    """Return the arcs of each share of a wish, and of each supply."""
    wanted: dict[Share, list[Arc]] = defaultdict(list)
    drawn: dict[str, list[Arc]] = defaultdict(list)
    for supply, wish in arcs:
        wanted[wish, ask.supply[supply].variety].append((supply, wish))
        drawn[supply].append((supply, wish))
    return wanted, drawn


class _Picks:
    """The programme of one group."""

    def __init__(self, ask: Ask, drawing: _Drawing, arcs: Sequence[Arc]) -> None:
        self.arcs, self.drawing, self.free, self.asked = arcs, drawing, drawing.free, drawing.asked
        self.wanted, self.drawn = _ends(ask, arcs)
        self.model = Model(presolve=len(arcs) < MANY)
        self.counts = {arc: self.model.column(drawing.most[arc]) for arc in arcs}
        self.picks = {arc: self.model.column(1) for arc in arcs}
        self.opened = {supply: self.model.column(1) for supply in self.drawn}
        self.split = {supply: self.model.column(int(supply not in drawing.emptied)) for supply in self.drawn}
        self._lay_shares()
        self._lay_supplies()
        self._begin()
        # What a hand-made choice opens and picks is opened and picked anyhow.
        by_hand = {(choice.supply, choice.wish) for choice in ask.fixed}
        opened_by_hand = {supply for supply, _ in by_hand}
        self.moves = {column: 1.0 for arc, column in self.picks.items() if arc not in by_hand}
        self.moves |= {column: 1.0 for key, column in self.opened.items() if key not in opened_by_hand}
        self.moves |= dict.fromkeys(self.split.values(), 1.0)

    def _lay_shares(self) -> None:
        """Each share is picked in full; what is picked is a pick."""
        for share, of in self.wanted.items():
            asked = self.asked[share]
            self.model.row({self.counts[arc]: 1.0 for arc in of}, least=asked, most=asked)
            fewest = _fewest([self.free[supply] for supply, _ in of], asked)
            self.model.row({self.picks[arc]: 1.0 for arc in of}, least=fewest)
            for arc in of:  # a bag too small for the share needs a second one
                if self.free[arc[0]] < asked:
                    self.model.row(
                        {self.picks[other]: 1.0 if other != arc else -1.0 for other in of}, least=0.0
                    )
        for arc in self.arcs:
            most, least = self.drawing.most[arc], self.drawing.least[arc]
            self.model.row({self.counts[arc]: 1.0, self.picks[arc]: -float(most)}, most=0.0)
            if least:
                self.model.row({self.counts[arc]: 1.0}, least=least)

    def _lay_supplies(self) -> None:
        """A supply that is used is a bag opened, and a lot split unless it is emptied."""
        for supply, of in self.drawn.items():
            free, opened = float(self.free[supply]), self.opened[supply]
            used = {self.counts[arc]: 1.0 for arc in of}
            self.model.row(used | {opened: -free}, most=0.0)
            if supply in self.drawing.emptied:
                self.model.row(used, least=free)
            self.model.row(used | {opened: -free, self.split[supply]: free}, least=0.0)
            most = self.drawing.most
            for arc in of:
                self.model.row({self.picks[arc]: 1.0, opened: -1.0}, most=0.0)
                if most[arc] < free:  # a share too small for the bag splits it, or needs a second one
                    terms = {self.picks[other]: 1.0 if other != arc else -1.0 for other in of}
                    self.model.row(terms | {self.split[supply]: 1.0}, least=0.0)
            fewest = float(_fewest([most[arc] for arc in of], int(free)))
            terms = {self.picks[arc]: 1.0 for arc in of}
            self.model.row(terms | {opened: -fewest, self.split[supply]: fewest}, least=0.0)

    def _begin(self) -> None:
        """Begin from what is drawn when nobody minds the moves."""
        begin = np.zeros(len(self.model.upper))
        for supply, of in self.drawn.items():
            for arc in of:
                begin[self.counts[arc]] = self.drawing.begin[arc]
                begin[self.picks[arc]] = float(self.drawing.begin[arc] > 0)
            taken = sum(self.drawing.begin[arc] for arc in of)
            begin[self.opened[supply]] = float(taken > 0)
            begin[self.split[supply]] = float(0 < taken < self.free[supply])
        self.model.x = begin

    def solve(self, watch: Watch, share: float, before: Mapping[Arc, int]) -> Picking:
        """Find the fewest moves, among them those of the plan before, and return what came out."""
        model = self.model
        solved = model.least(self.moves, watch, share=share, counts=True)
        if kept := {self.picks[arc]: -1.0 for arc in self.arcs if before.get(arc)}:
            model.hold(self.moves, solved)
            model.least(kept, watch, share=0.3 * share, counts=True, nodes=TIE_NODES)
        counts = {arc: count for arc, column in self.counts.items() if (count := round(model.x[column]))}
        return Picking(counts, moves=[solved])


def _fewest(sizes: Sequence[int], asked: int) -> int:
    """Return how many supplies it takes at least, the largest first."""
    for picks, size in enumerate(sorted(sizes, reverse=True), start=1):
        asked -= size
        if asked <= 0:
            return picks
    return len(sizes)


def days_to_pick(spans: Mapping[str, Span]) -> dict[str, date]:
    """Return a day for each supply of one wish, so that the fewest deliveries do, each as early as it can be."""
    days: dict[str, date] = {}
    waiting = sorted(spans, key=lambda key: (spans[key].last, spans[key].first, key))
    while waiting:
        end = spans[waiting[0]].last
        together = [key for key in waiting if spans[key].first <= end]
        day = max(spans[key].first for key in together)
        days |= dict.fromkeys(together, day)
        waiting = [key for key in waiting if key not in days]
    return days
