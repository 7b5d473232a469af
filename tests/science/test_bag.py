"""Water and oxygen in a bag: nothing is made or lost, and a step may have any length."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ortet.science import bag
from ortet.science.air import saturation_vapour_pressure
from ortet.science.film import CLOSURES, PACKINGS, POLYMERS, closure_leak, film_permeance
from ortet.science.oxygen import FREE_AIR_OXYGEN, oxygen_after


def at_rest(*, lost=0.0, free=0.0, held=0.0):
    return bag.Water(*(np.array([[value]]) for value in (lost, free, held, 0.0, 0.0)))


def flowing(wood_c, film_c, humidity, *, source=2e-4, leak=1e-5, activity=bag.ACTIVITY):
    film = float(saturation_vapour_pressure(film_c))
    inside = activity * float(saturation_vapour_pressure(wood_c))
    return bag.flows(*(np.array([[value]]) for value in (source, leak, inside, film, humidity * film)))


def left_the_bag(before, after):
    """Water that went out of the bag: what the wood and packing gave less what lies free."""
    return float(((after.lost - before.lost) - (after.free - before.free) - (after.held - before.held))[0, 0])


def test_a_dry_bag_loses_by_the_steady_formula():
    start = at_rest()
    after = bag.advance(start, flowing(2, 2, 0.5), None, 240.0)
    full = float(saturation_vapour_pressure(2.0))
    steady, _ = bag.steady_loss(2e-4, 1e-5, 2.0, 2.0, 0.5 * full)
    assert float(after.lost[0, 0]) == pytest.approx(float(steady) * 240.0)
    assert after.spell[0, 0] == 0.0 and after.free[0, 0] == 0.0


def test_free_water_forms_when_wood_is_warmer_than_film():
    after = bag.advance(at_rest(), flowing(4, 2, 0.9), None, 5.0)
    assert after.free[0, 0] > 0 and after.spell[0, 0] == 5.0


def test_a_gram_of_free_water_takes_weeks_to_leave():
    """Common practice and the balance agree: water sealed in with the wood stays in."""
    flow = flowing(2, 2, 0.8, leak=0.24 / 24 * float(film_permeance("LDPE", 50.0, 1, 2.0)))
    assert bag.advance(at_rest(free=1.0), flow, None, 14 * 24.0).free[0, 0] > 0.3


@given(
    wood=st.floats(0, 8), film=st.floats(0, 8), humidity=st.floats(0.2, 1), free=st.floats(0, 3), held=st.floats(0, 3),
    lost=st.floats(0, 5), hours=st.floats(0.01, 2000), cut=st.floats(0.01, 0.99),
)  # fmt: skip
@settings(deadline=None, max_examples=150)
def test_two_short_steps_are_one_long_one(wood, film, humidity, free, held, lost, hours, cut):
    """Where wood does not refill: flows are constant, so any cut of the step gives the same water everywhere."""
    flow = flowing(wood, film, humidity)
    packing = flowing(wood, film, humidity, source=5e-3, activity=1.0)
    start = at_rest(free=free, held=held, lost=lost + 1000.0)
    once = bag.advance(start, flow, packing, hours)
    twice = bag.advance(bag.advance(start, flow, packing, hours * cut), flow, packing, hours * (1 - cut))
    for name in ("lost", "free", "held"):
        np.testing.assert_allclose(getattr(twice, name), getattr(once, name), rtol=1e-6, atol=1e-6)


@given(
    film=st.floats(0, 8),
    humidity=st.floats(0.2, 1),
    free=st.floats(0, 3),
    held=st.floats(0, 3),
    lost=st.floats(0, 1),
)
@settings(deadline=None, max_examples=150)
def test_no_store_of_water_goes_below_nothing(film, humidity, free, held, lost):
    start = at_rest(free=free, held=held, lost=lost)
    packing = flowing(3, film, humidity, source=5e-3, activity=1.0)
    after = bag.advance(start, flowing(3, film, humidity), packing, 500.0)
    assert min(after.lost[0, 0], after.free[0, 0], after.held[0, 0]) >= 0.0


@given(wood=st.floats(0, 8), film=st.floats(0, 8), humidity=st.floats(0.2, 0.95), free=st.floats(0, 3))
@settings(deadline=None, max_examples=150)
def test_no_water_comes_in_through_the_film_of_a_bag_in_drier_air(wood, film, humidity, free):
    """The outside is drier than the film can hold and than the wood: the bag's weight can only fall."""
    if 0.99 * float(saturation_vapour_pressure(wood)) <= humidity * float(saturation_vapour_pressure(film)):
        return
    start = at_rest(free=free, lost=50.0)
    after = bag.advance(start, flowing(wood, film, humidity), None, 100.0)
    assert left_the_bag(start, after) >= -1e-9


def test_packing_pays_before_the_wood_does():
    packing = flowing(2, 2, 0.5, source=5e-3, activity=1.0)
    moist = bag.advance(at_rest(held=5.0), flowing(2, 2, 0.5), packing, 240.0)
    assert moist.lost[0, 0] == 0.0 and 0.0 < moist.held[0, 0] < 5.0
    dried = bag.advance(at_rest(held=0.2), flowing(2, 2, 0.5), packing, 2400.0)
    assert dried.lost[0, 0] > 0.0 and dried.held[0, 0] == 0.0


def test_four_dry_hours_end_a_spell_and_three_do_not():
    wet = bag.advance(at_rest(), flowing(4, 2, 0.9), None, 6.0)
    wet.free[:] = 0.0
    dry = flowing(2, 2, 0.5)
    assert bag.advance(wet, dry, None, 3.0).spell[0, 0] == 6.0
    assert bag.advance(wet, dry, None, 4.0).spell[0, 0] == 0.0


def test_wood_lags_the_air_by_its_time_constant():
    air = np.concatenate([np.zeros(1), np.full(50, 10.0)])
    wood = bag.wood_temperature(air, lag_h=3.0)
    assert wood[3] == pytest.approx(10.0 * (1 - np.exp(-1.0)))
    assert wood[-1] == pytest.approx(10.0, abs=1e-5)


def test_oxygen_runs_towards_its_steady_share_and_starts_afresh_when_opened():
    hours = np.array([0.0, 24.0, 240.0, 1e6])
    share = oxygen_after(FREE_AIR_OXYGEN, 1.5, 20.0, 2500.0, hours)
    assert share[0] == FREE_AIR_OXYGEN and np.all(np.diff(share) <= 0)
    assert share[-1] == pytest.approx(0.2095 - 1.5 / 20.0)


def test_the_model_says_where_it_does_not_hold():
    np.testing.assert_array_equal(
        bag.applies([-2.1, -2.0, 30.0, 30.1, np.nan]), [False, True, True, False, False]
    )


def test_an_unknown_film_or_closure_lists_those_there_are():
    with pytest.raises(KeyError, match="LDPE, HDPE"):
        film_permeance("rubber", 50.0, 1, 2.0)
    with pytest.raises(KeyError, match="zip"):
        closure_leak("string")
    with pytest.raises(ValueError, match="above 0"):
        film_permeance("LDPE", 0.0, 1, 2.0)


def test_every_film_closure_and_packing_says_what_it_rests_on():
    for film in POLYMERS.values():
        assert film.mark in ("published", "memory", "common practice") and film.source
    for thing in (*CLOSURES.values(), *PACKINGS.values()):
        assert thing.why
