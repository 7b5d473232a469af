"""Deeds of the collection: sites, cold places, benches, standing grounds, varieties and mother plants."""

from ortet.ledger.booking import Refused, created, new_code, told, turn
from ortet.ledger.models import Kind, MotherPlant, Place, Variety
from ortet.ledger.places import NAMED
from ortet.science.species import known_species
from ortet.wood import code as codes
from ortet.wood.naming import fold

from .names import name_of

__all__ = ["add_mother", "add_place", "free_name", "named_variety"]

QUOTES = "'\"‘’“”‚‛′`"  # quotation marks a name may come in; the label adds its own


def add_place(name: str, kind: Kind | str, note: str = "") -> Place:
    """Add a growing site, a cold place, a bench or a standing ground; return it, or the one that has this name already."""
    kind = Kind(kind)
    if kind not in (Kind.SITE, Kind.STORE, Kind.BENCH, Kind.GROUND):
        raise Refused(f"A {kind.label} is not added by itself. Nothing was booked.")
    name = name.strip()
    if not name:
        raise Refused(f"A {kind.label} needs a name. Nothing was booked.")
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
        raise Refused(f"{name!r} reads as a code that Ortet makes. Pick another name. Nothing was booked.")
    there = Place.objects.filter(kind__in=NAMED, name_key=fold(name)).first()
    if there is None:
        return name
    last = there.movements_out.order_by("-at").first()
    if there.kind == Kind.BATCH:
        raise Refused(
            f"A batch is called {there} already, and what it taught goes by that name. Pick another, or leave it out. "
            "Nothing was booked."
        )
    if there.kind != Kind.BAG or last is None or there.balances.filter(count__gt=0).exists():
        raise Refused(
            f"A {Kind(there.kind).label} is called {there} already. To put more wood in it, move the wood there; "
            "else pick another name. Nothing was booked."
        )
    there.name = f"{there.name} (until {told(last.at)})"
    there.save()
    return name


def named_variety(name: str, species: str, right: str = "") -> Variety:
    """Return the variety of this name, added where it is new; refuse it under another species."""
    if not name.strip(QUOTES + " "):
        raise Refused("The variety needs a name. Nothing was booked.")
    if species not in known_species():
        raise Refused(
            f"Species {species!r} is not known. Known are: {', '.join(sorted(known_species()))}. Nothing was booked."
        )
    name, as_received = name_of(name, species)
    variety = Variety.objects.filter(name_key=fold(name)).first()
    if variety is None:
        return created(Variety, name=name, as_received=as_received, species=species, right=right)
    if variety.species != species:
        raise Refused(
            f"{variety} is in the book as {variety.species}, not {species}. "
            "Correct the species, or give the variety another name. Nothing was booked."
        )
    return variety


def add_mother(
    accession: str,
    variety: str,
    species: str,
    *,
    site: str = "",
    source: str = "",
    health: str = "",
    right: str = "",
    note: str = "",
) -> MotherPlant:
    """Add a mother plant and, where it is new, its variety; return the plant.

    Raises
    ------
    Refused
        If the accession number is taken, the species unknown, or the variety in the book as another species.
    """
    accession = accession.strip()
    if not accession:
        raise Refused("A mother plant needs an accession number. Nothing was booked.")
    with turn():
        if (
            there := MotherPlant.objects.filter(accession_key=fold(accession))
            .select_related("variety")
            .first()
        ):
            raise Refused(
                f"Accession {there.accession} is in the book already, as {there.variety}. Nothing was booked."
            )
        return created(
            MotherPlant,
            accession=accession,
            variety=named_variety(variety, species, right),
            place=created(Place, kind=Kind.MOTHER, name=accession, code=new_code(Place)),
            site=add_place(site, Kind.SITE) if site.strip() else None,
            source=source,
            health=health,
            note=note,
        )
