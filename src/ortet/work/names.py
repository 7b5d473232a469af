"""Names of varieties: what is kept of a name as it came, how the Code writes it, and what there is to say of it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from ortet.ledger.models import Variety
from ortet.science.species import known_species, species
from ortet.wood.names import PlantName, Remark, check, parse, written
from ortet.wood.speech import say

__all__ = ["NameSeen", "full_name", "genus_of", "name_of", "parts_of", "read_name", "seen", "told"]


@dataclass(frozen=True, slots=True)
class NameSeen:
    """A name as it came and as it is written, with what there is to say of it. Nothing of that stops anything."""

    received: str
    written: str
    parts: PlantName
    remarks: list[Remark]


def genus_of(kind: str) -> str:
    """Return the genus of a kind of wood, which is also the denomination class of its varieties."""
    return parse(f"{species(kind).latin} 'x'").genus


def name_of(text: str, kind: str) -> tuple[str, str]:
    """Return the variety's name in words as they came, and those words where they are more than that name.

    Parameters
    ----------
    text
        Such as `Dusk`, `'Dusk'` or `Ribes nigrum 'Dusk' MIDNIGHT`.
    kind
        A key of `ortet.science.species`.
    """
    text = text.strip()
    name = parse(text, genus_of(kind)).epithet or text
    return name, "" if name == text else text


def _others(genus: str, name: str) -> Iterable[str]:
    """Return the other varieties' names of one genus that the book holds."""
    kinds = [kind for kind in known_species() if genus_of(kind) == genus]
    return Variety.objects.filter(species__in=kinds).exclude(name=name).values_list("name", flat=True)


def parts_of(variety: Variety) -> PlantName:
    """Return a variety's name in its parts; what was noted of Group and selling name goes before what it came with."""
    name = _parts(variety.species, variety.name, variety.as_received)
    return replace(name, group=variety.group or name.group, trade=variety.selling_name or name.trade)


@lru_cache(4096)  # a season's papers name the same few hundred varieties thousands of times
def _parts(kind: str, called: str, as_received: str) -> PlantName:
    """Return the parts of a name as it came, with the kind's own where it says none."""
    of_kind = parse(f"{species(kind).latin} 'x'")
    name = parse(as_received or called, of_kind.genus)
    if not name.genus:
        name = replace(
            name, genus=of_kind.genus, species=of_kind.species, is_hybrid_species=of_kind.is_hybrid_species
        )
    return name if name.epithet else replace(name, epithet=called)


def full_name(variety: Variety) -> str:
    """Write a variety's whole name as the ICNCP has it: Ribes nigrum ‘Dusk’, with Group and selling name where it has them."""
    return written(parts_of(variety))


def seen(variety: Variety) -> NameSeen:
    """Return what there is to see of a variety's name."""
    name = parts_of(variety)
    remarks = check(name, _others(genus_of(variety.species), variety.name))
    return NameSeen(variety.as_received or variety.name, written(name), name, remarks)


def read_name(text: str) -> NameSeen:
    """Return what there is to see of a name that is in no book; its genus, where it says one, is looked up in this one."""
    name = parse(text)
    others = _others(name.genus, name.epithet) if name.genus else ()
    return NameSeen(text, written(name), name, check(name, others))


def told(name: NameSeen) -> list[str]:
    """Return the remarks as sentences."""
    return [
        say("A hint ({code}): {said}. The name stays as it came.", code=remark.code, said=remark.said)
        if remark.is_hint
        else say(
            "By the ICNCP ({code}): {said}. The name stays as it came.", code=remark.code, said=remark.said
        )
        for remark in name.remarks
    ]
