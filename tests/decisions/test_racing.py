"""The race of a lot: what moves it, which way, and what the grower is told to do."""

from dataclasses import replace

import numpy as np
import pytest

from ortet.decisions.racing import Start, in_words, run
from ortet.evidence.pace import Told
from ortet.science.race import Pace, race
from ortet.science.species import species

GRAPE = species("grape")
START = Start(GRAPE, chill=45.0, chill_a_day=0.7, heat=0.0)


def test_what_is_asked_is_what_the_science_says():
    got, plain = run(START, 25.0, 20.0), race(25.0, 20.0, chill=45.0, heat=0.0, pace=Pace.of(GRAPE))
    assert got.too_early[1] == pytest.approx(float(plain.too_early))
    assert got.roots == pytest.approx([float(plain.root_days(share)) for share in (0.1, 0.5, 0.9)])
    assert got.leaves[1] == pytest.approx(float(plain.leaf_days()))


def test_waiting_adds_chill_and_brings_the_leaves_nearer():
    now, later = (run(START, 22.0, 20.0, wait=days) for days in (0.0, 42.0))
    assert later.chill == pytest.approx(now.chill + 42 * 0.7)
    assert later.leaves[1] < now.leaves[1] and later.too_early[1] > now.too_early[1]
    assert np.all(np.diff([row.too_early for row in now.by_day]) >= 0)


def test_a_warmer_air_raises_the_risk_and_a_base_nearer_its_best_lowers_it():
    got = run(START, 20.0, 18.0)
    risks = [row.too_early for row in got.by_air if row.value <= 24.0]
    assert risks == sorted(risks)
    by_base = {round(row.value): row.too_early for row in got.by_base}
    assert by_base[17] > by_base[20] > by_base[26]
    assert (
        [row.is_asked for row in got.by_base].count(True)
        == 1
        == [row.is_asked for row in got.by_day].count(True)
    )


def test_the_day_asked_stands_among_the_days_though_it_is_no_whole_fortnight():
    asked = [row for row in run(START, 22.0, 18.0, wait=9.0).by_day if row.is_asked]
    assert [row.value for row in asked] == [9.0]


def test_what_looks_taught_moves_the_race():
    slow = Told((1.3, 1.5, 1.7), (0.2, 0.4, 0.6), 0.8, 60, 0, 0)
    usual, taught = run(START, 20.0, 20.0), run(replace(START, roots=slow), 20.0, 20.0)
    assert taught.roots[1] == pytest.approx(1.5 * usual.roots[1], rel=0.01)
    assert taught.too_early[1] > usual.too_early[1]
    assert taught.too_early[2] - taught.too_early[0] < usual.too_early[2] - usual.too_early[0]
    assert taught.strike == pytest.approx(0.6)
    assert any("learnt from your looks" in reason for reason in taught.reasons)


def test_the_advice_names_the_smallest_change_that_makes_it_safe():
    got = run(START, 15.0, 21.0)
    assert got.verdict.startswith("Leaves come first too often")
    safe = [(abs(row.value - 21.0), row) for row in got.by_air if row.too_early < 0.05]
    safe += [(abs(row.value - 15.0), row) for row in got.by_base if row.too_early < 0.05]
    nearest = min(safe, key=lambda pair: pair[0])[1]
    assert f"With {nearest.value:.1f} °C" in got.verdict and in_words(nearest.too_early) in got.verdict


def test_where_nothing_within_reach_is_safe_the_best_is_named():
    hopeless = run(replace(START, heat=3000.0), 12.0, 24.0)
    best = min(row.too_early for row in (*hopeless.by_air, *hopeless.by_base) if np.isfinite(row.root_days))
    assert best >= 0.05 and in_words(best) in hopeless.verdict


def test_a_risk_too_small_to_tell_is_not_called_nothing():
    assert in_words(1e-7) == "under 1 %" and in_words(0.234) == "23 %"
