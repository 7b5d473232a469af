"""Cuttings to take, against tables of the binomial, another library's beta-binomial, and figures worked out elsewhere."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from ortet.decisions.take import Beta, chance_to_reach, cuttings_to_take, through


@pytest.mark.parametrize(("stage", "cuttings"), [(0.6, 93), (Beta(60, 40), 98), (Beta(6, 4), 127)], ids=str)
def test_fifty_plants_nine_winters_in_ten(stage, cuttings):
    """Worked out independently of this package, before it was written."""
    assert cuttings_to_take(50, [stage], 0.9) == cuttings


def test_the_binomial_tables(published):
    for row in published("take_binomial"):
        chance = chance_to_reach(int(row["target"]), int(row["taken"]), [row["share"]])
        assert chance == pytest.approx(row["chance"], abs=5e-5)


@pytest.mark.parametrize("share", [0.01, 0.37, 0.6, 0.999])
def test_known_share_as_scipy(share):
    """SciPy's binomial; tolerance 1e-11, what its own continued fraction and our sums are good for."""
    for taken in (1, 40, 700, 9000):
        came = through(taken, [share]).probability
        assert came == pytest.approx(stats.binom.pmf(np.arange(taken + 1), taken, share), abs=1e-11)
        target = int(taken * share) + 1
        assert chance_to_reach(target, taken, [share]) == pytest.approx(
            stats.binom.sf(target - 1, taken, share), abs=1e-11
        )


@pytest.mark.parametrize(("a", "b"), [(0.3, 0.4), (1, 1), (0.5, 6), (6, 4), (60, 40), (3000, 2000), (9, 0.2)])
def test_vague_share_as_scipy(a, b):
    """SciPy's beta-binomial; tolerance 1e-9, since it subtracts log gammas near 1e5."""
    for taken in (1, 40, 700, 5000):
        truth = stats.betabinom.pmf(np.arange(taken + 1), taken, a, b)
        assert through(taken, [Beta(a, b)]).probability == pytest.approx(truth, abs=1e-9)


def test_a_chain_of_three_as_scipy_matrices():
    """Each stage as SciPy's matrix of m to j, multiplied; then the fewest by trying every number from the target on."""
    stages, size = [0.95, Beta(12, 5), Beta(40, 4)], 121
    j = np.arange(size)
    matrices = [
        np.array(
            [
                stats.binom.pmf(j, m, s) if isinstance(s, float) else stats.betabinom.pmf(j, m, s.a, s.b)
                for m in j
            ]
        )
        for s in stages
    ]
    whole = np.linalg.multi_dot(matrices)
    assert through(120, stages).probability == pytest.approx(whole[120], abs=1e-12)
    enough = whole[:, 50:].sum(axis=1) >= 0.8
    assert cuttings_to_take(50, stages, 0.8) == int(np.flatnonzero(enough)[0])


def test_the_negative_binomial_says_the_same_of_a_known_share():
    """SciPy's negative binomial counts the losses until the target is reached; its quantile is the answer another way."""
    for target, share, confidence in [(1, 0.2, 0.95), (50, 0.6, 0.9), (800, 0.35, 0.99), (3000, 0.7, 0.5)]:
        assert cuttings_to_take(target, [share], confidence) == target + stats.nbinom.ppf(
            confidence, target, share
        )
