"""A season on the benches: 40 batches, 6 benches, 16 weeks, 3 set-points, beside CP-SAT and a plan by first come.

All three choose from the same outcomes and are judged by the same costs. CP-SAT gets the straight model and as long as
Ortet took, then a minute. First come: by the day it is ready, each batch to its own cheapest place that is still free.
"""

import argparse
import time
from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from ortet.decisions.bench import Batch, Bench, Season, outcome, plan
from ortet.decisions.bench.model import Options

FIRST = date(2027, 1, 4)
KINDS = ("grape", "quince", "pomegranate", "elder", "mulberry", "blackcurrant")


def season(seed: int, tray: int) -> Season:
    """Return an invented season, drawn with a seed."""
    rng = np.random.default_rng(seed)
    batches = []
    for n in range(40):
        ready = FIRST + timedelta(days=int(rng.integers(0, 60)))
        batches.append(
            Batch(
                f"b{n}",
                "",
                KINDS[n % len(KINDS)],
                int(rng.integers(20, 160)),
                ready,
                tuple(40.0 + 4.0 * week for week in range(16)),
                use_by=ready + timedelta(days=int(rng.integers(20, 70))),
                wanted=date(2027, 5, 20) + timedelta(days=int(rng.integers(-20, 30))),
                grow_days=int(rng.integers(20, 50)),
                worth=float(rng.integers(2, 9)),
                tray=tray,
            )
        )
    air = tuple(6.0 + 0.7 * week for week in range(30))
    benches = [
        Bench(
            f"m{n}",
            2 * int(rng.integers(150, 350)),
            tuple(a + n for a in air),
            set_points=(18.0, 22.0, 26.0) if n < 5 else (),
            m2=2.0,
        )
        for n in range(6)
    ]
    return Season(tuple(batches), tuple(benches), FIRST, 16, early_cost=0.02)


def first_come(options: Options) -> float:
    """Return the cost of striking in the order of readiness, each batch at its own cheapest place that is free."""
    season = options.season
    used, level, cost = defaultdict(float), {}, 0.0
    for batch in sorted(season.batches, key=lambda one: one.ready):
        worth = batch.count * batch.strike * batch.worth
        for option in sorted((o for o in options.of[batch.key] if o.allowed), key=lambda o: o.cost):
            spots = [(option.bench, week) for week in range(option.week, option.week + option.weeks)]
            cells = batch.count * batch.cells
            if all(
                used[spot] + cells <= season.bench[option.bench].cells
                and level.get(spot, option.level) == option.level
                for spot in spots
            ):
                for spot in spots:
                    if spot not in level:
                        level[spot] = option.level
                        cost += (
                            season.bench[option.bench].kwh(options.base(option), spot[1]) * season.price_kwh
                        )
                    used[spot] += cells
                cost += option.cost
                break
        else:
            cost += worth
    return cost


def cp_sat(options: Options, seconds: float) -> tuple[float, float]:
    """Return cost and bound of the straight model, batches kept together."""
    from ortools.sat.python import cp_model

    season, model = options.season, cp_model.CpModel()
    goal, on, heated = [], defaultdict(list), defaultdict(list)
    for batch in season.batches:
        worth = batch.count * batch.strike * batch.worth
        out = model.new_bool_var("")
        goal.append((worth, out))
        ways = [out]
        for option in options.of[batch.key]:
            if option.allowed and option.cost < worth and batch.count <= season.bench[option.bench].cells:
                ways.append(model.new_bool_var(""))
                goal.append((option.cost, ways[-1]))
                for week in range(option.week, option.week + option.weeks):
                    on[option.bench, option.level, week].append((batch.count, ways[-1]))
        model.add_exactly_one(ways)
    for (key, level, week), here in on.items():
        bench, lit = season.bench[key], model.new_bool_var("")
        heated[key, week].append(lit)
        goal.append((bench.kwh(options.levels[key][level], week) * season.price_kwh, lit))
        model.add(sum(count * way for count, way in here) <= bench.cells * lit)
    for lits in heated.values():
        model.add_at_most_one(lits)
    model.minimize(sum(round(100 * cost) * variable for cost, variable in goal))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, 2
    found = solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return (solver.objective_value / 100 if found else float("nan")), solver.best_objective_bound / 100


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=2)
    args = parser.parse_args()
    plan(
        replace(season(0, 0), batches=season(0, 0).batches[:3]), seconds=1
    )  # what is compiled once is not counted
    for seed in range(1, args.seeds + 1):
        whole = season(seed, 0)
        began = time.perf_counter()
        made = plan(whole)
        took = time.perf_counter() - began
        options = Options(whole)
        print(f"season {seed}: worth {made.worth:.0f}, batches kept together")
        print(
            f"  Ortet       cost {made.cost:7.0f}  bound {made.bound:6.0f}  gap {made.gap:.2%}  {took:.1f} s"
        )
        for seconds in (took, 60.0):
            cost, bound = cp_sat(options, seconds)
            print(
                f"  CP-SAT      cost {cost:7.0f}  bound {bound:6.0f}  {seconds:.0f} s  {cost / made.cost:.2f} times ours"
            )
        hand = first_come(options)
        print(f"  first come  cost {hand:7.0f}  {hand / made.cost:.2f} times ours")
        began = time.perf_counter()
        trays = plan(season(seed, 20))
        print(
            f"  in trays of 20: cost {trays.cost:.0f}, gap {trays.gap:.2%}, {time.perf_counter() - began:.1f} s"
        )
        one, batch = made.struck[0], whole.batch[made.struck[0].batch]
        began = time.perf_counter()
        for _ in range(20):
            outcome(batch, whole.bench[one.bench], one.base_c, one.outcome.start, whole)
        print(f"  one what-if: {(time.perf_counter() - began) / 20 * 1000:.1f} ms")


if __name__ == "__main__":
    main()
