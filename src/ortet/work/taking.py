"""Deeds that make lots: take wood from a mother plant, split a lot."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.db import transaction

from ortet.ledger.booking import Move, Refused, book, count_in, end, new_code
from ortet.ledger.models import Derivation, Kind, Lot, Movement, Use, Why
from ortet.science.species import species
from ortet.wood import code as codes
from ortet.wood.cutting import Cutting

from . import find
from .plants import add_place

__all__ = ["BENCH", "split", "take"]

BENCH = "Bench"  # where fresh wood lies until it is bagged, unless another bench is named

# Common practice, where a grower did not measure: a pencil's length and thickness, three nodes.
USUAL = Cutting(length_mm=200, base_mm=8, tip_mm=6, nodes=3)


def _free_mark(mark: str | None) -> str | None:
    mark = (mark or "").strip() or None
    if mark and Lot.objects.filter(mark__iexact=mark).exists():
        raise Refused(f"Another lot is marked {mark!r} already. Pick another mark. Nothing was booked.")
    return mark


def _piece(
    length_mm: float | None, base_mm: float | None, tip_mm: float | None, nodes: int | None
) -> Cutting:
    base = base_mm or (max(USUAL.base_mm, tip_mm) if tip_mm else USUAL.base_mm)
    tip = tip_mm or base * USUAL.tip_mm / USUAL.base_mm
    try:
        return Cutting(length_mm or USUAL.length_mm, base, tip, USUAL.nodes if nodes is None else nodes)
    except ValueError as error:
        raise Refused(f"{error}. Nothing was booked.") from None


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
    with transaction.atomic():
        if id and (before := Movement.objects.filter(pk=id).select_related("lot").first()):
            return before.lot
        mother = find.mother(accession)
        species(mother.variety.species)
        piece = _piece(length_mm, base_mm, tip_mm, nodes)
        lot = Lot.objects.create(
            code=codes.read(code) if code else new_code(Lot),
            mark=_free_mark(mark),
            variety=mother.variety,
            mother=mother,
            made_at=at,
            taken_at=at,
            use=Use(use),
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
    with transaction.atomic():
        if id and (before := Movement.objects.filter(pk=id).select_related("lot").first()):
            return Lot.objects.get(came_from__parent=before.lot, movements__number=before.number + 1)
        parent = find.lot(lot)
        here = find.where_lot_is(parent, from_place)
        if (
            count == count_in(parent, here)
            and parent.balances.filter(count__gt=0, place__kind__in=("bench", "store", "bag")).count() == 1
        ):
            raise Refused(
                f"{count} is all of lot {parent}: there is nothing to split off from. Nothing was booked."
            )
        same = (length_mm, base_mm, tip_mm, nodes) == (None,) * 4
        piece = parent.cutting if same else _piece(length_mm, base_mm, tip_mm, nodes)
        child = Lot.objects.create(
            code=codes.read(code) if code else new_code(Lot),
            mark=_free_mark(mark),
            variety=parent.variety,
            mother=parent.mother,
            made_at=at,
            taken_at=parent.taken_at,
            use=Use(use) if use else parent.use,
            grade=parent.grade if grade is None else grade.strip(),
            length_mm=piece.length_mm,
            base_mm=piece.base_mm,
            tip_mm=piece.tip_mm,
            nodes=piece.nodes,
            note=note,
        )
        became = end(Kind.BECAME)
        there = find.place(to_place) if to_place else here
        moves = [
            Move(parent, here, became, count, Why.SPLIT, note, id),
            Move(child, became, there, count, Why.SPLIT, note),
        ]
        book(moves, by=by, at=at)
        Derivation.objects.create(parent=parent, child=child, count=count)
        return child
