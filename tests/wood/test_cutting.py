"""A cutting's measures, by geometry worked outside the program."""

import math

import numpy as np
import pytest

from ortet.wood.cutting import Cutting


def test_a_stick_of_20_cm_by_8_mm_weighs_10_grams():
    """A cylinder, pi / 4 x 0.8^2 x 20 cm3 = 10.053 g at 1 g/cm3; bark pi x 0.8 x 20 = 50.265 cm2, cuts 1.005 cm2."""
    stick = Cutting(200, 8, 8, 5)
    assert stick.mass_g(1000) == pytest.approx(10.053, abs=5e-4)
    assert stick.volume_m3 == pytest.approx(10.053e-6, abs=5e-10)
    assert stick.bark_m2 == pytest.approx(50.265e-4, abs=5e-8)
    assert stick.ends_m2 == pytest.approx(1.0053e-4, abs=5e-9)


def test_a_tapered_cutting_is_the_sum_of_its_slices():
    """Volume and mantle of a surface of revolution by adding 100,000 slices; midpoint rule, right to 1e-9 here."""
    cutting = Cutting(180, 12, 7, 6)
    step = 180 / 100_000
    radius = 6 - (6 - 3.5) * (np.arange(100_000) + 0.5) / 100_000
    slope = math.hypot(1, (6 - 3.5) / 180)
    assert cutting.volume_m3 == pytest.approx(float(np.sum(math.pi * radius**2) * step) / 1e9, rel=1e-8)
    assert cutting.bark_m2 == pytest.approx(
        float(np.sum(2 * math.pi * radius) * step * slope) / 1e6, rel=1e-8
    )


def test_mass_follows_the_density():
    assert Cutting(200, 8, 7, 5).mass_g(900) == pytest.approx(0.9 * Cutting(200, 8, 7, 5).mass_g())


@pytest.mark.parametrize(
    ("measures", "told"),
    [
        ((200, 7, 8, 5), "base 7 mm, tip 8 mm: the base is the thick end"),
        ((200, 7, 0, 5), "base 7 mm, tip 0 mm"),
        ((200, math.nan, 7, 5), "base nan mm"),
        ((0, 8, 7, 5), "length 0 mm: a cutting has a length"),
        ((math.nan, 8, 7, 5), "length nan mm"),
        ((200, 8, 7, -1), "-1 nodes: a cutting has none or more"),
    ],
)
def test_what_is_no_cutting_is_refused(measures, told):
    with pytest.raises(ValueError, match=told):
        Cutting(*measures)
