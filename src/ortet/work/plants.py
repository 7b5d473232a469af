"""Deeds of the collection: sites, cold places, benches, varieties and mother plants."""

from django.db import transaction

from ortet.ledger.booking import Refused, new_code
from ortet.ledger.models import Kind, MotherPlant, Place, Variety
from ortet.science.species import known_species

__all__ = ["add_mother", "add_place"]

QUOTES = "'\"‘’“”‚‛′`"  # quotation marks a name may come in; the label adds its own


def add_place(name: str, kind: Kind | str, note: str = "") -> Place:
    """Add a growing site, a cold place or a bench; return it, or the one that has this name already."""
    kind = Kind(kind)
    if kind not in (Kind.SITE, Kind.STORE, Kind.BENCH):
        raise Refused(f"A {kind.label} is not added by itself. Nothing was booked.")
    name = name.strip()
    if not name:
        raise Refused(f"A {kind.label} needs a name. Nothing was booked.")
    with transaction.atomic():
        found = Place.objects.filter(kind=kind, name__iexact=name).first()
        return found or Place.objects.create(kind=kind, name=name, note=note, code=new_code(Place))


def _variety(name: str, species: str, right: str) -> Variety:
    name = name.strip().strip(QUOTES).strip()
    if not name:
        raise Refused("A mother plant needs the name of its variety. Nothing was booked.")
    if species not in known_species():
        raise Refused(
            f"Species {species!r} is not known. Known are: {', '.join(sorted(known_species()))}. Nothing was booked."
        )
    variety = Variety.objects.filter(name__iexact=name).first()
    if variety is None:
        return Variety.objects.create(name=name, species=species, right=right)
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
    with transaction.atomic():
        if there := MotherPlant.objects.filter(accession__iexact=accession).select_related("variety").first():
            raise Refused(
                f"Accession {there.accession} is in the book already, as {there.variety}. Nothing was booked."
            )
        return MotherPlant.objects.create(
            accession=accession,
            variety=_variety(variety, species, right),
            place=Place.objects.create(kind=Kind.MOTHER, name=accession, code=new_code(Place)),
            site=add_place(site, Kind.SITE) if site.strip() else None,
            source=source,
            health=health,
            note=note,
        )
