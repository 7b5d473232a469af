"""Records by the hour: means, gaps, hours from daily extremes."""

import numpy as np
import pytest

from ortet.science import climate


def test_means_by_the_hour():
    at = [7200, 7260, 10799, 10800, 18000, 3599]
    got = climate.hourly_means(at, [1.0, 2.0, 6.0, 4.0, 5.0, 99.0], first_hour=2, hours=4)
    np.testing.assert_allclose(got, [3.0, 4.0, np.nan, 5.0])


def test_means_before_1970_and_in_any_order():
    got = climate.hourly_means([10, -10, -3600], [1.0, 2.0, 4.0], first_hour=-1, hours=2)
    np.testing.assert_allclose(got, [3.0, 1.0])


def test_means_pass_over_nan_and_make_nothing_of_nothing():
    np.testing.assert_allclose(climate.hourly_means([0, 60], [np.nan, 3.0], 0, 1), [3.0])
    assert np.isnan(climate.hourly_means([], [], 0, 3)).all()
    assert climate.hourly_means([], [], 0, 0).shape == (0,)


def test_means_refuse_times_without_values():
    with pytest.raises(ValueError, match="2 times but 1 values"):
        climate.hourly_means([0, 1], [1.0], 0, 1)


def test_a_short_gap_is_a_straight_line():
    filled, was_gap = climate.fill_gaps([1.0, np.nan, np.nan, np.nan, 5.0])
    np.testing.assert_allclose(filled, [1, 2, 3, 4, 5])
    assert was_gap.tolist() == [False, True, True, True, False]


def test_a_long_gap_takes_the_same_hour_of_the_days_around():
    days = np.array([np.arange(24.0), np.arange(24.0) + 10, np.arange(24.0) + 4])
    record = days.ravel().copy()
    record[24:48] = np.nan
    filled, was_gap = climate.fill_gaps(record)
    np.testing.assert_allclose(filled[24:48], np.arange(24.0) + 2)
    assert was_gap.sum() == 24
    np.testing.assert_array_equal(filled[~was_gap], record[~was_gap])


def test_at_the_ends_the_nearest_day_serves():
    record = np.tile(np.arange(24.0), 3)
    record[:10] = np.nan
    record[-2:] = np.nan
    filled, _ = climate.fill_gaps(record)
    np.testing.assert_allclose(filled, np.tile(np.arange(24.0), 3))


def test_a_record_of_part_of_a_day_is_held():
    filled, was_gap = climate.fill_gaps([np.nan] * 6 + [3.0])
    np.testing.assert_allclose(filled, [3.0] * 7)
    assert was_gap.sum() == 6


def test_a_gap_longer_than_allowed_stays_and_is_marked():
    record = np.array([1.0] + [np.nan] * 30 + [1.0, np.nan, 1.0])
    filled, was_gap = climate.fill_gaps(record, longest=24)
    assert np.isnan(filled[1:31]).all() and filled[32] == 1.0
    assert was_gap.sum() == 31


def test_a_whole_record_and_an_empty_one_come_back_as_they_are():
    record = np.array([1.0, 2.0])
    filled, was_gap = climate.fill_gaps(record)
    assert filled.tolist() == [1.0, 2.0] and not was_gap.any()
    filled[0] = 9
    assert record[0] == 1.0
    assert climate.fill_gaps([])[0].shape == (0,)


def test_nothing_recorded_cannot_be_filled():
    with pytest.raises(ValueError, match="None of the 5 hours"):
        climate.fill_gaps([np.nan] * 5)
    with pytest.raises(ValueError, match="one record at a time"):
        climate.fill_gaps(np.zeros((2, 3)))


def test_hours_stay_within_the_days_extremes():
    low, high = np.array([0.0, 5.0, -3.0, -3.0]), np.array([10.0, 5.0, 4.0, 12.0])
    hours = climate.hours_from_daily(low, high, [20, 21, 22, 23], 50.0).reshape(4, 24)
    assert hours.shape == (4, 24)
    # nights join days, so the small hours may lie above a cold day's high and an evening below its day's low
    assert np.all(hours.max(axis=1) <= np.maximum(high, np.r_[high[0], high[:-1]]))
    assert np.all(hours.min(axis=1) >= np.minimum(low, np.r_[low[1:], low[-1]]) - 1e-9)
    assert np.all(hours[:, 8:15].max(axis=1) <= high + 1e-9)
    assert hours[0].argmax() in (13, 14) and hours[3].min() < -2.5


def test_hours_know_the_polar_night_and_day():
    for day in (1, 172):
        assert np.isfinite(climate.hours_from_daily([-5.0], [5.0], [day], 75.0)).all()
    assert float(climate.day_length(1, 75.0)) == 0.0
    assert float(climate.day_length(172, 75.0)) == 24.0


def test_hours_from_no_days_one_day_and_a_missing_day():
    assert climate.hours_from_daily([], [], [], 50.0).shape == (0,)
    assert climate.hours_from_daily([1.0], [1.0], [10], 50.0).tolist() == [1.0] * 24
    hours = climate.hours_from_daily([1, np.nan, 1], [5, 5, 5], [1, 2, 3], 50.0).reshape(3, 24)
    assert np.isnan(hours[1, 12]) and np.isfinite(hours[0, 12]) and np.isfinite(hours[2, 12])


@pytest.mark.parametrize(
    ("low", "high", "day", "latitude", "message"),
    [
        ([9.0], [1.0], [1], 50.0, "Day 1: the low 9 °C is above the high 1 °C"),
        ([1.0, 2.0], [5.0], [1], 50.0, "2 lows, 1 highs and 1 days"),
        ([1.0], [5.0], [1], 95.0, "Latitude 95"),
    ],
)
def test_hours_say_what_is_wrong(low, high, day, latitude, message):
    with pytest.raises(ValueError, match=message):
        climate.hours_from_daily(low, high, day, latitude)


def test_a_fridge_in_fahrenheit_is_noticed():
    assert climate.looks_fahrenheit([35.0, 36.5, 38.0])
    assert not climate.looks_fahrenheit([1.5, 2.0, 9.0, np.nan])
    assert not climate.looks_fahrenheit([])
