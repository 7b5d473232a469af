"""Scions and stocks by thickness: against SciPy's assignment, and against every matching there is."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment

from ortet.decisions.match import match_pairs

TENTHS = st.lists(st.integers(30, 120).map(lambda tenths: tenths / 10), min_size=1, max_size=9)
FORBIDDEN = 1e6


def assigned(scions, stocks, thicker, thinner):
    """Most pairs, then the least sum: a pair outside the tolerance costs more than all the others."""
    apart = np.subtract.outer(scions, stocks)
    allowed = (apart <= thicker + 1e-9) & (apart >= -thinner - 1e-9)
    cost = np.where(allowed, np.abs(apart), FORBIDDEN)
    rows, columns = linear_sum_assignment(cost)
    kept = allowed[rows, columns]
    return int(kept.sum()), float(cost[rows, columns][kept].sum())


@given(TENTHS, TENTHS, st.integers(0, 30), st.integers(0, 30))
def test_as_many_pairs_and_as_close_as_the_assignment_problem(scions, stocks, thicker, thinner):
    """scipy.optimize.linear_sum_assignment, an independent and exact solver; sums of tenths, so 1e-6."""
    found = match_pairs(scions, stocks, thicker_mm=thicker / 10, thinner_mm=thinner / 10)
    pairs, total = assigned(scions, stocks, thicker / 10, thinner / 10)
    assert len(found.pairs) == pairs
    assert found.total_mm == pytest.approx(total, abs=1e-6)


def test_a_bench_of_600_scions_and_500_stocks():
    rng = np.random.default_rng(3)
    scions, stocks = rng.normal(8, 1.2, 600), rng.normal(8.6, 1.0, 500)
    found = match_pairs(list(scions), list(stocks), thicker_mm=0.3, thinner_mm=1.0)
    pairs, total = assigned(scions, stocks, 0.3, 1.0)
    assert (len(found.pairs), found.total_mm) == (pairs, pytest.approx(total, rel=1e-9))


@given(TENTHS, TENTHS)
def test_everyone_is_paired_once_or_left(scions, stocks):
    found = match_pairs(scions, stocks)
    assert sorted([pair.scion for pair in found.pairs] + list(found.scions_left)) == list(range(len(scions)))
    assert sorted([pair.stock for pair in found.pairs] + list(found.stocks_left)) == list(range(len(stocks)))
    for pair in found.pairs:
        assert (pair.scion_mm, pair.stock_mm) == (scions[pair.scion], stocks[pair.stock])
        assert abs(pair.thicker_mm) <= 1 + 1e-6


def test_it_says_how_far_apart_and_who_is_left():
    assert match_pairs([8, 8.5], [8.1]).reason == "1 pair, 0.10 mm apart on average."
    found = match_pairs([8, 4], [8.1, 12])
    assert "1 scion and 1 stock are left" in found.reason
    assert "widen it" in match_pairs([4], [12]).reason
    assert match_pairs([], [12]).stocks_left == (0,)


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        (([8, 0], [8]), "scion 2: 0 mm"),
        (([8], [float("nan")]), "stock 1: nan mm"),
        (([8] * 10_001, [8]), "10001 scions"),
    ],
)
def test_what_makes_no_sense_is_refused(asked, why):
    with pytest.raises(ValueError, match=why):
        match_pairs(*asked)


def test_a_tolerance_below_nothing_is_refused():
    with pytest.raises(ValueError, match="thinner -1 mm"):
        match_pairs([8], [8], thinner_mm=-1)
