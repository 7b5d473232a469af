"""Water and oxygen as they flow: against an integrator that knows only the balance, and against diffusion as printed."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.signal import lfilter

from ortet.science import bag, film, oxygen
from ortet.science.air import saturation_vapour_pressure

BARK, LEAK = 1.3e-3, 9.0e-5  # g h-1 Pa-1


def conditions(wood_c, film_c, humidity):
    return (
        bag.ACTIVITY * saturation_vapour_pressure(wood_c),
        saturation_vapour_pressure(film_c),
        humidity * saturation_vapour_pressure(film_c),
    )


def test_conductances_in_a_row_add_as_resistances():
    """3 and 6 siemens in a row are 2, the textbook's example (6 and 3 ohm side by side); exact."""
    assert float(bag.in_series(3.0, 6.0)) == pytest.approx(2.0, rel=1e-15)
    assert float(bag.in_series(3.0, 0.0)) == 0.0


@pytest.mark.parametrize(
    ("wood_c", "film_c", "humidity"), [(3.0, 3.0, 0.6), (4.0, 3.0, 0.6), (3.0, 3.2, 0.9)]
)
def test_steady_flows_solve_the_balance_of_the_bags_air(wood_c, film_c, humidity):
    """The bag's air as a linear equation, solved by NumPy; a wet film holds it at saturation. To rounding."""
    over_wood, at_film, outside = conditions(wood_c, film_c, humidity)
    flow = bag.flows(np.float64(BARK), np.float64(LEAK), over_wood, at_film, outside)
    inside, loss = np.linalg.solve([[BARK, 1.0], [LEAK, -1.0]], [BARK * over_wood, LEAK * outside])
    assert float(flow.dry) == pytest.approx(loss, rel=1e-12)
    assert (float(flow.onto) > 0) == (inside > at_film)
    assert float(flow.wet) == pytest.approx(BARK * (over_wood - at_film), rel=1e-12)
    assert float(flow.wet - flow.onto) == pytest.approx(LEAK * (at_film - outside), rel=1e-12)


@pytest.mark.parametrize(("free", "hours"), [(0.05, 6.0), (0.05, 200.0), (3.0, 50.0)])
def test_a_film_dries_as_an_integrator_finds(free, hours):
    """solve_ivp with the instant of drying as its event; it knows dm/dt and no closed form. Tolerance 1e-6 g."""
    over_wood, at_film, outside = conditions(3.0, 3.2, 0.7)

    def wet_film(t, now):
        gives = BARK * (over_wood - at_film)
        return [gives, gives - LEAK * (at_film - outside)]

    def dry_film(t, now):
        return [BARK * LEAK / (BARK + LEAK) * (over_wood - outside), 0.0]

    def gone(t, now):
        return now[1]

    gone.terminal, gone.direction = True, -1
    first = solve_ivp(wet_film, (0.0, hours), [5.0, free], events=gone, rtol=1e-11, atol=1e-13)
    lost, left = first.y[:, -1]
    if first.t[-1] < hours:
        lost, left = solve_ivp(dry_film, (first.t[-1], hours), [lost, 0.0], rtol=1e-11, atol=1e-13).y[:, -1]
    water = bag.Water(*(np.array([x]) for x in (5.0, free, 0.0, 0.0, 0.0)))
    flow = bag.flows(np.array([BARK]), np.array([LEAK]), over_wood, at_film, outside)
    ours = bag.advance(water, flow, None, hours)
    assert float(ours.lost[0]) == pytest.approx(lost, abs=1e-6)
    assert float(ours.free[0]) == pytest.approx(left, abs=1e-6)


def test_wood_follows_air_as_a_filter_of_first_order():
    """SciPy's lfilter with a pole at exp(-1/lag), and the analytic lag of a slow swing: 1/sqrt(1 + (w lag)^2), w per day."""
    rng = np.random.default_rng(5)
    air_c = 2.0 + rng.normal(0.0, 2.0, 600)
    keeps = math.exp(-1.0 / bag.LAG_H)
    theirs = lfilter([1.0 - keeps], [1.0, -keeps], air_c - air_c[0]) + air_c[0]
    np.testing.assert_allclose(bag.wood_temperature(air_c), theirs, atol=1e-9)
    w = 2 * math.pi / 24.0
    swing = bag.wood_temperature(np.sin(w * np.arange(2400.0)))[1200:]
    assert np.abs(swing).max() == pytest.approx(
        1.0 / math.hypot(1.0, w * bag.LAG_H), abs=0.03
    )  # hours are means


