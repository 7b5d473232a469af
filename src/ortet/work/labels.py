"""Labels for lots and batches, as a PDF."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from ortet.ledger.booking import Refused, Unknown, count_in
from ortet.ledger.models import Balance, Batch, Kind, Lot, Nursery
from ortet.ledger.places import ON_HAND
from ortet.ledger.slices import in_slices
from ortet.paper.labels import Label, bag_labels, wrap_labels
from ortet.science.species import species
from ortet.wood import code as codes
from ortet.wood.speech import say, short_month

from . import find
from .papers.sheet import paper_for, printing

__all__ = ["KINDS", "labels", "written"]

KINDS = ("bag", "wrap")
MOST = 5_000  # labels in one go


def _day(at: datetime, nursery: Nursery) -> str:
    """Write the day with the month's name, so that nobody can read day for month."""
    day = at.astimezone(nursery.tz)
    month = short_month(day)
    return f"{month} {day.day}, {day.year}" if nursery.units == "US" else f"{day.day} {month} {day.year}"


def _label(lot: Lot, nursery: Nursery, count: int | None) -> Label:
    return Label(
        variety=str(lot.variety),
        species=say(species(lot.variety.species).name),
        code=codes.show(lot.code),
        day=_day(lot.taken_at, nursery),
        grade=lot.grade,
        count=count,
        address=f"{nursery.address}/l/{lot.code}",
        note=lot.mark or "",
    )


def _batch_label(batch: Batch, nursery: Nursery, count: int | None) -> Label:
    """Return the label of a batch's tray: its code leads to the batch, to be counted there."""
    return Label(
        variety=str(batch.lot.variety),
        species=say(species(batch.lot.variety.species).name),
        code=codes.show(batch.place.code),
        day=_day(batch.struck_at, nursery),
        grade="",
        count=count,
        address=f"{nursery.address}/l/{batch.place.code}",
        note=" ".join(filter(None, [str(batch), batch.lot.mark])),
    )


def _found(text: str) -> Lot | Batch:
    """Return the lot with this code or mark, else the batch with this code or name."""
    try:
        return find.lot(text)
    except Unknown:
        try:
            return find.place(text, Kind.BATCH).batch
        except Unknown:
            pass
        raise


def _written(texts: Sequence[str], nursery: Nursery) -> Iterator[tuple[Label, int]]:
    """Yield what stands on the labels of lots or batches, and how many of each are on hand."""
    named = find.lots(texts)
    found = [named.get(text) or _found(text) for text in texts]
    rows = Balance.objects.filter(count__gt=0, place__kind__in=ON_HAND).order_by().values_list("lot", "count")
    lying: Counter[int] = Counter()
    for lot, count in in_slices(rows, "lot", {one.pk for one in found if isinstance(one, Lot)}):
        lying[lot] += count
    for one in found:
        if isinstance(one, Batch):
            there = count_in(one.lot, one.place)
            yield _batch_label(one, nursery, there), there
        else:
            yield _label(one, nursery, lying[one.pk]), lying[one.pk]


def written(lots: Sequence[str]) -> list[Label]:
    """Return what stands on the labels of lots and batches, for whoever prints their own.

    Raises
    ------
    Unknown
        If one of them is not in the book.
    """
    nursery = Nursery.get()
    return [label for label, _ in _written(lots, nursery)]


def labels(
    lots: Sequence[str], *, kind: str = "bag", paper: str = "", skip: int = 0, each: bool = False
) -> bytes:
    """Return labels as a PDF: one for each lot or batch, or one for each cutting on hand where `each` is asked.

    Parameters
    ----------
    lots
        Codes or marks of lots; codes or names of batches.
    kind
        "bag", or "wrap" for labels that go round a single cutting.
    paper
        "a4" or "letter"; nothing: what the nursery prints on.
    skip
        Places of the first sheet that are used up already.
    """
    if kind not in KINDS:
        raise Refused(
            say(
                "Labels of kind {kind!r}: say {kinds}. Nothing was printed.",
                kind=kind,
                kinds=say(" or ").join(KINDS),
            )
        )
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    wanted = []
    for label, there in _written(lots, nursery):
        wanted += [replace(label, count=None) if kind == "wrap" else label] * (there if each else 1)
    if not wanted:
        raise Refused(say("Nothing to print: name at least one lot that is on hand."))
    if len(wanted) > MOST:
        raise Refused(
            say("{count} labels in one go: print {most} or fewer, lot by lot.", count=len(wanted), most=MOST)
        )
    make = bag_labels if kind == "bag" else wrap_labels
    with printing():
        return make(wanted, paper=on, skip=skip)
