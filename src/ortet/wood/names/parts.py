"""The parts of a plant's name: read from the words it came in, and written again as the ICNCP has them."""

import re
from dataclasses import dataclass, field, replace

from ortet.wood.naming import fold

__all__ = ["PlantName", "parse", "same_name", "written"]

HYBRID, GRAFT = "\N{MULTIPLICATION SIGN}", "+"
# Quotation marks a name comes in. Single ones are right; the others are understood all the same.
SINGLE = "'‘’‚‛′`"
DOUBLE = '"“”„‟″«»'
_QUOTED = tuple(
    re.compile(rf"(?:^|(?<=[\s(]))[{marks}](?P<inside>.*\S.*)[{marks}](?=$|[\s)™®])")
    for marks in (SINGLE, DOUBLE)
)
_TWO_QUOTED = re.compile(rf"^(.+?)[{SINGLE}{DOUBLE}]\s+[{SINGLE}{DOUBLE}](.+)$")
_NOT_A_SPECIES = re.compile(r"\s(?:cv|var|cultivar|variety)\.?$", re.IGNORECASE)
_RANKS = ("subsp.", "ssp.", "convar.", "var.", "f.")
_SPECIES = re.compile(r"[a-z][a-z-]*$")
# Small words inside epithets of several languages: what follows a first capital word and is no species.
_SMALL = """
a an and at by d da das de del della dem den der des di die do dos du e et for from im in l la las le les of
on the to un und une van vom von with y zu zum zur
"""


@dataclass(frozen=True, slots=True)
class PlantName:
    """A name in its parts, none of them with the marks that writing adds; and the words it came in."""

    received: str
    genus: str = ""  # or a common name that stands for it
    species: str = ""
    below: str = ""  # rank and epithet below the species, such as var. nigra
    group: str = ""
    epithet: str = ""
    trade: str = ""  # a selling name, which is no name under the Code
    is_hybrid_genus: bool = False
    is_hybrid_species: bool = False
    is_graft: bool = False  # of a graft-chimaera
    slips: tuple[str, ...] = field(default=())  # what of the writing is not as the Code has it


def parse(text: str, genus: str = "") -> PlantName:
    """Read a name as people write it.

    Parameters
    ----------
    text
        Such as `Malus domestica 'Gala'`, `apple "Gala"`, `Salix x capreola`, or a bare `Gala`.
    genus
        Where it is known: without quotation marks, only what begins with it is read as a botanical name.

    Returns
    -------
    PlantName
        Its `received` is the text word for word.
    """
    words = re.sub(
        r"^x (?=[A-Z])", f"{HYBRID} ", " ".join(text.split())
    )  # a letter x before a genus is the sign
    for pattern, slip in zip(_QUOTED, ((), ("QUOTE",)), strict=True):
        if found := pattern.search(words):
            name = _of_quoted(words[: found.start()].strip(), found["inside"].strip(), words[found.end() :])
            return replace(name, received=text, slips=(*name.slips, *slip))
    if _is_botanical(words, genus):
        return replace(_botanical(words), received=text)
    return PlantName(text, epithet=words.strip(SINGLE + DOUBLE).strip())


def _of_quoted(before: str, inside: str, after: str) -> PlantName:
    slips: tuple[str, ...] = ()
    trade = after.strip(" ()™®")
    if two := _TWO_QUOTED.match(inside):
        inside, trade = two[1].strip(), two[2].strip()
        slips = ("TRADE",)
    said = re.sub(r"^(?:cv|var)\.?$", " cv.", before, flags=re.IGNORECASE)
    if bare := _NOT_A_SPECIES.search(said):
        before, slips = said[: bare.start()].strip(), (*slips, "CV")
    name = _botanical(before)
    # what is neither genus nor species before the quotation mark belongs to no part: a selling name set first
    return replace(name, epithet=inside, trade=trade or name.epithet, slips=slips)


def _is_botanical(words: str, genus: str) -> bool:
    first, *rest = words.lstrip(f"{HYBRID}{GRAFT} ").split() or [""]
    if words[:1] in (HYBRID, GRAFT):
        return True
    if genus:
        return fold(first) == fold(genus) and bool(rest)
    follows = [word.lstrip(HYBRID) for word in rest if word not in (HYBRID, "x")][:1]
    latin = bool(follows) and bool(_SPECIES.match(follows[0])) and follows[0] not in _SMALL.split()
    return bool(re.match(r"[A-Z][a-z-]+$", first)) and (latin or words.endswith((" Group", " Group)")))


def _botanical(words: str) -> PlantName:
    """Read genus, species, what stands below it, and Group; a bare epithet after them is the epithet."""
    group = ""
    if inside := re.search(r"\(([^()]+?)\s+Group\)", words):
        group, words = inside[1], (words[: inside.start()] + words[inside.end() :]).strip()
    left = words.replace(HYBRID, f" {HYBRID} ").split()
    is_graft = bool(left) and left[0].startswith(GRAFT)
    if is_graft:
        left[0] = left[0].removeprefix(GRAFT)
        left = [word for word in left if word]
    is_hybrid_genus = bool(left) and left[0] in (HYBRID, "x") and len(left) > 1
    left = left[is_hybrid_genus:]
    genus = left.pop(0) if left else ""
    is_hybrid_species = len(left) > 1 and left[0] in (HYBRID, "x") and bool(_SPECIES.match(left[1]))
    left = left[is_hybrid_species:]
    species = left.pop(0) if left and (_SPECIES.match(left[0]) or left[0] == "sp.") else ""
    below = ""
    if len(left) > 1 and left[0] in _RANKS:
        below, left = " ".join(left[:2]), left[2:]
    if len(left) > 1 and left[-1] == "Group":
        group, left = " ".join(left[:-1]), []
    return PlantName(
        words, genus, species, below, group, " ".join(left), "", is_hybrid_genus, is_hybrid_species, is_graft
    )


def written(name: PlantName) -> str:
    """Write a name as the Code has it, in plain text: `Genus species (X Group) ‘Epithet’ SELLING NAME`."""
    sign = HYBRID if name.is_hybrid_genus else GRAFT if name.is_graft else ""
    group = f"{name.group} Group" if name.group else ""
    parts = [
        sign + name.genus if name.genus else "",
        (HYBRID if name.is_hybrid_species else "") + name.species if name.species else "",
        name.below,
        f"({group})" if group and name.epithet else group,
        f"\N{LEFT SINGLE QUOTATION MARK}{name.epithet}\N{RIGHT SINGLE QUOTATION MARK}"
        if name.epithet
        else "",
        name.trade.upper(),
    ]
    return " ".join(filter(None, parts))


def same_name(one: PlantName, other: PlantName) -> bool:
    """Whether two names are one: the hybrid sign counts for nothing (ICN, Shenzhen 2018, Art. H.3), nor do selling names."""
    from .rules import loose

    def key(name: PlantName) -> tuple[str, ...]:
        return tuple(map(loose, (name.genus, name.species, name.below, name.group, name.epithet)))

    return key(one) == key(other)
