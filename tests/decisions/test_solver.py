"""HiGHS prints nothing, says what it cannot take, and what it hands back is what it says."""

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from ortet.decisions import solver as solver_module
from ortet.decisions.solver import Model, Solved, Solver, Watch, each

QUIET = """
from ortet.decisions import solver as solver_module
from ortet.decisions.solver import Model, Watch
model = Model()
one, two = model.column(3.0), model.column(4.0)
model.row({one: 1.0, two: 2.0}, most=7.0)
solved = model.least({one: -1.0, two: -1.0}, Watch(5))
assert solved.value == -5.0, solved
"""

PLANNED = [
    QUIET,
    "from tests.decisions.test_bench import ELDER, MAT, VINE, plan, season; plan(season(VINE, ELDER, benches=(MAT,)))",
]


@pytest.mark.parametrize("code", PLANNED, ids=["goals", "benches"])
def test_it_prints_nothing(code):
    """Answers for programs go to standard output."""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def knapsack() -> Solver:
    """Martello & Toth 1990, Knapsack Problems, gives this kind; the best here is found by hand: 1 and 2, worth 9 in 7."""
    solver = Solver()
    cost = np.array([-5.0, -4.0, -3.0])
    solver.load(cost, np.zeros(3), np.ones(3), [(-np.inf, 7.0, {0: 4.0, 1: 3.0, 2: 2.0})], [True] * 3)
    return solver


def test_a_small_programme():
    solver = knapsack()
    solver.run()
    assert solver.found
    assert solver.agrees
    assert (solver.value, solver.bound, solver.values.tolist()) == (-9.0, -9.0, [1.0, 1.0, 0.0])


def test_a_solution_to_begin_from_is_bettered():
    solver = knapsack()
    solver.run(start=np.array([0.0, 0.0, 1.0]), seconds=5.0)
    assert solver.values.tolist() == [1.0, 1.0, 0.0]


def test_a_solution_that_is_not_worth_what_is_said_is_searched_for_again(monkeypatch):
    """As HiGHS 1.16 does now and then; here it is made to seem so once."""
    said = iter([False])
    monkeypatch.setattr(Solver, "agrees", property(lambda self: next(said)))
    solver = knapsack()
    solver.run(start=np.array([0.0, 0.0, 1.0]))
    assert solver.values.tolist() == [1.0, 1.0, 0.0]
    assert next(said, None) is None


def heaviest(most: int) -> tuple[int, list[float]]:
    """Solve one knapsack of a row; the same weights and worths, more and more room."""
    model = Model()
    weights, worths = [12, 7, 11, 8, 9, 6], [24, 13, 23, 15, 16, 11]
    columns = [model.column(1.0) for _ in weights]
    model.row(dict(zip(columns, map(float, weights), strict=True)), most=float(most))
    model.x = np.zeros(len(columns))
    solved = model.least({one: -float(worth) for one, worth in zip(columns, worths, strict=True)}, Watch(5))
    return round(-solved.value), model.x.tolist()


def by_trying(most: int) -> int:
    """Weigh all 64 choices of the six things."""
    weights, worths = [12, 7, 11, 8, 9, 6], [24, 13, 23, 15, 16, 11]
    chosen = [[n >> bit & 1 for bit in range(6)] for n in range(64)]
    return max(
        sum(a * b for a, b in zip(one, worths, strict=True))
        for one in chosen
        if sum(a * b for a, b in zip(one, weights, strict=True)) <= most
    )


def test_programmes_side_by_side_are_solved_as_one_after_another_and_told_in_their_order():
    together = list(each(heaviest, range(54)))
    assert together == [heaviest(most) for most in range(54)]
    assert [worth for worth, _ in together] == [by_trying(most) for most in range(54)]


def test_one_that_cannot_be_solved_ends_those_beside_it():
    def only_even(most: int) -> int:
        if most % 2:
            raise RuntimeError(f"{most} is odd")
        return heaviest(most)[0]

    with pytest.raises(RuntimeError, match="1 is odd"):
        list(each(only_even, range(8)))


def two_of(most: float) -> tuple[Model, dict[int, float]]:
    """Return a programme of two quantities up to 3, and so many together; a sum to make least; and begin from both at 3."""
    model = Model()
    goal = {model.column(3.0): -1.0, model.column(3.0): -1.0}
    model.row(dict.fromkeys(goal, 1.0), most=most)
    model.x = np.full(2, 3.0)
    return model, goal


def test_a_beginning_that_cannot_be_bettered_is_not_searched(monkeypatch):
    monkeypatch.setattr(Solver, "run", lambda self, **how: pytest.fail("searched"))
    model, goal = two_of(6.0)
    assert (model.least(goal, Watch(5)), model.x.tolist()) == (Solved(-6.0, -6.0), [3.0, 3.0])


def test_a_beginning_that_breaks_a_limit_is_searched():
    model, goal = two_of(4.0)
    assert model.least(goal, Watch(5)) == Solved(-4.0, -4.0)
    assert sum(model.x) == 4.0


def test_what_cannot_be_is_told():
    solver = Solver()
    solver.load(np.ones(1), np.zeros(1), np.ones(1), [(2.0, 3.0, {0: 1.0})], [False])
    solver.run()
    assert not solver.found
    assert solver.status == "Infeasible"


def test_several_goals_raise_where_nothing_can_be_planned():
    model = Model()
    model.row({model.column(1.0): 1.0}, least=2.0)
    with pytest.raises(RuntimeError, match=r"No plan was found .*Infeasible.* Nothing was planned"):
        model.least({0: 1.0}, Watch(5))


def test_an_option_it_does_not_know_is_refused():
    with pytest.raises(ValueError, match="no option hurry = True"):
        Solver(hurry=True)


@pytest.mark.parametrize(
    ("cost", "most", "factor"), [(np.nan, 1.0, 1.0), (1.0, np.nan, 1.0), (1.0, 1.0, np.nan)]
)
def test_what_is_no_number_is_refused(cost, most, factor):
    solver, rows = Solver(), [(0.0, 1.0, {0: factor})]
    with pytest.raises(RuntimeError, match="refuses the programme"):
        solver.load(np.array([cost]), np.zeros(1), np.array([most]), rows, [False])


def test_one_more_of_a_row_is_worth_its_price():
    """A linear programme by hand: 2 a + b at most, a + b <= 4, a <= 3: one more of the first row is worth 1."""
    solver = Solver()
    rows = [(-np.inf, 4.0, {0: 1.0, 1: 1.0}), (-np.inf, 3.0, {0: 1.0})]
    solver.load(np.array([-2.0, -1.0]), np.zeros(2), np.full(2, np.inf), rows, [False, False])
    solver.run()
    assert (solver.value, solver.duals[1].tolist()) == (-7.0, [-1.0, -1.0])


def test_no_other_module_brings_the_solver():
    """Each would have to keep it quiet, and check what it hands back, anew."""
    root = Path(solver_module.__file__).parents[1]
    bring = re.compile(r"^\s*(import|from) highspy", re.MULTILINE)
    own = [file.name for file in root.rglob("*.py") if bring.search(file.read_text("utf-8"))]
    assert own == ["solver.py"]
