"""What the ICNCP says of an epithet: each rule a function that returns a remark or nothing. No remark stops anything."""

import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from ortet.wood.speech import say

from .parts import PlantName

__all__ = ["RULES", "Remark", "check", "counted", "loose"]

LONGEST = 30  # characters, spaces not counted, since 1996
ALLOWED = " '’,.-‐/\\!"
# Since 1959, in any language; the English ones.
NOT_IN_AN_EPITHET = """
cultivar cultivars form forms grex grexes group groups hybrid hybrids improved maintenance mixture mixtures
selection selections series sport sports strain strains transformed variety varieties
"""
CLAIMS = """
best biggest earliest finest firmest greatest hardiest healthiest heaviest juiciest largest latest longest
most nicest prettiest richest strongest sweetest tallest tastiest
"""
# Latin that gardens describe plants with; an epithet of nothing else is taken for Latin. [our choice]
LATIN = """
alba albiflora albovariegata argentea argenteovariegata atropurpurea aurea aureovariegata coerulea columnaris
compacta contorta crispa cristata dissecta erecta fastigiata flore gigantea glauca globosa grandiflora
horizontalis laciniata latifolia lutea macrocarpa macrophylla major microphylla minima minor monstrosa nana
nigra pendula plena pleno procumbens prostrata pumila purpurea pyramidalis rosea rubra serotina spiralis
stricta superba tortuosa tricolor umbraculifera variegata viridis vulgaris
"""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something about a name to look at. A hint is a guess; a warning is a rule of the Code."""

    code: str
    said: str
    is_hint: bool = False


def loose(name: str) -> str:
    """Return what spellings of one epithet share: no accents, apostrophes or capitals, and a hyphen is a space."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", name) if not unicodedata.combining(c))
    for apostrophe in "'’‘‛′`":
        plain = plain.replace(apostrophe, "")
    return " ".join(plain.casefold().replace("-", " ").replace("‐", " ").split())


def counted(epithet: str) -> int:
    """Return how many characters of an epithet count: all but spaces."""
    return len("".join(unicodedata.normalize("NFC", epithet).split()))


def _words(epithet: str) -> list[str]:
    return loose("".join(c if c.isalnum() or c in " -'’" else " " for c in epithet)).split()


def _len(name: PlantName) -> str:
    long = counted(name.epithet)
    return say("{long} characters, {most} are the most", long=long, most=LONGEST) if long > LONGEST else ""


def _single(name: PlantName) -> str:
    is_letter = len(name.epithet) == 1 and name.epithet.isalpha()
    return say("an epithet is more than one letter") if is_letter else ""


def _digits(name: PlantName) -> str:
    told = [c for c in name.epithet if c.isalnum()]
    return say("an epithet is not of numerals only") if told and all(c.isdecimal() for c in told) else ""


def _char(name: PlantName) -> str:
    wrong = dict.fromkeys(
        c
        for c in name.epithet
        if unicodedata.category(c)[0] not in "LM" and not c.isdecimal() and c not in ALLOWED
    )
    return say("{what} does not stand in an epithet", what=" ".join(wrong)) if wrong else ""


def _excl(name: PlantName) -> str:
    many = name.epithet.count("!") > 2 or "!!" in name.epithet
    return say("exclamation marks: two at most, and not side by side") if many else ""


def _word(name: PlantName) -> str:
    found = [word for word in _words(name.epithet) if word in NOT_IN_AN_EPITHET.split()]
    return say("the word {word!r} does not stand in an epithet", word=found[0]) if found else ""


def _genus(name: PlantName) -> str:
    repeats = name.genus and loose(name.genus) in _words(name.epithet)
    return say("it repeats the genus {genus}", genus=name.genus) if repeats else ""


def _cap(name: PlantName) -> str:
    first = name.epithet[:1]
    small = first and not first.isdecimal() and first.isalpha() and first.upper() != first
    return say("an epithet begins with a capital or a numeral") if small else ""


def _script(name: PlantName) -> str:
    other = any(c.isalpha() and not unicodedata.name(c, "").startswith("LATIN") for c in name.epithet)
    return say("an epithet is written in Roman letters: add how it is transcribed") if other else ""


def _quote(name: PlantName) -> str:
    slipped = "QUOTE" in name.slips
    return say("an epithet stands in single quotation marks, not in double ones") if slipped else ""


def _cv(name: PlantName) -> str:
    return say("neither cv. nor var. stands before an epithet") if "CV" in name.slips else ""


def _latin(name: PlantName) -> str:
    words = _words(name.epithet)
    return (
        say("it reads as Latin, which epithets made since 1959 are not")
        if words and set(LATIN.split()).issuperset(words)
        else ""
    )


def _claim(name: PlantName) -> str:
    found = [word for word in _words(name.epithet) if word in CLAIMS.split()]
    if not found:
        return ""
    return say("{word!r} praises the plant, which epithets made since 1959 do not", word=found[0])


def _trade(name: PlantName) -> str:
    if "TRADE" in name.slips:
        return say(
            "the second name in quotation marks may be a selling name: those stand in capitals, without marks"
        )
    letters = [c for c in name.epithet if c.isalpha()]
    shouts = name.epithet == name.epithet.upper() and not any(c.isdecimal() for c in name.epithet)
    return (
        say("all in capitals, it may be a selling name and not the variety's own: ask for that")
        if shouts and len(letters) >= 4 and _script(name) == ""
        else ""
    )


Rule = Callable[[PlantName], str]
RULES: tuple[tuple[str, Rule], ...] = (
    ("QUOTE", _quote), ("CV", _cv), ("CAP", _cap), ("LEN", _len), ("SINGLE", _single), ("DIGITS", _digits), ("CHAR", _char),
    ("EXCL", _excl), ("WORD", _word), ("GENUS", _genus), ("SCRIPT", _script),
)  # fmt: skip
HINTS: tuple[tuple[str, Rule], ...] = (("LATIN", _latin), ("CLAIM", _claim), ("TRADE", _trade))


def check(name: PlantName, others: Iterable[str] = ()) -> list[Remark]:
    """Return what is to be said of a name's epithet; nothing where it has none.

    Parameters
    ----------
    others
        Epithets in use in the same denomination class, which is the genus where the Code names no other. An epithet that is
        spelt exactly so is the same variety and no remark.
    """
    if not name.epithet:
        return []
    remarks = [Remark(code, said) for code, rule in RULES if (said := rule(name))]
    remarks += [Remark(code, said, is_hint=True) for code, rule in HINTS if (said := rule(name))]
    for other in others:
        if other != name.epithet and loose(other) == loose(name.epithet):
            remarks.append(
                Remark(
                    "DUP",
                    say("the book has {other!r}, which may be the same variety", other=other),
                    is_hint=True,
                )
            )
    return remarks
