"""Striking a trial: all its plots in one go, one batch a plot."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.contrib.auth.models import User

from ortet.evidence.trials.layout import Plot
from ortet.ledger.booking import Refused, turn
from ortet.ledger.models import Balance, Batch
from ortet.ledger.places import WOOD
from ortet.wood.naming import fold
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.growing.plots import design_of, plots_struck, trial_numbered
from ortet.work.growing.striking import strike

from .look import LETTERS

__all__ = ["strike_trial"]


def strike_trial(
    number: int,
    lots: Sequence[str],
    *,
    bench: str,
    by: User,
    at: datetime,
    from_place: str | None = None,
    only: str = "",
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
        Codes or marks; each block is struck from one lot of its variety in one place, the first named that has enough.
    from_place
        Where they lie; None: anywhere.
    only
        Letters of the treatments to strike, A the check, where each stands on a bench or heat of its own; empty: all.
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
        wanted = _letters(only, len(design.treatments))
        left = [plot for plot in design.plots if plot.number not in done and plot.treatment in wanted]
        if not left:
            raise Refused(
                say("All plots asked for of trial {number} are struck. Nothing was booked.", number=number)
            )
        chosen = _chosen(left, design.varieties, _sources(lots, from_place))
        return [
            strike(
                chosen[plot.block].lot.code,
                None,
                from_place=chosen[plot.block].place.name,
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


def _letters(only: str, treatments: int) -> set[int]:
    """Return which treatments the letters stand for; all where there is none."""
    letters = [letter for letter in only.upper() if letter.isalnum()]
    unknown = [letter for letter in letters if letter not in LETTERS[:treatments]]
    if unknown:
        raise Refused(
            say(
                "No treatment has the letter {letter}: they are {letters}. Nothing was booked.",
                letter=unknown[0],
                letters=", ".join(LETTERS[:treatments]),
            )
        )
    return {LETTERS.index(letter) for letter in letters} or set(range(treatments))


def _struck_before(id: UUID, plots: int) -> list[Batch]:
    """Return the batches that were struck under an id, so that what is sent twice is booked once."""
    ids = [uuid5(id, str(number)) for number in range(1, plots + 1)]
    return list(
        Batch.objects.filter(place__movements_in__pk__in=ids).select_related("place").order_by("plot")
    )


def _sources(lots: Sequence[str], from_place: str | None) -> list[Balance]:
    """Return where the named lots lie, in the order named; only in one place where one is named."""
    only = find.place(from_place, *WOOD) if from_place else None
    found = []
    for lot in [find.lot(text) for text in dict.fromkeys(lots)]:
        here = lot.balances.filter(count__gt=0, place__kind__in=WOOD).select_related("lot__variety", "place")
        rows = [row for row in here.order_by("place__name") if only is None or row.place == only]
        if not rows:
            raise Refused(
                say("No wood of lot {lot} is in {only}. Nothing was booked.", lot=lot, only=only)
                if only
                else say("No wood of lot {lot} is on hand. Nothing was booked.", lot=lot)
            )
        found += rows
    return found


def _chosen(
    plots: Sequence[Plot], varieties: Sequence[str], sources: Sequence[Balance]
) -> dict[int, Balance]:
    """Return the lot and place that each block is struck from, or raise with what each variety lacks."""
    here = {source.pk: source.count for source in sources}
    chosen: dict[int, Balance] = {}
    lacks: dict[str, int] = {}
    for block in dict.fromkeys(plot.block for plot in plots):
        mine = [plot for plot in plots if plot.block == block]
        need, variety = sum(len(plot.cells) for plot in mine), varieties[mine[0].variety]
        for source in sources:
            if fold(source.lot.variety.name) == fold(variety) and here[source.pk] >= need:
                chosen[block] = source
                here[source.pk] -= need
                break
        else:
            lacks[variety] = lacks.get(variety, 0) + need
    if lacks:
        said = "; ".join(
            say("{count} more of {variety}", count=count, variety=variety) for variety, count in lacks.items()
        )
        raise Refused(
            say(
                "The trial needs {said}, a block's from one lot in one place. Name lots that have them, or design a smaller trial. "
                "Nothing was booked.",
                said=said,
            )
        )
    return chosen
