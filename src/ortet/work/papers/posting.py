"""What goes with a parcel: the packing slip in it, the address on it."""

from collections.abc import Sequence
from decimal import Decimal

from django.utils import timezone

from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery, Order, Parcel
from ortet.ledger.packed import Packed, contents_of
from ortet.paper.address import AddressLabel
from ortet.paper.address import address_label as printed_address
from ortet.paper.slip import PackingSlip, SlipRow
from ortet.paper.slip import packing_slip as printed_slip
from ortet.science.species import species
from ortet.wood.countries import country_name
from ortet.wood.money import rounded, show
from ortet.wood.speech import say, to_say
from ortet.wood.units import show_mass
from ortet.work.orders import find_order
from ortet.work.packing import find_parcels, showing

from .passports import Wanted, passports_of
from .sheet import Days, full_name, paper_for, printing, sender, to_lines

__all__ = ["address_label", "packing_slip", "waiting"]

HANDLING = (to_say("Living wood"), to_say("Keep from frost, sun and heat. Open on the day it comes."))


def waiting() -> list[int]:
    """Return the numbers of the parcels in which something lies and that were not sent yet."""
    return [one.number for one in showing.parcels(sort="number", still=True)]


def packing_slip(
    *numbers: int, paper: str = "", prices: bool = False, passports: Wanted | None = None
) -> bytes:
    """Return the packing slips of parcels as a PDF.

    Parameters
    ----------
    prices
        Whether it tells prices: not where it is a gift.
    passports
        How plant passports of its lots are made that stand on it; None: it carries none.

    Raises
    ------
    Refused
        If no parcel is named, nothing lies in one, the paper is unknown, a name cannot be written, or passports are asked for
        that this nursery may not issue.
    Unknown
        If there is no such parcel.
    """
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    if not numbers:
        raise Refused(say("No parcel waits to be sent, and none is named. Nothing was printed."))
    parcels = find_parcels(*numbers)
    inside = contents_of(parcels)
    slips = [_slip(one, inside[one.place_id], nursery, prices, passports) for one in parcels]
    with printing():
        return printed_slip(*slips, paper=on, colour=passports.colour if passports else True)


def _slip(
    parcel: Parcel, inside: Sequence[Packed], nursery: Nursery, prices: bool, passports: Wanted | None
) -> PackingSlip:
    number = parcel.number
    if not inside:
        raise Refused(
            say("Nothing lies in parcel {number}. Pack something first. Nothing was printed.", number=number)
        )
    lots = list({one.lot.pk: one.lot for one in inside}.values())
    total = _total(inside, nursery.currency) if prices else None
    return PackingSlip(
        sender=sender(nursery),
        title=say("Packing slip {number}", number=number),
        day=_day(parcel, nursery),
        to=to_lines(parcel.order.buyer),
        facts=tuple(_facts(parcel, nursery)),
        rows=tuple(_row(one, nursery.currency if prices else "") for one in inside),
        notes=tuple(_notes(parcel, nursery, inside, passports is not None)),
        passports=tuple(passports_of(lots, passports)) if passports else (),
        total="" if total is None else f"{nursery.currency} {show(total, nursery.currency)}",
    )


def _total(inside: Sequence[Packed], currency: str) -> Decimal | None:
    """Return what all rows come to, each to the cent as it stands there; None where one of them has no price."""
    sums = [
        None if one.line.price is None else rounded(one.line.price * one.count, currency) for one in inside
    ]
    return None if None in sums else sum((one for one in sums if one is not None), Decimal())


def _day(parcel: Parcel, nursery: Nursery) -> str:
    sent = getattr(parcel, "sending", None)
    at = sent.at if sent else nursery.now()
    return Days.of(nursery).whole(timezone.localtime(at, nursery.tz).date())


def _facts(parcel: Parcel, nursery: Nursery) -> list[tuple[str, str]]:
    facts = [(say("Order"), str(parcel.order.number)), (say("Parcel"), str(parcel.number))]
    sent = getattr(parcel, "sending", None)
    if sent:
        facts.append((say("Posted"), _day(parcel, nursery)))
        if sent.carrier or sent.tracking:
            facts.append((say("Carrier"), ", ".join(filter(None, (sent.carrier, sent.tracking)))))
        if sent.gross_g:
            facts.append((say("Weight"), show_mass(sent.gross_g, nursery.units)))
    return facts


def _row(one: Packed, currency: str) -> SlipRow:
    """Return a row; with its price, where a currency is given."""
    lot, price = one.lot, one.line.price
    words = [say(species(lot.variety.species).name), say("for {use}", use=lot.get_use_display()), lot.grade]
    instead = (
        say("in place of {variety}", variety=one.line.variety)
        if lot.variety_id != one.line.variety_id
        else ""
    )
    return SlipRow(
        variety=full_name(lot),
        kind=", ".join(filter(None, (*words, instead))),
        lot=str(lot),
        count=one.count,
        line=f"{one.line.order.number}/{one.line.position}",
        price=show(price, currency) if currency and price is not None else "",
        sum=show(price * one.count, currency) if currency and price is not None else "",
    )


def _notes(parcel: Parcel, nursery: Nursery, inside: Sequence[Packed], with_passports: bool) -> list[str]:
    """Return what a buyer is pointed to."""
    notes = [
        say(
            "How these cuttings were kept, and what to do with them, stands on the advice sheet that goes with them."
        )
    ]
    day = nursery.today()
    noted = {one.lot.variety.pk: one.lot.variety for one in inside if one.lot.variety.right_on(day)}
    notes += [
        say(
            "{variety} is noted as protected ({right}): ask its holder before you propagate it further.",
            variety=variety,
            right=variety.right,
        )
        for variety in noted.values()
    ]
    to = parcel.order.goes_to
    if to and nursery.country and to != nursery.country and not with_passports:
        notes.append(say("It crosses a border: what the plant-health authority asks for goes with it."))
    if nursery.contact:
        notes.append(
            say("Something wrong? Tell us within days, with a photo: {contact}.", contact=nursery.contact)
        )
    return notes


def address_label(*parcels: int, order: int | None = None, paper: str = "") -> bytes:
    """Return the address labels of parcels, or that of an order that is not packed yet, as a PDF.

    Raises
    ------
    Refused
        If neither or both are named, a buyer has no address, the paper is unknown, or a name cannot be written.
    Unknown
        If there is no such parcel or order.
    """
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    if bool(parcels) == (order is not None):
        raise Refused(say("Name one parcel, or one order. Nothing was printed."))
    if order is not None:
        labels = [_label(find_order(order), say("Order {order}", order=order), nursery)]
    else:
        labels = [
            _label(one.order, say("Parcel {parcel}", parcel=one.number), nursery)
            for one in find_parcels(*parcels)
        ]
    with printing():
        return printed_address(*labels, paper=on)


def _label(order: Order, what: str, nursery: Nursery) -> AddressLabel:
    lines = to_lines(order.buyer)
    if len(lines) < 2:
        raise Refused(
            say(
                "No address of {buyer} is in the book. Note it: ortet buyer {name!r} --address. Nothing was printed.",
                buyer=order.buyer,
                name=order.buyer.name,
            )
        )
    if order.goes_to and order.goes_to != nursery.country:
        name = country_name(order.goes_to)
        if name.casefold() != lines[-1].casefold():
            lines = (*lines, name)
        lines = (
            *lines[:-1],
            lines[-1].upper(),
        )  # as the Universal Postal Union asks: the country last, in capitals [memory]
    return AddressLabel(sender(nursery), lines, what, tuple(say(one) for one in HANDLING))
