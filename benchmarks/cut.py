"""What cutting costs: 10,000 shoots of 40 nodes beside plain Python, 2,000 shoots against demand beside their bound, and a small
instance beside one straight integer programme in CP-SAT. All in one run; shoots in
processor time, since the machine may be shared.

    python benchmarks/cut.py
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable

from ortools.sat.python import cp_model

from ortet.decisions.cut import Wanted, best_rule, cut_many
from ortet.decisions.cut.shoots import cut_shoots, grade_table, lay
from ortet.wood.grade import COMMON, Grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot

SHOOTS, NODES = 10_000, 40
PLAIN = 500  # of them in plain Python, then scaled up
KNIFE = Knife()
TWELVE = [
    Grade(f"{kind}{step}", least_nodes=few, most_nodes=few + 3, least_mm=45.0 * few - 20, least_base_mm=low, most_base_mm=low + 1.5,
          value=value + step / 4)
    for kind, few, value in (("short", 2, 1.0), ("long", 4, 2.0))
    for step, low in enumerate((3.5, 5.0, 6.5, 8.0, 9.5, 11.0))
]  # fmt: skip


def made(how_many: int, nodes: tuple[int, int], seed: int = 1) -> list[Shoot]:
    """Return shoots that differ in length, thickness and internodes."""
    rng, out = random.Random(seed), []
    for _ in range(how_many):
        place, places = 0.0, []
        for _ in range(rng.randint(*nodes)):
            place += rng.uniform(25, 60)
            places.append(place)
        base, tip, length = rng.uniform(7, 13), rng.uniform(2, 4), place + rng.uniform(5, 40)
        thick = tuple(base + (tip - base) * mm / length for mm in places)
        out.append(Shoot(tuple(places), thick, length, base, tip))
    return out


def plain(shoot: Shoot, grades: tuple[Grade, ...]) -> float:
    """Return what a shoot's best cuts are worth, by the same programme in plain Python."""
    nodes, thick, many = shoot.nodes_mm, shoot.diameters_mm, len(shoot.nodes_mm)
    base_at, base_mm, top_at, top_mm = [0.0] * many, [0.0] * many, [0.0] * many, [0.0] * many
    place, width = 0.0, shoot.base_mm
    for k in range(many):
        gap = nodes[k] - place
        up, down = KNIFE.above_mm, min(KNIFE.below_mm, gap)
        if k:
            part = min(1.0, (gap - KNIFE.kerf_mm) / (KNIFE.above_mm + KNIFE.below_mm))
            up, down = KNIFE.above_mm * part, KNIFE.below_mm * part
            top_at[k - 1], top_mm[k - 1] = place + up, width + (thick[k] - width) * up / gap
        base_at[k], base_mm[k] = nodes[k] - down, thick[k] + (width - thick[k]) * down / gap
        place, width = nodes[k], thick[k]
    gap = shoot.length_mm - place
    cut_end = KNIFE.above_mm < gap - KNIFE.kerf_mm
    top_at[-1] = place + KNIFE.above_mm
    top_mm[-1] = width + (shoot.tip_mm - width) * KNIFE.above_mm / gap
    widest = max(one.most_nodes for one in grades)
    best, used, took = [0.0] * (many + 1), [0.0] * (many + 1), [None] * (many + 1)
    for stop in range(1, many + 1):
        best[stop], used[stop] = best[stop - 1], used[stop - 1]
        ends = [(top_at[stop - 1], top_mm[stop - 1], False)] if stop < many or cut_end else []
        if stop == many:
            ends.append((shoot.length_mm, shoot.tip_mm, True))
        for to, tip, with_tip in ends:
            for start in range(stop - 1, max(stop - widest, 0) - 1, -1):
                size, length, base = stop - start, to - base_at[start], base_mm[start]
                for one in grades:
                    if (
                        one.least_nodes <= size <= one.most_nodes
                        and one.least_mm <= length <= one.most_mm
                        and one.least_base_mm <= base <= one.most_base_mm
                        and one.least_tip_mm <= tip <= one.most_tip_mm
                        and (one.tip != "no" if with_tip else one.tip != "must")
                    ):
                        value, wood = best[start] + one.value, used[start] + length
                        if value > best[stop] + 1e-9 or (value > best[stop] - 1e-9 and wood > used[stop]):
                            best[stop], used[stop], took[stop] = value, wood, (start, one, with_tip)
    return best[many]


