"""Deeds of the collection: sites, cold places, benches, standing grounds, varieties and mother plants."""

from datetime import date
from typing import Literal

from ortet.ledger.booking import Refused, Unknown, created, new_code, told, turn
from ortet.ledger.models import Kind, MotherPlant, Place, Variety
from ortet.ledger.places import NAMED
from ortet.science.species import known_species
from ortet.wood import code as codes
from ortet.wood.names import parse
from ortet.wood.naming import fold
from ortet.wood.speech import say, to_say

from .names import genus_of, name_of

__all__ = ["add_mother", "add_place", "describe_variety", "find_variety", "free_name", "named_variety"]

QUOTES = "'\"‘’“”‚‛′`"  # quotation marks a name may come in; the label adds its own
FIELDS = {
    "group": to_say("group"),
    "selling_name": to_say("selling name"),
    "right": to_say("right"),
    "note": to_say("note"),
}
LONGEST = {"group": 60, "selling_name": 120, "right": 200, "note": 2000}  # what is kept of a variety


def add_place(name: str, kind: Kind | str, note: str = "") -> Place:
    """Add a growing site, a cold place, a bench or a standing ground; return it, or the one that has this name already."""
    kind = Kind(kind)
    if kind not in (Kind.SITE, Kind.STORE, Kind.BENCH, Kind.GROUND):
        raise Refused(say("A {kind} is not added by itself. Nothing was booked.", kind=kind.label))
    name = name.strip()
    if not name:
        raise Refused(say("A {kind} needs a name. Nothing was booked.", kind=kind.label))
    with turn():
        found = Place.objects.filter(kind=kind, name_key=fold(name)).first()
        return found or created(Place, kind=kind, name=free_name(name), note=note, code=new_code(Place))


def free_name(name: str) -> str:
    """Return a name for a place that no other bears, making it free where only an emptied bag bore it.

    Raises
    ------
    Refused
        If it is in use, or reads as a code of ours.
    """
    name = name.strip()
    if codes.is_code(name):
        raise Refused(
            say(
                "{name!r} reads as a code that Ortet makes. Pick another name. Nothing was booked.", name=name
            )
        )
    there = Place.objects.filter(kind__in=NAMED, name_key=fold(name)).first()
    if there is None:
        return name
    last = there.movements_out.order_by("-at").first()
    if there.kind == Kind.BATCH:
        raise Refused(
            say(
                "A batch is called {there} already, and what it taught goes by that name. Pick another, or leave it out. "
                "Nothing was booked.",
                there=there,
            )
        )
    if there.kind != Kind.BAG or last is None or there.balances.filter(count__gt=0).exists():
        raise Refused(
            say(
                "A {kind} is called {there} already. To put more wood in it, move the wood there; else pick another name. "
                "Nothing was booked.",
                kind=Kind(there.kind).label,
                there=there,
            )
        )
    there.name = say("{name} (until {day})", name=there.name, day=told(last.at))
    there.save()
    return name


def named_variety(name: str, species: str, right: str = "") -> Variety:
    """Return the variety of this name, added where it is new; refuse it under another species."""
    if not name.strip(QUOTES + " "):
        raise Refused(say("The variety needs a name. Nothing was booked."))
    if species not in known_species():
        raise Refused(
            say(
                "Species {species!r} is not known. Known are: {known}. Nothing was booked.",
                species=species,
                known=", ".join(sorted(known_species())),
            )
        )
    name, as_received = name_of(name, species)
    variety = Variety.objects.filter(name_key=fold(name)).first()
    if variety is None:
        came = parse(as_received, genus_of(species))
        return created(
            Variety,
            name=name,
            as_received=as_received,
            species=species,
            right=right.strip(),
            group=came.group,
            selling_name=came.trade,
        )
    if variety.species != species:
        raise Refused(
            say(
                "{variety} is in the book as {noted}, not {species}. Correct the species, or give the variety another name. "
                "Nothing was booked.",
                variety=variety,
                noted=variety.species,
                species=species,
            )
        )
    return variety


def find_variety(name: str) -> Variety:
    """Return the variety of this name, with or without quotation marks.

    Raises
    ------
    Unknown
        If the book has none; it says which are near.
    """
    key = fold(name.strip().strip(QUOTES).strip())
    if found := Variety.objects.filter(name_key=key).first():
        return found
    near = Variety.objects.filter(name_key__contains=key[:4])[:3] if key else []
    hint = (
        say(" Is it {near}?", near=", ".join(map(str, near))) if near else say(" Add its mother plant first.")
    )
    raise Unknown(
        say("No variety is called {name!r}.{hint} Nothing was booked.", name=name.strip(), hint=hint)
    )


def describe_variety(
    name: str,
    *,
    group: str | None = None,
    selling_name: str | None = None,
    right: str | None = None,
    right_until: date | Literal[""] | None = None,
    note: str | None = None,
) -> Variety:
    """Note a variety's Group, selling name, breeder's right and its last day; what is None stays as it is, "" takes it out.

    Raises
    ------
    Refused
        If a word is too long, or a last day is said of no right.
    Unknown
        If the variety is not in the book.
    """
    with turn():
        what = find_variety(name)
        said = {"group": group, "selling_name": selling_name, "right": right, "note": note}
        for field, value in said.items():
            if value is None:
                continue
            value = " ".join(value.split()) if field != "note" else value.strip()
            if field == "group":
                value = value.removesuffix(" Group").removesuffix(" group").strip(" ()")
            if field == "selling_name":
                value = value.strip(QUOTES + "™® ")
            if len(value) > LONGEST[field]:
                raise Refused(
                    say(
                        "{field}: {length} characters, {most} at most. Nothing was booked.",
                        field=say(FIELDS[field]).capitalize(),
                        length=len(value),
                        most=LONGEST[field],
                    )
                )
            setattr(what, field, value)
        if right_until is not None:
            what.right_until = right_until or None
        if not what.right and right_until:
            raise Refused(
                say("No right is noted for {what}: say which right ends then. Nothing was booked.", what=what)
            )
        if not what.right:
            what.right_until = None
        what.save()
        return what


def add_mother(
    accession: str,
    variety: str,
    species: str,
    *,
    site: str = "",
    source: str = "",
    health: str = "",
    right: str = "",
    right_until: date | None = None,
    group: str = "",
    selling_name: str = "",
    note: str = "",
) -> MotherPlant:
    """Add a mother plant and, where it is new, its variety; return the plant.

    What is said of right, Group and selling name is noted of the variety, also where it is in the book.

    Raises
    ------
    Refused
        If the accession number is taken, the species unknown, or the variety in the book as another species.
    """
    accession = accession.strip()
    if not accession:
        raise Refused(say("A mother plant needs an accession number. Nothing was booked."))
    with turn():
        if (
            there := MotherPlant.objects.filter(accession_key=fold(accession))
            .select_related("variety")
            .first()
        ):
            raise Refused(
                say(
                    "Accession {accession} is in the book already, as {variety}. Nothing was booked.",
                    accession=there.accession,
                    variety=there.variety,
                )
            )
        of = named_variety(variety, species, right)
        if right.strip() or right_until or group.strip() or selling_name.strip():
            of = describe_variety(
                of.name,
                group=group or None,
                selling_name=selling_name or None,
                right=right or None,
                right_until=right_until,
            )
        return created(
            MotherPlant,
            accession=accession,
            variety=of,
            place=created(Place, kind=Kind.MOTHER, name=accession, code=new_code(Place)),
            site=add_place(site, Kind.SITE) if site.strip() else None,
            source=source,
            health=health,
            note=note,
        )
