"""Chill and heat against published values, and on real hours against the published recurrence in plain Python."""

import math

import numpy as np
import pytest

from ortet.science.chill import bank, chill_portions, chilling_hours, rates, utah_units
from ortet.science.heat import growing_degree_hours


def portions_in_plain_python(air_c):
    """Fishman, Erez & Couvillon 1987 with the constants of Luedeling et al. 2009, term by term as printed."""
    banked, product, last_share = [], 0.0, 0.0
    for celsius in air_c:
        kelvin = celsius + 273
        sr = math.exp(1.6 * 277 * (kelvin - 277) / kelvin)
        xi = sr / (1 + sr)
        xs = 1.395e5 / 2.567e18 * math.exp((12888.8 - 4153.5) / kelvin)
        k = 2.567e18 * math.exp(-12888.8 / kelvin)
        start = product * (1 - last_share) if product >= 1 else product
        product = xs - (xs - start) * math.exp(-k)
        last_share = xi
        banked.append(xi * product if product >= 1 else 0.0)
    return np.cumsum(banked)


def test_portions_at_constant_temperatures(published):
    for row in published("chill_constant"):
        got = float(chill_portions(np.full(720, row["air_c"])))
        assert got == pytest.approx(row["portions"], abs=0.005), row


def test_mild_days_keep_chill_and_hot_days_undo_it():
    """Thirty days of 16 h at 6 °C and 8 h warm, computed independently: 14.73 at 18 °C, nothing at 24 °C."""
    assert float(chill_portions(([6.0] * 16 + [18.0] * 8) * 30)) == pytest.approx(14.73, abs=0.005)
    assert float(chill_portions(([6.0] * 16 + [24.0] * 8) * 30)) == 0.0


def test_portions_on_a_real_year_hour_by_hour(seattle_c, greensboro_c):
    """Same arithmetic in another order; 8,760 steps may gather rounding, nothing else."""
    for record in (seattle_c[~np.isnan(seattle_c)], greensboro_c):
        ours = chill_portions(record, running=True)
        np.testing.assert_allclose(ours, portions_in_plain_python(record), rtol=1e-9)
        assert ours[-1] > 50


def test_the_two_steps_of_the_model_give_each_hours_portions(greensboro_c):
    """`rates` then `bank`, for two series at once, hours first, against the same recurrence; to rounding."""
    two = np.stack([greensboro_c, greensboro_c + 1.5], axis=1)
    banked = bank(*rates(two))
    for column in (0, 1):
        theirs = np.diff(portions_in_plain_python(two[:, column]), prepend=0.0)
        np.testing.assert_allclose(banked[:, column], theirs, rtol=1e-9, atol=1e-12)


def test_chilling_hours_on_a_real_year(seattle_c):
    counted = sum(1 for t in seattle_c if 0.0 <= t <= 7.2)
    assert float(chilling_hours(seattle_c)) == counted > 1000


def test_utah_classes(published):
    for row in published("utah"):
        assert float(utah_units(row["air_c"])) == row["units"], row


def test_degree_hours(published):
    for row in published("heat"):
        got = float(growing_degree_hours(row["air_c"]))
        assert got == pytest.approx(row["degree_hours"], abs=0.0005), row
