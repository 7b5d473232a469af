"""Plant passports for lots, where the nursery has an authorised operator's number; and supplier's documents."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.utils import translation

from ortet.ledger.booking import Refused
from ortet.ledger.models import Lot, Nursery
from ortet.ledger.packed import contents
from ortet.paper.declaration import SupplierLabel, supplier_labels
from ortet.paper.passport import OWN_LANGUAGE, Passport, passport, passport_labels
from ortet.wood import code as codes
from ortet.wood.countries import EU, country_name, is_country
from ortet.wood.names import written
from ortet.wood.speech import ENGLISH, say
from ortet.work import find, names
from ortet.work.packing import find_parcel

from .sheet import Days, full_name, paper_for, printing

__all__ = ["REMINDER", "Wanted", "lots_of", "passports", "passports_of", "supplier_documents"]

REMINDER = (
    "A plant passport vouches that the plants were examined and are free of quarantine pests. Only its authorised issuer may "
    "say so: ask the plant-health authority before you use it."
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """How passports are to be made; what is not said follows from the nursery."""

    language: str = ""  # ISO 639-1; nothing: an official one of the nursery's country
    pests: tuple[str, ...] = ()  # of a protected zone
    origin: str = ""  # ISO 3166-1, for wood that does not come from a mother plant of the nursery
    colour: bool = True


def lots_of(lots: Sequence[str], parcel: int | None) -> list[Lot]:
    """Return the lots named, or those that lie, or went, in a parcel; each once.

    Raises
    ------
    Refused
        If neither is named, both are, or nothing lies in the parcel.
    Unknown
        If there is no such lot or parcel.
    """
    if bool(lots) == (parcel is not None):
        raise Refused(say("Name lots, or one parcel. Nothing was printed."))
    found = (
        [find.lot(name) for name in lots]
        if parcel is None
        else [one.lot for one in contents(find_parcel(parcel))]
    )
    if not found:
        raise Refused(
            say("Nothing lies in parcel {parcel}. Pack something first. Nothing was printed.", parcel=parcel)
        )
    return list({lot.pk: lot for lot in found}.values())


def passports_of(lots: Sequence[Lot], wanted: Wanted) -> list[Passport]:
    """Return the passport of each lot.

    Raises
    ------
    Refused
        If the nursery has no authorised operator's number, its country issues no passports or is not noted, or where a lot
        comes from is not known.
    """
    nursery = Nursery.get()
    if not nursery.country:
        raise Refused(
            say("Say first in which country the nursery is: ortet nursery --country. Nothing was printed.")
        )
    if wanted.origin and not is_country(wanted.origin):
        raise Refused(
            say(
                "{origin!r}: write the country of origin as two letters, such as DE. Nothing was printed.",
                origin=wanted.origin,
            )
        )
    with printing():
        return [
            passport(
                botanical=full_name(lot),
                country=nursery.country,
                operator=nursery.operator,
                code=codes.show(lot.code),
                origin=_origin(lot, nursery.country, wanted.origin.upper()),
                language=wanted.language or OWN_LANGUAGE.get(nursery.country, "en"),
                pests=tuple(" ".join(pest.split()) for pest in wanted.pests if pest.strip()),
                address=f"{nursery.address}/l/{lot.code}",
            )
            for lot in lots
        ]


def _origin(lot: Lot, here: str, said: str) -> str:
    """Return D: a member state's letters, GB in Great Britain, else a country's name."""
    if not lot.mother_id and not said:
        raise Refused(
            say(
                "Lot {lot} does not come from a mother plant of yours, so its country of origin is not known here: read it off the "
                "passport it came with, and give it with --origin. Nothing was printed.",
                lot=lot,
            )
        )
    of = here if lot.mother_id else said
    if of == here or (here in EU and of in EU):
        return of
    return country_name(of)


def passports(
    lots: Sequence[str] = (),
    *,
    parcel: int | None = None,
    wanted: Wanted | None = None,
    each: int = 1,
    paper: str = "",
    skip: int = 0,
) -> bytes:
    """Return plant passports as labels: for lots, or for what lies, or went, in a parcel.

    Parameters
    ----------
    each
        How many of each: one a trade unit, such as a bundle.

    Raises
    ------
    Refused
        As `passports_of` and `lots_of`, or if the sheet has not that many places.
    """
    nursery, wanted = Nursery.get(), wanted or Wanted()
    on = paper_for(paper, nursery)
    if not 1 <= each <= 500:
        raise Refused(say("{each} of each: print 1 to 500. Nothing was printed.", each=each))
    made = [one for one in passports_of(lots_of(lots, parcel), wanted) for _ in range(each)]
    with printing():
        return passport_labels(made, paper=on, skip=skip, colour=wanted.colour)


def supplier_documents(
    lots: Sequence[str] = (),
    *,
    body: str,
    parcel: int | None = None,
    note: str = "",
    paper: str = "",
    skip: int = 0,
    ground: bool = True,
) -> bytes:
    """Return supplier's documents for CAC fruit plant material as labels: one a lot.

    Parameters
    ----------
    body
        Name or code of the official body, as it told you.
    note
        What else belongs to the denomination, such as a rootstock, or that it is pending.
    ground
        Whether the ground is printed yellow.

    Raises
    ------
    Refused
        If a particular is missing, or a lot is none of the fruit kinds of the directive.
    """
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    if not nursery.country:
        raise Refused(
            say("Say first in which country the nursery is: ortet nursery --country. Nothing was printed.")
        )
    with translation.override(ENGLISH):  # as the rest of the document
        day = Days.of(nursery).whole(nursery.today())
    found = lots_of(lots, parcel)
    with printing():
        made = [
            SupplierLabel(
                state=nursery.country,
                body=body,
                supplier=nursery.operator or nursery.name,
                batch=codes.show(lot.code),
                botanical=_botanical(lot),
                variety=lot.variety.name,
                issued=day,
                note=note,
            )
            for lot in found
        ]
        return supplier_labels(made, paper=on, skip=skip, ground=ground)


def _botanical(lot: Lot) -> str:
    """Return a lot's botanical name alone: Ribes nigrum."""
    return written(replace(names.parts_of(lot.variety), epithet="", group="", trade=""))
