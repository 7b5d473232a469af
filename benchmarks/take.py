"""What planning the season's taking costs: the fewest cuttings beside a plain simulation, and a whole collection.

python benchmarks/take.py
"""

from __future__ import annotations

import random
import time
from dataclasses import replace

from ortet.decisions.take import Ask, Beta, Limit, Mother, Step, Target, cuttings_to_take, plan_taking

STAGES = [0.95, Beta(12, 8), Beta(27, 3)]
SEASONS = 10_000  # of the simulation: its chance is then off by about 0.003


def best(work, times: int) -> tuple[float, object]:
    """Return the least processor time of a few runs, and what the last one gave. [s]"""
    spent = []
    for _ in range(times):
        began = time.process_time()
        out = work()
        spent.append(time.process_time() - began)
    return min(spent), out


def simulated(target: int, confidence: float, rng: random.Random) -> int:
    """Return the fewest cuttings as a grower's script would: seasons drawn one by one, the number found by halves."""

    def chance(taken: int) -> float:
        good = 0
        for _ in range(SEASONS):
            share = 0.95 * rng.betavariate(12, 8) * rng.betavariate(27, 3)
            good += sum(rng.random() < share for _ in range(taken)) >= target
        return good / SEASONS

    low, high = target - 1, target * 8
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if chance(middle) >= confidence else (middle, high)
    return high


def collection(varieties: int, *, short: float, rng: random.Random) -> Ask:
    """Return a season: four targets and two mother plants a variety, two uses, a share of the varieties short of wood."""
    targets, mothers, steps = [], [], {}
    kinds = ("order", "own", "graft", "reserve", "backup")
    for at in range(varieties):
        name = f"Variety {at:03}"
        strike = rng.uniform(0.3, 0.9)
        steps[name, "rooting"] = (
            Step("store", 0.95),
            Step("strike", Beta(20 * strike, 20 * (1 - strike))),
            Step("pot", Beta(27, 3)),
        )
        steps[name, "grafting"] = (Step("store", 0.95), Step("take", Beta(14, 6)))
        wanted = 0
        for number in range(4):
            count = rng.randint(3, 40)
            wanted += count
            targets.append(
                Target(
                    f"{name} {number}",
                    kinds[rng.randrange(5)],
                    name,
                    "grafting" if number == 3 else "rooting",
                    count,
                    priority=rng.randint(1, 3),
                    worth=rng.choice((4.0, 6.5, 9.0, 14.0)),
                    least=1 if rng.random() < 0.7 else count,
                )
            )
        wood = wanted / strike * (rng.uniform(0.5, 1.0) if rng.random() < short else 2.5)
        mothers += [Mother(f"{name} plant {k}", name, shoots=int(wood / 8) + 1, per_shoot=4) for k in (1, 2)]
    return Ask(tuple(targets), tuple(mothers), steps)


def main() -> None:
    """Print one line a comparison."""
    cuttings_to_take(50, STAGES, 0.9)  # compile or load
    for target in (50,):
        ours, exact = best(lambda target=target: cuttings_to_take(target, STAGES, 0.9), 5)
        theirs, drawn = best(lambda target=target: simulated(target, 0.9, random.Random(1)), 1)
        print(
            f"{target} plants at 90 % through {len(STAGES)} steps: {exact} cuttings in {ours * 1e3:.2f} ms; a plain simulation of "
            f"{SEASONS:,} seasons {drawn} in {theirs:.1f} s, {theirs / ours:,.0f} times as long"
        )
    ours, exact = best(lambda: cuttings_to_take(5000, STAGES, 0.9), 3)
    print(f"5,000 plants: {exact} cuttings in {ours:.2f} s")
    for short in (0.3, 1.0):
        ask = collection(300, short=short, rng=random.Random(7))
        wall, plan = best(lambda ask=ask: plan_taking(ask), 3)
        print(
            f"300 varieties, {len(ask.targets):,} targets, {len(ask.mothers)} mother plants, {len(plan.shortages)} short: "
            f"{wall:.2f} s, {plan.cuttings:,} cuttings, {len(plan.gives_way)} targets give way"
        )
        limited = replace(
            ask,
            limits=(
                Limit("room in store", int(plan.cuttings * 0.85)),
                Limit("rootstocks", int(plan.cuttings * 0.2), ("grafting",)),
            ),
        )
        wall, plan = best(lambda limited=limited: plan_taking(limited), 2)
        print(
            f"  the same, sharing two limits that bind: {wall:.2f} s, gap {plan.gap:.5f}, {len(plan.gives_way)} give way"
        )


if __name__ == "__main__":
    main()
