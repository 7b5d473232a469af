"""Hours made from daily extremes against real hours; day lengths against the almanac."""

import numpy as np
import pytest

from ortet.science.chill import chill_portions
from ortet.science.climate import day_length, fill_gaps, hours_from_daily, looks_fahrenheit

FROM_SEPTEMBER = np.r_[243:365, 0:90]


def test_day_length(published):
    for row in published("day_length"):
        got = float(day_length(row["day"], row["latitude"]))
        assert got == pytest.approx(row["hours"], abs=0.1), row


@pytest.mark.parametrize(("place", "latitude"), [("seattle_c", 47.45), ("greensboro_c", 36.1)])
def test_hours_from_daily_extremes(place, latitude, request):
    """True hours of a year, reduced to their daily low and high and made into hours again.

    Linvill 1990 reported mean errors of a degree or two by the hour. The method puts the low at sunrise, the peak 2 h
    after noon, so a front that passes at night is drawn wrong: up to 1.5 °C by the hour on average is the method, not
    the program. Such errors cancel in sums: 0.5 °C in the yearly mean and 5 % in the winter's chill portions. Clock
    time is here within half an hour of solar time and is not corrected.
    """
    true, _ = fill_gaps(request.getfixturevalue(place))
    days = true.reshape(365, 24)
    made = hours_from_daily(days.min(axis=1), days.max(axis=1), np.arange(1, 366), latitude)
    assert np.abs(made - true).mean() < 1.5
    assert abs((made - true).mean()) < 0.5
    winter, made_winter = days[FROM_SEPTEMBER].ravel(), made.reshape(365, 24)[FROM_SEPTEMBER].ravel()
    assert float(chill_portions(made_winter)) == pytest.approx(float(chill_portions(winter)), rel=0.05)


def test_filled_gaps_come_near_the_true_hours(greensboro_c):
    """Two days cut out of every two weeks of a real year; weather differs from week to week by some 5 °C, and the same
    hour on the days around must not do worse than that on average, nor shift the mean by more than 0.5 °C."""
    holed = greensboro_c.copy()
    for start in range(100, 8700, 336):
        holed[start : start + 48] = np.nan
    filled, was_gap = fill_gaps(holed)
    error = (filled - greensboro_c)[was_gap]
    assert was_gap.sum() == np.isnan(holed).sum()
    assert np.abs(error).mean() < 5.0
    assert abs(error.mean()) < 0.5


def test_the_seattle_record_in_its_own_unit_looks_fahrenheit(seattle_c, greensboro_c):
    assert looks_fahrenheit(seattle_c * 1.8 + 32)
    assert not looks_fahrenheit(seattle_c)
    assert not looks_fahrenheit(greensboro_c)
