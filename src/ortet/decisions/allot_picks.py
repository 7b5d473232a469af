"""From which bag each share is picked, and when: pressing wood first, then the fewest moves."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from .allot_model import Model, Solved, Watch
from .allot_shares import TIE_NODES, Arc, Arcs, Shares, connected
from .allot_wishes import Ask, Pool, Span

__all__ = ["Picking", "days_to_pick", "pick_out"]

Share = tuple[str, str]  # wish key, variety


@dataclass
class Picking:
    """Cuttings of each supply for each wish, and how few moves that takes."""

    counts: dict[Arc, int] = field(default_factory=dict)
    pressing: list[Solved] = field(
        default_factory=list
    )  # cuttings times weeks that they run out before the end
    moves: list[Solved] = field(default_factory=list)  # picks, bags opened and lots split


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
    parts = sorted(_groups(ask, open_arcs), key=lambda part: (len(part), part))
    left = len(open_arcs)
    for part in parts:
        # What is left of the time is shared by size, so that one hard variety cannot take it all.
        _Picks(ask, pool, part, shares).solve(picking, watch, len(part) / left, before)
        left -= len(part)
        tell(1.0 - left / len(open_arcs))
    return picking


def _groups(ask: Ask, arcs: Sequence[Arc]) -> list[list[Arc]]:
    """Return arcs in groups that share no supply and no share of a wish."""
    parts = connected(((supply,), (wish, ask.supply[supply].variety)) for supply, wish in arcs)
    group = {node: number for number, nodes in enumerate(parts) for node in nodes}
    together: list[list[Arc]] = [[] for _ in parts]
    for arc in sorted(arcs):
        together[group[(arc[0],)]].append(arc)
    return together


class _Picks:
    """The programme of one group."""

    def __init__(self, ask: Ask, pool: Pool, arcs: Sequence[Arc], shares: Shares) -> None:
        self.ask, self.arcs, self.free = ask, arcs, pool.free
        self.wanted: dict[Share, list[Arc]] = defaultdict(list)
        self.drawn: dict[str, list[Arc]] = defaultdict(list)
        for supply, wish in arcs:
            self.wanted[wish, ask.supply[supply].variety].append((supply, wish))
            self.drawn[supply].append((supply, wish))
        self.asked = {share: shares.counts[share] for share in self.wanted}
        self.model = Model(presolve=False)  # which only costs time here: docs/why/allot.md
        self.counts = {arc: self.model.column(most) for arc, most in self._most().items()}
        self.picks = {arc: self.model.column(1) for arc in arcs}
        self.opened = {supply: self.model.column(1) for supply in self.drawn}
        self.split = {supply: self.model.column(1) for supply in self.drawn}
        self._lay_shares()
        self._lay_supplies()
        # What a hand-made choice opens and picks is opened and picked anyhow.
        by_hand = {(choice.supply, choice.wish) for choice in ask.fixed}
        opened_by_hand = {supply for supply, _ in by_hand}
        self.moves = {column: 1.0 for arc, column in self.picks.items() if arc not in by_hand}
        self.moves |= {column: 1.0 for key, column in self.opened.items() if key not in opened_by_hand}
        self.moves |= dict.fromkeys(self.split.values(), 1.0)
        self.pressing = {arc: ask.pressing(ask.supply[arc[0]]) for arc in arcs}

    def _most(self) -> dict[Arc, int]:
        """Return the most that can go from each supply to each wish, which keeps the programme tight."""
        asked = {
            (supply, wish): self.asked[share] for share, of in self.wanted.items() for supply, wish in of
        }
        return {arc: min(self.free[arc[0]], asked[arc]) for arc in self.arcs}

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
        for arc, most in self._most().items():
            self.model.row({self.counts[arc]: 1.0, self.picks[arc]: -float(most)}, most=0.0)

    def _lay_supplies(self) -> None:
        """A supply that is used is a bag opened, and a lot split unless it is emptied."""
        for supply, of in self.drawn.items():
            free, opened = float(self.free[supply]), self.opened[supply]
            used = {self.counts[arc]: 1.0 for arc in of}
            self.model.row(used | {opened: -free}, most=0.0)
            self.model.row(used | {opened: -free, self.split[supply]: free}, least=0.0)
            most = self._most()
            for arc in of:
                self.model.row({self.picks[arc]: 1.0, opened: -1.0}, most=0.0)
                if most[arc] < free:  # a share too small for the bag splits it, or needs a second one
                    terms = {self.picks[other]: 1.0 if other != arc else -1.0 for other in of}
                    self.model.row(terms | {self.split[supply]: 1.0}, least=0.0)
            fewest = float(_fewest([most[arc] for arc in of], int(free)))
            terms = {self.picks[arc]: 1.0 for arc in of}
            self.model.row(terms | {opened: -fewest, self.split[supply]: fewest}, least=0.0)

    def solve(self, picking: Picking, watch: Watch, share: float, before: Mapping[Arc, int]) -> None:
        """Reach the goals in their order and write down what came out."""
        model = self.model
        used = self._use_pressing(watch)
        if any(self.pressing.values()):
            model.hold(
                {self.counts[arc]: -float(weeks) for arc, weeks in self.pressing.items() if weeks}, used
            )
            picking.pressing.append(used)
        solved = model.least(self.moves, watch, share=0.7 * share, counts=True)
        picking.moves.append(solved)
        if kept := {self.picks[arc]: -1.0 for arc in self.arcs if before.get(arc)}:
            model.hold(self.moves, solved)
            model.least(kept, watch, share=0.3 * share, counts=True, nodes=TIE_NODES)
        for arc, column in self.counts.items():
            if count := round(model.x[column]):
                picking.counts[arc] = count

    def _use_pressing(self, watch: Watch) -> Solved:
        """Use what is pressing, moves aside, and begin from there: a transport, so its best plan comes out whole."""
        flow = Model()
        columns = {arc: flow.column(most, whole=False) for arc, most in self._most().items()}
        for share, of in self.wanted.items():
            asked = self.asked[share]
            flow.row(dict.fromkeys([columns[arc] for arc in of], 1.0), least=asked, most=asked)
        for supply, of in self.drawn.items():
            flow.row(dict.fromkeys([columns[arc] for arc in of], 1.0), most=self.free[supply])
        used = flow.least({columns[arc]: -float(weeks) for arc, weeks in self.pressing.items()}, watch)
        begin = np.zeros(len(self.model.upper))
        for arc, column in columns.items():
            count = round(flow.x[column])
            begin[self.counts[arc]] = count
            if count:
                begin[self.picks[arc]] = begin[self.opened[arc[0]]] = 1.0
        for supply, of in self.drawn.items():
            taken = sum(begin[self.counts[arc]] for arc in of)
            begin[self.split[supply]] = float(0 < taken < self.free[supply])
        self.model.x = begin
        return Solved(round(used.value), round(used.value))


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
