"""Deeds around bags: close wood in a bag, stand a bag in another cold place."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from uuid_utils.compat import uuid7

from ortet.ledger.booking import Move, Refused, book, booked_before, count_in, created, new_code, told, turn
from ortet.ledger.models import Bag, Kind, Nursery, Place, Standing, Why
from ortet.ledger.places import WOOD
from ortet.wood.speech import say
from ortet.wood.units import show_mass

from . import find
from .plants import free_name

__all__ = ["HEAVIEST_G", "bag", "next_bag_name", "stand"]

HEAVIEST_G = 100_000  # no bag of cuttings is carried that weighs more


def next_bag_name() -> str:
    """Return a short name that no bag bears: B1, B2, …"""
    taken = set(Place.objects.filter(kind=Kind.BAG, name__startswith="B").values_list("name", flat=True))
    number = len(taken) + 1
    while f"B{number}" in taken:
        number += 1
    return f"B{number}"


def _one_of(word: str, known: Sequence[str], what: str) -> str:
    for name in known:
        if name.casefold() == word.strip().casefold():
            return name
    raise Refused(
        say(
            "{word!r} is not a {what} that Ortet knows. Known are: {known}. Nothing was booked.",
            word=word,
            what=what,
            known=", ".join(known),
        )
    )


def bag(
    contents: Sequence[tuple[str, int | None, str | None]],
    *,
    store: str,
    by: User,
    at: datetime,
    name: str = "",
    polymer: str = "LDPE",
    thickness_um: float = 50,
    layers: int = 1,
    width_mm: float = 300,
    height_mm: float = 400,
    closure: str = "fold",
    packing: str = "none",
    packing_water_g: float = 0,
    tare_g: float | None = None,
    note: str = "",
    id: UUID | None = None,
) -> Place:
    """Close wood in a new bag and stand it in a cold place; return the bag.

    Parameters
    ----------
    contents
        For each lot its code or mark, how many cuttings (None: all that lie there) and where from (None: its only place, or its only bench).
    thickness_um, width_mm, height_mm
        One layer of film; the flat bag. [µm, mm, mm]
    packing_water_g, tare_g
        Water in the packing; bag and packing without the wood. [g]

    Raises
    ------
    Refused
        If a bag has this name, a material is not known, a size makes no sense or too few cuttings are there.
    """
    from ortet.science.bag import CLOSURES, PACKINGS, POLYMERS  # brings in NumPy, which no other deed needs

    with turn():
        if before := booked_before(id, Why.BAGGED):
            return before.to_place
        name = free_name(name.strip() or next_bag_name())
        if not contents:
            raise Refused(say("A bag is closed around something: name at least one lot. Nothing was booked."))
        if not (
            0 < thickness_um <= 1000 and 1 <= layers <= 10 and 0 < width_mm <= 3000 and 0 < height_mm <= 3000
        ):
            raise Refused(
                say(
                    "A bag of {layers} × {thickness_um:g} µm film, {width_mm:g} × {height_mm:g} mm: that is no bag. Give "
                    "micrometres and millimetres. Nothing was booked.",
                    layers=layers,
                    thickness_um=thickness_um,
                    width_mm=width_mm,
                    height_mm=height_mm,
                )
            )
        for what, grams in (
            (say("water in the packing"), packing_water_g),
            (say("empty weight"), tare_g or 0),
        ):
            if not 0 <= grams < HEAVIEST_G:
                raise Refused(
                    say(
                        "{mass} of {what}: give nothing or more, and less than {most}. Nothing was booked.",
                        mass=show_mass(grams, Nursery.get().units),
                        what=what,
                        most=show_mass(HEAVIEST_G, Nursery.get().units),
                    )
                )
        place = created(Place, kind=Kind.BAG, name=name, note=note, code=new_code(Place))
        created(
            Bag,
            place=place,
            polymer=_one_of(polymer, list(POLYMERS), say("film")),
            thickness_um=thickness_um,
            layers=layers,
            width_mm=width_mm,
            height_mm=height_mm,
            closure=_one_of(closure, list(CLOSURES), say("closure")),
            packing=_one_of(packing, list(PACKINGS), say("packing")),
            packing_water_g=packing_water_g,
            tare_g=tare_g,
            closed_at=at,
        )
        Standing.objects.create(bag=place, store=find.store(store), since=at, by=by)
        moves: list[Move] = []
        for text, count, where in contents:
            lot = find.lot(text)
            here = find.where_lot_is(lot, where, rather=Kind.BENCH, among=WOOD)
            moves.append(
                Move(
                    lot,
                    here,
                    place,
                    count_in(lot, here) if count is None else count,
                    Why.BAGGED,
                    note,
                    None if moves else id,
                )
            )
        book(moves, by=by, at=at)
        return place


def stand(
    bag: str,
    store: str,
    *,
    by: User,
    at: datetime,
    from_store: str | None = None,
    id: UUID | None = None,
) -> Standing:
    """Stand a bag with all in it in another cold place, or a batch on another bench.

    Parameters
    ----------
    from_store
        Where it was taken from, if that is known: refused where the book has it elsewhere by then.
    """
    with turn():
        if id and (before := Standing.objects.filter(pk=id).first()):
            return before
        place = find.place(bag, Kind.BAG, Kind.BATCH)
        is_bag = place.kind == Kind.BAG
        there = find.store(store) if is_bag else find.place(store, Kind.BENCH)
        what = say("Bag {place}", place=place) if is_bag else say("Batch {place}", place=place)
        last = place.standings.select_related("store", "by").order_by("-since").first()
        if last and last.store_id == there.pk:
            where = say("in {place}", place=there) if is_bag else say("on {place}", place=there)
            raise Refused(say("{what} stands {where} already. Nothing was booked.", what=what, where=where))
        if last and from_store and (then := find.place(from_store, Kind(last.store.kind))) != last.store:
            where = say("in {place}", place=last.store) if is_bag else say("on {place}", place=last.store)
            raise Refused(
                say(
                    "{what} was to go from {then} to {there}, but since {since} it stands {where}, by {by}. Look where it "
                    "is. Nothing was booked.",
                    what=what,
                    then=then,
                    there=there,
                    since=told(last.since),
                    where=where,
                    by=last.by.username,
                )
            )
        if last and at <= last.since:
            raise Refused(
                say(
                    "{what} came to {store} on {since}: give a later time. Nothing was booked.",
                    what=what,
                    store=last.store,
                    since=told(last.since),
                )
            )
        return Standing.objects.create(id=id or uuid7(), bag=place, store=there, since=at, by=by)