def straight(
    shoots: list[Shoot], grades: list[Grade], wanted: dict[str, Wanted], seconds: float
) -> tuple[float, float, str]:
    """Solve one integer programme over every piece of every shoot; return value, bound and how it ended."""
    from ortet.decisions.cut.shoots import pieces_of

    model, laid, table = cp_model.CpModel(), lay(shoots, KNIFE), grade_table(grades)
    value, by_grade = [], {one.name: [] for one in grades}
    for number, shoot in enumerate(shoots):
        over = [[] for _ in shoot.nodes_mm]
        for rows in pieces_of(laid, number, table).values():
            for first, last, g, _ in rows:
                take = model.new_bool_var("")
                value.append(round(4 * grades[g].value) * take)
                by_grade[grades[g].name].append(take)
                for node in range(first, last + 1):
                    over[node].append(take)
        for takes in over:
            model.add_at_most_one(takes)
    for name, wish in wanted.items():
        model.add(sum(by_grade[name]) >= wish.least)
        if wish.most is not None:
            model.add(sum(by_grade[name]) <= wish.most)
    model.maximize(sum(value))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers, solver.parameters.max_time_in_seconds = 2, seconds
    status = solver.solve(model)
    return solver.objective_value / 4, solver.best_objective_bound / 4, solver.status_name(status)


def wishes(shoots: list[Shoot]) -> dict[str, Wanted]:
    """Return wishes that bind: some grades more than would be cut freely, others fewer."""
    free = cut_many(shoots, TWELVE).counts
    return {
        name: Wanted(round(1.02 * count)) if n % 3 == 0 else Wanted(0, round(0.7 * count))
        for n, (name, count) in enumerate(free.items())
    }


def least(work: Callable[[], object], times: int = 5) -> float:
    """Return the least processor time of a few runs. [s]"""
    took = []
    for _ in range(times):
        began = time.process_time()
        work()
        took.append(time.process_time() - began)
    return min(took)


def main() -> None:
    """Print each comparison on a line."""
    shoots = made(SHOOTS, (NODES, NODES))
    for name, grades in (("two grades", COMMON), ("twelve grades", tuple(TWELVE))):
        cuts = cut_shoots(shoots, grades)
        theirs = [plain(shoot, grades) for shoot in shoots[:PLAIN]]
        assert max(abs(a - b) for a, b in zip(cuts.worth, theirs, strict=False)) < 1e-6
        quick = least(lambda grades=grades: cut_shoots(shoots, grades))
        slow = least(lambda grades=grades: [plain(shoot, grades) for shoot in shoots[:PLAIN]])
        slow *= SHOOTS / PLAIN
        whole = quick + least(lambda cuts=cuts: list(cuts), 2)
        print(
            f"{SHOOTS:,} shoots of {NODES} nodes, {name}: plain Python {slow:.1f} s, ours {quick:.3f} s (1 : {slow / quick:.0f}); "
            f"looked at one by one, with every piece and every reason, {whole:.2f} s"
        )
    many = made(2_000, (20, 45), seed=2)
    wanted = wishes(many)
    began, busy = time.perf_counter(), time.process_time()
    plan = cut_many(many, TWELVE, wanted)
    took, busy = time.perf_counter() - began, time.process_time() - busy
    had = all(wish.least <= plan.counts[name] for name, wish in wanted.items())
    print(
        f"2,000 shoots, 12 grades, wishes that bind: {took:.1f} s (processor {busy:.1f} s), {100 * plan.gap:.4f} % below the bound, all wishes met: {had}"
    )
    for size in (50, 200):
        few = made(size, (20, 45), seed=3)
        wanted = wishes(few)
        began = time.perf_counter()
        plan = cut_many(few, TWELVE, wanted)
        took = time.perf_counter() - began
        began = time.perf_counter()
        value, bound, status = straight(few, TWELVE, wanted, seconds=60)
        slow = time.perf_counter() - began
        print(
            f"{size} shoots, 12 grades: ours {took:.2f} s, worth {plan.value:.2f}, bound {plan.bound:.2f}; straight integer programme "
            f"{slow:.1f} s, worth {value:.2f}, bound {bound:.2f}, {status.lower()}"
        )
    sample = made(200, (20, 45), seed=4)
    began = time.perf_counter()
    card = best_rule(sample, COMMON)
    print(
        f"a rule of thumb from 200 shoots: {time.perf_counter() - began:.1f} s, gives up {100 * card.loses:.1f} %"
    )


if __name__ == "__main__":
    main()
