"""How many to look at, and what that tells, against ISPM 31 and against SciPy's hypergeometric distribution."""

from itertools import combinations
from math import comb

import pytest
from scipy.stats import binom, hypergeom

from ortet.evidence.sampling import allowed, chance_unseen, sample_size


def test_the_table_of_ispm_31(published):
    for row in published("sampling_ispm31"):
        lot = int(row["lot"])
        assert sample_size(lot, row["share"], row["confidence"]) == row["look_at"], row


def test_a_lot_without_end_is_the_binomials():
    """ISPM 31, the line for very large lots: 59, 149, 299 at 95 %; with four of five seen 74, 186, 373. [published]"""
    shares = (0.05, 0.02, 0.01)
    assert [sample_size(None, share, 0.95) for share in shares] == [59, 149, 299]
    assert [sample_size(None, share, 0.95, 0.8) for share in shares] == [74, 186, 373]


def test_a_share_of_less_than_one_cutting_means_the_whole_lot():
    """ISPM 31 leaves these cells of its table empty: 1 % of 50 is no cutting. [published]"""
    assert sample_size(50, 0.01, 0.95) == 50


@pytest.mark.parametrize("sees", [1.0, 0.8])
def test_the_chance_that_none_shows_is_scipys(sees):
    for lot, bad, n in ((20, 3, 5), (97, 4, 45), (1000, 10, 258), (5000, 250, 59)):
        law = hypergeom(lot, bad, n)
        wanted = sum(law.pmf(k) * binom.pmf(0, k, sees) for k in range(min(bad, n) + 1))
        assert chance_unseen(lot, bad, n, sees) == pytest.approx(wanted, rel=1e-9)


def test_the_limits_are_where_scipys_distribution_turns():
    """Exact limits as Buonaccorsi 1987 (Am. Statistician 41:215-218) takes them, by trying every number. [memory]"""
    for lot, looked, found in (
        (60, 20, 0),
        (60, 20, 3),
        (100, 45, 0),
        (100, 45, 10),
        (40, 40, 2),
        (300, 30, 1),
    ):
        told = allowed(lot, looked, found, 0.95)
        possible = range(found, lot - looked + found + 1)
        law = {bad: hypergeom(lot, bad, looked) for bad in possible}
        assert told.most == max(bad for bad in possible if law[bad].cdf(found) > 0.05)
        assert told.high == max(bad for bad in possible if law[bad].cdf(found) > 0.025)
        assert told.low == min(bad for bad in possible if law[bad].sf(found - 1) > 0.025)


def test_the_limits_hold_as_often_as_they_say():
    """Whatever the truth, the chance that it lies within the limits is at least what was asked, by counting every sample."""
    lot, looked = 30, 12
    for bad in range(lot + 1):
        law = hypergeom(lot, bad, looked)
        held = sum(
            law.pmf(k)
            for k in range(looked + 1)
            if law.pmf(k) > 0 and bad <= allowed(lot, looked, k, 0.9).most
        )
        both = sum(
            law.pmf(k)
            for k in range(looked + 1)
            if law.pmf(k) > 0 and (a := allowed(lot, looked, k, 0.9)).low <= bad <= a.high
        )
        assert held >= 0.9 and both >= 0.9


def test_a_small_lot_by_counting_every_sample():
    lot, bad, n = 8, 2, 3
    none = sum(1 for drawn in combinations(range(lot), n) if not set(drawn) & set(range(bad)))
    assert chance_unseen(lot, bad, n) == pytest.approx(none / comb(lot, n), rel=1e-12)
