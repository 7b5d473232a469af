"""Lot codes: seven characters and a check character, short enough to read aloud, caught when mistyped.

The alphabet is Crockford's: ten figures and 22 letters, without I, L, O and U. The check character is Damm's,
over the field of 32 elements: it sees every single wrong character and every swap of neighbours. A code says
nothing about the wood, because names get corrected and codes must not. See docs/why/lot-codes.md.
"""

import re

from .speech import say

__all__ = ["ALPHABET", "check_character", "is_code", "make", "of_label", "read", "show"]

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
PAYLOAD = 7  # characters before the check character; the check cannot see zeros added in front, so the length is fixed
EXAMPLE = "7K3Q-9M2D"

_VALUE = {character: value for value, character in enumerate(ALPHABET)}
# Twice each element of GF(32) = GF(2)[x] / (x^5 + x^2 + 1): shift, and take off the polynomial when bit 5 comes up.
_TWICE = tuple((value << 1) ^ (0b100101 if value & 0b10000 else 0) for value in range(32))
_FORGIVEN = str.maketrans(
    {character.lower(): character for character in ALPHABET if character.isalpha()}
    | dict.fromkeys("iIlL", "1")
    | dict.fromkeys("oO", "0")
    | dict.fromkeys("-‐‑–—", "")  # the hyphens that phones and word processors put in its stead
)


def check_character(payload: str) -> str:
    """Return the character that makes a code of seven characters of the alphabet.

    References
    ----------
    Damm, H. M., Total anti-symmetrische Quasigruppen, Marburg 2004: a quasigroup with a * a = 0 in which
    (c * x) * y = (c * y) * x only where x = y. Here a * b = 2 (a + b) in GF(32). [published method, own table]
    """
    total = 0
    for character in payload:
        total = _TWICE[total ^ _VALUE[character]]
    return ALPHABET[total]


def make(number: int) -> str:
    """Return the code of a number of 35 bits, such as `secrets.randbits(35)`."""
    if not 0 <= number < 1 << 5 * PAYLOAD:
        raise ValueError(
            f"{number}: a code holds a number from 0 to {(1 << 5 * PAYLOAD) - 1}. No code was made."
        )
    payload = "".join(ALPHABET[number >> 5 * place & 31] for place in reversed(range(PAYLOAD)))
    return payload + check_character(payload)


def read(text: str) -> str:
    """Return the eight characters of a code as typed, read aloud or scanned.

    Small letters, hyphens and spaces do not matter; I and L are read as 1, O as 0.
    """
    code = "".join(text.split()).translate(_FORGIVEN)
    if len(code) != PAYLOAD + 1:
        raise ValueError(
            say(
                "{text!r} has {count} characters, and a code has {whole}, such as {example}. "
                "Read the label again, from the first character to the last.",
                text=text,
                count=len(code),
                whole=PAYLOAD + 1,
                example=EXAMPLE,
            )
        )
    if strange := [character for character in code if character not in _VALUE]:
        raise ValueError(
            say(
                "{text!r}: {strange!r} is in no code. A code has figures and the letters A to Z without I, L, O and U, "
                "such as {example}. Read the label again.",
                text=text,
                strange=strange[0],
                example=EXAMPLE,
            )
        )
    if check_character(code[:PAYLOAD]) != code[PAYLOAD]:
        raise ValueError(
            say(
                "{text!r} is no code: one of its characters is wrong, or two changed places. "
                "Read the label again, character by character.",
                text=text,
            )
        )
    return code


def is_code(text: str) -> bool:
    """Say whether `read` would take it."""
    try:
        read(text)
    except ValueError:
        return False
    return True


def show(code: str) -> str:
    """Write a code in two groups of four, as it stands on a label."""
    return f"{code[:4]}-{code[4:]}"


def of_label(text: str) -> str:
    """Return what a scanned label says: its code gives an address, and what stands last in it counts; else the text as typed."""
    found = re.search(r"/l/([^/]+)/?$", text.strip(), re.IGNORECASE)
    return found.group(1) if found else text.strip()
