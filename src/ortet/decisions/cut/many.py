"""Many shoots cut against what is wanted of each grade: column generation, then whole numbers.

The master programme chooses among known ways to cut each shoot; its prices of the grades go to the exact programme
of `cut`, which finds each shoot's best further way. Where none is worth more, the master's value bounds every plan.
docs/why/cut.md says what was rejected.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.cut.master import Master
from ortet.decisions.cut.shoots import Cut, check_grades, grade_table, lay, pieces_of, plan_of
from ortet.wood.grade import INF, Grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot
from ortet.wood.speech import say, say_many

__all__ = ["Conflict", "CutPlan", "Wanted", "cut_many"]

Array = NDArray[np.float64]
CLOSE = 1e-6  # of the value: where master and bound meet
MOST_ROUNDS = 300
BEAM = 40
DEAR = 1_000.0  # most valuable pieces that one of a grade too few is counted as


@dataclass(frozen=True, slots=True)
class Wanted:
    """How many pieces of a grade are wanted: `least` must be had, more than `most` are worth nothing."""

    least: int = 0
    most: int | None = None

    def __post_init__(self) -> None:
        if self.least < 0 or (self.most is not None and self.most < self.least):
            most = say("any number") if self.most is None else self.most
            raise ValueError(
                say("{least} to {most} wanted: give 0 or more, the least first", least=self.least, most=most)
            )


@dataclass(frozen=True, slots=True)
class CutPlan:
    """Every shoot's cut, in the order given, and how good the whole is."""

    cuts: tuple[Cut, ...]
    counts: dict[str, int]  # pieces of each grade
    value: float
    bound: float  # no plan is worth more
    reasons: tuple[str, ...]

    @property
    def gap(self) -> float:
        """How much of the bound the plan may fall short of the best. [0-1]"""
        return max(self.bound - self.value, 0.0) / self.bound if self.bound > 0 else 0.0


class Conflict(ValueError):
    """What is wanted cannot be cut. `grades` conflict; `relax` says by how many to ask for fewer, one or the other."""

    def __init__(self, message: str, grades: tuple[str, ...], relax: Mapping[str, int]):
        super().__init__(message)
        self.grades, self.relax = grades, dict(relax)


@dataclass(slots=True)
class _Ways:
    """The ways known so far to cut each kind of shoot."""

    kind: list[int] = field(default_factory=list)
    counts: list[NDArray[np.int32]] = field(default_factory=list)
    rows: list[NDArray[np.int32]] = field(default_factory=list)
    known: set[tuple[int, bytes]] = field(default_factory=set)


class _Problem:
    """Kinds of shoots, grades, what is wanted, and a master that grows."""

    def __init__(
        self, shoots: Sequence[Shoot], grades: Sequence[Grade], wanted: Mapping[str, Wanted], knife: Knife
    ) -> None:
        alike = Counter(shoots)
        self.kinds, self.grades = list(alike), grades
        self.number = np.array(list(alike.values()), dtype=np.float64)
        self.laid, self.table = lay(self.kinds, knife), grade_table(grades)
        self.value = np.array([one.value for one in grades], dtype=np.float64)
        asked = [wanted.get(one.name, Wanted()) for one in grades]
        self.least = np.array([one.least for one in asked], dtype=np.float64)
        self.most = np.array([INF if one.most is None else one.most for one in asked])
        self.ways = _Ways()

    def price(self, values: Array, dual: Array | None = None) -> tuple[float, list[int]]:
        """Find each kind's best way at these values; keep those that are new and better than what the master has.

        Returns what all shoots cut so are worth, and the new ways.
        """
        worth, counts, how_many, pieces = self.laid.solve(self.table, values)
        new = []
        better = np.arange(len(worth)) if dual is None else np.flatnonzero(worth > dual + 1e-7)
        for kind in better.tolist():
            key = (kind, counts[kind].tobytes())
            if key in self.ways.known or not how_many[kind]:
                continue
            self.ways.known.add(key)
            start = int(self.laid.starts[kind])
            new.append(len(self.ways.kind))
            self.ways.kind.append(kind)
            self.ways.counts.append(counts[kind].copy())
            self.ways.rows.append(pieces[start : start + int(how_many[kind])].copy())
        return float(worth @ self.number), new

    def enrich(self, kinds: Sequence[int], values: Array) -> list[int]:
        """Keep the `BEAM` best ways of each of a few kinds of shoots, not the very best alone; return the new ways.

        Prices alone never ask for a mixture that lies between two better ways, and whole numbers may need it.
        """
        new = []
        for kind in kinds:
            for counts, rows in _best_few(self, kind, values):
                key = (kind, counts.tobytes())
                if key in self.ways.known or not rows:
                    continue
                self.ways.known.add(key)
                new.append(len(self.ways.kind))
                self.ways.kind.append(kind)
                self.ways.counts.append(counts)
                self.ways.rows.append(np.array(rows, np.int32))
        return new

    def enriched(self, kinds: Sequence[int], master: Master) -> None:
        """Give the master more ways for a few kinds of shoots."""
        new = self.enrich(kinds, self.value + master.grade_dual)
        master.add([self.ways.kind[n] for n in new], [self.ways.counts[n] for n in new], self.value)

    def grow(self, value: Array, least: Array, most: Array, lacking: Array) -> tuple[Master, float]:
        """Solve the master to its optimum by column generation; return it with a bound on every plan.

        `value` is a piece's worth by grade, `lacking` what one piece too few costs.
        """
        master = Master(self.number, least, most, lacking)
        ways = self.ways
        master.add(ways.kind, ways.counts, value)
        bound = INF
        for _ in range(MOST_ROUNDS):
            kind_dual, grade_dual = master.solve()
            in_all, new = self.price(value + grade_dual, kind_dual)
            held, capped = np.maximum(grade_dual, 0.0), np.maximum(-grade_dual, 0.0)
            limit = in_all - float(held @ least) + float(capped[most < INF] @ most[most < INF])
            bound = min(bound, limit)
            if not new or bound - master.worth <= CLOSE * max(abs(bound), 1.0):
                break
            master.add([ways.kind[n] for n in new], [ways.counts[n] for n in new], value)
        return master, bound