def test_the_model_ends_where_wood_freezes_and_where_buds_died():
    """Weaver & Iwasaki 1977, Am. J. Enol. Vitic. 28:149-151: 37 °C for three days killed buds. Englert, Fuchigami & Chen 1993, J. Arboric.
    19:106-112: trees kept frozen at -4 °C. Neither was a bag of unfrozen living wood; 0 to 10 °C, where both stored wood, was."""
    assert bag.applies([-4.0, 0.0, 3.9, 10.0, 37.0, np.nan]).tolist() == [
        False,
        True,
        True,
        True,
        False,
        False,
    ]


def test_closures_let_through_what_printed_diffusion_makes(published):
    """D A / (Rv T l) for water, D A / l for oxygen, of the slit that each closure stands for."""
    for name, closure in film.CLOSURES.items():
        water, air = film.closure_leak(name)
        for row in published("diffusion"):
            slit = row["diffusion"] * closure.opening_mm * 1e-3 * 3600.0
            if row["gas"] == 0:
                assert water == pytest.approx(1000.0 * slit / (461.5 * 275.15), rel=0.04)
            else:
                assert air == pytest.approx(1e6 * slit, rel=0.04)


def test_films_open_with_warmth_as_moyls_found():
    """Moyls et al. 1998: 6.22 kcal/mol for water, 8.73 for oxygen; 38 to 2 °C leaves 0.268 of water's, worked by hand to 0.001."""
    ratio = {
        "water": film.film_factor(23.2) / film.film_factor(0.0),
        "oxygen": film.oxygen_factor(23.2) / film.oxygen_factor(0.0),
    }
    assert float(ratio["water"]) == pytest.approx(
        math.exp(6220 * 4.184 / 8.314463 * (1 / 273.15 - 1 / 296.35)), rel=0.01
    )
    assert float(ratio["oxygen"]) == pytest.approx(
        math.exp(8730 * 4.184 / 8.314463 * (1 / 273.15 - 1 / 296.35)), rel=0.01
    )
    assert float(film.film_factor(2.0)) == pytest.approx(0.268, abs=1e-3)


@pytest.mark.parametrize(
    ("polymer", "low", "high"), [("LDPE", 300, 600), ("HDPE", 100, 250), ("PP", 150, 250), ("PET", 3, 6)]
)
def test_oxygen_of_films_is_the_middle_of_the_printed_range(polymer, low, high):
    """Food Package Engineering (Biosystems Engineering), Table 11.2, p. 345: cm3 mil per 100 in2, day and atm at 25 °C, PP unoriented.
    1 of these is 15.500 mL m-2 d-1 atm-1 at 25.4 µm. Tolerance 5 %: we round."""
    middle = (low + high) / 2 * 15.500
    assert float(film.oxygen_permeance(polymer, 25.4, 1, 25.0)) == pytest.approx(middle, rel=0.05)


def test_oxygen_runs_down_as_an_integrator_finds():
    """V dx/dt = G (0.2095 - x) - U by solve_ivp; tolerance 1e-7 of the air."""
    days = solve_ivp(
        lambda _, x: [(14.0 * (0.2095 - x[0]) - 1.3) / 2500.0], (0.0, 300.0), [0.19], rtol=1e-10, atol=1e-12
    )
    ours = oxygen.oxygen_after(0.19, 1.3, 14.0, 2500.0, 300.0)
    assert float(ours) == pytest.approx(days.y[0, -1], abs=1e-7)


@pytest.mark.parametrize(("wide", "long"), [(0.3, 0.4), (0.25, 0.48), (0.2, 0.3)])
def test_a_loosely_filled_bag_holds_less_than_it_could(wide, long):
    """A flat bag blown up holds at most w³ (h / (π w) - 0.142 (1 - 10^(-h/w))) (Robin 2004, Mathematics Today: the paper bag problem;
    from memory). Loosely filled we take between a quarter and two thirds of it. Film: both faces."""
    most_ml = 1e6 * wide**3 * (long / (math.pi * wide) - 0.142 * (1 - 10 ** (-long / wide)))
    assert 0.25 * most_ml < float(oxygen.headspace_ml(2 * wide * long, 0.0)) < 0.67 * most_ml
