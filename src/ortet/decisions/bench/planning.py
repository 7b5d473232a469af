"""When each batch is struck, on which bench, at which heat."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ortet.decisions.bench.model import Option, Options, solve
from ortet.decisions.bench.race import Outcome, tell
from ortet.decisions.bench.reasons import (
    Conflict,
    Heated,
    Struck,
    Unplaced,
    assumptions,
    conflicts,
    explain,
    explain_unplaced,
)
from ortet.decisions.bench.wishes import Choice, Season

__all__ = ["Plan", "plan"]

SECONDS = 5.0  # for the proof; the search before it takes one or two


@dataclass(frozen=True)
class Plan:
    """The season's striking. Costs are what is lost or spent, in the season's money."""

    season: Season
    struck: tuple[Struck, ...]  # by day, then bench
    unplaced: tuple[Unplaced, ...]
    heated: tuple[Heated, ...]  # benches in use, week by week
    conflicts: tuple[Conflict, ...]  # wishes that cannot be met, whatever the plan
    worth: float  # of all plants, were none lost or late and heat free
    cost: float  # loss, lateness, heat, and what is not struck
    bound: float  # no plan can cost less
    assumptions: tuple[str, ...]

    @property
    def gap(self) -> float:
        """By which share of its own worth, after all costs, the best plan could at most be better."""
        return (self.cost - self.bound) / max(1e-9, self.worth - self.cost)

    @property
    def heat_cost(self) -> float:
        """Cost of all heat."""
        return sum(one.cost for one in self.heated)


def plan(season: Season, *, before: Sequence[Choice] = (), seconds: float = SECONDS) -> Plan:
    """Make the plan of least loss, lateness and heat.

    Parameters
    ----------
    season : Season
        Batches, benches and choices made by hand, which are kept.
    before : sequence of Choice
        Where batches stood in the plan before. Where it makes next to no difference they stay there.
    seconds : float
        Time for the proof. [s]

    Returns
    -------
    Plan
        Its `gap` says how far from the best it can be at most.

    Raises
    ------
    ValueError
        If choices made by hand cannot stand together; the message names them and what to relax.
    """
    options = Options(season)
    stood: dict[str, list[Choice]] = defaultdict(list)
    for one in before:
        stood[one.batch].append(one)
    solved = solve(options, stood, seconds)
    count = _counts(season, solved.parts)
    placed = [(option, _tell(options, option, n)) for option, n in count.items()]
    struck = [explain(options, option, told, [o for o, _ in placed]) for option, told in placed]
    out = {
        batch: batch.count - sum(one.count for one in struck if one.batch == batch.key)
        for batch in season.batches
    }
    return Plan(
        season,
        tuple(sorted(struck, key=lambda one: (one.outcome.start, one.bench, one.batch))),
        tuple(
            explain_unplaced(options, batch, n, [o for o, _ in placed]) for batch, n in out.items() if n > 0
        ),
        _heated(options, placed),
        conflicts(options),
        solved.worth,
        solved.cost,
        solved.bound,
        assumptions(season),
    )


def _counts(season: Season, parts: Sequence[tuple[Option, int]]) -> Mapping[Option, int]:
    """Return the cuttings that take each option; the last part of a batch may be smaller."""
    left = {batch.key: batch.count for batch in season.batches}
    by_hand = {(c.batch, c.bench, c.week): c.count for c in season.fixed if c.count}
    count: dict[Option, int] = {}
    for option, n in sorted(
        parts, key=lambda one: (one[0].batch, (one[0].batch, one[0].bench, one[0].week) not in by_hand)
    ):
        batch = season.batch[option.batch]
        count[option] = min(left[batch.key], n * batch.part)
        left[batch.key] -= count[option]
    return {option: n for option, n in count.items() if n}


def _tell(options: Options, option: Option, count: int) -> Outcome:
    season = options.season
    return tell(
        season.batch[option.batch],
        season.bench[option.bench],
        options.base(option),
        season.monday(option.week),
        options.found[option.bench],
        option.at,
        season,
        count,
    )


def _heated(options: Options, placed: Sequence[tuple[Option, Outcome]]) -> tuple[Heated, ...]:
    """Return what stands on each bench in each week, and what its mat uses."""
    used: dict[tuple[str, int, int], float] = defaultdict(float)
    season = options.season
    for option, told in placed:
        for week in range(option.week, option.week + option.weeks):
            used[option.bench, week, option.level] += told.count * season.batch[option.batch].cells
    out = []
    for (key, week, level), cells in sorted(used.items()):
        bench, base = season.bench[key], options.levels[key][level]
        kwh = bench.kwh(base, week)
        out.append(
            Heated(key, week, season.monday(week), base, cells, bench.cells, kwh, kwh * season.price_kwh)
        )
    return tuple(out)
