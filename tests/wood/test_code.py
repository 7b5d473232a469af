"""Lot codes: what is caught, what is forgiven, what the grower is told."""

import random
import subprocess
import sys

import pytest

from ortet.wood import code

RNG = random.Random(2026)
PAYLOADS = [0, 1, (1 << 35) - 1, *(RNG.randrange(1 << 35) for _ in range(300))]
CODES = [code.make(number) for number in PAYLOADS]


def test_every_single_wrong_character_is_caught():
    for right in CODES:
        for place in range(8):
            for wrong in code.ALPHABET.replace(right[place], ""):
                assert not code.is_code(right[:place] + wrong + right[place + 1 :])


def test_every_swap_of_neighbours_is_caught():
    swaps = 0
    for right in CODES:
        for place in range(7):
            swapped = right[:place] + right[place + 1] + right[place] + right[place + 2 :]
            if swapped != right:
                swaps += 1
                assert not code.is_code(swapped)
    assert swaps > 1_900


def test_every_pair_of_neighbours_is_caught_swapped_at_every_place():
    for place in range(6):
        for first in code.ALPHABET:
            for second in code.ALPHABET.replace(first, ""):
                payload = "7K3Q9M2"[:place] + first + second + "7K3Q9M2"[place + 2 :]
                right = payload + code.check_character(payload)
                swapped = right[:place] + second + first + right[place + 2 :]
                assert code.is_code(right) and not code.is_code(swapped)


def test_a_code_is_the_number_in_base_32_and_a_check():
    digits = {character: value for value, character in enumerate(code.ALPHABET)}
    for number, made in zip(PAYLOADS, CODES, strict=True):
        assert len(made) == 8
        assert (
            sum(digits[character] * 32 ** (6 - place) for place, character in enumerate(made[:7])) == number
        )


@pytest.mark.parametrize("number", [-1, 1 << 35])
def test_a_number_too_large_or_negative_makes_no_code(number):
    with pytest.raises(ValueError, match=f"^{number}: a code holds a number from 0 to 34359738367"):
        code.make(number)


@pytest.mark.parametrize(
    "typed",
    [
        "7K3Q9M2D",
        "7k3q9m2d",
        "7K3Q-9M2D",
        " 7k3q 9m2d\n",
        "7-k-3-q-9-m-2-d",
        "7K3Q–9M2D",
        "7K3Q‑9M2D",
        "7K3Q\u00a09M2D",
    ],
)
def test_case_hyphens_and_spaces_do_not_matter(typed):
    assert code.read(typed) == "7K3Q9M2D"


def test_letters_that_look_like_figures_are_read_as_figures():
    made = next(
        made
        for made in (code.make(number) for number in range(1 << 20))
        if made.count("1") > 1 and "0" in made
    )
    first, rest = made.replace("0", "o").split("1", 1)
    assert code.read(first + "I" + rest.replace("1", "l")) == made
    assert code.read(made.replace("1", "L").replace("0", "O")) == made
    assert code.read(made.replace("1", "i")) == made


@pytest.mark.parametrize("wrong", ["7K3Q9M2E", "7K3Q9MD2", "7K39QM2D", "K73Q9M2D", "7M3Q9K2D"])
def test_a_mistyped_code_is_refused_and_the_remedy_said(wrong):
    with pytest.raises(
        ValueError, match=rf"^'{wrong}' is no code: one of its characters is wrong, or two changed"
    ):
        code.read(wrong)


@pytest.mark.parametrize(("wrong", "length"), [("", 0), ("7K3Q9M2", 7), ("007K3Q9M2D", 10), ("7K3Q-9M2", 7)])
def test_a_wrong_length_is_refused_and_counted(wrong, length):
    """Zeros added in front would pass the arithmetic; the length stops them."""
    with pytest.raises(
        ValueError, match=rf"^'{wrong}' has {length} characters, and a code has 8, such as 7K3Q-9M2D"
    ):
        code.read(wrong)


@pytest.mark.parametrize(
    ("wrong", "strange"), [("7K3Q9M2U", "U"), ("7K3Q9M2ß", "ß"), ("7K3Q9M2٣", "٣"), ("7K3Q_M2D", "_")]
)
def test_a_strange_character_is_named(wrong, strange):
    with pytest.raises(ValueError, match=rf"^'{wrong}': '{strange}' is in no code"):
        code.read(wrong)
    assert not code.is_code(wrong)


def test_what_is_shown_is_read_back():
    for made in CODES:
        assert code.show(made) == f"{made[:4]}-{made[4:]}"
        assert code.read(code.show(made)) == made


def test_public_names():
    assert code.__all__ == ["ALPHABET", "check_character", "is_code", "make", "read", "show"]


def test_import_brings_in_nothing_heavy():
    script = "import sys; before = set(sys.modules); import ortet.wood.code; print(sorted(m for m in set(sys.modules) - before))"
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "['ortet', 'ortet.wood', 'ortet.wood.code']"
