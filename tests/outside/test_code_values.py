"""The check character of lot codes against the properties that Damm proved, tried one by one.

Damm, H. M., Total anti-symmetrische Quasigruppen, dissertation, Marburg 2004: a table that is a quasigroup with zeros on
its diagonal, and in which (c * x) * y = (c * y) * x only where x = y, catches every single wrong character and every
swap of neighbours. The alphabet is Crockford's base 32.
"""

import itertools
import random

import pytest
from stdnum import damm

from ortet.wood import code

A = code.ALPHABET
# Row by row as the definition says, by polynomials over GF(2) with x^5 + x^2 + 1 = 100101, and not by the code's own table
TABLE = [
    [(row ^ column) << 1 if (row ^ column) < 16 else ((row ^ column) << 1) ^ 0b100101 for column in range(32)]
    for row in range(32)
]


def _payloads():
    chosen = random.Random(20041)
    fixed = ["0000000", "ZZZZZZZ", "7K3Q9M2", "W26A001", "AAAAAAA", "0123456", "0101010"]
    return fixed + ["".join(chosen.choices(A, k=7)) for _ in range(120)]


def test_the_alphabet_is_crockfords():
    """Ten figures, then the letters in order without I, L, O and U (Crockford, Base 32, published page)."""
    assert (
        "0123456789" + "".join(c for c in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if c not in "ILOU") == A
        and len(A) == 32
    )


@pytest.mark.parametrize("payload", ["0000000", "0000001", "1234567", "9876543", "5555555", "0090909"])
def test_the_reference_library_agrees(payload):
    """python-stdnum's Damm over the same table; it reads figures only, so payloads of figures."""
    assert A.index(code.check_character(payload)) == damm.checksum(payload, table=TABLE)


@pytest.mark.parametrize(
    ("payload", "check"),
    [("7K3Q9M2", "D"), ("0000001", "2"), ("W26A001", "N"), ("AAAAAAA", "7"), ("ZZZZZZZ", "C")],
)
def test_codes_keep_their_check_character(payload, check):
    """Worked apart from this program by the definition; labels are in the field, so these never change."""
    assert code.check_character(payload) == check


@pytest.mark.parametrize("wrong", ["7K3Q9M2E", "7K3Q9MD2", "7K39QM2D", "K73Q9M2D", "7M3Q9K2D", "007K3Q9M2D"])
def test_slips_of_one_code_are_caught(wrong):
    assert code.is_code("7K3Q9M2D") and not code.is_code(wrong)


def test_the_table_is_a_quasigroup_with_zeros_on_its_diagonal():
    everything = set(range(32))
    assert all(set(row) == everything for row in TABLE)
    assert all({row[column] for row in TABLE} == everything for column in range(32))
    assert all(TABLE[x][x] == 0 for x in range(32))


def test_the_table_is_weakly_totally_anti_symmetric():
    for c, x, y in itertools.product(range(32), repeat=3):
        assert x == y or TABLE[TABLE[c][x]][y] != TABLE[TABLE[c][y]][x], (c, x, y)


def test_every_single_wrong_character_is_caught():
    for payload in _payloads():
        right = payload + code.check_character(payload)
        for place, other in itertools.product(range(8), A):
            wrong = right[:place] + other + right[place + 1 :]
            assert code.is_code(wrong) == (wrong == right), (right, wrong)


def test_every_swap_of_neighbours_is_caught():
    for payload in _payloads():
        right = payload + code.check_character(payload)
        for place in range(7):
            wrong = right[:place] + right[place + 1] + right[place] + right[place + 2 :]
            assert code.is_code(wrong) == (wrong == right), (right, wrong)


def test_every_pair_of_neighbours_swapped_at_every_place_is_caught():
    """All 1,024 pairs at all seven places: the swap of a pair is seen whatever stands around it."""
    for place, (x, y) in itertools.product(range(6), itertools.product(A, repeat=2)):
        payload = ("7K3Q9M2"[:place] + x + y + "7K3Q9M2"[place + 2 :])[:7]
        right = payload + code.check_character(payload)
        wrong = right[:place] + right[place + 1] + right[place] + right[place + 2 :]
        assert code.is_code(wrong) == (wrong == right), (right, wrong)
