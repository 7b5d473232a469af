"""Respiration, reserve, rot and callus against published numbers."""

import numpy as np
import pytest

from ortet.science import reserve, rot, thermal_time
from ortet.science.response import temperature_response
from ortet.science.species import species


def test_wang_and_engel_response():
    """Wang & Engel 1998, eq. 8-10, worked by hand for cardinal temperatures 0, 27, 38 °C; rounded to three decimals."""
    got = temperature_response([13, 20, 27, 35], 0, 27, 38)
    np.testing.assert_allclose(got, [0.403, 0.792, 1.0, 0.520], atol=5e-4)


def test_conifer_wood_respires_as_published():
    """Ryan et al. 1995, Oecologia 101:133: 8.3 µmol CO2 m-3 s-1 at 10 °C in sapwood, Q10 1.7. At 1,000 kg m-3 that is
    1.315 mg kg-1 h-1 (44.01 g/mol), and 1.7 times as much at 20 °C. 0.5 %: the rounding of 8.3."""
    at_10 = 8.3e-6 * 3600 * 44.01e3 / 1000
    assert at_10 == pytest.approx(1.315, rel=5e-3)
    at_20 = float(reserve.respiration(20.0, rate_ref=at_10, t_ref=10.0, q10=1.7))
    assert at_20 == pytest.approx(1.7 * at_10)


def test_sugar_burnt_per_carbon_dioxide():
    """Stoichiometry of C6H12O6 + 6 O2: 0.682 g per g. At 10 mg kg-1 h-1 and 50 % water 0.327 g per kg dry mass a day."""
    day = float(reserve.hexose_used(np.full(24, 2.0), rate_ref=10, t_ref=2, q10=2, water_content=0.5))
    assert day == pytest.approx(0.3275, abs=1e-4)


def test_days_that_a_reserve_lasts():
    """Worked by hand: 10 % of dry mass, 30 % of it usable, 50 % water: 91.6 d at 10 mg kg-1 h-1, 183.2 d at 5."""
    got = reserve.reserve_days([10, 5], water_content=0.5, reserve_share=0.10, usable_share=0.3)
    np.testing.assert_allclose(got, [91.6, 183.2], atol=0.05)


def test_reserve_is_gone_when_the_days_are_over():
    """The two ways to the same number, hour by hour and by division, must meet."""
    used = reserve.hexose_used(
        np.full(92 * 24, 5.0), rate_ref=10, t_ref=5, q10=2, water_content=0.5, running=True
    )
    left = reserve.reserve_left(used, reserve_share=0.10, usable_share=0.3)
    assert np.argmax(left <= 0) / 24 == pytest.approx(91.6, abs=0.1)


def test_grey_mould_germinates_in_the_fridge():
    """Petäistö 2006, Baltic Forestry 12(1):24-33: 15 h at 6 °C, about 52 h at 0 °C; within an hour."""
    np.testing.assert_allclose(rot.germination_hours([6, 0]), [15, 52], atol=1)
    assert float(rot.wet_index(np.ones(15), 6.0)) == pytest.approx(1.0, abs=0.01)


def test_broome_infection(published):
    for row in published("broome"):
        got = float(rot.broome_infection(row["wet_hours"], row["air_c"]))
        assert got == pytest.approx(row["share"], abs=1e-4), row


def test_grape_callus_in_the_published_window():
    """Alley & Peterson 1977, Am. J. Enol. Vitic. 28:1-7: at a base of 29.5 °C callus in 4 to 17 days. Nineteen cuttings
    in twenty must fall inside; the grape's days and spread were chosen by us to meet this, so this is a check that they
    still do, not a proof."""
    grape = species("grape")
    progress = thermal_time.thermal_progress(
        np.full(30 * 24, 29.5),
        t_min=grape.value("callus_t_min"),
        t_opt=grape.value("callus_t_opt"),
        t_max=grape.value("callus_t_max"),
        days_at_optimum=grape.value("callus_days"),
        running=True,
    )
    share = thermal_time.share_done(progress, grape.value("callus_spread"))
    assert share[17 * 24 - 1] - share[4 * 24 - 1] >= 0.94


def test_grape_does_not_callus_in_the_fridge():
    """Weaver & Iwasaki 1977 kept grape at 0, 3.9 and 10 °C to release buds; that callus stands still below 10 °C is
    common practice (Hartmann & Kester: almost none below 15 °C, from memory)."""
    grape = species("grape")
    cold = thermal_time.thermal_progress(
        np.full(26 * 168, 3.9),
        t_min=grape.value("callus_t_min"),
        t_opt=grape.value("callus_t_opt"),
        t_max=grape.value("callus_t_max"),
        days_at_optimum=grape.value("callus_days"),
    )
    assert float(cold) == 0.0
