"""Striking a trial: all its plots in one go, one batch a plot."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.contrib.auth.models import User

from ortet.evidence.trials.layout import Plot
from ortet.ledger.booking import Refused, count_in, turn
from ortet.ledger.models import Batch, Kind, Lot, Place
from ortet.ledger.places import WOOD
from ortet.wood.naming import fold
from ortet.work import find
from ortet.work.growing.plots import design_of, plots_struck, trial_numbered
from ortet.work.growing.striking import strike

__all__ = ["strike_trial"]


def strike_trial(
    number: int,
    lots: Sequence[str],
    *,
    bench: str,
    by: User,
    at: datetime,
    medium: str = "",
    base_c: float | None = None,
    wounded: bool = False,
    note: str = "",
    id: UUID | None = None,
) -> list[Batch]:
    """Strike all plots of a trial that are still empty, each as a batch of its own; return them.

    Parameters
    ----------
    number
        The trial's.
    lots
        Codes or marks; each block is struck from one lot of its variety, the first named that has enough.
    bench, medium, base_c, wounded
        Alike for all plots, as for `strike`: what is not tried is kept the same.

    Raises
    ------
    Refused
        If a variety of the trial has no lot with enough, or all plots are struck already.
    """
    with turn():
        trial = trial_numbered(number)
        design = design_of(trial)
        done = plots_struck(trial)
        if id and (before := _struck_before(id, len(design.plots))):
            return before
        left = [plot for plot in design.plots if plot.number not in done]
        if not left:
            raise Refused(f"All {len(design.plots)} plots of trial {number} are struck. Nothing was booked.")
        named = [find.lot(text) for text in dict.fromkeys(lots)]
        places = {lot.pk: find.where_lot_is(lot, None, rather=Kind.BENCH, among=WOOD) for lot in named}
        chosen = _lots_of_blocks(left, design.varieties, named, places)
        return [
            strike(
                chosen[plot.block].code,
                None,
                from_place=places[chosen[plot.block].pk].name,
                bench=bench,
                by=by,
                at=at,
                medium=medium,
                base_c=base_c,
                wounded=wounded,
                trial=number,
                plot=plot.number,
                note=note,
                id=uuid5(id, str(plot.number)) if id else None,
            )
            for plot in left
        ]


def _struck_before(id: UUID, plots: int) -> list[Batch]:
    """Return the batches that were struck under an id, so that what is sent twice is booked once."""
    ids = [uuid5(id, str(number)) for number in range(1, plots + 1)]
    return list(
        Batch.objects.filter(place__movements_in__pk__in=ids).select_related("place").order_by("plot")
    )


def _lots_of_blocks(
    plots: Sequence[Plot], varieties: Sequence[str], lots: Sequence[Lot], places: dict[int, Place]
) -> dict[int, Lot]:
    """Return which lot each block is struck from, or raise with what each variety lacks."""
    here = {lot.pk: count_in(lot, places[lot.pk]) for lot in lots}
    chosen: dict[int, Lot] = {}
    lacks: dict[str, int] = {}
    for block in dict.fromkeys(plot.block for plot in plots):
        mine = [plot for plot in plots if plot.block == block]
        need, variety = sum(len(plot.cells) for plot in mine), varieties[mine[0].variety]
        lot = next(
            (one for one in lots if fold(one.variety.name) == fold(variety) and here[one.pk] >= need), None
        )
        if lot is None:
            lacks[variety] = lacks.get(variety, 0) + need
        else:
            chosen[block] = lot
            here[lot.pk] -= need
    if lacks:
        said = "; ".join(f"{count} more of {variety}" for variety, count in lacks.items())
        raise Refused(
            f"The trial needs {said}, a block's from one lot. Name lots that have them, or design a smaller trial. "
            "Nothing was booked."
        )
    return chosen
