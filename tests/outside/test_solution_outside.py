"""Dips and hormones against leaflets, handbooks and a reference library."""

import math

import CoolProp.CoolProp as coolprop
import numpy as np
import pytest

from ortet.science import solution
from ortet.science.solution import as_written, grams_per_litre


def test_strengths_are_those_of_the_handbook(published):
    for row in published("solution_strength"):
        density = 1.0 if math.isnan(row["density"]) else row["density"]
        grams = grams_per_litre(row["by_mass"], "% by mass", density=density)
        available = as_written(grams, "% available chlorine", density=density)
        assert float(available) == pytest.approx(row["available"], abs=0.01), row
        if not math.isnan(row["trade"]):
            assert float(as_written(grams, "trade %")) == pytest.approx(row["trade"], abs=0.01), row
            back = as_written(grams_per_litre(row["trade"], "trade %"), "% by mass", density=density)
            assert float(back) == pytest.approx(row["by_mass"], abs=0.01), row


def test_parts_make_what_the_leaflets_say(published):
    for row in published("solution_parts"):
        made = solution.mixed(
            grams_per_litre(row["percent"], "% weight in volume"), row["parts"], row["water"]
        )
        assert float(made) * 1000 == pytest.approx(row["mg_per_l"], abs=1), row


@pytest.mark.parametrize(("percent", "litres"), [(5.25, 0.952), (8.25, 0.606), (3, 1.667)])
def test_ten_litres_of_half_a_per_cent(percent, litres):
    """V1 = V2 C2 / C1 worked by hand; a 3 % and an 8.25 % bottle differ 2.75 times. Tolerance: rounded to the mL."""
    assert float(solution.stock_volume(percent, 0.5, 10)) == pytest.approx(litres, abs=0.0005)


def test_density_makes_the_difference_that_chemists_count():
    """1 + 9 of 6 % by mass at SG 1.08, by hand: 6,480 mg/L NaOCl, 6,172 mg/L available chlorine. Rounded to the unit."""
    made = solution.mixed(grams_per_litre(6, "% by mass", density=1.08), 1, 9)
    assert float(made) * 1000 == pytest.approx(6480, abs=1)
    assert float(as_written(made, "mg/L available chlorine")) == pytest.approx(6172, abs=1)


def test_water_parts_are_who_and_cdcs_rule():
    """CDC, appendix E: per cent of the bleach over per cent wanted, less 1: 6 for 3.5 and 0.5, 49 for 5 and 0.1. Exact."""
    np.testing.assert_allclose(solution.water_parts([3.5, 5.0], [0.5, 0.1]), [6, 49], rtol=1e-12)


def test_powders_and_salts_weigh_what_the_books_say(published):
    for row in published("solution_weigh"):
        grams = solution.grams_to_weigh(
            row["g_per_l"], row["litres"], purity=row["purity"], acid_share=row["acid_share"]
        )
        assert float(grams) == pytest.approx(row["grams"], rel=0.002), row


def test_molar_masses_follow_from_atomic_weights(published):
    """Formulas: Cl2, NaOCl, C12H13NO2, C12H12KNO2, C12H10O2, C12H9KO2. Tolerance: our constants have two decimals."""
    (a,) = published("atomic_weights")
    of = {
        solution.CHLORINE: 2 * a["cl"],
        solution.HYPOCHLORITE: a["na"] + a["o"] + a["cl"],
        solution.IBA: 12 * a["c"] + 13 * a["h"] + a["n"] + 2 * a["o"],
        solution.K_IBA: 12 * a["c"] + 12 * a["h"] + a["k"] + a["n"] + 2 * a["o"],
        solution.NAA: 12 * a["c"] + 10 * a["h"] + 2 * a["o"],
        solution.K_NAA: 12 * a["c"] + 9 * a["h"] + a["k"] + 2 * a["o"],
    }
    for ours, theirs in of.items():
        assert ours == pytest.approx(theirs, abs=0.006)
    assert pytest.approx(1.187, abs=0.002) == 1 / solution.ACID_SHARE["K-IBA"]
    assert pytest.approx(70.906 / 74.442, abs=2e-4) == solution.CHLORINE_PER_HYPOCHLORITE


def test_hypochlorous_acid_dissociates_as_published(published):
    """At pH = pKa half of it is hypochlorous acid; the share there tells our pKa."""
    for row in published("solution_hypochlorous"):
        share = float(solution.hypochlorous_share(row["pka"], row["water_c"]))
        ours = row["pka"] - math.log10((1 - share) / share)
        assert ours == pytest.approx(row["pka"], abs=0.05), row


def test_nine_tenths_hypochlorous_acid_at_the_textbooks_ph():
    """A textbook's problem: Ka 2.7e-8 at 20 °C, 90 % as HOCl at pH 6.61. Tolerance 0.02 in pH is 0.4 points of share here."""
    assert float(solution.hypochlorous_share(6.61, 20)) == pytest.approx(0.90, abs=0.005)


def test_bleach_halves_in_26_days_as_rutala_measured():
    """Rutala et al. 1998: 40 to 50 % left at 30 days; the middle gives 26.0 days. Tolerance 0.1 d."""
    assert pytest.approx(26.0, abs=0.1) == solution.CLEAN_HALF_LIFE_DAYS
    assert 0.40 <= float(solution.share_left(30)) <= 0.50
    assert float(solution.half_life(0.84, 30)) > 100  # their 1 + 4 in clear closed bottles: 83 to 85 % left


def test_pure_ethanol_weighs_what_coolprop_says():
    """CoolProp's equation of state at 20 °C, 1 atm: 789.4 kg/m3; handbooks print 789.3. Tolerance 0.1 %."""
    theirs = coolprop.PropsSI("D", "T", 293.15, "P", 101325, "Ethanol") / 1000
    assert pytest.approx(theirs, rel=1e-3) == solution.PURE_DENSITY["ethanol"]


def test_alcohol_and_water_shrink_so_fill_up_to_the_mark():
    """737 mL of 95 % and the water that fills it up to 1 L of 70 % by volume: measured apart they are 2 to 4 % more than 1 L.

    Densities of ethanol and water from CoolProp (its Melinder mixture, by mass); by mass 70 % by volume is 62.4 %, 95 % is 92.4 %
    (OIML R 22 tables, memory). The mixture ends at 60 % by mass, so a 60 % mix stands in: 67.7 % by volume.
    """
    pure, water = solution.PURE_DENSITY["ethanol"], 0.9982
    weak = coolprop.PropsSI("D", "T", 293.15, "P", 101325, "INCOMP::MEA[0.6]") / 1000
    litres_apart = 0.6 * weak / pure + 0.4 * weak / water
    assert 1.02 < litres_apart < 1.04
    by_volume = float(as_written(0.6 * weak * 1000, "% by volume", pure=pure))
    assert by_volume == pytest.approx(67.7, abs=0.3)
