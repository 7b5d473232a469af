"""Roots: thermal time at the base, a log-normal spread, a share that never does."""

import numpy as np
import pytest

from ortet.science.thermal_time import days_needed, share_done, thermal_progress

WOOD = {"t_min": 5.0, "t_opt": 25.0, "t_max": 35.0, "days_at_optimum": 20.0}


def test_twenty_days_at_the_best_temperature_root_half():
    progress = thermal_progress(np.full(20 * 24, 25.0), **WOOD)
    assert float(progress) == pytest.approx(1.0)
    assert float(share_done(progress, 0.3)) == pytest.approx(0.5, abs=1e-6)


def test_nothing_happens_in_the_cold_in_the_heat_and_in_a_gap():
    for base_c in (5.0, 0.0, 35.0, np.nan):
        assert float(thermal_progress(np.full(240, base_c), **WOOD)) == 0.0
    assert np.isinf(days_needed([5.0, 35.0], **WOOD, spread=0.3)).all()


def test_some_never_root_however_long_one_waits():
    assert float(share_done(50.0, 0.3, never=0.2)) == pytest.approx(0.8)
    np.testing.assert_allclose(share_done(1.0, 0.3, never=[0.0, 0.5, 1.0]), [0.5, 0.25, 0.0], atol=1e-6)
    with pytest.raises(ValueError, match="never does must lie in 0 to 1, not 1"):
        share_done(1.0, 0.3, never=1.2)


def test_days_and_progress_agree():
    """The day on which nine in ten have rooted, walked hour by hour."""
    days = float(days_needed(18.0, **WOOD, spread=0.35, share=0.9))
    progress = thermal_progress(np.full(200 * 24, 18.0), **WOOD, running=True)
    walked = np.searchsorted(share_done(progress, 0.35), 0.9) / 24
    assert days == pytest.approx(walked, abs=1 / 24)


def test_warmer_is_quicker_up_to_the_best_and_slower_beyond():
    days = days_needed(np.arange(8.0, 35.0), **WOOD, spread=0.3)
    best = int(np.argmin(days))
    assert np.arange(8.0, 35.0)[best] == 25.0
    assert np.all(np.diff(days[: best + 1]) < 0) and np.all(np.diff(days[best:]) > 0)


def test_many_boxes_at_once_are_the_same_as_one_by_one():
    seed = np.random.default_rng(3)
    base_c = seed.uniform(0.0, 40.0, (4, 50))
    days = seed.uniform(10.0, 30.0, 4)
    wood = WOOD | {"days_at_optimum": days}
    one_by_one = [
        float(thermal_progress(row, **(WOOD | {"days_at_optimum": d})))
        for row, d in zip(base_c, days, strict=True)
    ]
    np.testing.assert_allclose(thermal_progress(base_c, **wood), one_by_one)


def test_bad_input_is_refused():
    with pytest.raises(ValueError, match="share must lie between 0 and 1"):
        days_needed(20.0, **WOOD, spread=0.3, share=1.0)
    with pytest.raises(ValueError, match="must rise"):
        thermal_progress([20.0], **(WOOD | {"t_opt": 40.0}))
    with pytest.raises(ValueError, match="above 0"):
        thermal_progress([20.0], **(WOOD | {"days_at_optimum": 0.0}))
    with pytest.raises(ValueError, match="no air temperature in °C"):
        thermal_progress([20.0, 212.0], **WOOD)
