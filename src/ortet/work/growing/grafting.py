"""Grafting: a scion and a stock become one, as a lot of the scion's variety."""

from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User

from ortet.ledger.booking import Move, Refused, book, booked_before, created, end, refuse_no_count, turn
from ortet.ledger.models import Batch, Craft, Derivation, Kind, Lot, Part, Use, Why
from ortet.ledger.places import WOOD
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.taking import free_code, free_mark

from .striking import make_batch

__all__ = ["graft", "misfit"]


def graft(
    scion: str,
    stock: str,
    count: int,
    *,
    bench: str,
    by: User,
    at: datetime,
    scion_from: str | None = None,
    stock_from: str | None = None,
    mark: str | None = None,
    name: str = "",
    tray: str = "",
    medium: str = "",
    treatment: str = "",
    base_c: float | None = None,
    note: str = "",
    id: UUID | None = None,
    code: str | None = None,
) -> Batch:
    """Graft so many scions of a lot on as many stocks of another; return the batch of the new lot.

    The new lot is of the scion's variety, mother plant and measures, taken when the scion was taken.

    Parameters
    ----------
    scion, stock
        Codes or marks of two lots, of one variety or two.
    scion_from, stock_from
        Where each lies; None: its only place.
    mark, code
        Of the new lot.
    name, tray, medium, treatment, base_c
        As for `strike`; an empty name becomes the next free G number.

    Raises
    ------
    Refused
        If too few of either lie there, or they are one lot.
    """
    with turn():
        if before := booked_before(id, Why.GRAFTED, count):
            return before.to_place.batch
        top, root = find.lot(scion), find.lot(stock)
        if top == root:
            raise Refused(
                say(
                    "Lot {top} cannot be scion and stock in one. Split off what is to be the stock. Nothing was booked.",
                    top=top,
                )
            )
        refuse_no_count(top, count)
        top_lies = find.where_lot_is(top, scion_from, rather=Kind.BENCH, among=WOOD)
        root_lies = find.where_lot_is(root, stock_from, rather=Kind.BENCH, among=WOOD)
        child = created(
            Lot,
            code=free_code(code),
            mark=free_mark(mark),
            variety=top.variety,
            mother=top.mother,
            made_at=at,
            taken_at=top.taken_at,
            use=Use.GRAFTING,
            grade=top.grade,
            length_mm=top.length_mm,
            base_mm=top.base_mm,
            tip_mm=top.tip_mm,
            nodes=top.nodes,
            note=note,
        )
        batch = make_batch(
            child,
            Craft.GRAFT,
            bench=bench,
            by=by,
            at=at,
            name=name,
            tray=tray,
            medium=medium,
            treatment=treatment,
            base_c=base_c,
            note=note,
        )
        for parent, part in ((top, Part.SCION), (root, Part.STOCK)):
            Derivation.objects.create(parent=parent, child=child, count=count, part=part)
        became = end(Kind.BECAME)
        moves = [
            Move(root, root_lies, became, count, Why.GRAFTED, note),
            # directly before the graft's own: the graft met what its scion met
            Move(top, top_lies, became, count, Why.GRAFTED, note),
            Move(child, became, batch.place, count, Why.GRAFTED, note, id),
        ]
        book(moves, by=by, at=at)
        return batch


def misfit(scion: Lot, stock: Lot) -> str:
    """Return a sentence if the usual scion and stock of two lots are not of a thickness where they meet, else nothing."""
    from ortet.decisions.match import WITHIN_MM

    thicker = scion.base_mm - stock.tip_mm
    if abs(thicker) <= WITHIN_MM:
        return ""
    fits = {
        "scion": scion,
        "scion_mm": scion.base_mm,
        "stock": stock,
        "stock_mm": stock.tip_mm,
        "off": abs(thicker),
        "heals": WITHIN_MM,
    }
    if thicker > 0:
        return say(
            "A scion of {scion} is {scion_mm:g} mm at its base, a stock of {stock} {stock_mm:g} mm at its tip: {off:.1f} mm "
            "thicker, and {heals:g} mm is what usually heals. Match them piece by piece, or let bark meet bark on one side.",
            **fits,
        )
    return say(
        "A scion of {scion} is {scion_mm:g} mm at its base, a stock of {stock} {stock_mm:g} mm at its tip: {off:.1f} mm "
        "thinner, and {heals:g} mm is what usually heals. Match them piece by piece, or let bark meet bark on one side.",
        **fits,
    )
