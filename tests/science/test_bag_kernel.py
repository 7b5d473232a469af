"""The compiled kernel is bag.advance hour by hour, with what is done to a bag in between."""

from math import floor

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ortet.science import bag
from ortet.science.air import saturation_vapour_pressure
from ortet.science.bag_kernel import carry, mean_flows

COURSES, BAGS, CASES = 3, 12, 2
NAMES = ("lost", "free", "held", "spell", "dry")


def made(seed, hours=60, now=58.6):
    """Return all that the kernel takes: bags dry, wet and with packing about to run out, in air that may be the wetter."""
    rng = np.random.default_rng(seed)
    swing, humid = rng.choice([0.0, 0.5, 4.0]), rng.choice([0.5, 0.9, 1.0])
    air_c = (
        3 + swing * np.sin(np.arange(hours) / 24 * 2 * np.pi)[:, None] + rng.normal(0, 0.3, (hours, COURSES))
    )
    over_water = saturation_vapour_pressure(bag.wood_temperature(air_c))
    film = saturation_vapour_pressure(air_c)
    outside = np.clip(rng.normal(humid, 0.05, film.shape), 0, 1) * film
    air = np.stack([bag.ACTIVITY * over_water - film, film - outside, over_water - film]).T.copy()
    bags = np.zeros(BAGS, dtype=bag.BAG)
    bags["course"], bags["start"] = rng.integers(0, COURSES, BAGS), rng.uniform(0, 40, BAGS)
    bags["bark"], bags["wood_g"], bags["bark_share"] = 10 ** rng.uniform(-5, -3, BAGS), 500.0, 1.0
    bags["soaked"] = rng.random(BAGS) < 0.5
    bags["packing"] = np.where(bags["soaked"], 25, 1) * bags["bark"]
    shape = (CASES, BAGS)
    conductance = np.stack(
        [
            bags["bark"] * rng.lognormal(0, 0.3, shape),
            10 ** rng.uniform(-6, -4, shape),
            10 ** rng.uniform(-7, -5, shape),
        ]
    )
    water = np.stack(
        [
            rng.choice([0.0, 0.01, 5.0], shape),
            rng.choice([0.0, 0.0, 0.01, 2.0], shape),
            rng.choice([0.0, 0.0, 0.3, 20.0], shape),
            rng.choice([0.0, 7.0], shape),
            rng.choice([0.0, 2.0, 3.5], shape),
        ]
    )
    opens = rng.uniform(0.1, 1.0, (COURSES, -(-hours // 24)))
    return bags, deeds_for(rng, bags, hours), conductance, rng.random(shape) < 0.9, air, opens, now, water


def deeds_for(rng, bags, hours):
    """Return a few deeds of each kind, some in the hour a bag was closed, some in the hour that has only begun."""
    out, number = [], 0
    for n, one in enumerate(bags):
        for _ in range(rng.integers(0, 5)):
            kind = int(rng.integers(0, 4))
            hour = int(rng.integers(floor(one["start"]), hours + 1))
            grams = rng.choice([200.0, 900.0]) if kind == bag.CHANGED else rng.choice([0.0, 3.0])
            out.append((n, hour, kind, number, grams, rng.choice([0.5, 1.4])))
            number += kind == bag.WEIGHED
    deeds = np.array(out, dtype=bag.DEED)
    return deeds[np.lexsort((deeds["kind"], deeds["hour"], deeds["bag"]))]


def by_the_kernel(bags, deeds, conductance, live, air, opens, now, water):
    after, water = bags.copy(), water.copy()
    left = np.zeros((CASES, int((deeds["kind"] == bag.WEIGHED).sum())))
    days = np.zeros((2, opens.shape[1], CASES, BAGS), dtype=np.float32)
    wood = np.zeros((opens.shape[1], BAGS))
    begins = np.searchsorted(deeds["bag"], np.arange(BAGS + 1))
    carry(
        0,
        BAGS,
        bags,
        after,
        deeds,
        begins,
        conductance,
        live,
        air,
        opens,
        now,
        bag.DRY_HOURS,
        water,
        left,
        days,
        wood,
    )
    return water, left, days, after


def by_advance(n, case, bags, deeds, conductance, air, opens, now, water):
    """Return one bag's water at the end, and what had left it at each weighing, in plain steps of `bag.advance`."""
    one = {name: bags[n][name] for name in bag.BAG.names}
    state = bag.Water(*(water[k, case, n].copy().reshape(1) for k in range(5)))
    begun = float((state.free + state.held - state.lost)[0])
    left, mine = {}, deeds[deeds["bag"] == n]
    for hour in range(floor(one["start"]), air.shape[1] + 1):
        for deed in mine[mine["hour"] == hour]:
            if deed["kind"] == bag.WEIGHED:
                left[int(deed["number"])] = begun - float((state.free + state.held - state.lost)[0])
            do(deed, one, state)
        if hour == air.shape[1]:
            break
        lift, pull, rise = (np.array([x]) for x in air[one["course"], hour])
        bark = np.array([conductance[0, case, n] * one["bark_share"]])
        leak = conductance[1, case, n] * opens[one["course"], hour // 24] + conductance[2, case, n]
        zero = np.zeros(1)
        wood = bag.flows(bark, leak, lift, zero, -pull)  # pressures less that at the film
        packing = bag.flows(np.array([one["packing"]]), leak, rise if one["soaked"] else lift, zero, -pull)
        step = max(min(hour + 1, now) - max(hour, one["start"]), 0.0)
        state = bag.advance(state, wood, packing, np.array([step]))
    return [float(getattr(state, name)[0]) for name in NAMES], left


def do(deed, one, state):
    if deed["kind"] == bag.CHANGED:
        state.lost *= min(deed["grams"] / one["wood_g"], 1.0)
        one["wood_g"], one["bark_share"] = deed["grams"], deed["bark_share"]
    elif deed["kind"] == bag.WIPED:
        state.free[:] = state.spell[:] = state.held[:] = 0.0
    elif deed["kind"] == bag.LOOKED and deed["grams"] == 0.0:
        state.lost[:] = np.maximum(state.lost - state.free, 0.0)
        state.free[:] = state.spell[:] = 0.0
        one["packing"], one["soaked"] = one["bark"] * one["bark_share"], False
    elif deed["kind"] == bag.LOOKED:
        more = np.maximum(deed["grams"] - state.free, 0.0)
        state.lost += more
        state.free += more
        state.spell[:], state.dry[:] = np.maximum(state.spell, 1.0), 0.0


@given(seed=st.integers(0, 10_000))
@settings(max_examples=40)
def test_the_kernel_is_advance_hour_by_hour(seed):
    """1e-9 g and h: both add the same numbers, in another order."""
    bags, deeds, conductance, live, air, opens, now, water = made(seed)
    got, left, _, _ = by_the_kernel(bags, deeds, conductance, live, air, opens, now, water)
    for n in range(BAGS):
        for case in range(CASES):
            if not live[case, n]:
                np.testing.assert_array_equal(got[:, case, n], water[:, case, n])
                continue
            want, weighed = by_advance(n, case, bags, deeds, conductance, air, opens, now, water)
            np.testing.assert_allclose(got[:, case, n], want, rtol=1e-9, atol=1e-9)
            assert {k: left[case, k] for k in weighed} == pytest.approx(weighed, rel=1e-9, abs=1e-9)


def test_each_day_is_kept_as_it_ended():
    bags, deeds, conductance, live, air, opens, _, water = made(3, hours=72, now=72.0)
    _, _, days, _ = by_the_kernel(bags, deeds, conductance, live, air, opens, 72.0, water)
    first_two = deeds[deeds["hour"] < 48]
    got, *_ = by_the_kernel(
        bags, first_two, conductance, live, air[:, :48].copy(), opens[:, :2].copy(), 48.0, water
    )
    begun = live & (bags["start"] < 48)
    np.testing.assert_allclose(days[0, 1][begun], got[0][begun], rtol=1e-6)
    np.testing.assert_allclose(days[1, 1][begun], got[3][begun], rtol=1e-6)


def test_mean_flows_are_the_mean_of_each_hours_flows():
    bags, _, conductance, _, air, _, _, _ = made(7)
    opens = np.random.default_rng(1).uniform(0.1, 1.0, air.shape[:2])
    flows = np.empty((3, CASES, BAGS))
    course, soaked = bags["course"].copy(), bags["soaked"].copy()
    mean_flows(0, BAGS, course, conductance[1:].copy(), conductance[0].copy(), soaked, air, opens, flows)
    lift, pull, rise = air[course].transpose(2, 1, 0)[:, :, None, :]
    leak = opens[course].T[:, None, :] * conductance[1] + conductance[2]
    want = bag.flows(conductance[0], leak, np.where(soaked, rise, lift), np.zeros(()), -pull).mean()
    for got, name in zip(flows, ("dry", "wet", "onto"), strict=True):
        np.testing.assert_allclose(got, getattr(want, name), rtol=1e-9, atol=1e-15)
