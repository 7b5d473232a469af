"""Hours counted, gathered and refused: against pandas, the almanac's sun and the weather's own records."""

import numpy as np
import pandas as pd
import pytest

from ortet.science import climate
from ortet.science.chill import chilling_hours, missing_hours
from ortet.science.heat import growing_degree_hours


def test_missing_hours_are_those_that_pandas_finds(seattle_c):
    """The record of Seattle 2010 lacks one hour, that of 14 March that summer time leaves out. Exact."""
    assert int(missing_hours(seattle_c)) == int(pd.isna(seattle_c).sum()) == 1
    assert int(np.flatnonzero(np.isnan(seattle_c))[0]) // 24 == 31 + 28 + 13


def test_running_totals_are_pandas_own(seattle_c):
    """Series.cumsum over hours that counted; to rounding."""
    counts = (seattle_c >= 0) & (seattle_c <= 7.2)
    np.testing.assert_array_equal(climate.add_up(counts, True), pd.Series(counts).cumsum())
    assert float(climate.add_up(counts, False)) == counts.sum() == float(chilling_hours(seattle_c))
    warm = pd.Series([float(growing_degree_hours(t)) for t in seattle_c[:500]]).fillna(0.0)
    np.testing.assert_allclose(growing_degree_hours(seattle_c[:500], running=True), warm.cumsum(), rtol=1e-12)


def test_hourly_means_are_pandas_resampling():
    """10,000 readings at odd seconds in any order; resample("h").mean() keeps the empty hours as NaN. To rounding."""
    rng = np.random.default_rng(11)
    at_s = rng.integers(1_700_000_000, 1_700_000_000 + 3600 * 5000, 10_000)
    values = rng.normal(3.0, 2.0, at_s.size)
    theirs = pd.Series(values, index=pd.to_datetime(at_s, unit="s")).resample("h").mean()
    first = int(theirs.index[0].value // 3_600_000_000_000)
    ours = climate.hourly_means(at_s, values, first, len(theirs))
    np.testing.assert_allclose(ours, theirs.to_numpy(), rtol=1e-12)
    assert np.isnan(ours).any()


def test_what_was_ever_measured_is_let_through(published):
    coldest, hottest = (row["air_c"] for row in published("world_extremes"))
    assert climate.hourly([coldest, hottest]).tolist() == [coldest, hottest]
    with pytest.raises(ValueError, match="no air temperature"):
        climate.hourly([coldest - 1.0])
    with pytest.raises(ValueError, match="no air temperature"):
        climate.hourly([212.0])  # water boils at 212 °F


@pytest.mark.parametrize("latitude", [-35.0, 0.0, 38.54, 52.0, 60.0])
def test_day_length_is_pvlibs(latitude):
    """pvlib's sunrise and sunset (its Spencer 1971 declination, sun's centre on the horizon) and its geometric day by NREL's algorithm.

    Ours takes the upper edge with refraction, 0.8333° below: longer by 2 * 0.8333 / 15 h at the equator, more towards the poles. The
    algorithm of NREL sets the same edge. Tolerance 0.09 h: Spencer gives the declination of one moment to 0.05°, and at 60° it moves by 0.4° a day.
    """
    import pvlib

    days = pd.date_range("2023-01-05", "2023-12-28", freq="9D", tz="UTC")
    sun = pvlib.solarposition.sun_rise_set_transit_spa(days, latitude, 0.0)
    theirs = (sun["sunset"] - sun["sunrise"]).dt.total_seconds().to_numpy() / 3600.0 % 24.0
    np.testing.assert_allclose(climate.day_length(days.day_of_year.to_numpy(), latitude), theirs, atol=0.09)
