"""Who gets how many, of which variety: the promises first, then fair shares, then the variety asked for.

A cutting's value falls as its line fills: the first counts twice its worth, the last once (`value`). So lines of like
worth that share a short variety are filled to like shares, and a line worth more than twice as much goes first. The
function is concave, so whole cuttings come out of a linear programme nearly by themselves.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from ortet.decisions.solver import Array, Model, Solved, Watch, each

from .wishes import Ask, Pool, Span, Supply, Wish

__all__ = ["Arc", "Arcs", "Shares", "arcs_of", "connected", "groups", "share_out", "value"]

TIE_NODES = 50  # what is equally good is not worth a long search
TIE_GAP = 0.02
STEPS = 40  # a line's value falls in so many steps at most

Arc = tuple[str, str]  # supply key, wish key
Arcs = dict[Arc, Span]  # when the supply may be picked for the wish
Node = tuple[str, ...]
When = date | None  # the day of a wish that is delivered in one; None where it may go in parts


@dataclass
class Shares:
    """Cuttings for each wish and variety, the day of each that goes in one delivery, and how good that is."""

    counts: dict[tuple[str, str], int] = field(default_factory=dict)
    days: dict[str, date] = field(default_factory=dict)
    promised: dict[int, list[Solved]] = field(
        default_factory=lambda: defaultdict(list)
    )  # by priority, in worth
    substituted: list[Solved] = field(default_factory=list)

    def add(self, other: Shares) -> None:
        """Take in what was settled of other wishes."""
        self.counts |= other.counts
        self.days |= other.days
        for priority, solved in other.promised.items():
            self.promised[priority] += solved
        self.substituted += other.substituted


def value(wish: Wish, filled: int) -> float:
    """Return what it is worth to give a wish so many cuttings."""
    return sum(width * slope for width, slope in _steps(wish, 0, filled))


def _steps(wish: Wish, given: int, most: int | None = None) -> list[tuple[int, float]]:
    """Return the steps in which the rest of a wish is filled: cuttings and what each is worth."""
    end = wish.count if most is None else most
    size = -(-wish.count // STEPS)
    steps = []
    for first in range(0, end, size):
        width = min(first + size, end) - max(first, given)
        if width > 0:
            steps.append((width, wish.worth * (2.0 - first / wish.count)))
    return steps


def arcs_of(ask: Ask, pool: Pool) -> Arcs:
    """Return which supplies may go to which wishes, and when, beside the hand-made choices."""
    by_kind: dict[tuple[str, str], list[Supply]] = defaultdict(list)
    for supply in sorted(ask.supplies, key=lambda one: one.key):
        if pool.free[supply.key]:
            by_kind[supply.variety, supply.use].append(supply)
    fixed_days = one_delivery_days(ask)
    arcs: Arcs = {}
    for wish in sorted(ask.wishes, key=lambda one: one.key):
        if not pool.wanted[wish.key]:
            continue
        for variety in wish.varieties:
            for supply in by_kind[variety, wish.use]:
                days = ask.days(supply, wish) if wish.takes(supply) else None
                if days and wish.key in fixed_days:
                    held = fixed_days[wish.key]
                    days = days.meet(held) if held else None
                if days:
                    arcs[supply.key, wish.key] = days
    return arcs


def one_delivery_days(ask: Ask) -> dict[str, Span | None]:
    """Return the days left to each wish that goes in one delivery and has hand-made choices; None: no day is left."""
    days: dict[str, Span | None] = {}
    for choice in ask.fixed:
        wish = ask.wish[choice.wish]
        if wish.parts:
            continue
        here = ask.days(ask.supply[choice.supply], wish)
        here = here and here.meet(ask.week_span(choice.week))
        before = days.get(wish.key, ask.span)
        days[wish.key] = before and here and before.meet(here)
    return days


def groups(ask: Ask, arcs: Arcs) -> list[list[str]]:
    """Return wishes in groups that share no wood and no backup, each by key, so that each is planned alone."""
    links = [(("wish", wish), ("supply", supply)) for supply, wish in arcs]
    for supply, wish in arcs:
        if ask.backup.get(variety := ask.supply[supply].variety):
            links.append((("wish", wish), ("backup", variety)))
    return [sorted(key for kind, key in nodes if kind == "wish") for nodes in connected(links)]


def connected(links: Iterable[tuple[Node, Node]]) -> list[set[Node]]:
    """Return sets of what hangs together, in the order of the links."""
    of: dict[Node, set[Node]] = {}
    for one, other in links:
        here, there = of.setdefault(one, {one}), of.setdefault(other, {other})
        if here is not there:
            here |= there
            of.update(dict.fromkeys(there, here))
    return list({id(nodes): nodes for nodes in of.values()}.values())


def deliveries(spans: Mapping[str, Span]) -> dict[date, set[str]]:
    """Return the days worth thinking of for one delivery, with the supplies that are good on each."""
    days = sorted({span.first for span in spans.values()})
    on = {day: {key for key, span in spans.items() if span.first <= day <= span.last} for day in days}
    return {
        day: here
        for day, here in on.items()
        if not any(here < other or (here == other and before < day) for before, other in on.items())
    }


class _Sharing:
    """The programme of one group: alike supplies are one, and days are told apart only where they matter."""

    def __init__(
        self,
        ask: Ask,
        pool: Pool,
        spans: Mapping[str, Mapping[str, Span]],  # wish: supply: when it is good
        before: Mapping[tuple[str, str], int],
    ) -> None:
        self.ask, self.pool = ask, pool
        keys = list(spans)
        self.wishes = [ask.wish[key] for key in keys]
        self.model = Model()
        self.switches: list[int] = []  # columns that say yes or no
        self.taken: dict[str, int] = {}  # wish: the switch that says that it gets any
        self.chosen: dict[str, dict[date, int]] = {}  # wish: day: the switch that says that it goes then
        self.room: list[int] = []  # cuttings of each class of supply
        self.spare: dict[str, int] = {}  # variety: cuttings beside its backup
        self.drawn_from: dict[int, int] = {}  # flow: its class
        # a flow: column of (class of supply, wish, day); each class knows its cuttings
        self.flows: dict[str, dict[int, tuple[str, When]]] = {
            key: {} for key in keys
        }  # wish: column: variety, day
        self.steps: dict[str, dict[int, float]] = {}  # wish: column: minus its worth
        self._lay_flows(spans)
        for one in self.wishes:
            self._lay_wish(one)
        self.changes = self._lay_changes(before)
        self.model.x = self._begin()

    def switch(self) -> int:
        """Add a column that says yes or no."""
        self.switches.append(self.model.column(1))
        return self.switches[-1]

    def _lay_flows(self, spans: Mapping[str, Mapping[str, Span]]) -> None:
        ends: dict[str, list[tuple[str, When]]] = defaultdict(list)  # supply: wishes and days
        for wish in self.wishes:
            here = spans[wish.key]
            days: Iterable[tuple[When, Iterable[str]]] = (
                [(None, here)] if wish.parts else deliveries(here).items()
            )
            for day, supplies in days:
                for supply in supplies:
                    ends[supply].append((wish.key, day))
        classes: dict[tuple[str, tuple[tuple[str, When], ...]], int] = defaultdict(int)
        for supply in sorted(ends):
            classes[self.ask.supply[supply].variety, tuple(ends[supply])] += self.pool.free[supply]
        drawn: dict[str, dict[int, float]] = defaultdict(dict)
        for (variety, targets), count in classes.items():
            terms: dict[int, float] = {}
            for wish_key, day in targets:
                column = self.model.column(min(count, self.pool.wanted[wish_key]))
                self.drawn_from[column] = len(self.room)
                self.flows[wish_key][column] = variety, day
                terms[column] = 1.0
            self.model.row(terms, most=count)
            self.room.append(count)
            drawn[variety] |= terms
        for variety, terms in drawn.items():
            if kept := self.ask.backup.get(variety, 0):
                total = sum(self.pool.free[one.key] for one in self.ask.supplies if one.variety == variety)
                self.spare[variety] = max(0, total - kept)
                self.model.row(terms, most=self.spare[variety])

    def _lay_wish(self, wish: Wish) -> None:
        model, flows = self.model, self.flows[wish.key]
        given, wanted = self.pool.given.get(wish.key, 0), self.pool.wanted[wish.key]
        self.steps[wish.key] = {
            model.column(width, whole=False): -slope for width, slope in _steps(wish, given)
        }
        model.row(dict.fromkeys(flows, 1.0) | dict.fromkeys(self.steps[wish.key], -1.0), least=0.0, most=0.0)
        if wish.least > 1 and not given:
            taken = self.taken[wish.key] = self.switch()
            model.row(dict.fromkeys(flows, 1.0) | {taken: -float(wish.least)}, least=0.0)
            model.row(dict.fromkeys(flows, 1.0) | {taken: -float(wanted)}, most=0.0)
        days = sorted({day for _, day in flows.values() if day is not None})
        if len(days) > 1:
            chosen = self.chosen[wish.key] = {day: self.switch() for day in days}
            model.row(dict.fromkeys(chosen.values(), 1.0), most=1.0)
            for day in days:
                on = {column: 1.0 for column, (_, then) in flows.items() if then == day}
                most = min(float(wanted), sum(model.upper[column] for column in on))
                model.row(on | {chosen[day]: -most}, most=0.0)

    def solve(self, watch: Watch) -> Shares:
        """Reach the goals in their order and return what came out."""
        shares = Shares()
        for priority in sorted({wish.priority for wish in self.wishes}):
            ours = [wish for wish in self.wishes if wish.priority == priority]
            scale = 1.0 / max(wish.worth for wish in ours)
            goal = {c: worth * scale for wish in ours for c, worth in self.steps[wish.key].items()}
            solved = self.model.least(goal, watch, share=0.6)
            self.model.hold(goal, solved)
            shares.promised[priority].append(Solved(solved.value / scale, solved.bound / scale))
        self._prefer(shares, watch)
        x = self.model.x
        for wish in self.wishes:
            for column, (variety, day) in self.flows[wish.key].items():
                if count := round(x[column]):
                    place = wish.key, variety
                    shares.counts[place] = shares.counts.get(place, 0) + count
                    if day is not None:
                        shares.days[wish.key] = day
        return shares

    def _prefer(self, shares: Shares, watch: Watch) -> None:
        """The variety asked for before its substitutes; then as before; then earlier days and keys first."""
        liking: dict[int, float] = {}
        for wish in self.wishes:
            for column, (variety, _) in self.flows[wish.key].items():
                liking[column] = float(wish.varieties.index(variety))
        if any(liking.values()):
            solved = self.model.least(liking, watch, share=0.3, counts=True)
            self.model.hold(liking, solved)
            shares.substituted.append(solved)
        days = sorted({day for flows in self.flows.values() for _, day in flows.values() if day is not None})
        tie = dict.fromkeys(self.changes, 1.0)
        for rank, wish in enumerate(self.wishes):
            for column, (_, day) in self.flows[wish.key].items():
                late = days.index(day) / len(days) if day is not None else 0.0
                tie[column] = 1e-4 * (late + rank / len(self.wishes))
        if not self.changes:
            # Which lines are taken at all, and when, is not worth a search among equals.
            self.model.settle(self.switches)
        self.model.least(tie, watch, share=0.1, nodes=TIE_NODES, gap=TIE_GAP)

    def _begin(self) -> Array:
        """Return what comes of serving the wishes in turn, by priority: a beginning for every search, and often its end."""
        x, room, spare = np.zeros(len(self.model.upper)), list(self.room), dict(self.spare)
        for wish in sorted(self.wishes, key=lambda one: one.priority):
            given = self._serve(wish, room, spare)
            count = sum(given.values())
            if not count or (count < wish.least and not self.pool.given.get(wish.key, 0)):
                continue
            for column, cuttings in given.items():
                variety, day = self.flows[wish.key][column]
                x[column] = cuttings
                room[self.drawn_from[column]] -= cuttings
                if variety in spare:
                    spare[variety] -= cuttings
                if day is not None and wish.key in self.chosen:
                    x[self.chosen[wish.key][day]] = 1.0
            if wish.key in self.taken:
                x[self.taken[wish.key]] = 1.0
            for column in self.steps[wish.key]:
                x[column] = min(self.model.upper[column], count)
                count -= round(x[column])
        for change, (flows, then) in self.changes.items():
            x[change] = abs(sum(x[column] for column in flows) - then)
        return x

    def _serve(self, wish: Wish, room: Sequence[int], spare: Mapping[str, int]) -> dict[int, int]:
        """Return the cuttings of each flow that fill a wish most, on one day where it goes in one delivery."""
        by_day: dict[When, dict[int, int]] = defaultdict(dict)
        flows = self.flows[wish.key]
        for column in sorted(flows, key=lambda one: wish.varieties.index(flows[one][0])):
            variety, day = flows[column]
            here = by_day[day]
            of_it = sum(cuttings for other, cuttings in here.items() if flows[other][0] == variety)
            wanting = self.pool.wanted[wish.key] - sum(here.values())
            left = min(room[self.drawn_from[column]], spare.get(variety, wanting + of_it) - of_it, wanting)
            if left > 0:
                here[column] = left
        return max(by_day.values(), key=lambda one: sum(one.values()), default={})

    def _lay_changes(
        self, before: Mapping[tuple[str, str], int]
    ) -> dict[int, tuple[Mapping[int, float], float]]:
        """Return columns that count how far this is from the plan before, each with its flows and what was given then."""
        changes: dict[int, tuple[Mapping[int, float], float]] = {}
        for wish in self.wishes:
            for variety in wish.varieties if before else ():
                flows = {c: 1.0 for c, (other, _) in self.flows[wish.key].items() if other == variety}
                then = float(before.get((wish.key, variety), 0))
                change = self.model.column(max(then, float(wish.count)), whole=False)
                self.model.row(flows | {change: -1.0}, most=then)
                self.model.row(flows | {change: 1.0}, least=then)
                changes[change] = flows, then
        return changes


def share_out(
    ask: Ask,
    pool: Pool,
    arcs: Arcs,
    watch: Watch,
    before: Mapping[tuple[str, str], int],
    tell: Callable[[float], None],
) -> Shares:
    """Say who gets how many of which variety; `before` is what the plan before gave."""
    shares = Shares()
    parts = groups(ask, arcs)
    spans: dict[str, dict[str, Span]] = defaultdict(dict)
    for (supply, wish), span in arcs.items():
        spans[wish][supply] = span

    def settled(keys: Sequence[str]) -> Shares:
        return _Sharing(ask, pool, {key: spans[key] for key in keys}, before).solve(watch)

    for done, part in enumerate(each(settled, parts), start=1):
        shares.add(part)
        tell(done / len(parts))
    return shares
