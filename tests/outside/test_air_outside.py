"""Air against printed tables and two reference libraries."""

import CoolProp.CoolProp as coolprop
import numpy as np
import psychrolib
import pytest

from ortet.science import air

CELSIUS = np.linspace(-40.0, 50.0, 361)


@pytest.fixture(autouse=True, scope="module")
def metric():
    psychrolib.SetUnitSystem(psychrolib.SI)


def test_saturation_agrees_with_printed_tables(published):
    for row in published("saturation"):
        got = float(air.saturation_vapour_pressure(row["air_c"]))
        assert got == pytest.approx(row["pressure_pa"], rel=row["tolerance"]), row


def test_saturation_is_psychrolibs_to_rounding():
    """psychrolib implements the same two ASHRAE equations, so only the order of the arithmetic may differ."""
    theirs = [psychrolib.GetSatVapPres(t) for t in CELSIUS]
    np.testing.assert_allclose(air.saturation_vapour_pressure(CELSIUS), theirs, rtol=1e-12)


def test_saturation_over_water_agrees_with_coolprop():
    """CoolProp solves IAPWS-95, a newer standard; Hyland & Wexler lie within 0.03 % of it from 0.01 to 50 °C."""
    warm = np.linspace(0.02, 50.0, 200)
    theirs = [coolprop.PropsSI("P", "T", t + 273.15, "Q", 1, "Water") for t in warm]
    np.testing.assert_allclose(air.saturation_vapour_pressure(warm), theirs, rtol=3e-4)


def test_saturation_over_ice_agrees_with_coolprop():
    """HumidAir's vapour share at 100 % over ice, less its enhancement factor (at most 0.5 % at 101 kPa)."""
    cold = np.linspace(-40.0, -0.5, 80)
    share = np.array([coolprop.HAPropsSI("psi_w", "T", t + 273.15, "P", 101325, "R", 1.0) for t in cold])
    np.testing.assert_allclose(air.saturation_vapour_pressure(cold), share * 101325, rtol=6e-3)


@pytest.mark.parametrize("humidity", [0.05, 0.3, 0.6, 0.9, 0.98, 1.0])
def test_dew_point_is_psychrolibs(humidity):
    """psychrolib stops its own search at 0.001 °C."""
    theirs = [psychrolib.GetTDewPointFromVapPres(t, humidity * psychrolib.GetSatVapPres(t)) for t in CELSIUS]
    np.testing.assert_allclose(air.dew_point(CELSIUS, humidity), theirs, atol=1e-3)


def test_deficit_is_psychrolibs():
    ratio = psychrolib.GetHumRatioFromRelHum(20.0, 0.5, 101325.0)
    assert float(air.vapour_pressure_deficit(20.0, 0.5)) == pytest.approx(
        psychrolib.GetVaporPressureDeficit(20.0, ratio, 101325.0), rel=1e-6
    )


def test_humidity_over_water_under_tension(published):
    for row in published("kelvin"):
        got = float(air.humidity_over_water(row["psi_mpa"], row["air_c"]))
        assert got == pytest.approx(row["humidity"], abs=row["tolerance"]), row
