"""Allotments against a hand-worked sheet, transport problems of the textbooks, and another solver."""

from __future__ import annotations

import random
from collections import defaultdict
from datetime import date, timedelta
from math import floor

import pytest

from ortet.decisions.allot import Fixed, Supply, Wish, allot

MONDAY = date(2026, 1, 5)


def wood(key: str, count: int, variety: str = "Anon", **more) -> Supply:
    more = {"grade": "A", "use": "rooting", "place": f"bag {key}", "ready": MONDAY} | more
    return Supply(key, f"lot {key}", variety, count=count, **more)


def order(key: str, count: int, variety: str = "Anon", **more) -> Wish:
    more = {"kind": "order", "use": "rooting", "first": MONDAY, "last": MONDAY + timedelta(days=55)} | more
    return Wish(key, variety=variety, count=count, **more)


def test_a_sheet_worked_by_hand():
    """Worked on paper.

    Anon: 10 in S1 (runs out in week 2), 8 in S2. Ash: 6 in S3, ready in week 3 only. A backup of 2 of Anon.
    O1 asks 6 Anon, first priority, weeks 1-2. O2 and O3 ask 10 Anon each, second priority, weeks 1-8; O3 takes Ash too.
    O1 has its 6. Of Anon 18 - 2 - 6 = 10 are left, of Ash 6: 16 for O2 and O3, who ask 20. Fair shares are 8 and 8,
    for like worth. Ash can only go to O3: 6 Ash and 2 Anon to O3, 8 Anon to O2. Pressing S1 goes whole; the backup stays
    in S2. Moves: S1 = 6 + 4 or 8 + 2 and so on, S3 = 6.
    """
    plan = allot(
        [
            wood("S1", 10, use_by=MONDAY + timedelta(days=13)),
            wood("S2", 8),
            wood("S3", 6, "Ash", ready=MONDAY + timedelta(days=14)),
        ],
        [
            order("O1", 6, last=MONDAY + timedelta(days=13)),
            order("O2", 10, priority=2),
            order("O3", 10, priority=2, substitutes=("Ash",)),
        ],
        first=MONDAY,
        weeks=8,
        backup={"Anon": 2},
    )
    assert [plan.given(key) for key in ("O1", "O2", "O3")] == [6, 8, 8]
    assert plan.left == {"S1": 0, "S2": 2, "S3": 0}
    assert sum(pick.count for pick in plan.picks if pick.substitute) == 6
    assert {pick.week for pick in plan.picks if pick.supply == "S3"} == {2}
    # O1 6 + O3 2 + O2 2 empty S1, or fewer picks: 8 of S1 to O2 and 2 to O3, O1's 6 of S2. 4 picks are the least:
    # three of Anon's shares (6, 8, 2) and Ash. Three bags are opened, and only S2 is split.
    assert next(goal for goal in plan.goals if goal.name == "moves").value == 4 + 3 + 1
    assert plan.proven


TRANSPORTS = {
    # Hitchcock's problem as told in most textbooks; these numbers from memory of Hillier & Lieberman, Introduction to
    # Operations Research, the P & T Company: canneries 75, 125, 100; warehouses 80, 65, 70, 85; cost 152,535.
    "P & T Company": (
        [75, 125, 100],
        [80, 65, 70, 85],
        [[464, 513, 654, 867], [352, 416, 690, 791], [995, 682, 388, 685]],
        152_535,
    ),
    # Winston, Operations Research: Applications and Algorithms, Powerco, from memory: plants 35, 50, 40; cities 45,
    # 20, 30, 30; cost 1,020.
    "Powerco": (
        [35, 50, 40],
        [45, 20, 30, 30],
        [[8, 6, 10, 9], [9, 12, 13, 7], [14, 9, 16, 5]],
        1_020,
    ),
    # Dantzig's example shipped with many modelling languages, from memory: Seattle 350, San Diego 600; New York 325,
    # Chicago 300, Topeka 275; distance 2.5, 1.7, 1.8 and 2.5, 1.8, 1.4: 1,707.5 thousand-mile cases, times 10 here.
    "Dantzig": ([350, 600], [325, 300, 275], [[25, 17, 18], [25, 18, 14]], 17_075),
}


