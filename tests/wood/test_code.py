"""Lot codes: made, read as people type them, refused with a reason."""

import secrets

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ortet.wood import code

numbers = st.integers(0, 2**35 - 1)


@given(numbers)
def test_a_code_reads_back_as_it_was_made(number):
    made = code.make(number)
    assert len(made) == 8 and set(made) <= set(code.ALPHABET)
    assert code.read(made) == made == code.read(code.show(made)) and code.is_code(made)


@given(numbers, numbers)
def test_two_numbers_never_share_a_code(one, other):
    assert (code.make(one) == code.make(other)) == (one == other)


def test_the_number_is_the_code_in_base_32():
    """Crockford's base 32 of 1234 is 16J (page of its author, and python package base32-crockford). [seen]"""
    assert code.make(1234)[:7] == "000016J"


def test_a_random_number_of_35_bits_always_fits():
    assert code.is_code(code.make(secrets.randbits(35))) and code.is_code(code.make(2**35 - 1))


@pytest.mark.parametrize("number", [-1, 2**35])
def test_a_number_too_large_is_refused(number):
    with pytest.raises(ValueError, match="from 0 to 34359738367"):
        code.make(number)


@pytest.mark.parametrize(
    "typed",
    [
        "7K3Q9M2D",
        "7k3q9m2d",
        "7K3Q-9M2D",
        " 7k3q 9m2d ",
        "7-K-3-Q-9-M-2-D",
        "7K3Q–9M2D",
        "7K3Q‑9M2D",
        "7K3Q\t9M2D\n",
    ],
)
def test_case_hyphens_and_spaces_are_forgiven(typed):
    assert code.read(typed) == "7K3Q9M2D"


@pytest.mark.parametrize(
    "typed", ["0000-0012", "OOOO-OO12", "ooooooi2", "0000 00L2", "0000-00l2", "oOoO-0OI2"]
)
def test_letters_that_look_like_figures_are_read_as_figures(typed):
    assert code.read(typed) == "00000012"


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("", "has 0 characters, and a code has 8"),
        ("7K3Q-9M2", "has 7 characters, and a code has 8"),
        ("007K3Q9M2D", "has 10 characters, and a code has 8"),  # its check adds up: only the length tells
        ("7K3Q-9M2U", "'U' is in no code"),
        ("7K3Q-9MÄD", "'Ä' is in no code"),
        ("7K3Q-9M٢D", "is in no code"),  # a figure, but of another script
        ("7K3Q-9M2E", "one of its characters is wrong, or two changed places"),
    ],
)
def test_an_error_says_whether_length_alphabet_or_check_is_wrong(typed, reason):
    with pytest.raises(ValueError, match=reason) as caught:
        code.read(typed)
    assert "again" in str(caught.value)  # and what to do
    assert not code.is_code(typed)


@given(st.text(max_size=12))
def test_any_text_is_a_code_or_a_value_error(text):
    assert not code.is_code(text) or code.is_code(code.show(code.read(text)))


def test_a_code_is_shown_in_two_groups_of_four():
    assert code.show("7K3Q9M2D") == "7K3Q-9M2D"
