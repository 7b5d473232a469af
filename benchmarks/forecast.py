"""What the forecast costs: 400 lots, 10,000 bags, and the same balance in a plain Python loop, side by side.

python benchmarks/forecast.py            # all
python benchmarks/forecast.py 400 1000   # these numbers of bags
"""

from __future__ import annotations

import resource
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from benchmarks.season import NOW, Made, make
from ortet.decisions.course import lay_courses
from ortet.decisions.forecast import forecast
from ortet.decisions.laying import lay, lying_together
from ortet.decisions.today import tasks
from ortet.evidence import water as evidence
from ortet.science import bag
from ortet.science.air import saturation_vapour_pressure
from ortet.science.film import film_factor

PLAIN_BAGS = 4  # the plain loop is slow: so many bags, then scaled up


def best(work, times: int) -> tuple[float, float]:
    """Return the least wall and processor time of a few runs. [s]"""
    walls, cpus = [], []
    for _ in range(times):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    return min(walls), min(cpus)


def plain_loop(made: Made) -> float:
    """Return the processor time of the water balance alone, bag by bag and hour by hour in plain Python. [s a bag]"""
    few = Made(made.holdings[:PLAIN_BAGS], made.bags[:PLAIN_BAGS], made.climates)
    lying = lying_together(few.holdings, few.bags, NOW)
    keys = {(one.key, False): at for at, one in enumerate(lying)}
    courses = lay_courses(
        [one.key for one in lying], [False] * len(lying), few.climates, min(o.start for o in lying), NOW
    )
    columns, _ = lay(lying, courses, keys, NOW)
    factors = evidence.leak_line(
        columns.bark,
        columns.film,
        columns.closure,
        bark_spread=columns.bark_spread,
        film_spread=columns.film_spread,
        closure_spread=columns.closure_spread,
    )
    inside = (bag.ACTIVITY * saturation_vapour_pressure(courses.wood_c)).tolist()
    full = saturation_vapour_pressure(courses.air_c).tolist()
    out, opens = courses.outside_pa.tolist(), film_factor(courses.air_c).tolist()
    began = time.process_time()
    for column in range(columns.size):
        course = int(columns.course[column])
        for node in range(len(evidence.NODES)):
            bark = float(columns.bark[column] * factors[0][node, column])
            film = float(columns.film[column] * factors[1][node, column])
            closure = float(columns.closure[column] * factors[2][node, column])
            lost = free = spell = dry = 0.0
            for hour in range(courses.hours):
                leak = film * opens[hour][course] + closure
                wet = bark * (inside[hour][course] - full[hour][course])
                onto = wet - leak * (full[hour][course] - out[hour][course])
                share = 1.0 if onto >= 0 else min(free / -onto, 1.0)
                still = bark * leak / (bark + leak) * (inside[hour][course] - out[hour][course])
                lost = max(lost + still + share * (wet - still), 0.0)
                free = max(free + share * onto, 0.0)
                dry = (0.0 if share else dry) + 1.0 - share
                spell = 0.0 if dry >= bag.DRY_HOURS else spell + share
    return (time.process_time() - began) / columns.size


def calmed(made: Made) -> Made:
    """Return the same bags in fridges whose hourly means swing by 0.4 °C a day and wander by 0.05 °C from hour to hour."""
    rng, climates = np.random.default_rng(2), dict(made.climates)
    for place, mean in (("Cellar fridge", 2.5), ("Barn fridge", 3.5)):
        was = climates[place]
        hour = np.arange(len(was.air_c))
        air = mean + 0.4 * np.sin(hour / 24 * 2 * np.pi) + rng.normal(0, 0.05, len(hour))
        climates[place] = replace(was, air_c=np.where(np.isnan(was.air_c), np.nan, air))
    return Made(made.holdings, made.bags, climates)


def main(sizes: list[int]) -> None:
    """Print one line a size."""
    for size in sizes:
        made = make(size)
        run = forecast(made.holdings, made.bags, made.climates, now=NOW)  # warm
        wall, cpu = best(
            lambda made=made: forecast(made.holdings, made.bags, made.climates, now=NOW),
            5 if size < 2000 else 1,
        )
        listed, _ = best(lambda made=made, run=run: tasks(run, made.holdings, made.bags, now=NOW), 3)
        calm = calmed(made)
        _, calm_cpu = best(
            lambda calm=calm: forecast(calm.holdings, calm.bags, calm.climates, now=NOW),
            3 if size < 2000 else 1,
        )
        plain = plain_loop(made) * size
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # KiB on Linux
        print(
            f"{size:>6} bags, {len(evidence.NODES)} nodes, 104 days by the hour and a year ahead: forecast {wall:.2f} s "
            f"(processor {cpu:.2f} s; in an even fridge {calm_cpu:.2f} s), tasks {listed:.2f} s, most memory {memory:.0f} MB; the water balance alone in a "
            f"plain Python loop {plain:.0f} s, {plain / cpu:.0f} times as long"
        )


if __name__ == "__main__":
    main([int(word) for word in sys.argv[1:]] or [400, 10_000])
