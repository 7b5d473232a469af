"""How the air functions behave at their edges."""

import numpy as np
import pytest

from ortet.science import air


def test_a_percentage_is_refused_with_the_remedy():
    with pytest.raises(ValueError, match=r"55 looks like a percentage\. Give a share from 0 to 1: 0\.55"):
        air.dew_point(20.0, 55)
    with pytest.raises(ValueError, match="outside 0 to 1"):
        air.vapour_pressure_deficit(20.0, -0.1)


def test_an_impossible_temperature_is_refused():
    with pytest.raises(ValueError, match="300 °C is outside"):
        air.saturation_vapour_pressure([20.0, 300.0])


def test_a_tension_needs_its_minus_sign():
    with pytest.raises(ValueError, match="minus sign"):
        air.humidity_over_water(1.45, 2.0)


def test_gaps_stay_gaps():
    t, h = np.array([np.nan, 5.0, 5.0]), np.array([0.5, np.nan, 0.5])
    for function in (air.dew_point, air.vapour_pressure_deficit):
        got = function(t, h)
        assert np.isnan(got).tolist() == [True, True, False]
    assert np.isnan(air.saturation_vapour_pressure(np.nan))
    assert np.isnan(air.humidity_over_water(np.nan, 2.0))


def test_shapes_broadcast_and_empty_stays_empty():
    assert air.saturation_vapour_pressure(2.0).shape == ()
    assert air.saturation_vapour_pressure([]).shape == (0,)
    assert air.dew_point(np.zeros((3, 1)), np.full(4, 0.5)).shape == (3, 4)
    assert air.dew_point([], []).shape == (0,)


def test_saturated_air_dews_at_its_own_temperature():
    t = np.linspace(-40, 50, 181)
    np.testing.assert_allclose(air.dew_point(t, 1.0), t, atol=1e-9)


def test_below_freezing_the_dew_point_is_the_frost_point():
    """At 2 °C and 60 % water would dew at -4.96 °C, ice frosts at -4.38 °C: storage tables confuse the two."""
    assert float(air.dew_point(2.0, 0.6)) == pytest.approx(-4.38, abs=0.005)


def test_bone_dry_air_dews_at_the_end_of_the_curve():
    assert float(air.dew_point(20.0, 0.0)) == pytest.approx(-100.0)


def test_the_curve_has_no_step_where_ice_meets_water():
    near = air.saturation_vapour_pressure([0.009999, 0.010001])
    assert near[1] - near[0] == pytest.approx(0, abs=0.01)
    assert np.all(np.diff(air.saturation_vapour_pressure(np.linspace(-1, 1, 2001))) > 0)
