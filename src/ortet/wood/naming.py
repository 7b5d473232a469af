"""Names as people write them: when two of them are the same name."""

import re
import unicodedata

__all__ = ["by_number", "fold"]


def fold(name: str) -> str:
    """Return what two spellings of one name share, whatever their capitals, spaces or composed letters.

    NFKC and full case folding, as the Unicode standard (section 3.13, D145) compares without regard to case. Databases differ
    in this, SQLite folding ASCII only, so names are compared by this and by nothing else. A NUL is no letter, and PostgreSQL
    cannot even be asked about it: it is left out.
    """
    name = name.replace("\0", "")
    return " ".join(unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold()).split())


def by_number(name: str) -> tuple[tuple[int, str | int], ...]:
    """Return a key by which A2 comes before A10."""
    return tuple(
        (0, int(part)) if part.isdecimal() else (1, part.casefold()) for part in re.findall(r"\d+|\D+", name)
    )
