"""Lot codes against another program's Damm and another way of reckoning in the field of 32 elements.

What the check catches, slip by slip, is in test_code_values.py.
"""

import random

from stdnum import damm

from ortet.wood import code

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # Crockford, "Base 32", his own page: no I, L, O, U


def times_two(element: int) -> int:
    """Multiply by x in GF(2)[x] / (x^5 + x^2 + 1), by long division of polynomials, with no table."""
    product = element * 2
    for degree in range(product.bit_length() - 1, 4, -1):
        if product >> degree & 1:
            product ^= 0b100101 << degree - 5
    return product


TABLE = tuple(tuple(times_two(row ^ column) for column in range(32)) for row in range(32))


def test_check_characters_agree_with_python_stdnum():
    """python-stdnum's own Damm, first tried on its documented example (572 gives 4), walks the 32 by 32 table above. It
    reads figures only, so the payloads are figures; the check characters are any of the 32. Exact."""
    assert damm.calc_check_digit("572") == "4"
    seen = set()
    for number in range(0, 10_000_000, 997):
        payload = f"{number:07}"
        check = code.check_character(payload)
        assert check == ALPHABET[damm.checksum(payload, table=TABLE)]
        seen.add(check)
    assert seen == set(ALPHABET)


def test_check_characters_agree_with_the_table_walked_by_hand():
    """The same walk over any characters, its products by long division. Exact."""
    rng = random.Random(32)
    for _ in range(5_000):
        payload = rng.choices(range(32), k=7)
        total = 0
        for value in payload:
            total = times_two(total ^ value)
        assert code.check_character("".join(ALPHABET[value] for value in payload)) == ALPHABET[total]
