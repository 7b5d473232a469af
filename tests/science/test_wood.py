"""Response, callus, reserve, rot: behaviour."""

from statistics import NormalDist

import numpy as np
import pytest

from ortet.science import reserve, rot, thermal_time
from ortet.science.response import temperature_response


def test_response_is_one_at_the_best_and_nothing_outside():
    got = temperature_response([-10, 2, 20, 35, 60, np.nan], 2, 20, 35)
    np.testing.assert_allclose(got, [0, 0, 1, 0, 0, np.nan], atol=1e-12)


def test_response_broadcasts_over_species():
    got = temperature_response(
        np.linspace(0, 40, 9), np.array([[0.0], [8.0]]), [[18.0], [25.0]], [[35.0], [38.0]]
    )
    assert got.shape == (2, 9)
    assert got.min() >= 0 and got.max() <= 1


def test_response_refuses_temperatures_out_of_order():
    with pytest.raises(ValueError, match="must rise"):
        temperature_response(10.0, 20, 15, 35)


def test_half_the_cuttings_have_callused_after_the_median_days_at_the_best_temperature():
    progress = thermal_time.thermal_progress(
        np.full(240, 20.0), t_min=2, t_opt=20, t_max=35, days_at_optimum=10
    )
    assert float(progress) == pytest.approx(1.0)
    assert float(thermal_time.share_done(progress, 0.4)) == pytest.approx(0.5)


def test_share_is_the_log_normal_one():
    """Against the standard library's normal distribution; the approximation in use is right to 1e-7."""
    progress = np.geomspace(0.01, 30, 400)
    want = [NormalDist(0, 0.4).cdf(float(np.log(p))) for p in progress]
    np.testing.assert_allclose(thermal_time.share_done(progress, 0.4), want, atol=1e-7)


def test_share_at_the_ends():
    got = thermal_time.share_done([0.0, np.nan, 1e9], 0.4)
    assert got[0] == 0.0 and np.isnan(got[1]) and got[2] == 1.0
    with pytest.raises(ValueError, match="below 0"):
        thermal_time.share_done(-0.1, 0.4)
    with pytest.raises(ValueError, match="spread"):
        thermal_time.share_done(0.5, 0.0)


def test_callus_takes_one_row_of_numbers_per_lot():
    warm = np.full((2, 240), 20.0)
    got = thermal_time.thermal_progress(
        warm, t_min=[2, 2], t_opt=[20, 20], t_max=[35, 35], days_at_optimum=[10, 20]
    )
    np.testing.assert_allclose(got, [1.0, 0.5])
    with pytest.raises(ValueError, match="Days"):
        thermal_time.thermal_progress(warm, t_min=2, t_opt=20, t_max=35, days_at_optimum=0)


def test_respiration_doubles_in_ten_kelvin_at_q10_of_two():
    got = reserve.respiration([0.0, 5.0, 15.0, np.nan], rate_ref=5.7, t_ref=5.0, q10=2.0)
    np.testing.assert_allclose(got, [5.7 / 2**0.5, 5.7, 11.4, np.nan])


def test_sugar_takes_one_rate_per_lot():
    got = reserve.hexose_used(
        np.full((2, 24), 5.0), rate_ref=[5, 10], t_ref=5, q10=2, water_content=[0.5, 0.5]
    )
    assert got[1] == pytest.approx(2 * got[0])


def test_reserve_stops_at_nothing():
    got = reserve.reserve_left([0.0, 18.0, 36.0, 500.0, np.nan], reserve_share=0.12, usable_share=0.3)
    np.testing.assert_allclose(got, [1.0, 0.5, 0.0, 0.0, np.nan])


def test_wood_that_does_not_breathe_lasts_for_ever():
    assert np.isinf(reserve.reserve_days(0.0, water_content=0.5, reserve_share=0.1))


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: reserve.respiration(5.0, rate_ref=-1, t_ref=5, q10=2), "below 0"),
        (lambda: reserve.respiration(5.0, rate_ref=1, t_ref=5, q10=0), "Q10"),
        (
            lambda: reserve.hexose_used([5.0], rate_ref=1, t_ref=5, q10=2, water_content=50),
            "Water content 50 looks like a percentage",
        ),
        (lambda: reserve.reserve_left(1.0, reserve_share=12), "reserve_share 12 looks like a percentage"),
        (lambda: reserve.reserve_left(1.0, reserve_share=0.1, usable_share=0), "usable_share 0"),
    ],
)
def test_reserve_says_what_is_wrong(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_germination_is_not_guessed_outside_the_measured_range():
    got = rot.germination_hours([-0.1, 0.0, 6.0, 6.1, np.nan])
    assert np.isnan(got).tolist() == [True, False, False, True, True]


def test_wet_hours_add_up_until_four_dry_ones():
    wet = [1, 1, 0, 0, 0, 1, 0, 0, 0, 0, 1]
    got = rot.wet_index(wet, np.full(11, 6.0), running=True) * 15
    np.testing.assert_allclose(got, [1, 2, 2, 2, 2, 3, 3, 3, 3, 0, 1], atol=1e-9)
    assert float(rot.wet_index(wet, 6.0)) * 15 == pytest.approx(3)


def test_wet_index_of_several_bags_and_of_none():
    got = rot.wet_index(np.array([[1, 1], [0, 1]]), np.array([6.0, 0.0]))
    np.testing.assert_allclose(got, [1 / 15 + 1 / 52, 1 / 52])
    assert float(rot.wet_index([], [])) == 0.0


def test_wetness_outside_the_range_counts_at_the_ends():
    got = rot.wet_index([1, 1], [-3.0, 12.0], running=True)
    np.testing.assert_allclose(got, [1 / 52, 1 / 52 + 1 / 15])


def test_a_wet_hour_needs_its_temperature_and_a_dry_one_does_not():
    assert float(rot.wet_index([0, 1], [np.nan, 6.0])) == pytest.approx(1 / 15)
    with pytest.raises(ValueError, match="no temperature"):
        rot.wet_index([1, 1], [np.nan, 6.0])
    with pytest.raises(ValueError, match="Wetness"):
        rot.wet_index([2], [6.0])


@pytest.mark.parametrize("cold_or_hot", [4.0, 11.9, 30.1])
def test_the_warm_equation_refuses_the_fridge(cold_or_hot):
    with pytest.raises(ValueError, match="germination_hours"):
        rot.broome_infection(12.0, cold_or_hot)


def test_the_warm_equation_refuses_negative_wetness_and_keeps_gaps():
    with pytest.raises(ValueError, match="below 0"):
        rot.broome_infection(-1.0, 20.0)
    assert np.isnan(rot.broome_infection(np.nan, 20.0))
