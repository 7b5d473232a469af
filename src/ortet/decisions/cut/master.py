"""The master programme of cutting many shoots: how often each known way is used. Solved by HiGHS."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.solver import Solver

__all__ = ["Master"]

Array = NDArray[np.float64]
WHOLE = 1e-6
MOST_ENRICHED = 40  # kinds of shoots for which more ways are sought
FREE_KINDS = 400  # kinds of shoots that stay free while whole numbers are sought, beside those that are split
MOST_BRANCHES = (
    2_000  # of the search for whole numbers: counted, not timed, so that every machine finds the same
)
SECONDS = 10.0  # should that take too long


class Master:
    """Ways to cut, as columns; one row for each kind of shoot, one for each grade.

    Maximise the value of the ways used, less what is lacking at its cost, such that no kind of shoot is cut more often than
    it is there, and each grade's pieces and what is lacking of it lie between least and most.
    """

    def __init__(self, number: Array, least: Array, most: Array, lacking: Array) -> None:
        self._solver = Solver(parallel="off")
        self.kinds, self.grades, self._inf = len(number), len(least), inf
        self.number, self.least, self.most = number, least, most
        self._rows(np.zeros(self.kinds), number)
        self._rows(least, np.where(np.isfinite(most), most, self._inf))
        self._columns(
            lacking, self.kinds + np.arange(self.grades), np.ones(self.grades), np.arange(self.grades)
        )
        self.kind_of: list[int] = []
        self.counts: list[NDArray[np.int32]] = []
        self._cost: list[float] = []
        self._lacking_cost = lacking
        self.x, self.lacking, self.grade_dual = np.empty(0), np.zeros(self.grades), np.zeros(self.grades)
        self.worth = 0.0

    def _rows(self, low: Array, high: Array) -> None:
        none = np.empty(0, np.int32)
        starts = np.zeros(len(low), np.int32)
        self._solver.highs.addRows(
            len(low), low.astype(float), high.astype(float), 0, starts, none, np.empty(0)
        )

    def _columns(self, cost: Array, rows: NDArray[Any], entries: Array, starts: NDArray[Any]) -> None:
        size = len(cost)
        self._solver.highs.addCols(
            size,
            np.asarray(cost, float),
            np.zeros(size),
            np.full(size, self._inf),
            len(rows),
            np.asarray(starts, np.int32),
            np.asarray(rows, np.int32),
            np.asarray(entries, float),
        )

    def add(self, kinds: Sequence[int], counts: Sequence[NDArray[np.int32]], value: Array) -> None:
        """Add ways to cut: each of a kind of shoot, with its pieces of each grade."""
        if not kinds:
            return
        table = np.array(counts)
        cost = -(table @ value)
        of_kind, grade = np.nonzero(table)
        starts = np.zeros(len(kinds) + 1, np.int64)
        np.cumsum(1 + np.count_nonzero(table, axis=1), out=starts[1:])
        rows, entries = np.empty(starts[-1], np.int32), np.empty(starts[-1])
        rows[starts[:-1]], entries[starts[:-1]] = kinds, 1.0
        rest = np.ones(starts[-1], bool)
        rest[starts[:-1]] = False
        rows[rest], entries[rest] = self.kinds + grade, table[of_kind, grade]
        self._columns(cost, rows, entries, starts[:-1])
        self.kind_of += list(kinds)
        self.counts += list(counts)
        self._cost += cost.tolist()

    def solve(self) -> tuple[Array, Array]:
        """Solve the linear programme; return what one more shoot of each kind is worth, and each grade's price."""
        self._solver.run()
        values, (_, duals) = self._solver.values, self._solver.duals
        self.lacking, self.x = values[: self.grades], values[self.grades :]
        self.worth = -self._solver.value
        self.grade_dual = duals[self.kinds :]
        return -duals[: self.kinds], self.grade_dual

    def whole(self, enrich: Callable[[list[int]], None]) -> NDArray[np.int64]:
        """Return how often each way is used, in whole numbers, near the linear optimum.

        A basis has one column a row, so no more kinds are split among ways than there are grades. Those, and some more to
        give them room, are solved as whole numbers; the rest stay as they are. `enrich` is asked for more ways of those
        that are split.
        """
        x = self.x
        whole = np.abs(x - np.round(x)) <= WHOLE
        if whole.all():
            return np.round(x).astype(np.int64)
        split = np.unique(np.array(self.kind_of)[~whole])
        others = np.setdiff1d(np.arange(self.kinds), split)
        enrich([*split[:MOST_ENRICHED].tolist()])
        kind_of, counts = np.array(self.kind_of), np.array(self.counts)
        start = np.zeros(len(kind_of), np.int64)
        start[: len(x)] = np.where(whole, np.round(x), 0.0)
        found = start
        for room in (FREE_KINDS, self.kinds):
            free = np.union1d(split, others[:: max(1, len(others) // room)])
            is_free = np.isin(kind_of, free)
            found = self._integers(
                np.flatnonzero(is_free), free, np.where(is_free, 0, start), kind_of, counts
            )
            if not np.any(self._had(found, counts) < self.least) or len(free) == self.kinds:
                break
        return found

    @staticmethod
    def _had(chosen: NDArray[np.int64], counts: NDArray[np.int32]) -> NDArray[Any]:
        return chosen @ counts

    def _integers(
        self,
        ways: NDArray[np.int64],
        free: NDArray[np.int64],
        fixed: NDArray[np.int64],
        kind_of: NDArray[Any],
        counts: NDArray[Any],
    ) -> NDArray[np.int64]:
        """Choose among the ways of the free kinds in whole numbers, the others standing fixed."""
        had = self._had(fixed, counts)
        part = Master(self.number[free], self.least - had, self.most - had, self._lacking_cost)
        place = np.full(self.kinds, -1)
        place[free] = np.arange(len(free))
        cost = np.array(self._cost)[ways]
        part.add(place[kind_of[ways]].tolist(), list(counts[ways]), np.zeros(self.grades))
        solver, size = part._solver, len(ways)
        solver.highs.changeColsCost(size, np.arange(self.grades, self.grades + size, dtype=np.int32), cost)
        solver.make_whole(self.grades + size)
        solver.set(mip_rel_gap=1e-4, mip_max_nodes=MOST_BRANCHES)
        solver.run(seconds=SECONDS)
        values = solver.values
        out = fixed.copy()
        if len(values) == self.grades + size:
            out[ways] = np.round(values[self.grades :]).astype(np.int64)
        return out
