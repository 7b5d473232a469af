"""What every function of hours shares: shapes, gaps, running totals, refusals. And what chill makes of gaps."""

import numpy as np
import pytest

from ortet.science import chill, heat, reserve, thermal_time

BURN = {"rate_ref": 5.7, "t_ref": 5.0, "q10": 2.0, "water_content": 0.5}
CALLUS = {"t_min": 2.0, "t_opt": 20.0, "t_max": 35.0, "days_at_optimum": 10.0}

TOTALS = {
    "chilling_hours": chill.chilling_hours,
    "utah_units": chill.utah_units,
    "chill_portions": chill.chill_portions,
    "growing_degree_hours": heat.growing_degree_hours,
    "thermal_progress": lambda t, **how: thermal_time.thermal_progress(t, **CALLUS, **how),
    "hexose_used": lambda t, **how: reserve.hexose_used(t, **BURN, **how),
}


@pytest.fixture(params=TOTALS, ids=str)
def total(request):
    return TOTALS[request.param]


@pytest.fixture
def winter():
    """Three places, 1,500 hours about 5 °C with days and nights."""
    hour = np.arange(1500)
    swing = 6 * np.sin(2 * np.pi * hour / 24) + 4 * np.sin(2 * np.pi * hour / 170)
    return np.array([[2.0], [5.0], [9.0]]) + swing


def test_total_is_the_end_of_the_running_total(total, winter):
    running = total(winter, running=True)
    assert running.shape == winter.shape
    np.testing.assert_allclose(running[..., -1], total(winter))
    assert running.dtype == np.float64


def test_each_series_stands_alone(total, winter):
    together = total(winter.reshape(1, 3, 1500))
    assert together.shape == (1, 3)
    np.testing.assert_allclose(together[0], [float(total(row)) for row in winter])


def test_no_hours_make_nothing(total):
    assert total([]).shape == () and float(total([])) == 0.0
    assert total(np.empty((4, 0))).tolist() == [0.0] * 4
    assert total([], running=True).shape == (0,)


def test_a_single_temperature_is_one_hour(total):
    assert total(5.0).shape == ()
    assert float(total(5.0)) == float(total([5.0]))


def test_a_gap_adds_nothing_and_hides_nothing(total, winter):
    holed = winter.copy()
    holed[1, 400:500] = np.nan
    running = total(holed, running=True)
    assert np.isfinite(running).all()
    np.testing.assert_array_equal(running[1, 400:500], running[1, 399])
    np.testing.assert_allclose(running[0], total(winter[0], running=True))
    assert chill.missing_hours(holed).tolist() == [0, 100, 0]


def test_all_gap_is_nothing(total):
    assert float(total(np.full(48, np.nan))) == 0.0


def test_the_input_is_left_as_it_was(total, winter):
    before = winter.copy()
    total(winter)
    np.testing.assert_array_equal(winter, before)


@pytest.mark.parametrize("wrong", [1000.0, -200.0, np.inf])
def test_what_cannot_be_air_is_refused_with_its_hour(total, wrong):
    with pytest.raises(ValueError, match=r"Hour 2: .* is no air temperature"):
        total([5.0, 5.0, wrong])


def test_the_dynamic_model_holds_its_state_over_a_gap():
    """Taking the gap out must give the same portions as leaving it in: over it nothing grows and nothing melts."""
    cold = np.tile([4.0, 6.0, 9.0, 6.0], 200)
    for at in (0, 13, 27, 28, 29, 30, 31, 400):
        holed = np.insert(cold, [at] * 50, np.nan)
        assert float(chill.chill_portions(holed)) == pytest.approx(float(chill.chill_portions(cold)))


def test_portions_over_gaps_are_a_lower_bound():
    cold = np.full(1000, 6.0)
    holed = cold.copy()
    holed[300:400] = np.nan
    assert 0 < float(chill.chill_portions(holed)) < float(chill.chill_portions(cold))


def test_banked_portions_are_never_lost(winter):
    assert np.all(np.diff(chill.chill_portions(winter, running=True), axis=-1) >= 0)


def test_warm_hours_take_utah_units_away():
    assert float(chill.utah_units([6.0] * 10 + [20.0] * 4)) == 6.0


def test_degree_hours_need_rising_temperatures():
    with pytest.raises(ValueError, match="must rise"):
        heat.growing_degree_hours([10.0], t_base=10, t_opt=5)
