"""The measures of a cutting."""

import math

import pytest

from ortet.wood.cutting import Cutting


def test_a_pencil_of_wood_weighs_what_a_cylinder_weighs():
    """200 mm by 8 mm at 1,000 kg/m3, worked by hand: π/4 · 0.8² · 20 = 10.05 g."""
    assert Cutting(200, 8, 8, 4).mass_g() == pytest.approx(10.05, abs=0.005)
    assert Cutting(200, 8, 8, 4).volume_m3 == pytest.approx(math.pi / 4 * 0.008**2 * 0.2)


def test_a_cone_cut_off_lies_between_the_cylinders_of_its_ends():
    """A cone less its tip, by Euclid XII 10: from 8 mm at 200 mm, the whole cone is 800 mm, the missing tip 600 mm."""
    whole, tip = math.pi / 12 * 0.008**2 * 0.8, math.pi / 12 * 0.006**2 * 0.6
    assert Cutting(200, 8, 6, 4).volume_m3 == pytest.approx(whole - tip)


def test_density_scales_the_mass():
    assert Cutting(150, 9, 7, 3).mass_g(500) == pytest.approx(Cutting(150, 9, 7, 3).mass_g() / 2)


def test_bark_is_the_mantle():
    assert Cutting(200, 8, 8, 4).bark_m2 == pytest.approx(math.pi * 0.008 * 0.2)
    # A cone steep enough for its slope to count: radii 3 and 0.001 over a height of 4 give a slope of 5 (3-4-5).
    assert Cutting(4, 6, 0.002, 0).bark_m2 == pytest.approx(math.pi * 3 * 5e-6, rel=1e-3)


@pytest.mark.parametrize(
    ("measures", "reason"),
    [
        ((200, 6, 8, 4), "the base is the thick end"),
        ((200, 8, 0, 4), "the base is the thick end"),
        ((200, math.nan, 8, 4), "the base is the thick end"),
        ((0, 8, 6, 4), "a cutting has a length"),
        ((math.nan, 8, 6, 4), "a cutting has a length"),
        ((200, 8, 6, -1), "-1 nodes"),
    ],
)
def test_an_impossible_piece_cannot_be_made(measures, reason):
    with pytest.raises(ValueError, match=reason):
        Cutting(*measures)


def test_a_cutting_does_not_change():
    with pytest.raises(AttributeError):
        Cutting(200, 8, 6, 4).nodes = 5  # type: ignore[misc]
