"""Which batch goes where, when and at which heat, as a whole-number programme for HiGHS."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import ceil, gcd, inf

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.bench.race import LONGEST, Outcomes, outcomes
from ortet.decisions.bench.wishes import Batch, Bench, Choice, Season, say_base
from ortet.decisions.solver import Solver
from ortet.wood.speech import say, say_day

__all__ = ["Option", "Options", "Solved", "solve"]

Array = NDArray[np.float64]

GAP = 0.002  # of what the plan is worth: the search ends once no better plan can be worth this much more
SPLIT = 0.002  # of a batch's worth: the handling of each further place that trays of it stand in
STAY = 0.03  # of a batch's worth: what a plan made anew gives up to leave the batch where it was
ROUNDS = 100_000  # of the first search
OUT = -1


@dataclass(frozen=True, slots=True)
class Option:
    """One way to strike one batch, as a column of the programme."""

    batch: str
    bench: str
    level: int  # which of the bench's set-points
    week: int
    weeks: int  # on the bench
    at: tuple[int, int, int]  # where its outcome stands in the bench's Outcomes
    cost: float  # of the whole batch, without heat
    allowed: bool  # it is ready, good, safe enough and the bench is open


class Options:
    """Every way to strike every batch, with what comes of it."""

    def __init__(self, season: Season) -> None:
        self.season = season
        self.levels: dict[str, list[float | None]] = {
            bench.key: list(
                dict.fromkeys((*bench.levels, *(c.base_c for c in season.fixed if c.bench == bench.key)))
            )
            for bench in season.benches
        }
        days = [7 * week for week in range(season.weeks)]
        self.found: dict[str, Outcomes] = {
            bench.key: outcomes(season.batches, bench, self.levels[bench.key], days, season)
            for bench in season.benches
        }
        self.of: dict[str, list[Option]] = {batch.key: [] for batch in season.batches}
        for bench in season.benches:
            self._lay(bench)

    def _lay(self, bench: Bench) -> None:
        season, found = self.season, self.found[bench.key]
        cost = found.loss(season.batches) + found.lateness(season.batches, season)
        shut = np.array([week in bench.closed for week in range(season.weeks + LONGEST)])
        for row, level, week in np.argwhere(np.isfinite(found.off)):
            at = int(row), int(level), int(week)
            batch = season.batches[row]
            stays = max(1, ceil(found.off[at] / 7.0))
            allowed = (
                season.opens(batch, at[2])
                and found.risk[at] <= season.most_risk
                and batch.part_cells <= bench.cells
                and not shut[week : week + stays].any()
            )
            self.of[batch.key].append(
                Option(batch.key, bench.key, at[1], at[2], stays, at, float(cost[at]), bool(allowed))
            )

    def chosen(self, choice: Choice) -> Option:
        """Return the option a choice made by hand stands for.

        Raises
        ------
        ValueError
            If there is no such batch, bench, week or count, or nothing would root.
        """
        season = self.season
        if choice.batch not in season.batch or choice.bench not in season.bench:
            raise ValueError(
                say("{choice}: no such batch or bench in this plan. The plan is as it was.", choice=choice)
            )
        if not 0 <= choice.week < season.weeks:
            raise ValueError(
                say(
                    "{choice}: the plan has weeks 1 to {weeks}. Choose one of them. The plan is as it was.",
                    choice=choice,
                    weeks=season.weeks,
                )
            )
        batch = season.batch[choice.batch]
        if choice.count is not None and not (choice.count == batch.count or choice.count in _parts(batch)):
            raise ValueError(
                say(
                    "{choice}: {count} of {all} cuttings. Choose all of them or whole trays of {tray}. The plan is as it was.",
                    choice=choice,
                    count=choice.count,
                    all=batch.count,
                    tray=batch.tray,
                )
                if batch.tray
                else say(
                    "{choice}: {count} of {all} cuttings. Choose all of them; it has no trays to split it in. "
                    "The plan is as it was.",
                    choice=choice,
                    count=choice.count,
                    all=batch.count,
                )
            )
        level = self.levels[choice.bench].index(choice.base_c)
        for option in self.of[choice.batch]:
            if (option.bench, option.level, option.week) == (choice.bench, level, choice.week):
                return option
        raise ValueError(
            say(
                "{choice}: half of it would not root within {days} days. Choose a warmer bench or a later week. "
                "The plan is as it was.",
                choice=choice,
                days=LONGEST,
            )
        )

    def base(self, option: Option) -> float | None:
        """Return the set-point of an option. [°C]"""
        return self.levels[option.bench][option.level]


@dataclass(frozen=True)
class Solved:
    """What the search found. Costs are loss, lateness, heat, and the worth of what stands nowhere."""

    parts: tuple[tuple[Option, int], ...]  # and how many parts of the batch take it
    cost: float
    bound: float  # no plan can cost less
    worth: float  # of all plants, were none lost or late and heat free

    @property
    def gap(self) -> float:
        """By which share of its own worth, after all costs, the best plan could at most be better."""
        return (self.cost - self.bound) / max(1e-9, self.worth - self.cost)


def solve(options: Options, before: Mapping[str, Sequence[Choice]], seconds: float) -> Solved:
    """Find the plan of least loss, lateness and heat; `before` holds where each batch was in the plan before.

    Raises
    ------
    ValueError
        If the choices made by hand cannot all stand; the message names them.
    """
    held = {batch.key: _held(options, batch) for batch in options.season.batches}
    if clash := _clash(options):
        raise ValueError(clash)
    return _Programme(options, held, before).run(seconds)


def _held(options: Options, batch: Batch) -> dict[Option, int]:
    """Return the parts of a batch that are held where they are by hand."""
    held: dict[Option, int] = defaultdict(int)
    for choice in options.season.fixed:
        if choice.batch == batch.key:
            count = batch.count if choice.count is None else choice.count
            held[options.chosen(choice)] += ceil(count / batch.part)
    if sum(held.values()) > batch.parts:
        names = "; ".join(str(c) for c in options.season.fixed if c.batch == batch.key)
        raise ValueError(
            say(
                "These ask for more than the {count} cuttings of {batch}: {names}. Take one back. "
                "The plan is as it was.",
                count=batch.count,
                batch=batch.key,
                names=names,
            )
        )
    return held


def _clash(options: Options) -> str:
    """Name the choices made by hand that cannot stand together, and what to relax; nothing where they can."""
    season = options.season
    uses: dict[tuple[str, int], list[tuple[Choice, Option, float]]] = defaultdict(list)
    for choice in season.fixed:
        option, batch = options.chosen(choice), season.batch[choice.batch]
        count = batch.count if choice.count is None else choice.count
        for week in range(option.week, option.week + option.weeks):
            uses[option.bench, week].append((choice, option, count * batch.cells))
    for (key, week), here in sorted(uses.items(), key=lambda use: use[0][1]):
        bench, monday = season.bench[key], say_day(season.monday(week))
        names = "; ".join(str(choice) for choice, _, _ in here)
        if len({option.level for _, option, _ in here}) > 1:
            bases = say(" and ").join(dict.fromkeys(say_base(options.base(o)) for _, o, _ in here))
            return say(
                "These cannot stand together in the week of {monday}: {names}. {bench} would have to be {bases} "
                "at once. Give them one set-point, or move one to another bench. The plan is as it was.",
                monday=monday,
                names=names,
                bench=bench.title,
                bases=bases,
            )
        if (cells := sum(used for _, _, used in here)) > bench.cells:
            return say(
                "These do not fit in the week of {monday}: {names}. They take {cells:g} cells, {bench} has "
                "{room}. Move one of them, or strike fewer. The plan is as it was.",
                monday=monday,
                names=names,
                cells=cells,
                bench=bench.title,
                room=bench.cells,
            )
    return ""


class _Programme:
    """Columns: parts of each batch that stand nowhere, parts by option, benches heated by level and week."""

    def __init__(
        self,
        options: Options,
        held: Mapping[str, Mapping[Option, int]],
        before: Mapping[str, Sequence[Choice]],
    ) -> None:
        self.options, self.season, self.held = options, options.season, held
        self.cost: list[float] = []
        self.lower: list[float] = []
        self.upper: list[float] = []
        self.rows: list[tuple[float, float, dict[int, float]]] = []
        self.stay: dict[int, float] = {}  # column: what staying where it was is worth
        self.out: dict[str, int] = {}
        self.ways: dict[str, dict[Option, int]] = {}
        self.split: dict[Option, int] = {}
        self.heat: dict[tuple[str, int, int], int] = {}
        self.worth = sum(_worth(batch) for batch in self.season.batches)
        for batch in self.season.batches:
            self._lay_batch(batch, {(c.bench, c.base_c, c.week) for c in before.get(batch.key, ())})
        self._lay_benches()

    def _column(self, cost: float, upper: float, lower: float = 0.0) -> int:
        self.cost.append(cost)
        self.lower.append(lower)
        self.upper.append(upper)
        return len(self.cost) - 1

    def _lay_batch(self, batch: Batch, before: set[tuple[str, float | None, int]]) -> None:
        parts, worth = batch.parts, _worth(batch)
        out = self.out[batch.key] = self._column(worth / parts, parts)
        held, ways = self.held[batch.key], self.ways.setdefault(batch.key, {})
        for option in self.options.of[batch.key]:
            if option not in held and not (option.allowed and option.cost < worth):
                continue
            column = ways[option] = self._column(self._rate(batch, option), parts, held.get(option, 0))
            if (option.bench, self.options.base(option), option.week) in before:
                self.stay[column] = STAY * worth / parts
            if parts > 1:
                self.split[option] = self._column(SPLIT * worth, 1)
                self.rows.append((-inf, 0.0, {column: 1.0, self.split[option]: -float(parts)}))
        self.rows.append((parts, parts, dict.fromkeys((out, *ways.values()), 1.0)))

    def _lay_benches(self) -> None:
        on: dict[tuple[str, int, int], dict[str, dict[int, float]]] = defaultdict(lambda: defaultdict(dict))
        for key, ways in self.ways.items():
            for option, column in ways.items():
                for week in range(option.week, option.week + option.weeks):
                    on[option.bench, option.level, week][key][column] = self.season.batch[key].part_cells
        together: dict[tuple[str, int], list[int]] = defaultdict(list)
        for (name, level, week), here in on.items():
            bench = self.season.bench[name]
            kwh = bench.kwh(self.options.levels[name][level], week)
            heat = self.heat[name, level, week] = self._column(kwh * self.season.price_kwh, 1)
            together[name, week].append(heat)
            cells = {column: used for columns in here.values() for column, used in columns.items()}
            self.rows.append((-inf, 0.0, cells | {heat: -_room(bench.cells, cells.values())}))
            for (
                key,
                columns,
            ) in here.items():  # no part of a batch without heat: what fractions would get around
                parts = float(self.season.batch[key].parts)
                self.rows.append((-inf, 0.0, dict.fromkeys(columns, 1.0) | {heat: -parts}))
        for heats in together.values():
            if len(heats) > 1:
                self.rows.append((-inf, 1.0, dict.fromkeys(heats, 1.0)))

    def run(self, seconds: float) -> Solved:
        """Search, then prove, in so many seconds."""
        start = self._start()
        cost = np.array(self.cost)
        goal = cost - np.array([self.stay.get(column, 0.0) for column in range(len(cost))])
        ends = time.monotonic() + seconds
        solver = Solver(mip_rel_gap=0.0, solve_relaxation=True)
        lower, upper = np.array(self.lower, dtype=float), np.array(self.upper, dtype=float)
        solver.load(goal, lower, upper, self.rows, [True] * len(goal))
        solver.run()
        bound, x = solver.value, start
        room = float(goal @ start) - bound
        near = GAP * max(1e-6, self.worth - float(cost @ start))
        if room > near:  # whole numbers: only columns that could still save something are left to choose from
            idle = (solver.duals[0] > room) & (start == 0)
            solver.limit(lower, np.where(idle, 0.0, upper))
            # presolve finds little here and takes as long as the first bound
            solver.set(solve_relaxation=False, presolve="off", mip_abs_gap=near)
            solver.run(start=start, seconds=max(0.5, ends - time.monotonic()))
            bound = max(bound, min(solver.bound, float(goal @ start)))
            if solver.found:
                x = np.rint(solver.values)
        found, open_by = float(cost @ x), max(0.0, float(goal @ x) - bound)
        parts = tuple((o, round(x[c])) for ways in self.ways.values() for o, c in ways.items() if x[c] > 0.5)
        return Solved(parts, found, max(0.0, found - open_by), self.worth)

    def _start(self) -> Array:
        """Return a good plan as columns: batches whole first, then in parts."""
        together = self._search(dict.fromkeys(self.ways, 1), {})
        taken = self._search({key: self.season.batch[key].parts for key in self.ways}, together)
        x = np.zeros(len(self.cost))
        for key, options in taken.items():
            for option in options:
                if option is None:
                    x[self.out[key]] += 1
                    continue
                x[self.ways[key][option]] += 1
                if option in self.split:
                    x[self.split[option]] = 1
                for week in range(option.week, option.week + option.weeks):
                    x[self.heat[option.bench, option.level, week]] = 1
        return x

    def _search(
        self, parts: Mapping[str, int], start: Mapping[str, Sequence[Option | None]]
    ) -> dict[str, list[Option | None]]:
        """Return an option for each part of each batch, None where it stands nowhere."""
        from ortet.decisions.bench.search_kernel import search

        names = list(self.season.bench)
        ways = [(key, option) for key, options in self.ways.items() for option in options]
        if not ways:
            return {key: [None] * many for key, many in parts.items()}
        place = {way: at for at, way in enumerate(ways)}
        batch_of, begins, held = [], [], []
        for row, (key, many) in enumerate(parts.items()):
            by_hand: list[Option | None] = [o for o, n in self.held[key].items() for _ in range(n)]
            if many == 1 and self.season.batch[key].parts > 1:
                first = (
                    [None]
                    if len(set(by_hand)) != 1 or len(by_hand) < self.season.batch[key].parts
                    else by_hand[:1]
                )
            else:
                begun = list(start.get(key, [])) * (many if len(start.get(key, [])) == 1 else 1)
                first = (by_hand + (begun if not by_hand else []) + [None] * many)[:many]
            batch_of += [row] * many
            begins += [OUT if option is None else place[key, option] for option in first]
            held += [bool(by_hand) and option is not None for option in first]
        weeks = max((week for _, _, week in self.heat), default=0) + 1
        heat = np.zeros((len(names), max(len(levels) for levels in self.options.levels.values()), weeks))
        for (name, level, week), column in self.heat.items():
            heat[names.index(name), level, week] = self.cost[column]
        batches = [self.season.batch[key] for key in parts]
        scale = np.array([b.parts / parts[b.key] for b in batches])
        found = search(
            np.array(batch_of),
            np.array(held, dtype=np.bool_),
            np.array(begins),
            np.cumsum([0, *(len(self.ways[key]) for key in parts)]),
            np.array([(names.index(o.bench), o.level, o.week, o.weeks) for _, o in ways]),
            np.array([self._price(key, option) / parts[key] for key, option in ways]),
            np.array([_worth(b) / parts[b.key] for b in batches]),
            np.array([SPLIT * _worth(b) if b.parts > 1 else 0.0 for b in batches]),
            np.array([b.part_cells for b in batches]) * scale,
            np.array([float(self.season.bench[name].cells) for name in names]),
            heat,
            ROUNDS if start or len(batch_of) == sum(b.parts for b in batches) else ROUNDS // 2,
        )
        out: dict[str, list[Option | None]] = {key: [] for key in parts}
        for row, at in zip(batch_of, found, strict=True):
            out[batches[row].key].append(None if at == OUT else ways[at][1])
        return out

    def _rate(self, batch: Batch, option: Option) -> float:
        """Return the cost of one part there; a batch that stays together is spared what its one place costs to handle."""
        spared = SPLIT * _worth(batch) if batch.parts > 1 else 0.0
        return (option.cost - spared) / batch.parts

    def _price(self, key: str, option: Option) -> float:
        """Return the cost of a whole batch there, less what staying is worth."""
        batch = self.season.batch[key]
        return (self._rate(batch, option) - self.stay.get(self.ways[key][option], 0.0)) * batch.parts


def _worth(batch: Batch) -> float:
    return batch.count * batch.strike * batch.worth


def _room(cells: int, parts: Iterable[float]) -> float:
    """Return the cells that can be filled: trays of 20 fill no more than 240 of 250. It sharpens the bound."""
    sizes = set(parts)
    if not all(size == int(size) for size in sizes):
        return float(cells)
    step = gcd(*(int(size) for size in sizes))
    return float(cells // step * step)


def _parts(batch: Batch) -> list[int]:
    return [batch.tray * n for n in range(1, batch.parts)] if batch.tray else []