@pytest.mark.parametrize("name", TRANSPORTS)
def test_the_programme_solves_transport_problems_of_the_textbooks(name):
    """The model under the allotment finds the printed optimum; whole numbers, so no tolerance."""
    from ortet.decisions.solver import Model, Watch

    there, wanted, costs, best = TRANSPORTS[name]
    model = Model()
    x = [[model.column(min(s, d)) for d in wanted] for s in there]
    for row, limit in zip(x, there, strict=True):
        model.row(dict.fromkeys(row, 1.0), most=limit)
    for column, asked in enumerate(wanted):
        model.row({row[column]: 1.0 for row in x}, least=asked)
    goal = {x[i][j]: float(c) for i, row in enumerate(costs) for j, c in enumerate(row)}
    solved = model.least(goal, Watch(10), counts=True)
    assert (solved.value, solved.bound) == (best, best)


def test_what_runs_out_first_goes_out_first():
    """First expired, first out: common practice wherever perishable goods are stored.

    Three bags that run out in weeks 1, 3 and 6 of 8; 15 are wanted of 30 in week 1: 10 of the first, 5 of the second.
    """
    ends = (6, 20, 41)
    plan = allot(
        [wood(f"S{i}", 10, use_by=MONDAY + timedelta(days=end)) for i, end in enumerate(ends)],
        [order("O1", 9, last=MONDAY + timedelta(days=6)), order("O2", 6, last=MONDAY + timedelta(days=6))],
        first=MONDAY,
        weeks=8,
    )
    assert plan.left == {"S0": 0, "S1": 5, "S2": 10}


