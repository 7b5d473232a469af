"""The race: its odds against the closed form and a simulation, its shapes, its edges."""

from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

from ortet.science.race import Pace, race, race_on_record
from ortet.science.species import species

GRAPE = Pace.of(species("grape"))
NOW = replace(GRAPE, carry_days=0.0)


def test_without_a_reserve_the_odds_are_those_of_two_log_normals():
    """P(leaves before roots) = Phi((ln roots - ln leaves) / sqrt(s1^2 + s2^2)); the half-day steps cost under 0.002."""
    chill, heat = np.array([5.0, 40.0, 80.0]), np.array([0.0, 0.0, 3000.0])
    run = race(24.0, 22.0, chill=chill, heat=0.0, pace=NOW)
    s = np.hypot(GRAPE.roots_spread, GRAPE.leaf_spread)
    z = (np.log(run.root_days()) - np.log(run.leaf_days())) / s
    np.testing.assert_allclose(run.too_early, [NormalDist().cdf(x) for x in z], atol=0.002)
    assert race(24.0, 22.0, chill=chill, heat=heat, pace=NOW).too_early[2] > run.too_early[2]


def test_with_a_reserve_the_odds_are_those_of_a_hundred_thousand_cuttings():
    """Drawn one by one; 0.005 is three times the sampling error, and the steps."""
    draw = np.random.default_rng(11)
    run = race(20.0, 24.0, chill=60.0, heat=0.0, pace=GRAPE)
    roots = run.root_days() * np.exp(GRAPE.roots_spread * draw.standard_normal(100_000))
    leaves = run.leaf_days() * np.exp(GRAPE.leaf_spread * draw.standard_normal(100_000))
    early = np.mean(leaves + GRAPE.carry_days < roots)
    assert 0.05 < early < 0.95
    assert float(run.too_early) == pytest.approx(early, abs=0.005)


def test_a_warm_base_helps_and_warm_air_hurts():
    base_c, air_c = np.arange(12.0, 28.0)[:, None], np.arange(6.0, 28.0)[None, :]
    risk = race(base_c, air_c, chill=60.0, heat=0.0, pace=GRAPE).too_early
    assert risk.shape == (16, 22)
    assert np.all(np.diff(risk, axis=0) <= 1e-9) and np.all(np.diff(risk, axis=1) >= -1e-9)
    assert risk[0, -1] > 0.9 and risk[-1, 0] < 0.01


def test_base_air_and_striking_day_at_once_are_the_same_as_one_by_one():
    base_c, air_c = np.array([16.0, 25.0]), np.array([4.0, 12.0, 22.0])
    chill, heat = np.array([5.0, 30.0, 60.0, 85.0]), np.array([0.0, 0.0, 1500.0, 6000.0])
    run = race(base_c[:, None, None], air_c[None, :, None], chill=chill, heat=heat, pace=GRAPE)
    assert run.too_early.shape == (2, 3, 4)
    for (b, a, d), risk in np.ndenumerate(run.too_early):
        alone = race(base_c[b], air_c[a], chill=chill[d], heat=heat[d], pace=GRAPE)
        assert float(alone.too_early) == pytest.approx(risk)
        assert float(alone.leaf_days()) == pytest.approx(float(run.leaf_days()[0, a, d]))
        assert float(alone.root_days()) == pytest.approx(float(run.root_days()[b, 0, 0]))


def test_a_steady_record_runs_as_the_steady_race():
    hours = 150 * 24
    steady = race(22.0, 12.0, chill=40.0, heat=500.0, pace=GRAPE, days=150)
    record = race_on_record(np.full(hours, 22.0), np.full(hours, 12.0), chill=40.0, heat=500.0, pace=GRAPE)
    assert float(record.root_days()) == pytest.approx(float(steady.root_days()), abs=0.05)
    assert float(record.leaf_days()) == pytest.approx(float(steady.leaf_days()), abs=0.05)
    assert float(record.too_early) == pytest.approx(float(steady.too_early), abs=0.002)


def test_a_record_for_several_days_of_cutting():
    hours = 60 * 24
    run = race_on_record(
        np.full(hours, 22.0), np.full(hours, 15.0), chill=[20.0, 60.0], heat=[0.0, 2000.0], pace=GRAPE
    )
    assert run.too_early.shape == (2,) and run.leafed.shape == (2, hours + 1)
    assert run.leaf_days()[1] < run.leaf_days()[0]


def test_buds_already_open_are_out_on_the_day_of_striking():
    run = race(10.5, 20.0, chill=90.0, heat=60_000.0, pace=GRAPE)
    assert float(run.leaf_days()) == 0.0
    assert float(run.too_early) == pytest.approx(1.0, abs=1e-3)


def test_what_never_comes_is_infinitely_late():
    frozen = race(0.0, 20.0, chill=60.0, heat=0.0, pace=GRAPE)
    assert np.isinf(frozen.root_days()) and float(frozen.too_early) > 0.99
    dormant = race(25.0, 0.0, chill=60.0, heat=0.0, pace=GRAPE)
    assert np.isinf(dormant.leaf_days()) and float(dormant.too_early) == 0.0


def test_a_share_later_comes_later():
    run = race(24.0, 20.0, chill=60.0, heat=0.0, pace=GRAPE)
    assert run.root_days(0.1) < run.root_days(0.5) < run.root_days(0.9)
    with pytest.raises(ValueError, match="between 0 and 1"):
        run.leaf_days(0.0)


def test_a_gap_in_a_record_stands_still():
    base_c = np.full(40 * 24, 25.0)
    base_c[:240] = np.nan
    late = race_on_record(base_c, np.full(base_c.size, 10.0), chill=60.0, heat=0.0, pace=GRAPE)
    whole = race(25.0, 10.0, chill=60.0, heat=0.0, pace=GRAPE)
    assert float(late.root_days()) == pytest.approx(float(whole.root_days()) + 10.0, abs=0.05)


def test_bad_input_is_refused():
    good = {"chill": 10.0, "heat": 0.0, "pace": GRAPE}
    with pytest.raises(ValueError, match="must all be known"):
        race(20.0, np.nan, **good)
    with pytest.raises(ValueError, match="no air temperature in °C"):
        race(200.0, 20.0, **good)
    with pytest.raises(ValueError, match="below 0"):
        race(20.0, 20.0, **(good | {"heat": -1.0}))
    with pytest.raises(ValueError, match="more than 0 days"):
        race(20.0, 20.0, **good, days=0)
    with pytest.raises(ValueError, match="as many"):
        race_on_record([20.0, 20.0], [20.0], **good)
    with pytest.raises(ValueError, match="as many"):
        race_on_record([], [], **good)
    with pytest.raises(ValueError, match="above 0"):
        replace(GRAPE, roots_days=0.0)
    with pytest.raises(ValueError, match="cannot carry leaves"):
        replace(GRAPE, carry_days=-1.0)


@pytest.mark.parametrize("key", ["grape", "willow", "apple", "olive"])
def test_every_kind_of_wood_has_a_pace(key):
    run = race(22.0, 15.0, chill=50.0, heat=0.0, pace=Pace.of(species(key)))
    assert 0.0 <= float(run.too_early) <= 1.0 and float(run.root_days()) < 180