def _best_few(problem: _Problem, kind: int, values: Array) -> list[tuple[NDArray[np.int32], list[list[int]]]]:
    """Return a shoot's best ways at these values that differ in their counts, by the same programme with `BEAM` ways a node."""
    start, stop = int(problem.laid.starts[kind]), int(problem.laid.starts[kind + 1])
    pieces = pieces_of(problem.laid, kind, problem.table)
    none: tuple[int, ...] = (0,) * len(problem.grades)
    best: list[dict[tuple[int, ...], tuple[float, list[list[int]]]]] = [{none: (0.0, [])}]
    for node in range(1, stop - start + 1):
        here = dict(best[node - 1])
        for row in pieces.get(node - 1, ()):
            first, grade = row[0], row[2]
            for counts, (worth, rows) in best[first].items():
                more = (*counts[:grade], counts[grade] + 1, *counts[grade + 1 :])
                if more not in here:
                    here[more] = (worth + float(values[grade]), [*rows, row])
        few = sorted(here.items(), key=lambda item: -item[1][0])[:BEAM]
        best.append(dict(few))
    return [(np.array(counts, np.int32), rows) for counts, (_, rows) in best[-1].items()]


def cut_many(
    shoots: Sequence[Shoot],
    grades: Sequence[Grade],
    wanted: Mapping[str, Wanted] | None = None,
    knife: Knife | None = None,
) -> CutPlan:
    """Cut many shoots so that what is wanted of each grade is had, and the whole is worth most.

    Parameters
    ----------
    shoots
        As measured; equal ones are counted together.
    grades
        What a piece may be, and what each is worth.
    wanted
        By a grade's name; a grade not named is cut as it is worth.

    Returns
    -------
    CutPlan
        With a bound that no plan can pass, and the gap to it.

    Raises
    ------
    Conflict
        If what is wanted cannot be had: it names the grades that conflict, and what to relax.
    ValueError
        If there is no shoot or grade, or a grade wanted is none of them.
    """
    check_grades(grades)
    wanted = wanted or {}
    if not shoots:
        raise ValueError(say("no shoot: measure one at least"))
    if unknown := sorted(set(wanted) - {one.name for one in grades}):
        raise ValueError(
            say(
                "{unknown} wanted: there is no such grade among {grades}",
                unknown=", ".join(unknown),
                grades=", ".join(one.name for one in grades),
            )
        )
    problem = _Problem(shoots, grades, wanted, knife or Knife())
    problem.price(problem.value)
    dear = np.full(len(grades), DEAR * problem.value.max())
    master, bound = problem.grow(problem.value, problem.least, problem.most, dear)
    if master.lacking.sum() > 1e-6:
        alone, _ = problem.grow(np.zeros(len(grades)), problem.least, problem.most, np.ones(len(grades)))
        if alone.lacking.sum() > 1e-6:
            raise _conflict(problem)
        master, bound = problem.grow(problem.value, problem.least, problem.most, dear * DEAR)
    chosen = master.whole(lambda kinds: problem.enriched(kinds, master))
    cuts = _cuts(problem, shoots, chosen)
    return _told(problem, cuts, bound, master)