def small(seed: int):
    """A small season with everything in it: short wood, grades, windows, substitutes, least counts, one delivery."""
    draw = random.Random(seed)
    names = ["Ash", "Bay", "Cob"]
    supplies = []
    for i in range(draw.randint(3, 7)):
        ready = MONDAY + timedelta(days=draw.choice([0, 0, 7, 10]))
        supplies.append(
            wood(
                f"S{i}",
                draw.randint(1, 12),
                draw.choice(names),
                grade=draw.choice("AB"),
                use=draw.choice(["rooting", "rooting", "grafting"]),
                ready=ready,
                use_by=draw.choice([None, ready + timedelta(days=draw.randint(0, 20))]),
                kept_back=draw.choice([0.0, 0.0, 0.2]),
            )
        )
    wishes = []
    for j in range(draw.randint(2, 6)):
        variety, count, begin = draw.choice(names), draw.randint(1, 12), draw.choice([0, 0, 7, 14])
        wishes.append(
            order(
                f"O{j}",
                count,
                variety,
                use=draw.choice(["rooting", "rooting", "grafting"]),
                first=MONDAY + timedelta(days=begin),
                last=MONDAY + timedelta(days=begin + draw.choice([6, 13, 30])),
                grades=draw.choice([(), ("A",), ("A", "B")]),
                substitutes=tuple(n for n in names if n != variety and draw.random() < 0.4),
                worth=draw.choice([1.0, 2.0, 2.0, 3.0]),
                priority=draw.choice([1, 2]),
                least=draw.choice([1, 1, count, (count + 1) // 2]),
                parts=draw.random() < 0.6,
            )
        )
    return supplies, wishes, {name: draw.choice([0, 0, 2]) for name in names}


def straight(supplies, wishes, backup, weeks, shares=None):
    """Solve the same goals in order by CP-SAT, day by day and bag by bag, with none of Ortet's shortcuts.

    Money is scaled to whole numbers by 27,720, the least common multiple of 1 to 12.
    """
    from ortools.sat.python import cp_model

    model, days = cp_model.CpModel(), range(7 * weeks)
    x = {}
    for s in supplies:
        for w in wishes:
            fits = s.variety in (w.variety, *w.substitutes) and s.use == w.use
            if fits and (not w.grades or s.grade in w.grades):
                for day in days:
                    at = MONDAY + timedelta(days=day)
                    if max(s.ready, w.first) <= at <= min(s.use_by or date.max, w.last):
                        x[s.key, w.key, day] = model.new_int_var(0, min(s.count, w.count), "")
    free = {s.key: floor(s.count * (1 - s.kept_back) + 1e-9) for s in supplies}
    for s in supplies:
        model.add(sum(v for (key, _, _), v in x.items() if key == s.key) <= free[s.key])
    for variety, kept in backup.items():
        ours = {s.key for s in supplies if s.variety == variety}
        total = sum(free[key] for key in ours)
        model.add(sum(v for (key, _, _), v in x.items() if key in ours) <= max(0, total - kept))
    values, liking = defaultdict(list), []
    for w in wishes:
        mine = {at: v for at, v in x.items() if at[1] == w.key}
        filled = model.new_int_var(0, w.count, "")
        model.add(filled == sum(mine.values()))
        if w.least > 1:
            taken = model.new_bool_var("")
            model.add(filled >= w.least).only_enforce_if(taken)
            model.add(filled == 0).only_enforce_if(~taken)
        if not w.parts:
            chosen = [model.new_bool_var("") for _ in days]
            model.add_exactly_one(chosen)
            for (_, _, day), v in mine.items():
                model.add(v == 0).only_enforce_if(~chosen[day])
        steps = [
            round(27_720 * w.worth * sum(2 - n / w.count for n in range(count)))
            for count in range(w.count + 1)
        ]
        worth = model.new_int_var(0, steps[-1], "")
        model.add_element(filled, steps, worth)
        values[w.priority].append(worth)
        for (key, _, _), v in mine.items():
            variety = next(s.variety for s in supplies if s.key == key)
            liking.append((w.variety, *w.substitutes).index(variety) * v)
    goals = [-sum(values[priority]) for priority in sorted(values)] + [sum(liking)]
    if shares is not None:
        goals = _picking(model, x, supplies, wishes, free, weeks, shares)
    found, solver = [], cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.random_seed = 1, 0
    for goal in goals:
        model.minimize(goal)
        assert solver.solve(model) == cp_model.OPTIMAL
        found.append(round(solver.objective_value))
        model.add(goal == found[-1])
    return found


def _picking(model, x, supplies, wishes, free, weeks, shares):
    """Hold who gets how many of which variety; return the goals of picking."""
    of = {s.key: s for s in supplies}
    for w in wishes:
        for variety in (w.variety, *w.substitutes):
            here = [v for (key, wish, _), v in x.items() if wish == w.key and of[key].variety == variety]
            model.add(sum(here) == shares.get((w.key, variety), 0))
    last = MONDAY + timedelta(days=7 * weeks - 1)
    pressing, moves = [], []
    for (key, _, _), v in x.items():
        if (end := of[key].use_by) and end < last:
            pressing.append(-v * (1 + (last - end).days // 7))
    for s in supplies:
        mine = {at: v for at, v in x.items() if at[0] == s.key}
        used = sum(mine.values())
        opened, split = model.new_bool_var(""), model.new_bool_var("")
        model.add(used == 0).only_enforce_if(~opened)
        model.add(used >= free[s.key]).only_enforce_if([opened, ~split])
        moves += [opened, split]
        for w in wishes:
            if here := [v for at, v in mine.items() if at[1] == w.key]:
                pick = model.new_bool_var("")
                model.add(sum(here) == 0).only_enforce_if(~pick)
                moves.append(pick)
    return [sum(pressing), sum(moves)]


@pytest.mark.parametrize("seed", range(40))
def test_another_solver_finds_the_same_optimum(seed):
    """CP-SAT (OR-Tools) on seeded random seasons; worth is compared to one part in ten thousand, the rest exactly."""
    supplies, wishes, backup = small(seed)
    plan = allot(supplies, wishes, first=MONDAY, weeks=3, backup=backup)
    assert plan.proven
    promises = [goal.value for goal in plan.goals if goal.unit == "worth"]
    liking, pressing, moves = (goal.value for goal in plan.goals[-3:])
    *worths, rank = straight(supplies, wishes, backup, 3)
    assert promises == pytest.approx([-worth / 27_720 for worth in worths], rel=1e-4)
    assert liking == rank
    shares: dict[tuple[str, str], int] = defaultdict(int)
    for pick in plan.picks:
        shares[pick.wish, pick.variety] += pick.count
    used, fewest = straight(supplies, wishes, backup, 3, shares)
    assert (pressing, moves) == (-used, fewest)


@pytest.mark.parametrize("seed", range(10))
def test_a_plan_fixed_by_hand_as_it_came_out_comes_out_again(seed):
    """What Ortet plans it accepts: its own picks, fixed, are no contradiction, and nothing is added but what fits."""
    supplies, wishes, backup = small(seed)
    asked = {"first": MONDAY, "weeks": 3, "backup": backup}
    plan = allot(supplies, wishes, **asked)
    again = allot(
        supplies, wishes, **asked, fixed=[Fixed(p.supply, p.wish, p.count, p.week) for p in plan.picks]
    )
    assert {(p.supply, p.wish, p.count) for p in again.picks} == {
        (p.supply, p.wish, p.count) for p in plan.picks
    }
