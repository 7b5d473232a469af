"""Lengths, weights and temperatures as they are written.

The inch is 25.4 mm and the pound 453.59237 g exactly: agreement of six countries of 1959 (US Federal Register 24:5348,
1 July 1959). The ounce is a sixteenth of the pound, the foot twelve inches. 0 °C is 32 °F, 100 °C is 212 °F.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.wood import units


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1 in", 25.4),
        ('1"', 25.4),
        ("1 inch", 25.4),
        ("1 ft", 304.8),
        ("2 cm", 20),
        ("0.2 m", 200),
        ("8 mm", 8),
        ("8", 8),
    ],
)
def test_lengths_are_exact(text, mm):
    assert units.read_length(text) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("1 lb", 453.59237),
        ("1 oz", 453.59237 / 16),
        ("16 oz", 453.59237),
        ("1 kg", 1000),
        ("12.5 g", 12.5),
        ("12,5", 12.5),
    ],
)
def test_weights_are_exact(text, grams):
    assert units.read_mass(text) == pytest.approx(grams, rel=1e-15)


def test_pairs_of_number_and_unit_add_up():
    assert units.read_mass("2 lb 3 oz") == pytest.approx(35 / 16 * 453.59237, rel=1e-15)
    assert units.read_length("1 ft 2 in") == pytest.approx(14 * 25.4, rel=1e-15)


def test_a_bare_number_means_the_units_of_the_nursery():
    assert units.read_length("8", "US") == pytest.approx(8 * 25.4)
    assert units.read_mass("3", "US") == pytest.approx(3 / 16 * 453.59237)
    assert units.read_temperature("41", "US") == pytest.approx(5) and units.read_temperature("5") == 5


@pytest.mark.parametrize(
    ("text", "celsius"), [("32 °F", 0), ("212 F", 100), ("-40 °F", -40), ("-40 °C", -40), ("4 °C", 4)]
)
def test_temperatures_by_their_fixed_points(text, celsius):
    assert units.read_temperature(text) == pytest.approx(celsius, abs=1e-12)


@pytest.mark.parametrize("read", [units.read_length, units.read_mass, units.read_temperature])
@pytest.mark.parametrize("text", ["", "much", "12 stone", "12 mm 3", "1 200", "--3"])
def test_what_is_no_measure_is_refused_by_name(read, text):
    with pytest.raises(ValueError, match="is not a"):
        read(text)


@given(st.floats(0.1, 9000))
def test_what_is_shown_reads_back(grams):
    for system in ("metric", "US"):
        assert units.read_mass(units.show_mass(grams, system)) == pytest.approx(grams, rel=5e-3, abs=0.2)


def test_nothing_is_shown_for_nothing():
    assert units.show_length(None) == units.show_mass(None) == units.show_temperature(None, "US") == ""
