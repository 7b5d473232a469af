"""Labels for lots, as a PDF."""

from collections.abc import Sequence
from typing import cast

from ortet.ledger.booking import Refused
from ortet.ledger.models import Lot, Nursery
from ortet.ledger.places import ON_HAND
from ortet.paper.labels import Label, Paper, bag_labels, wrap_labels
from ortet.science.species import species
from ortet.wood import code as codes

from . import find

__all__ = ["KINDS", "PAPERS", "labels"]

KINDS = ("bag", "wrap")
PAPERS = ("a4", "letter")
MOST = 5_000  # labels in one go


def _day(lot: Lot, nursery: Nursery) -> str:
    """Write the day with the month's name, so that nobody can read day for month."""
    day = lot.taken_at.astimezone(nursery.tz)
    return f"{day:%b} {day.day}, {day.year}" if nursery.units == "US" else f"{day.day} {day:%b} {day.year}"


def _label(lot: Lot, nursery: Nursery, count: int | None) -> Label:
    return Label(
        variety=str(lot.variety),
        species=species(lot.variety.species).name,
        code=codes.show(lot.code),
        day=_day(lot, nursery),
        grade=lot.grade,
        count=count,
        address=f"{nursery.address}/l/{lot.code}",
        note=lot.mark or "",
    )


def labels(
    lots: Sequence[str], *, kind: str = "bag", paper: str = "a4", skip: int = 0, each: bool = False
) -> bytes:
    """Return labels as a PDF: one for each lot, or one for each cutting on hand where `each` is asked.

    Parameters
    ----------
    lots
        Codes or marks.
    kind
        "bag", or "wrap" for labels that go round a single cutting.
    skip
        Places of the first sheet that are used up already.
    """
    if kind not in KINDS or paper not in PAPERS:
        raise Refused(
            f"Labels of kind {kind!r} on {paper!r}: say {' or '.join(KINDS)}, and {' or '.join(PAPERS)}."
        )
    nursery = Nursery.get()
    wanted = []
    for lot in [find.lot(text) for text in lots]:
        there = sum(lot.balances.filter(count__gt=0, place__kind__in=ON_HAND).values_list("count", flat=True))
        wanted += [_label(lot, nursery, None if kind == "wrap" else there)] * (there if each else 1)
    if not wanted:
        raise Refused("Nothing to print: name at least one lot that is on hand.")
    if len(wanted) > MOST:
        raise Refused(f"{len(wanted)} labels in one go: print {MOST} or fewer, lot by lot.")
    make = bag_labels if kind == "bag" else wrap_labels
    try:
        return make(wanted, paper=cast("Paper", paper), skip=skip)
    except ValueError as error:
        raise Refused(str(error)) from None
