"""Learnt pace against a published count by the hour, and against SciPy reckoning the same posterior another way."""

import numpy as np
import pytest
from scipy import integrate, stats

from ortet.evidence import levels, pace
from ortet.evidence.pace import Look, Prior, learn_pace


def test_germinating_seeds_come_out_as_their_authors_fitted_them(published):
    """Ritz, Pipper & Streibig 2013: half of the final 0.200 after 196 h. Usual: 180 h and half of them, both hardly believed.

    Their slope of 20.8 is a log-logistic's; a log-normal as wide has 1.81 / 20.8.
    """
    looks = [
        Look("dish", "chickweed", row["hours"] / 180.0, int(row["germinated"]), 200)
        for row in published("pace_chickweed")
    ]
    told = learn_pace(looks, Prior(spread=1.81 / 20.8, doubt=0.5, never=0.5, never_cuttings=2.0)).lots["dish"]
    assert 180.0 * told.days[1] == pytest.approx(196.0, rel=0.03)
    assert 1.0 - told.never[1] == pytest.approx(0.200, abs=0.02)


def test_a_score_gives_the_posterior_that_quadrature_gives():
    """SciPy's adaptive quadrature over the same normal prior and ordered categories, no grid and no levels."""
    prior = Prior(spread=0.4, doubt=0.35, never=0.05, never_cuttings=20.0)
    told = learn_pace([Look("L", "V", 0.7, score=3)], prior).lots["L"]
    sd = np.hypot(prior.doubt, levels.LOT_SPREAD)
    low, high = (stats.norm.ppf(pace.SCORE_STEPS[step]) for step in (2, 3))

    def weight(b):
        z = (np.log(0.7) - b) / prior.spread
        inside = stats.norm.cdf((z - low) / pace.SCORE_SPREAD) - stats.norm.cdf(
            (z - high) / pace.SCORE_SPREAD
        )
        return stats.norm.pdf(b, 0.0, sd) * (pace.STRAY + (1 - 5 * pace.STRAY) * inside)

    whole = integrate.quad(weight, -3, 3)[0]
    for share, days in zip((0.05, 0.5, 0.95), told.days, strict=True):
        assert integrate.quad(weight, -3, np.log(days))[0] / whole == pytest.approx(share, abs=0.01)


def test_counts_in_two_varieties_give_the_posterior_that_drawing_gives():
    """A million draws from the three levels, each weighed by SciPy's binomials: no grid, no summing out."""
    prior = Prior(spread=0.35, doubt=0.4, never=0.3, never_cuttings=8.0)
    counts = {"A": (1.1, 9, 20), "B": (0.9, 2, 15)}
    learnt = learn_pace([Look(f"L{v}", v, x, k, n) for v, (x, k, n) in counts.items()], prior)
    rng = np.random.default_rng(3)
    n = 1_000_000
    half = prior.doubt / np.sqrt(2)
    a, b = prior.never * prior.never_cuttings, (1 - prior.never) * prior.never_cuttings
    species, never = rng.normal(0, half, n), rng.beta(2 * a, 2 * b, n)
    logit = np.log(never / (1 - never))
    # Johnson, Kotz & Balakrishnan: the logit of Beta(a, b) has variance trigamma(a) + trigamma(b)
    between = np.sqrt(
        sum(
            float(integrate.quad(lambda t, c=c: t * np.exp(-2 * c * t) / -np.expm1(-t), 0, 60)[0])
            for c in (a, b)
        )
    )
    weight, variety = np.ones(n), {}
    for name, (x, k, of) in counts.items():
        variety[name] = rng.normal(species, half)
        days = rng.normal(variety[name], levels.LOT_SPREAD)
        q = 1 / (1 + np.exp(-rng.normal(rng.normal(logit, between), levels.LOT_NEVER)))
        done = (1 - q) * (
            pace.STRAY + (1 - 2 * pace.STRAY) * stats.norm.cdf((np.log(x) - days) / prior.spread)
        )
        weight = weight * stats.binom.pmf(k, of, done)
    for drawn, told in ((species, learnt.species), *((variety[v], learnt.varieties[v]) for v in counts)):
        order = np.argsort(drawn)
        below = np.cumsum(weight[order]) / weight.sum()
        want = np.exp(drawn[order][np.searchsorted(below, (0.05, 0.5, 0.95))])
        np.testing.assert_allclose(told.days, want, rtol=0.02)
