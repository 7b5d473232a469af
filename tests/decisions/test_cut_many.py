"""Many shoots cut against what is wanted: against a straight integer programme by another solver, CP-SAT."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from ortet.decisions.cut import Conflict, Wanted, cut_many, cut_shoots
from ortet.wood.grade import Grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot
from tests.decisions.test_cut import every_piece

KNIFE = Knife()
GRADES = [
    Grade("stout", least_nodes=3, most_nodes=5, least_mm=120, least_base_mm=8, value=2),
    Grade("plain", least_nodes=3, most_nodes=6, least_mm=100, least_base_mm=6, most_base_mm=9, value=1.5),
    Grade("scion", least_nodes=2, most_nodes=4, least_base_mm=4, most_base_mm=8, value=1),
]


def some(how_many, seed):
    """Return shoots of one variety, each a little other; thickness in tenths, as a caliper reads."""
    rng, out = random.Random(seed), []
    for _ in range(how_many):
        place, nodes = 0, []
        for _ in range(rng.randint(6, 14)):
            place += rng.randint(25, 60)
            nodes.append(float(place))
        base, tip = rng.uniform(7, 12), rng.uniform(2.5, 4)
        length = place + rng.randint(5, 40)
        thick = [round(base + (tip - base) * node / length, 1) for node in nodes]
        out.append(Shoot(tuple(nodes), tuple(thick), float(length), base + 0.1, tip - 0.1))
    return out


def straight(shoots, grades, wanted):
    """Solve it whole as one integer programme: a choice for every piece of every shoot that fits a grade."""
    model = cp_model.CpModel()
    value, by_grade = [], {one.name: [] for one in grades}
    for shoot in shoots:
        over = {node: [] for node in range(len(shoot.nodes_mm))}
        for one in grades:
            for first, last, worth in every_piece(shoot, [one], KNIFE):
                take = model.new_bool_var("")
                value.append(round(worth * 2) * take)
                by_grade[one.name].append(take)
                for node in range(first, last + 1):
                    over[node].append(take)
        for takes in over.values():
            model.add_at_most_one(takes)
    for name, wish in wanted.items():
        model.add(sum(by_grade[name]) >= wish.least)
        if wish.most is not None:
            model.add(sum(by_grade[name]) <= wish.most)
    model.maximize(sum(value))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL
    return solver.objective_value / 2


def refused(shoots, wanted):
    """Return the conflict, or nothing where there is none."""
    try:
        cut_many(shoots, GRADES, wanted)
    except Conflict as conflict:
        return conflict
    return None


def least_and_most(draw):
    least = draw(st.integers(0, 6))
    return Wanted(least, draw(st.one_of(st.none(), st.integers(least, least + 6))))


@st.composite
def asked(draw):
    shoots = some(draw(st.integers(1, 5)), draw(st.integers(0, 10_000)))
    return shoots, {one.name: least_and_most(draw) for one in GRADES if draw(st.booleans())}


@settings(max_examples=120)
@given(asked())
def test_the_bound_holds_and_the_plan_comes_near_it(given_):
    """On few shoots rounding weighs most: the plan may miss the optimum by a piece, its bound never cuts the optimum off."""
    shoots, wanted = given_
    best = straight(shoots, GRADES, wanted)
    conflict = refused(shoots, wanted)
    if conflict:
        assert best is None and conflict.grades and all(by > 0 for by in conflict.relax.values())
        return
    plan = cut_many(shoots, GRADES, wanted)
    lacking = {
        name: wish.least - plan.counts[name]
        for name, wish in wanted.items()
        if plan.counts[name] < wish.least
    }
    if best is None:  # it can be had in parts of shoots, not in whole ones: the plan must say so
        assert lacking and any("short of" in reason for reason in plan.reasons)
        return
    assert plan.bound >= best - 1e-6
    if not lacking:
        assert best - 2 - 1e-6 <= plan.value <= best + 1e-6
    assert all(plan.counts[name] <= wish.most for name, wish in wanted.items() if wish.most is not None)


def test_thirty_shoots_to_the_optimum_of_another_solver():
    shoots = some(30, 5)
    wanted = {"stout": Wanted(20, 30), "plain": Wanted(10), "scion": Wanted(15, 20)}
    plan = cut_many(shoots, GRADES, wanted)
    best = straight(shoots, GRADES, wanted)
    assert plan.value <= best + 1e-6 <= plan.bound + 2e-6
    assert plan.value >= 0.99 * best
    assert all(wish.least <= plan.counts[name] for name, wish in wanted.items())


def test_without_wishes_each_shoot_is_cut_for_itself():
    shoots = some(12, 7)
    plan = cut_many(shoots, GRADES)
    assert plan.value == pytest.approx(sum(cut.value for cut in cut_shoots(shoots, GRADES)))
    assert plan.gap == pytest.approx(0, abs=1e-9) and plan.reasons == ()


def test_cuts_come_in_the_order_of_the_shoots_and_add_up():
    shoots = [*some(4, 1), *some(4, 1), Shoot.even(300, 3, 2, 6)]
    plan = cut_many(shoots, GRADES, {"scion": Wanted(5)})
    assert [cut.shoot for cut in plan.cuts] == shoots
    assert plan.value == pytest.approx(sum(piece.value for cut in plan.cuts for piece in cut.pieces))
    assert plan.counts == {
        one.name: sum(piece.grade == one.name for cut in plan.cuts for piece in cut.pieces) for one in GRADES
    }
    assert plan.cuts[-1].pieces == () and plan.cuts[-1].dropped


def test_two_thousand_shoots_and_twelve_grades_come_within_a_hundredth_of_the_bound():
    shoots = some(2000, 11)
    grades = [
        Grade(f"{kind}{step}", least_nodes=few, most_nodes=few + 2, least_base_mm=low, most_base_mm=low + 1.5, value=value + step / 4)
        for kind, few, value in (("short", 2, 1), ("long", 4, 2))
        for step, low in enumerate((3.5, 5, 6.5, 8, 9.5, 11))
    ]  # fmt: skip
    free = cut_many(shoots, grades).counts
    wanted = {
        name: Wanted(round(1.02 * count)) if n % 3 == 0 else Wanted(0, round(0.7 * count))
        for n, (name, count) in enumerate(free.items())
    }
    plan = cut_many(shoots, grades, wanted)
    assert plan.gap < 0.01
    for name, wish in wanted.items():
        assert wish.least <= plan.counts[name] <= (wish.most or 10**9)


def test_the_same_question_gets_the_same_answer():
    wanted = {"stout": Wanted(5), "scion": Wanted(4, 9)}
    assert cut_many(some(40, 3), GRADES, wanted) == cut_many(some(40, 3), GRADES, wanted)


def test_wishes_that_conflict_are_named_with_what_to_relax():
    """Ten shoots of twelve nodes give 60 pieces of two nodes at most, or 40 of three: not 30 and 30 (90 + 60 nodes of 120)."""
    shoots = [Shoot.even(600, 9, 8.5, 12)] * 10
    known = [
        Grade("two", least_nodes=2, most_nodes=2),
        Grade("three", least_nodes=3, most_nodes=3),
        Grade("one", most_nodes=1),
    ]
    with pytest.raises(Conflict) as raised:
        cut_many(shoots, known, {"two": Wanted(30), "three": Wanted(30), "one": Wanted(0)})
    assert set(raised.value.grades) == {"two", "three"}
    assert raised.value.relax == {"two": 15, "three": 10}
    assert "30 two and 30 three cannot be cut from 10 shoots" in str(raised.value)
    assert cut_many(shoots, known, {"two": Wanted(15), "three": Wanted(30)}).counts["three"] == 30
    assert cut_many(shoots, known, {"two": Wanted(30), "three": Wanted(20)}).counts["two"] == 30


def test_what_binds_is_said():
    """Ten shoots of twelve nodes: all threes are worth 80; a two takes 2/3 of a three's nodes, 4/3 of value, and gives 1."""
    shoots = [Shoot.even(600, 9, 8.5, 12)] * 10
    known = [
        Grade("two", least_nodes=2, most_nodes=2, value=1),
        Grade("three", least_nodes=3, most_nodes=3, value=2),
    ]
    plan = cut_many(shoots, known, {"two": Wanted(12)})
    assert plan.counts == {"two": 12, "three": 32}
    assert plan.reasons == ("two: wanted 12 at least; the last of them costs 0.33 of value elsewhere.",)
    (reason,) = cut_many(shoots, known, {"three": Wanted(0, 20)}).reasons
    assert reason == "three: no more than 20 are wanted; one more would be worth 0.5."


@pytest.mark.parametrize(
    ("shoots", "wanted", "why"),
    [([], {}, "no shoot"), (some(1, 1), {"gold": Wanted(1)}, "gold wanted: there is no such grade")],
)
def test_what_makes_no_sense_is_refused(shoots, wanted, why):
    with pytest.raises(ValueError, match=why):
        cut_many(shoots, GRADES, wanted)


@pytest.mark.parametrize("wish", [(-1, None), (5, 4)])
def test_a_wish_the_wrong_way_round_is_refused(wish):
    with pytest.raises(ValueError, match="give 0 or more, the least first"):
        Wanted(*wish)


def test_nothing_is_printed_by_the_solver(capfd):
    """A command's answer goes to standard output, and programs read it."""
    cut_many(some(5, 2), GRADES, {"scion": Wanted(3)})
    assert capfd.readouterr() == ("", "")