def _cuts(problem: _Problem, shoots: Sequence[Shoot], chosen: NDArray[np.int64]) -> tuple[Cut, ...]:
    """Hand the chosen ways out to the shoots, in the order given."""
    ready: dict[Shoot, list[Cut]] = {shoot: [] for shoot in problem.kinds}
    for way in np.flatnonzero(chosen).tolist():
        kind = problem.ways.kind[way]
        shoot = problem.kinds[kind]
        cut = plan_of(shoot, problem.laid, kind, problem.ways.rows[way].tolist(), problem.grades)
        ready[shoot] += [cut] * int(chosen[way])
    for kind, shoot in enumerate(problem.kinds):
        left = int(problem.number[kind]) - len(ready[shoot])
        if left:
            ready[shoot] += [plan_of(shoot, problem.laid, kind, (), problem.grades)] * left
        ready[shoot].reverse()
    return tuple(ready[shoot].pop() for shoot in shoots)


def _told(problem: _Problem, cuts: tuple[Cut, ...], bound: float, master: Master) -> CutPlan:
    """Count the plan, and say what binds it."""
    counts = {one.name: 0 for one in problem.grades}
    for cut in cuts:
        for piece in cut.pieces:
            counts[piece.grade] += 1
    reasons = []
    for one, dual, least, most in zip(
        problem.grades, master.grade_dual.tolist(), problem.least.tolist(), problem.most.tolist(), strict=True
    ):
        if counts[one.name] < least:
            lack = int(least) - counts[one.name]
            reasons.append(
                say(
                    "{grade}: {lack} short of the {least:g} wanted; in whole pieces no plan was found that has them all.",
                    grade=one.name,
                    lack=lack,
                    least=least,
                )
            )
        elif dual > 1e-6 and least:
            reasons.append(
                say(
                    "{grade}: wanted {least:g} at least; the last of them costs {cost:.2g} of value elsewhere.",
                    grade=one.name,
                    least=least,
                    cost=dual,
                )
            )
        elif dual < -1e-6 and counts[one.name] >= most:
            reasons.append(
                say(
                    "{grade}: no more than {most:g} are wanted; one more would be worth {worth:.2g}.",
                    grade=one.name,
                    most=most,
                    worth=-dual,
                )
            )
    return CutPlan(cuts, counts, sum(cut.value for cut in cuts), bound, tuple(reasons))


def _conflict(problem: _Problem) -> Conflict:
    """Say which grades' wishes cannot be had together, and by how much each would have to give way.

    A grade whose wish can be dropped while the others still conflict is no part of it; what remains is a set of which
    none can be left out. Each of it is then lowered alone as far as needed.
    """
    size = len(problem.grades)
    nothing, ones = np.zeros(size), np.ones(size)

    def lacks(least: Array, lacking: Array) -> Array:
        master, _ = problem.grow(nothing, least, problem.most, lacking)
        return master.lacking

    least = problem.least.copy()
    for g in np.flatnonzero(least).tolist():
        kept, least[g] = least[g], 0.0
        if lacks(least, ones).sum() <= 1e-6:
            least[g] = kept
    members: list[int] = np.flatnonzero(least).tolist()
    fewer: dict[int, int] = {}
    for g in members:
        alone = np.full(size, float(least.sum()) + 1.0)
        alone[g] = 1.0
        fewer[g] = int(np.ceil(lacks(least, alone)[g] - 1e-6))
    names = {g: problem.grades[g].name for g in members}
    asked = say(" and ").join(f"{least[g]:g} {name}" for g, name in names.items())
    ways = say(", or ").join(
        say("{count:g} {grade} ({fewer} fewer)", count=least[g] - fewer[g], grade=name, fewer=fewer[g])
        for g, name in names.items()
    )
    message = say_many(
        "{asked} cannot be cut from {count} shoot. Ask for {ways}; or bring more shoots.",
        "{asked} cannot be cut from {count} shoots. Ask for {ways}; or bring more shoots.",
        int(problem.number.sum()),
        asked=asked,
        ways=ways,
    )
    return Conflict(message, tuple(names.values()), {names[g]: by for g, by in fewer.items()})
