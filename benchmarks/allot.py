"""What an allotment costs: Ortet, the same goals put straight to CP-SAT, and a first-come hand plan, side by side.

python benchmarks/allot.py             # 150 lot-grades, 1,500 cuttings, 120 lines, 8 weeks; 30 varieties
python benchmarks/allot.py 12 60       # as many varieties
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from datetime import date, timedelta

from ortet.decisions.allot import Supply, Wish, allot
from ortet.decisions.allot.shares import value

MONDAY = date(2026, 1, 5)
LOTS, CUTTINGS, LINES, WEEKS = 150, 1_500, 120, 8
SEEDS = (1, 2)
SECONDS = 10.0
LONGER = 30.0  # what CP-SAT is given, for in ten seconds it finds little
SCALE = 1_000  # money in whole numbers


def season(varieties: int, seed: int) -> tuple[list[Supply], list[Wish], dict[str, int]]:
    """Invent a season: as much asked as there is, and much of it in the wrong grade or week."""
    draw = random.Random(seed)
    names = [f"Variety {number:02d}" for number in range(varieties)]

    def sizes(parts: int, spread: float) -> list[int]:
        raw = [draw.lognormvariate(0, spread) for _ in range(parts)]
        return [max(1, round(size * CUTTINGS / sum(raw))) for size in raw]

    supplies = []
    for number, count in enumerate(sizes(LOTS, 0.6)):
        ready = MONDAY + timedelta(days=draw.choice([0, 0, 0, 0, 0, 7, 14, 21, 30]))
        use_by = (
            ready + timedelta(days=draw.choice([14, 21, 28, 40, 70, 90, 120]))
            if draw.random() < 0.7
            else None
        )
        supplies.append(
            Supply(
                f"S{number:03d}",
                f"L{number:03d}",
                draw.choice(names),
                draw.choice("AAB"),
                draw.choice(["rooting"] * 3 + ["grafting"]),
                f"bag {number // 2}",
                count,
                ready,
                use_by,
                draw.choice([0.0, 0.0, 0.0, 0.1]),
            )
        )
    wishes = []
    for number, count in enumerate(sizes(LINES, 0.7)):
        variety = draw.choice(names)
        first = MONDAY + timedelta(days=7 * draw.randint(0, 5))
        wishes.append(
            Wish(
                f"line {number:03d}",
                draw.choice(["order"] * 6 + ["graft", "bench", "backup"]),
                variety,
                count,
                draw.choice(["rooting"] * 3 + ["grafting"]),
                first,
                first + timedelta(days=draw.choice([6, 13, 20, 34])),
                draw.choice([(), ("A",), ("A", "B")]),
                tuple(draw.sample([name for name in names if name != variety], draw.choice([0, 0, 0, 1, 2]))),
                draw.choice([1.5, 2.0, 2.0, 2.0, 2.5, 3.0]),
                draw.choice([1, 2, 2, 2, 3]),
                draw.choice([1, 1, 1, 1, count, max(1, count // 2)]),
                draw.random() < 0.8,
            )
        )
    return supplies, wishes, {name: draw.choice([0, 0, 0, 4]) for name in names}


def fits(supply: Supply, wish: Wish) -> list[int]:
    """Return the days of the plan on which a supply may go to a wish."""
    if not wish.takes(supply):
        return []
    first = max(supply.ready, wish.first, MONDAY)
    last = min(supply.use_by or date.max, wish.last, MONDAY + timedelta(days=7 * WEEKS - 1))
    return list(range((first - MONDAY).days, (last - MONDAY).days + 1))


def by_hand(supplies: list[Supply], wishes: list[Wish], backup: dict[str, int]) -> Counter[str]:
    """First come, first served: each line takes the wood that runs out first, and what it likes best first."""
    free = {one.key: one.free for one in supplies}
    beyond = Counter[str]()
    for one in supplies:
        beyond[one.variety] += one.free
    beyond.subtract(backup)
    given = Counter[str]()
    for wish in wishes:
        mine = [one for one in supplies if fits(one, wish)]
        mine.sort(key=lambda one, w=wish: (w.varieties.index(one.variety), one.use_by or date.max))
        if not wish.parts and mine:  # one delivery: the day that most of it is good
            days = Counter(day for one in mine for day in fits(one, wish) for _ in range(free[one.key]))
            day = days.most_common(1)[0][0] if days else -1
            mine = [one for one in mine if day in fits(one, wish)]
        takes, left, room = [], wish.count, dict(beyond)
        for one in mine:
            count = max(0, min(left, free[one.key], room[one.variety]))
            takes.append((one, count))
            left, room[one.variety] = left - count, room[one.variety] - count
        if wish.count - left >= wish.least:
            for one, count in takes:
                free[one.key] -= count
                beyond[one.variety] -= count
            given[wish.key] = wish.count - left
    return given


def put(supplies: list[Supply], wishes: list[Wish], backup: dict[str, int]):
    """Put the goals straight: all varieties at once, by day where there is one delivery. Least is best."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    takes: list[tuple[Supply, Wish, int, object]] = []
    moves = []
    for s in supplies:
        for w in wishes:
            if days := fits(s, w):
                most = min(s.free, w.count)
                moves.append(model.new_bool_var(""))
                for day in days if not w.parts else days[:1]:
                    take = model.new_int_var(0, most, "")
                    model.add(take <= most * moves[-1])
                    takes.append((s, w, day, take))
    pressing = []
    last = MONDAY + timedelta(days=7 * WEEKS - 1)
    for s in supplies:
        used = sum(take for one, _, _, take in takes if one is s)
        opened, split = model.new_bool_var(""), model.new_bool_var("")
        model.add(used <= s.free * opened)
        model.add(used >= s.free * (opened - split))
        moves += [opened, split]
        if s.use_by and s.use_by < last:
            pressing.append(min(WEEKS, 1 + (last - s.use_by).days // 7) * used)
    for variety, kept in backup.items():
        there = sum(s.free for s in supplies if s.variety == variety)
        total = sum(take for s, _, _, take in takes if s.variety == variety)
        model.add(total <= max(0, there - kept))
    worths: dict[int, list] = {w.priority: [] for w in wishes}
    filled = {}
    for w in wishes:
        filled[w.key], worth = put_wish(model, w, [(day, take) for _, one, day, take in takes if one is w])
        worths[w.priority].append(worth)
    liking = sum(w.varieties.index(s.variety) * take for s, w, _, take in takes)
    goals = [-sum(worths[priority]) for priority in sorted(worths)] + [liking, -sum(pressing), sum(moves)]
    return model, goals, filled, moves


def put_wish(model, wish: Wish, takes: list):
    """Put one wish; return how many it gets and what that is worth."""
    filled = model.new_int_var(0, wish.count, "")
    model.add(filled == sum(take for _, take in takes))
    if wish.least > 1:
        taken = model.new_bool_var("")
        model.add(filled >= wish.least * taken)
        model.add(filled <= wish.count * taken)
    if not wish.parts:
        chosen = {day: model.new_bool_var("") for day, _ in takes}
        model.add_at_most_one(chosen.values())
        for day, take in takes:
            model.add(take == 0).only_enforce_if(~chosen[day])
    steps = [round(SCALE * value(wish, count)) for count in range(wish.count + 1)]
    worth = model.new_int_var(0, steps[-1], "")
    model.add_element(filled, steps, worth)
    return filled, worth


def straight(
    supplies: list[Supply], wishes: list[Wish], backup: dict[str, int]
) -> tuple[Counter[str], float, list[float]]:
    """Let CP-SAT reach the goals one after another; return what is given, moves and gaps."""
    from ortools.sat.python import cp_model

    model, goals, filled, moves = put(supplies, wishes, backup)
    solver, gaps, end = cp_model.CpSolver(), [], time.perf_counter() + LONGER
    solver.parameters.num_workers = 2
    given, made = Counter[str](), float("nan")
    for number, goal in enumerate(goals):
        model.minimize(goal)
        solver.parameters.max_time_in_seconds = max(0.5, (end - time.perf_counter()) / (len(goals) - number))
        if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            gaps.append(float("nan"))  # nothing found in its time: the solution before stands
            continue
        found, bound = solver.objective_value, solver.best_objective_bound
        gaps.append((found - bound) / max(1.0, abs(found)))
        given = Counter({key: solver.value(count) for key, count in filled.items()})
        made = sum(solver.value(move) for move in moves)
        model.add(goal <= round(found))
        model.clear_hints()
        for index, number_found in enumerate(solver.response_proto.solution):
            model.add_hint(model.get_int_var_from_proto_index(index), number_found)
    return given, made, gaps


def row(name: str, given: Counter[str], wishes: list[Wish], took: float, rest: str) -> None:
    """Print a plan in one line."""
    asked = sum(wish.count for wish in wishes)
    worth = " ".join(
        f"{sum(value(w, given[w.key]) for w in wishes if w.priority == priority):8.1f}"
        for priority in (1, 2, 3)
    )
    full = sum(given[wish.key] == wish.count for wish in wishes)
    print(
        f"  {name:10} {took:6.2f} s  filled {given.total() / asked:5.1%}, {full:3} lines whole; worth {worth}  {rest}"
    )


def main() -> None:
    for varieties in [int(word) for word in sys.argv[1:]] or [30]:
        for seed in SEEDS:
            supplies, wishes, backup = season(varieties, seed)
            print(f"{varieties} varieties, seed {seed}")
            began = time.perf_counter()
            plan = allot(supplies, wishes, first=MONDAY, weeks=WEEKS, backup=backup, seconds=SECONDS)
            took = time.perf_counter() - began
            moves = plan.goals[-1]
            told = "proven" if plan.proven else f"gap {plan.gap:.2%}"
            given = Counter({wish.key: plan.given(wish.key) for wish in wishes})
            row("Ortet", given, wishes, took, f"{moves.value:.0f} moves, {told}")
            began = time.perf_counter()
            given, made, gaps = straight(supplies, wishes, backup)
            told = f"{made:.0f} moves, gaps {' '.join(f'{gap:.2%}' for gap in gaps)}"
            row("CP-SAT", given, wishes, time.perf_counter() - began, told)
            began = time.perf_counter()
            given = by_hand(supplies, wishes, backup)
            row("first come", given, wishes, time.perf_counter() - began, "")


if __name__ == "__main__":
    main()
