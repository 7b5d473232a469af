"""Strengths and volumes as growers type them."""

import pytest

from ortet.wood.strength import Parts, Rate, Strength, read_rate, read_strength
from ortet.wood.volume import read_volume, show_volume


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("6 % by mass", Strength(6, "% by mass")),
        ("6% w/w", Strength(6, "% by mass")),
        ("5,25 percent by weight", Strength(5.25, "% by mass")),
        ("12.5 trade %", Strength(12.5, "trade %")),
        ("5 % available chlorine", Strength(5, "% available chlorine")),
        ("5 % w/v available chlorine", Strength(5, "trade %")),
        ("3.5 % active chlorine", Strength(3.5, "% available chlorine")),
        ("500 mg/L as available chlorine", Strength(500, "mg/L available chlorine")),
        ("95 % v/v", Strength(95, "% by volume")),
        ("1 % w/v", Strength(1, "% weight in volume")),
        ("3000ppm", Strength(3000, "ppm")),
        (".5%", Strength(0.5, "%")),
        ("1 + 9", Parts(1, 9)),
        ("1 part + 10 parts", Parts(1, 10)),
    ],
)
def test_labels_are_read(text, means):
    assert read_strength(text) == means


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1:10", "two ways"),
        ("1 in 10", "two ways"),
        ("5,000 ppm", "write 5000 or 5"),
        ("1.000 ppm", "write 1000 or 1"),
        ("6", "how it counts"),
        ("strong", "no strength"),
        ("6 % of the best", "how it counts"),
        ("5 % v/v available chlorine", "how it counts"),
    ],
)
def test_what_can_be_read_in_two_ways_is_refused(text, says):
    with pytest.raises(ValueError, match=says):
        read_strength(text)


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("1.5 mL/L", Rate(1.5, "mL")),
        ("150 mL per 100 L", Rate(1.5, "mL")),
        ("100 g in 100 L", Rate(1, "g")),
        ("2 fl oz/gal", Rate(15.625, "mL")),
        ("1 + 20", Parts(1, 20)),
    ],
)
def test_rates_are_read(text, means):
    assert read_rate(text) == means


@pytest.mark.parametrize("text", ["1:20", "3 L", "2 hogsheads/L", "0 mL/L", "mL/L"])
def test_no_rate_is_refused(text):
    with pytest.raises(ValueError, match=r"rate|two ways"):
        read_rate(text)


@pytest.mark.parametrize(
    ("text", "units", "ml"),
    [
        ("10L", "metric", 10_000),
        ("10", "metric", 10_000),
        ("2", "US", 7570.823568),
        ("1 qt 4 fl. oz.", "metric", 946.352946 + 4 * 29.5735295625),
        ("2 cups", "US", 473.176473),
        ("0,5 l", "metric", 500),
    ],
)
def test_volumes_are_read(text, units, ml):
    assert read_volume(text, units) == pytest.approx(ml)


@pytest.mark.parametrize(
    "text", ["", "a tub", "10 hogsheads", "0.1 mL", "1e9 L", "-3 L", "1,000 mL", "3 L x"]
)
def test_no_volume_is_refused(text):
    with pytest.raises(ValueError, match=r"volume|unit|2,000 L|1000 or 1"):
        read_volume(text)


@pytest.mark.parametrize(
    ("ml", "metric", "us"),
    [
        (833.333, "833 mL", "28.2 fl oz"),
        (9166.7, "9.17 L", "2.42 gal"),
        (999.9, "1 L", "33.8 fl oz"),
        (15, "15 mL", "3.04 tsp"),
        (0.5, "0.5 mL", "0.5 mL"),
        (1_234_567, "1,230 L", "326 gal"),
    ],
)
def test_volumes_are_written_by_the_measure_at_hand(ml, metric, us):
    assert show_volume(ml) == metric
    assert show_volume(ml, "US") == us
