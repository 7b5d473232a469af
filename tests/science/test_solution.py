"""Solutions: shapes, limits, and nonsense refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.science import solution
from ortet.science.doses import DOSES, Dose, doses
from ortet.science.solution import WRITTEN, as_written, grams_per_litre


@given(st.floats(1e-3, 30), st.sampled_from(sorted(WRITTEN)), st.floats(0.7, 1.4))
def test_what_is_written_can_be_read_back(amount, written, density):
    grams = grams_per_litre(amount, written, density=density, pure=0.79)
    assert float(as_written(grams, written, density=density, pure=0.79)) == pytest.approx(amount)


@given(st.floats(0.1, 100), st.floats(0.001, 1), st.floats(0.01, 1000))
def test_stock_and_water_hold_what_the_mix_holds(stock, share, volume):
    target = stock * share
    take = float(solution.stock_volume(stock, target, volume))
    assert take * stock == pytest.approx(volume * target)
    assert float(solution.mixed(stock, take, volume - take)) == pytest.approx(target)


def test_arrays_go_through_whole_and_nan_stays_nan():
    grams = grams_per_litre([[1.0], [np.nan]], "% by mass", density=[1.0, 1.1])
    assert grams.shape == (2, 2)
    np.testing.assert_allclose(grams[0], [10, 11])
    assert np.isnan(grams[1]).all()
    assert solution.hypochlorous_share(np.full((2, 3), 8.0), 10).shape == (2, 3)


def test_hypochlorous_acid_falls_with_ph_and_with_warmth():
    assert (np.diff(solution.hypochlorous_share(np.linspace(4, 12, 50))) < 0).all()
    assert (np.diff(solution.hypochlorous_share(8.0, np.linspace(0, 35, 36))) < 0).all()


def test_a_dip_reads_lower_through_the_day():
    half = solution.half_life(3000 / 5000, 2.0)  # a strip read 5,000 ppm, two hours later 3,000
    assert float(solution.time_above(5000, 2500, half)) == pytest.approx(float(half))
    assert float(solution.time_above(2000, 2500, half)) == 0
    assert float(solution.share_left(2.0, half)) == pytest.approx(0.6)


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: grams_per_litre(-1, "ppm"), "0 or more"),
        (lambda: grams_per_litre(3000, "% by mass"), "was ppm meant"),
        (lambda: grams_per_litre(2e6, "ppm"), "more than the pure thing"),
        (lambda: grams_per_litre(np.inf, "ppm"), "finite"),
        (lambda: grams_per_litre(5, "degrees"), "no way to write"),
        (lambda: grams_per_litre(5, "% by volume"), "density of the pure agent"),
        (lambda: grams_per_litre(5, "% by mass", density=0), "above 0"),
        (lambda: solution.stock_volume(1, 2, 1), "stronger than the stock"),
        (lambda: solution.stock_volume(0, 0, 1), "above 0"),
        (lambda: solution.stock_volume(1, 0.5, -1), "above 0"),
        (lambda: solution.mixed(5, 0, 9), "above 0"),
        (lambda: solution.grams_to_weigh(3, 1, purity=98), "looks like a percentage"),
        (lambda: solution.hypochlorous_share(15), "0 to 14"),
        (lambda: solution.hypochlorous_share(8, 70), "°F"),
        (lambda: solution.half_life(1.0, 2), "Nothing was lost"),
        (lambda: solution.share_left(-1), "0 or more"),
        (lambda: solution.time_above(5, 0, 1), "above 0"),
    ],
)
def test_nonsense_is_refused(ask, says):
    with pytest.raises(ValueError, match=says):
        ask()


def test_no_dose_is_without_a_range_a_source_and_a_mark():
    assert {dose.mark for dose in DOSES} <= {"published", "memory", "common practice"}
    assert {dose.agent for dose in DOSES} == {"bleach", "alcohol", "hormone"}
    with pytest.raises(ValueError, match="a source and a mark"):
        Dose("bleach", "blades", 1, 1, "%", "", "", "", "published")


def test_the_table_shows_how_far_trials_of_one_species_lie_apart():
    fruit = [dose for dose in doses("hormone") if dose.use == "pomegranate"]
    assert len(fruit) >= 3
    assert max(dose.high for dose in fruit) >= 10 * min(dose.low for dose in fruit)
    assert doses("product") == ()
