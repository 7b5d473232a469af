"""A whole-number programme with several goals in order, solved by HiGHS."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import ceil, inf
from typing import Any

import numpy as np

__all__ = ["Model", "Solved", "Watch"]

NODES = 20_000  # of the search tree, for one goal: it ends a search at the same node on every machine
GAP = 1e-4  # relative: a sum of money is good enough then
LEAST_S = 0.1  # any search may take so long: the small ones are over by then [s]
SLACK = 1e-5  # relative: how far a later goal may give on an earlier one, against rounding


@dataclass(frozen=True, slots=True)
class Solved:
    """What a search found for one goal: its value and what it can at best be. Least is best."""

    value: float
    bound: float

    @property
    def proven(self) -> bool:
        """Whether no better value is possible."""
        return self.value - self.bound <= GAP * max(1.0, abs(self.value))


class Watch:
    """The seconds that all searches may take together; the tree's limit normally ends them long before."""

    def __init__(self, seconds: float) -> None:
        self.end = time.monotonic() + seconds

    @property
    def left(self) -> float:
        """Seconds left, never quite none: a first solution must be found. [s]"""
        return max(0.5, self.end - time.monotonic())


class Model:
    """Columns and rows, gathered first, then solved for one goal after another."""

    def __init__(self, *, presolve: bool = True) -> None:
        self.presolve = presolve
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.rows: list[tuple[float, float, Mapping[int, float]]] = []
        self.x: np.ndarray = np.zeros(0)
        self._highs: Any = None

    def column(self, upper: float, *, whole: bool = True) -> int:
        """Add a quantity between 0 and `upper`; return its number."""
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.upper) - 1

    def row(self, terms: Mapping[int, float], *, least: float = -inf, most: float = inf) -> None:
        """Hold a sum of quantities between two limits."""
        self.rows.append((least, most, terms))

    def least(
        self,
        goal: Mapping[int, float],
        watch: Watch,
        *,
        share: float = 1.0,  # of the time left
        counts: bool = False,  # the sum can only be a whole number
        nodes: int = NODES,
        gap: float = GAP,  # relative; good enough
    ) -> Solved:
        """Make a sum as small as can be, from where the last search ended."""
        highs = self._highs or self._load()
        cost = np.zeros(len(self.upper))
        for column, factor in goal.items():
            cost[column] = factor
        everything = np.arange(len(cost), dtype=np.int32)
        highs.changeColsCost(len(cost), everything, cost)
        highs.setOptionValue("time_limit", highs.getRunTime() + max(LEAST_S, watch.left * share))
        highs.setOptionValue("mip_abs_gap", 0.999 if counts else 1e-7)
        highs.setOptionValue("mip_rel_gap", 0.0 if counts else gap)
        highs.setOptionValue("mip_max_nodes", nodes)
        if self.x.size:
            highs.setSolution(len(cost), everything, self.x)
        highs.run()
        if self.x.size and not self._agrees(cost):
            # HiGHS 1.16 can hand back the solution it began from beside the value of a better one.
            highs.clearSolver()
            highs.run()
        info = highs.getInfo()
        if info.primal_solution_status != 2 or not self._agrees(cost):  # 2: feasible
            raise RuntimeError(f"No allotment was found in the time given ({highs.getModelStatus()}).")
        self.x = np.array(highs.getSolution().col_value)
        self.x[self.whole] = np.rint(self.x[self.whole])
        value = float(cost @ self.x)
        # A search that ends before its first bound leaves the one that the limits of the quantities give.
        floor = sum(min(0.0, factor) * self.upper[column] for column, factor in goal.items())
        bound = min(value, max(floor, float(info.mip_dual_bound)) if any(self.whole) else value)
        return Solved(value, min(value, ceil(bound - 1e-6)) if counts else bound)

    def prices(self) -> tuple[np.ndarray, np.ndarray]:
        """Return what one more of each quantity, and of each row, would cost: of a programme without whole numbers."""
        solution = self._highs.getSolution()
        return np.array(solution.col_dual), np.array(solution.row_dual)

    def settle(self, columns: Iterable[int]) -> None:
        """Keep these as the last search left them."""
        for column in columns:
            self._highs.changeColBounds(column, self.x[column], self.x[column])

    def _agrees(self, cost: np.ndarray) -> bool:
        """Whether the solution is worth what the solver says it is."""
        said = float(self._highs.getInfo().objective_function_value)
        found = float(cost @ np.array(self._highs.getSolution().col_value))
        return abs(found - said) <= 1e-6 * max(1.0, abs(said))

    def hold(self, goal: Mapping[int, float], solved: Solved) -> None:
        """Let no later goal give anything of this one."""
        columns = np.array(list(goal), dtype=np.int32)
        factors = np.array(list(goal.values()), dtype=float)
        most = solved.value + SLACK * max(1.0, abs(solved.value))
        highs = self._highs or self._load()
        highs.addRow(-inf, most, len(columns), columns, factors)

    def _load(self) -> Any:
        import highspy

        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(self.upper), len(self.rows)
        lp.col_cost_ = np.zeros(len(self.upper))
        lp.col_lower_, lp.col_upper_ = np.zeros(len(self.upper)), np.array(self.upper)
        lp.row_lower_ = np.array([least for least, _, _ in self.rows])
        lp.row_upper_ = np.array([most for _, most, _ in self.rows])
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0, *(len(terms) for _, _, terms in self.rows)]).astype(np.int32)
        lp.a_matrix_.index_ = np.array([c for _, _, terms in self.rows for c in terms], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([v for _, _, terms in self.rows for v in terms.values()], dtype=float)
        kinds = highspy.HighsVarType
        lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in self.whole]
        # Its own Highs prints a banner and calls back into Python; the class under it does neither.
        base: Any = highspy.Highs.__base__
        highs = base()
        for option, value in (
            ("output_flag", False),
            ("threads", 1),
            ("random_seed", 0),
            ("presolve", "on" if self.presolve else "off"),
        ):
            highs.setOptionValue(option, value)
        highs.passModel(lp)
        self._highs = highs
        return highs
