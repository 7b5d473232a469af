"""The fewest cuttings, and what comes through when so many are taken."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import comb

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ortet.decisions.take import (
    Beta,
    OutOfReach,
    chance_to_reach,
    cuttings_to_take,
    exact_chance,
    through,
)

SHARES = st.integers(5, 95).map(lambda percent: percent / 100)
BETAS = st.builds(Beta, st.integers(1, 60).map(lambda n: n / 4), st.integers(1, 60).map(lambda n: n / 4))
CHAINS = st.lists(SHARES | BETAS, min_size=1, max_size=4)


def by_enumeration(target: int, taken: int, stages) -> Fraction:
    """Walk every way through the stages, each count by the counting definition of a stage's loss."""
    held = {taken: Fraction(1)}
    for stage in stages:
        out: dict[int, Fraction] = {}
        for m, weight in held.items():
            for j in range(m + 1):
                out[j] = out.get(j, Fraction(0)) + weight * one_stage(j, m, stage)
        held = out
    return sum((weight for j, weight in held.items() if j >= target), Fraction(0))


def one_stage(j: int, m: int, stage) -> Fraction:
    if isinstance(stage, float):
        p = Fraction(str(stage))
        return comb(m, j) * p**j * (1 - p) ** (m - j)
    a, b = Fraction(str(stage.a)), Fraction(str(stage.b))
    chance = Fraction(comb(m, j))  # drawn from an urn that learns: Polya's
    for i in range(m):
        chance *= ((a + i) if i < j else (b + i - j)) / (a + b + i)
    return chance


@pytest.mark.parametrize(
    "stages",
    [
        [0.6],
        [Beta(6, 4)],
        [0.9, Beta(2, 1)],
        [Beta(0.5, 0.5), Beta(3, 1)],
        [Beta(1, 1), 0.8, Beta(9, 2)],
    ],
    ids=str,
)
def test_a_chain_agrees_with_every_way_through_it(stages):
    for taken, target in product(range(13), range(14)):
        truth = by_enumeration(target, taken, stages)
        assert exact_chance(target, taken, stages) == truth
        assert chance_to_reach(target, taken, stages) == pytest.approx(float(truth), abs=1e-13)
        assert through(taken, stages).at_least(target) == pytest.approx(float(truth), abs=1e-13)


@settings(max_examples=60, deadline=None)
@given(CHAINS, st.integers(1, 25), st.integers(50, 97).map(lambda percent: percent / 100))
def test_it_is_enough_and_one_fewer_is_not(stages, target, confidence):
    try:
        taken = cuttings_to_take(target, stages, confidence, most=600)
    except OutOfReach:
        assert exact_chance(target, 600, stages) < Fraction(str(confidence))
        return
    assert exact_chance(target, taken, stages) >= Fraction(str(confidence))
    assert exact_chance(target, taken - 1, stages) < Fraction(str(confidence))


@settings(max_examples=40, deadline=None)
@given(CHAINS, st.integers(0, 120))
def test_what_comes_through_adds_up_to_one_with_the_mean_of_the_shares(stages, taken):
    came = through(taken, stages)
    mean = taken
    for stage in stages:
        mean *= stage.mean if isinstance(stage, Beta) else stage
    assert came.probability.sum() == pytest.approx(1.0)
    assert came.mean == pytest.approx(mean, abs=1e-9)


def test_the_order_of_the_stages_does_not_matter():
    one, other = [Beta(6, 4), 0.9, Beta(30, 2)], [0.9, Beta(30, 2), Beta(6, 4)]
    assert through(80, one).probability == pytest.approx(through(80, other).probability, abs=1e-14)
    assert cuttings_to_take(40, one, 0.8) == cuttings_to_take(40, other, 0.8)


def test_a_confidence_met_exactly_is_met():
    """One of two coins: three in four. Floats may fall on either side; fractions do not."""
    assert cuttings_to_take(1, [0.5], 0.75) == 2
    assert cuttings_to_take(3, [0.1], 0.001) == 3
    assert cuttings_to_take(1, [Beta(1, 1)], 0.9) == 9  # n/(n+1)
    assert cuttings_to_take(1, [Beta(1, 1)], 0.999) == 999


def test_quantiles_and_what_is_sure():
    came = through(10, [0.5])
    assert (came.quantile(0.0), came.quantile(0.5), came.quantile(1.0)) == (0, 5, 10)
    assert came.surely(0.945) == 3  # 1 - 56/1024 = 0.9453
    assert came.surely(0.946) == 2


def test_nothing_asked_or_nothing_lost():
    assert cuttings_to_take(0, [0.3], 0.9) == 0
    assert cuttings_to_take(7, [], 0.9) == cuttings_to_take(7, [1.0, 1.0], 0.9) == 7
    assert through(5, [0.0, Beta(1, 1)]).quantile(1.0) == 0


def test_several_thousand_with_a_vague_chain():
    stages = [Beta(6, 4), 0.95, Beta(20, 2)]
    taken = cuttings_to_take(4000, stages, 0.9)
    assert chance_to_reach(4000, taken, stages) >= 0.9 > chance_to_reach(4000, taken - 1, stages)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ((5, [0.6, 0.0], 0.9), "share of 0"),
        ((5, [0.6], 1.0), "no number of cuttings is certain"),
        ((5, [0.6], 0.0), "above 0"),
        ((-1, [0.6], 0.9), "target of -1"),
        ((5, [1.2], 0.9), "Stage 1: a share of 1.2"),
        ((1000, [Beta(0.5, 0.5)], 0.99), r"more than 50000 cuttings; with 50000 the chance is 0\.9"),
    ],
)
def test_what_cannot_be_is_refused_with_the_figures(asked, told):
    with pytest.raises(ValueError, match=told):
        cuttings_to_take(*asked)
    with pytest.raises(ValueError, match="above 0"):
        Beta(0, 3)
