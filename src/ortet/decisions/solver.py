"""HiGHS, the one solver of linear and whole-number programmes: how it is made, fed, run and read."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from math import ceil, inf
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from ortet.science.compiled import cores

__all__ = ["Model", "Row", "Solved", "Solver", "Watch", "each"]

Part = TypeVar("Part")
Out = TypeVar("Out")

Array = NDArray[np.float64]
Row = tuple[
    float, float, Mapping[int, float]
]  # a sum of quantities, by their numbers, lies between two limits

NODES = 20_000  # of the search tree, for one goal: it ends a search at the same node on every machine
GAP = 1e-4  # relative: a sum of money is good enough then
LEAST_S = 0.1  # any search may take so long: the small ones are over by then [s]
ALLOWED = 1e-6  # beyond a limit, as by HiGHS's own rounding
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


def each(solve: Callable[[Part], Out], parts: Iterable[Part]) -> Iterator[Out]:
    """Yield what comes of each of some programmes that share nothing, in their order; each core solves one at a time.

    While HiGHS searches other threads run. Each search is the same as by itself, so the number of cores settles the time alone.
    """
    with ThreadPoolExecutor(cores()) as pool:
        yield from pool.map(solve, parts)


class Solver:
    """HiGHS as we use it: it prints nothing, and finds the same each time.

    Threads are one: the first solver in a process settles that for all that follow.
    """

    def __init__(self, **options: bool | float | str) -> None:
        import highspy

        # The public class greets on standard output, where answers go, and calls back into Python; the one under it does not.
        base: Any = highspy.Highs.__base__
        self.highs: Any = base()
        self._ok = highspy.HighsStatus.kOk, highspy.HighsStatus.kWarning
        self.set(output_flag=False, threads=1, random_seed=0, **options)

    def set(self, **options: bool | float | str) -> None:
        """Set options of HiGHS by its own names for them."""
        for option, value in options.items():
            if self.highs.setOptionValue(option, value) not in self._ok:
                raise ValueError(f"HiGHS takes no option {option} = {value!r}. Nothing was set.")

    def load(
        self, cost: Array, lower: Array, upper: Array, rows: Sequence[Row], whole: Sequence[bool]
    ) -> None:
        """Take a programme that makes a cost least: columns first, then rows as one sparse block."""
        import highspy

        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = len(cost), len(rows)
        lp.col_cost_, lp.col_lower_, lp.col_upper_ = cost, lower, upper
        lp.row_lower_ = np.array([least for least, _, _ in rows], dtype=float)
        lp.row_upper_ = np.array([most for _, most, _ in rows], dtype=float)
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0, *(len(terms) for _, _, terms in rows)]).astype(np.int32)
        lp.a_matrix_.index_ = np.array([c for _, _, terms in rows for c in terms], dtype=np.int32)
        lp.a_matrix_.value_ = np.array([v for _, _, terms in rows for v in terms.values()], dtype=float)
        kinds = highspy.HighsVarType
        lp.integrality_ = [kinds.kInteger if one else kinds.kContinuous for one in whole]
        numbers = (
            np.isfinite(cost).all() and np.isfinite(lp.a_matrix_.value_).all()
        )  # which HiGHS takes unseen
        if not numbers or self.highs.passModel(lp) not in self._ok:
            raise RuntimeError(
                "HiGHS refuses the programme: a limit or a factor is not a number. Nothing was planned."
            )

    def price(self, cost: Array) -> None:
        """Change what each column costs."""
        self.highs.changeColsCost(len(cost), np.arange(len(cost), dtype=np.int32), cost)

    def limit(self, lower: Array, upper: Array) -> None:
        """Change between what each column lies."""
        self.highs.changeColsBounds(len(lower), np.arange(len(lower), dtype=np.int32), lower, upper)

    def make_whole(self, size: int) -> None:
        """Ask for whole numbers in the first so many columns."""
        import highspy

        kinds = np.full(size, highspy.HighsVarType.kInteger)
        self.highs.changeColsIntegrality(size, np.arange(size, dtype=np.int32), kinds)

    def run(self, *, start: Array | None = None, seconds: float | None = None) -> None:
        """Search, from a solution to begin from where there is one, in so many seconds.

        Raises
        ------
        RuntimeError
            If the solver breaks off. That time ran out, or that there is no solution, `found` tells.
        """
        if seconds is not None:
            self.set(time_limit=self.highs.getRunTime() + seconds)
        if start is not None and start.size:
            self.highs.setSolution(len(start), np.arange(len(start), dtype=np.int32), start)
        status = self.highs.run()
        if start is not None and start.size and not self.agrees:
            # HiGHS 1.16 can hand back the solution it began from beside the value of a better one.
            self.highs.clearSolver()
            status = self.highs.run()
        if status not in self._ok:
            raise RuntimeError(f"HiGHS broke off ({self.status}). Nothing was planned.")

    @property
    def status(self) -> str:
        """How the search ended, in words."""
        return str(self.highs.modelStatusToString(self.highs.getModelStatus()))

    @property
    def found(self) -> bool:
        """Whether there is a solution that keeps every limit."""
        return bool(self.highs.getInfo().primal_solution_status == 2)  # 2: feasible

    @property
    def values(self) -> Array:
        """The solution, a number for each column."""
        return np.array(self.highs.getSolution().col_value, dtype=float)

    @property
    def value(self) -> float:
        """What the solver says that it costs."""
        return float(self.highs.getInfo().objective_function_value)

    @property
    def bound(self) -> float:
        """What a programme with whole numbers must cost at least."""
        return float(self.highs.getInfo().mip_dual_bound)

    @property
    def agrees(self) -> bool:
        """Whether the solution costs what the solver says."""
        cost, values = np.array(self.highs.getLp().col_cost_, dtype=float), self.values
        return len(cost) == len(values) and abs(float(cost @ values) - self.value) <= 1e-6 * max(
            1.0, abs(self.value)
        )

    @property
    def duals(self) -> tuple[Array, Array]:
        """What one more of each column, and of each row, would cost: of a programme without whole numbers."""
        solution = self.highs.getSolution()
        return np.array(solution.col_dual, dtype=float), np.array(solution.row_dual, dtype=float)


class Model:
    """A programme with several goals in order. Columns and rows, gathered first, then solved for one goal after another."""

    def __init__(self, *, presolve: bool = True) -> None:
        self.presolve = presolve
        self.upper: list[float] = []
        self.whole: list[bool] = []
        self.rows: list[Row] = []
        self.x: Array = np.zeros(0)
        self._solver: Solver | None = None

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
        """Make a sum as small as can be, from where the last search ended: where that is the least there can be, without a search."""
        cost = np.zeros(len(self.upper))
        for column, factor in goal.items():
            cost[column] = factor
        # A search that ends before its first bound leaves the one that the limits of the quantities give.
        floor = sum(min(0.0, factor) * self.upper[column] for column, factor in goal.items())
        if self._reaches(cost, floor):
            return Solved(floor, floor)
        solver = self._loaded()
        solver.price(cost)
        solver.set(
            mip_abs_gap=0.999 if counts else 1e-7, mip_rel_gap=0.0 if counts else gap, mip_max_nodes=nodes
        )
        solver.run(start=self.x, seconds=max(LEAST_S, watch.left * share))
        if not (solver.found and solver.agrees):
            raise RuntimeError(f"No plan was found in the time given ({solver.status}). Nothing was planned.")
        self.x = solver.values
        self.x[self.whole] = np.rint(self.x[self.whole])
        value = float(cost @ self.x)
        bound = min(value, max(floor, solver.bound) if any(self.whole) else value)
        return Solved(value, min(value, ceil(bound - 1e-6)) if counts else bound)

    def _reaches(self, cost: Array, floor: float) -> bool:
        """Whether the quantities as they are now cost no more than that, and keep every limit.

        What was held or settled since needs no look: it was held at these very quantities.
        """
        if len(self.x) != len(cost) or float(cost @ self.x) > floor + 1e-9 * max(1.0, abs(floor)):
            return False
        x = self.x.tolist()
        sums = ((one, sum(factor * x[c] for c, factor in one[2].items())) for one in self.rows)
        return all(
            -ALLOWED <= one <= most + ALLOWED for one, most in zip(x, self.upper, strict=True)
        ) and all(least - ALLOWED <= found <= most + ALLOWED for (least, most, _), found in sums)

    def prices(self) -> tuple[Array, Array]:
        """Return what one more of each quantity, and of each row, would cost: of a programme without whole numbers."""
        return self._loaded().duals

    def settle(self, columns: Iterable[int]) -> None:
        """Keep these as the last search left them."""
        highs = self._loaded().highs
        for column in columns:
            highs.changeColBounds(column, self.x[column], self.x[column])

    def hold(self, goal: Mapping[int, float], solved: Solved) -> None:
        """Let no later goal give anything of this one."""
        columns = np.array(list(goal), dtype=np.int32)
        factors = np.array(list(goal.values()), dtype=float)
        most = solved.value + SLACK * max(1.0, abs(solved.value))
        self._loaded().highs.addRow(-inf, most, len(columns), columns, factors)

    def _loaded(self) -> Solver:
        if self._solver is None:
            self._solver = Solver(presolve="on" if self.presolve else "off")
            size = len(self.upper)
            self._solver.load(
                np.zeros(size), np.zeros(size), np.array(self.upper, dtype=float), self.rows, self.whole
            )
        return self._solver
