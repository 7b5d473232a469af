"""Leaves: heat had over heat needed, the need falling with chill."""

import numpy as np
import pytest

from ortet.science.chill import chill_portions
from ortet.science.heat import growing_degree_hours
from ortet.science.leaves import heat_needed, leaf_progress, winter_so_far
from ortet.science.thermal_time import share_done

NEED = {"heat": 5000.0, "heat_unchilled": 20000.0, "overlap": 20.0}


def test_the_need_falls_from_the_unchilled_towards_the_least():
    need = heat_needed([0.0, 20.0, 1000.0], **NEED)
    np.testing.assert_allclose(need, [20000.0, 5000.0 + 15000.0 / np.e, 5000.0])
    assert np.isnan(heat_needed(np.nan, **NEED))


def test_warm_air_adds_heat_and_no_chill():
    """At 25 °C an hour counts 21: half are in leaf when 21 hours' worth make up the need of unchilled buds."""
    hours = 20000 / 21
    progress = leaf_progress(np.full(round(hours), 25.0), **NEED)
    assert float(progress) == pytest.approx(1.0, rel=1e-3)
    assert float(share_done(progress, 0.2)) == pytest.approx(0.5, abs=0.003)


def test_cold_air_brings_leaves_nearer_without_opening_any():
    """In the bag at 4 °C no heat counts, but the heat had before is worth more and more."""
    progress = leaf_progress(np.full(60 * 24, 4.0), **NEED, heat_before=1000.0, running=True)
    assert np.all(np.diff(progress) >= 0)
    assert progress[0] == pytest.approx(1000 / 20000, rel=0.01) and progress[-1] > 2 * progress[0]


def test_what_the_wood_brings_along_counts():
    air_c = np.full(240, 20.0)
    bare, chilled, warmed = (
        float(leaf_progress(air_c, **NEED, chill_before=c, heat_before=h))
        for c, h in ((0, 0), (40, 0), (40, 900))
    )
    assert bare < chilled < warmed
    np.testing.assert_allclose(
        leaf_progress(air_c, **NEED, chill_before=[0.0, 40.0, 40.0], heat_before=[0.0, 0.0, 900.0]),
        [bare, chilled, warmed],
    )


def test_heat_on_the_mother_plant_counts_from_the_hour_her_buds_are_free():
    air_c = np.concatenate((np.full(240, 20.0), np.full(1440, 6.0), np.full(240, 20.0)))
    chill, heat = winter_so_far(air_c, chill_needed=30.0)
    np.testing.assert_allclose(chill, chill_portions(air_c, running=True))
    free = int(np.argmax(chill >= 30.0))
    assert free > 240 and not heat[:free].any()
    assert heat[-1] == pytest.approx(float(growing_degree_hours(air_c[free:])))


def test_gaps_add_nothing():
    with_gap = np.where(np.arange(240) < 100, np.nan, 20.0)
    assert float(leaf_progress(with_gap, **NEED)) == pytest.approx(
        float(leaf_progress(np.full(140, 20.0), **NEED))
    )


@pytest.mark.parametrize("wrong", [{"heat": 0.0}, {"heat_unchilled": 4000.0}, {"overlap": 0.0}])
def test_numbers_that_make_no_sense_are_refused(wrong):
    with pytest.raises(ValueError, match="must be above 0"):
        heat_needed(10.0, **(NEED | wrong))


def test_less_than_no_chill_and_no_heat_are_refused():
    with pytest.raises(ValueError, match="Chill -1 portions is below 0"):
        heat_needed(-1.0, **NEED)
    with pytest.raises(ValueError, match="Heat -5 °C h is below 0"):
        leaf_progress([20.0], **NEED, heat_before=-5.0)
