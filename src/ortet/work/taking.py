"""Deeds that make lots: take wood from a mother plant, split a lot."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User

from ortet.ledger.booking import (
    MOST,
    Move,
    Refused,
    book,
    booked_before,
    count_in,
    created,
    end,
    new_code,
    refuse_no_count,
    turn,
)
from ortet.ledger.models import Derivation, Kind, Lot, Place, Use, Why
from ortet.ledger.places import WOOD
from ortet.science.species import species
from ortet.wood import code as codes
from ortet.wood.cutting import Cutting
from ortet.wood.naming import fold
from ortet.wood.speech import say

from . import find
from .plants import add_place

__all__ = ["BENCH", "USUAL", "a_piece", "free_code", "free_mark", "split", "take"]

BENCH = "Bench"  # where fresh wood lies until it is bagged, unless another bench is named

# Common practice, where a grower did not measure: a pencil's length and thickness, three nodes.
USUAL = Cutting(length_mm=200, base_mm=8, tip_mm=6, nodes=3)
LONGEST_MM, THICKEST_MM, MOST_NODES = 3000, 100, 200


def free_mark(mark: str | None) -> str | None:
    """Return a mark as it is kept, or None; refuse one that another lot bears or that reads as a code of ours."""
    mark = (mark or "").strip() or None
    if mark and codes.is_code(mark):
        raise Refused(
            say(
                "{mark!r} reads as a code that Ortet makes. Pick another mark. Nothing was booked.", mark=mark
            )
        )
    if mark and Lot.objects.filter(mark_key=fold(mark)).exists():
        raise Refused(
            say("Another lot is marked {mark!r} already. Pick another mark. Nothing was booked.", mark=mark)
        )
    return mark


def free_code(text: str | None) -> str:
    """Return the code asked for, if it is free, or a new one."""
    if text is None:
        return new_code(Lot)
    code = codes.read(text)
    if Lot.objects.filter(code=code).exists() or Place.objects.filter(code=code).exists():
        raise Refused(say("{code} is in the book already. Nothing was booked.", code=codes.show(code)))
    return code


def a_piece(
    length_mm: float | None, base_mm: float | None, tip_mm: float | None, nodes: int | None
) -> Cutting:
    """Return a cutting of these measures, the usual ones where nothing was measured; refuse what is no cutting."""
    base = base_mm or (max(USUAL.base_mm, tip_mm) if tip_mm else USUAL.base_mm)
    tip = tip_mm or base * USUAL.tip_mm / USUAL.base_mm
    length, many = length_mm or USUAL.length_mm, USUAL.nodes if nodes is None else nodes
    if not (length <= LONGEST_MM and base <= THICKEST_MM and many <= MOST_NODES):
        raise Refused(
            say(
                "A cutting {length:g} mm long and {base:g} mm thick with {many} nodes is no cutting: at most {longest_mm} mm, "
                "{thickest_mm} mm and {most_nodes}. Mind the unit. Nothing was booked.",
                length=length,
                base=base,
                many=many,
                longest_mm=LONGEST_MM,
                thickest_mm=THICKEST_MM,
                most_nodes=MOST_NODES,
            )
        )
    try:
        return Cutting(length, base, tip, many)
    except ValueError as error:
        raise Refused(say("{error}. Nothing was booked.", error=error)) from None


def take(
    accession: str,
    count: int,
    *,
    by: User,
    at: datetime,
    use: str = Use.ROOTING,
    grade: str = "",
    length_mm: float | None = None,
    base_mm: float | None = None,
    tip_mm: float | None = None,
    nodes: int | None = None,
    mark: str | None = None,
    bench: str = BENCH,
    note: str = "",
    id: UUID | None = None,
    code: str | None = None,
) -> Lot:
    """Take wood from a mother plant: a new lot, on the bench. Sent twice under one id, it is taken once."""
    with turn():
        if before := booked_before(id, Why.TAKEN, count):
            return before.lot
        mother = find.mother(accession)
        if not 1 <= count <= MOST:
            raise Refused(
                say(
                    "{count} cuttings: take at least 1, at most {most:,}. Nothing was booked.",
                    count=count,
                    most=MOST,
                )
            )
        species(mother.variety.species)
        piece = a_piece(length_mm, base_mm, tip_mm, nodes)
        lot = created(
            Lot,
            code=free_code(code),
            mark=free_mark(mark),
            variety=mother.variety,
            mother=mother,
            made_at=at,
            taken_at=at,
            use=use,
            grade=grade.strip(),
            length_mm=piece.length_mm,
            base_mm=piece.base_mm,
            tip_mm=piece.tip_mm,
            nodes=piece.nodes,
            note=note,
        )
        place = add_place(bench, Kind.BENCH)
        book([Move(lot, mother.place, place, count, Why.TAKEN, note, id)], by=by, at=at)
        return lot


def split(
    lot: str,
    count: int,
    *,
    by: User,
    at: datetime,
    from_place: str | None = None,
    to_place: str | None = None,
    use: str | None = None,
    grade: str | None = None,
    length_mm: float | None = None,
    base_mm: float | None = None,
    tip_mm: float | None = None,
    nodes: int | None = None,
    mark: str | None = None,
    note: str = "",
    id: UUID | None = None,
    code: str | None = None,
) -> Lot:
    """Make part of a lot a lot of its own, with its own label; it stays where it is unless another place is named."""
    with turn():
        if before := booked_before(id, Why.SPLIT, count):
            return Lot.objects.get(came_from__parent=before.lot, movements__number=before.number + 1)
        parent = find.lot(lot)
        refuse_no_count(parent, count)
        here = find.where_lot_is(parent, from_place, among=WOOD)
        if (
            count == count_in(parent, here)
            and parent.balances.filter(count__gt=0, place__kind__in=WOOD).count() == 1
        ):
            raise Refused(
                say(
                    "{count} is all of lot {parent}: there is nothing to split off from. Nothing was booked.",
                    count=count,
                    parent=parent,
                )
            )
        same = (length_mm, base_mm, tip_mm, nodes) == (None,) * 4
        piece = parent.cutting if same else a_piece(length_mm, base_mm, tip_mm, nodes)
        child = created(
            Lot,
            code=free_code(code),
            mark=free_mark(mark),
            variety=parent.variety,
            mother=parent.mother,
            made_at=at,
            taken_at=parent.taken_at,
            use=use or parent.use,
            grade=parent.grade if grade is None else grade.strip(),
            length_mm=piece.length_mm,
            base_mm=piece.base_mm,
            tip_mm=piece.tip_mm,
            nodes=piece.nodes,
            note=note,
        )
        became = end(Kind.BECAME)
        there = find.place(to_place, *WOOD) if to_place else here
        moves = [
            Move(parent, here, became, count, Why.SPLIT, note, id),
            Move(child, became, there, count, Why.SPLIT, note),
        ]
        Derivation.objects.create(parent=parent, child=child, count=count)
        book(moves, by=by, at=at)
        return child
