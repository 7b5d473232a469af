"""10,000 bags through a year of hours: plain Python, a bare compiled loop, and Ortet, side by side in one run.

The bare loop is the same arithmetic with nothing around it: no packing, no deeds, no days kept, one bag after another.
Ortet's kernel does all of that too. Both are timed on one core, and Ortet's also as it is called, on all of them.

python benchmarks/bags.py          # all
python benchmarks/bags.py 1000     # this many bags
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable

import numpy as np
from numba import njit
from numpy.typing import NDArray

from ortet.science import bag
from ortet.science.air import saturation_vapour_pressure
from ortet.science.bag_kernel import carry
from ortet.science.compiled import spread

Array = NDArray[np.float64]
YEAR_H, COURSES = 8760, 4
SAMPLE = 4  # the plain loop is slow: so many bags, then scaled up
DRY_HOURS = bag.DRY_HOURS

FIRST_CALL = """
import time; began = time.perf_counter()
import numpy as np
from ortet.science import bag, bag_kernel
print(time.perf_counter() - began)
"""
LIGHT = """
import time; began = time.perf_counter()
import sys, ortet.science.bag, ortet.science.chill, ortet.decisions.forecast
print(time.perf_counter() - began); assert "numba" not in sys.modules
"""


def made(bags: int) -> tuple[NDArray[np.void], Array, Array, Array]:
    """Return bags, conductances (3, 1, bags), air (courses, hours, 3) and what film lets through (courses, days)."""
    rng = np.random.default_rng(1)
    hour = np.arange(YEAR_H)[:, np.newaxis]
    air_c = 3 + 0.5 * np.sin(hour / 24 * 2 * np.pi) + rng.normal(0, 0.25, (YEAR_H, COURSES))
    over_water, film = (
        saturation_vapour_pressure(bag.wood_temperature(air_c)),
        saturation_vapour_pressure(air_c),
    )
    outside = np.clip(rng.normal(0.8, 0.05, film.shape), 0, 1) * film
    air = np.ascontiguousarray(
        np.stack([bag.ACTIVITY * over_water - film, film - outside, over_water - film]).T
    )
    out = np.zeros(bags, dtype=bag.BAG)
    out["course"], out["wood_g"], out["bark_share"] = rng.integers(0, COURSES, bags), 500.0, 1.0
    out["bark"] = 10 ** rng.uniform(-4.5, -3, bags)
    leaks = 10 ** rng.uniform(-6, -4.5, (2, 1, bags))
    return (
        out,
        np.concatenate([out["bark"].reshape(1, 1, -1), leaks]),
        air,
        rng.uniform(0.2, 0.3, (COURSES, 365)),
    )


def balance(
    bark: Array, film: Array, closure: Array, course: Array, lift: Array, pull: Array, opens: Array
) -> Array:
    """Return what each bag's wood has lost: the balance alone, hour by hour."""
    out = np.empty((len(bark), 4))
    for b in range(len(bark)):
        lost = free = spell = dry = 0.0
        lifts, pulls, opens_by_day = lift[course[b]], pull[course[b]], opens[course[b]]
        for day in range(len(opens_by_day)):
            leak = film[b] * opens_by_day[day] + closure[b]
            joint = bark[b] * leak / (bark[b] + leak)
            for hour in range(24 * day, 24 * day + 24):
                up, out_of = lifts[hour], pulls[hour]
                still = joint * (up + out_of)
                onto = bark[b] * up - leak * out_of
                if free == 0.0 and onto < 0.0:
                    lost = max(lost + still, 0.0)
                    dry += 1.0
                    if dry >= DRY_HOURS:
                        spell = 0.0
                else:
                    share = 1.0 if onto >= 0.0 else min(free / -onto, 1.0)
                    lost += still + share * (bark[b] * up - still)
                    free = max(free + onto, 0.0)
                    if lost < 0.0:
                        free -= lost if share > 0.0 else 0.0
                        lost = 0.0
                    dry = (0.0 if share > 0.0 else dry) + 1.0 - share
                    spell = 0.0 if dry >= DRY_HOURS else spell + share
        out[b, 0], out[b, 1], out[b, 2], out[b, 3] = lost, free, spell, dry
    return out


def best(work: Callable[[], object], times: int, clock: Callable[[], float] = time.process_time) -> float:
    """Return the least time of a few runs: others may be at work on this machine. [s]"""
    took = []
    for _ in range(times):
        began = clock()
        work()
        took.append(clock() - began)
    return min(took)


def fresh(code: str, times: int) -> float:
    """Return the least of what a fresh process prints. [s]"""
    run = [sys.executable, "-c", code]
    return min(
        float(subprocess.run(run, check=True, capture_output=True, text=True).stdout) for _ in range(times)
    )


def main(size: int) -> None:
    """Print one line a way."""
    bags, conductance, air, opens = made(size)
    bark, film, closure = (np.ascontiguousarray(part[0]) for part in conductance)
    lift, pull = np.ascontiguousarray(air[..., 0]), np.ascontiguousarray(air[..., 1])
    given = bark, film, closure, bags["course"].copy(), lift, pull, opens
    water, days = np.zeros((5, 1, size)), np.zeros((2, 365, 1, size), dtype=np.float32)
    nothing, wood = np.zeros((1, 0)), np.zeros((365, size))
    rest = (
        *(np.zeros(0, dtype=bag.DEED), np.zeros(size + 1, dtype=np.int64), conductance),
        *(np.ones((1, size), dtype=np.bool_), air, opens, float(YEAR_H), DRY_HOURS),
    )

    def through(begin: int, end: int) -> None:
        carry(begin, end, bags, after, *rest, water, nothing, days, wood)

    def ours() -> None:
        water[:] = 0.0
        spread(through, size, 30)

    after = bags.copy()
    bare = njit(nogil=True, error_model="numpy", fastmath={"contract"})(balance)
    bare(*(part[:1] for part in given[:4]), *given[4:])
    one_core, bare_s = [], []
    for _ in range(5):  # turn about, so that both meet the same machine
        water[:] = 0.0
        one_core.append(best(lambda: through(0, size), 1))
        bare_s.append(best(lambda: bare(*given), 1))
    np.testing.assert_allclose(water[[0, 1, 3, 4], 0].T, bare(*given), rtol=1e-9, atol=1e-9)
    wall = best(ours, 5, time.perf_counter)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # KiB on Linux
    few = [part[:SAMPLE].tolist() for part in given[:4]] + [part.tolist() for part in given[4:]]
    plain = best(lambda: balance(*few), 3) * size / SAMPLE
    print(f"{size} bags through {YEAR_H} hours; processor time")
    print(
        f"Ortet, on one core         {min(one_core):6.2f} s   most memory {memory:.0f} MB; on all, by the clock {wall:.2f} s"
    )
    print(
        f"a bare compiled loop       {min(bare_s):6.2f} s   Ortet takes {min(one_core) / min(bare_s):.2f} times that"
    )
    print(
        f"plain Python, scaled up    {plain:6.0f} s   {plain / min(one_core):.0f} times Ortet's ({SAMPLE} bags run)"
    )
    print(f"kernel in, fresh process   {fresh(FIRST_CALL, 5):6.2f} s   with its imports")
    print(
        f"the same without a sum     {fresh(LIGHT, 5):6.2f} s   ortet.science and ortet.decisions.forecast, no compiler"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
