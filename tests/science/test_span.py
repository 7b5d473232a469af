"""Many hours at once are those hours one by one."""

import numpy as np
import pytest

from ortet.science import bag
from ortet.science.air import saturation_vapour_pressure
from ortet.science.span import Packing, Reads, Span, advance_hours

HOURS, BAGS = 24, 300


def made(seed, *, swing, humid):
    """Return bags of all sorts on three courses: dry, wet, with packing about to run out, in air that may be the wetter."""
    rng = np.random.default_rng(seed)
    air = 3 + swing * np.sin(np.arange(240) / 24 * 2 * np.pi)[:, None] + rng.normal(0, 0.3, (240, 3))
    wood = bag.wood_temperature(air)[-HOURS:]
    over_water, full = saturation_vapour_pressure(wood), saturation_vapour_pressure(air[-HOURS:])
    span = Span(
        bag.ACTIVITY * over_water, full, np.clip(rng.normal(humid, 0.05, full.shape), 0, 1) * full, over_water
    )
    water = bag.Water(
        rng.choice([0.0, 0.01, 5.0], BAGS),
        rng.choice([0.0, 0.0, 0.01, 2.0], BAGS),
        rng.choice([0.0, 0.0, 0.3, 20.0], BAGS),
        rng.choice([0.0, 7.0], BAGS),
        rng.choice([0.0, 2.0, 3.5], BAGS),
    )
    water.spell[water.free > 0] += 1.0
    bark, leak = 10 ** rng.uniform(-5, -3, BAGS), 10 ** rng.uniform(-6, -4, BAGS)
    wet = rng.random(BAGS) < 0.5
    packing = Packing(np.where(wet, 25 * bark, bark), wet)
    return water, bark, leak, span, rng.integers(0, 3, BAGS), packing


def one_by_one(water, bark, leak, span, course, packing, hours=HOURS):
    for hour in range(hours):
        over_wood, film, outside, over_water = (
            a[hour, course] for a in (span.over_wood, span.at_film, span.outside, span.over_water)
        )
        over = np.where(packing.soaked, over_water, over_wood)
        packed = bag.flows(packing.conductance, leak, over, film, outside)
        step = np.ones(BAGS) if span.lasts is None else span.lasts[hour, course]
        water = bag.advance(water, bag.flows(bark, leak, over_wood, film, outside), packed, step)
    return water


def in_bag(water):
    return water.free + water.held - water.lost


@pytest.mark.parametrize("humid", [0.5, 0.9, 1.0])
@pytest.mark.parametrize("swing", [0.0, 0.5, 4.0])
@pytest.mark.parametrize("parts", [False, True])
def test_a_day_at_once_is_its_hours_one_by_one(swing, humid, parts):
    """1e-9 g and h: both add the same numbers, in another order."""
    water, bark, leak, span, course, packing = made(5, swing=swing, humid=humid)
    if parts:
        rng = np.random.default_rng(6)
        first, last = rng.integers(0, 12, 3), rng.integers(12, 24, 3)
        hour = np.arange(HOURS)[:, None]
        span.lasts = ((hour >= first) & (hour < last)) * rng.choice([1.0, 0.4], (HOURS, 3), p=[0.9, 0.1])
    slow = one_by_one(water, bark, leak, span, course, packing)
    reads = Reads(np.arange(0, BAGS, 7), np.arange(0, BAGS, 7) % HOURS)
    fast = bag.Water(*(getattr(water, name).copy() for name in ("lost", "free", "held", "spell", "dry")))
    left = advance_hours(fast, bark, leak, span, course, np.arange(BAGS), packing, reads)
    for name in ("lost", "free", "held", "spell"):
        np.testing.assert_allclose(
            getattr(fast, name), getattr(slow, name), rtol=1e-9, atol=1e-9, err_msg=name
        )
    np.testing.assert_allclose(np.floor(np.minimum(fast.dry, 4)), np.floor(np.minimum(slow.dry, 4)))
    for n, hour in enumerate(reads.hour[:HOURS]):
        until = one_by_one(water, bark, leak, span, course, packing, hour)
        at = reads.bag[n]
        assert left[n] == pytest.approx((in_bag(water) - in_bag(until))[at], rel=1e-9, abs=1e-9)
