"""The plots of a trial, as they are to be struck."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.db.models import Exists, OuterRef

from ortet.ledger.booking import Refused, Unknown, told
from ortet.ledger.models import Batch, Lot, Movement, Place, Trial, Why
from ortet.wood.naming import fold
from ortet.wood.speech import say

if TYPE_CHECKING:
    from ortet.evidence.trials import Design, Plot

__all__ = ["LaidPlot", "design_of", "laid_plot", "plots_struck", "trial_numbered"]


@dataclass(frozen=True, slots=True)
class LaidPlot:
    """A plot and what is to be struck in it."""

    trial: Trial
    number: int
    count: int
    name: str  # of the batch
    tray: str
    treatment: str


def trial_numbered(number: int) -> Trial:
    """Return the trial of this number."""
    if found := Trial.objects.filter(number=number).first():
        return found
    there = ", ".join(map(str, Trial.objects.values_list("number", flat=True)[:20])) or say("none")
    raise Unknown(
        say("There is no trial {number}; there are: {there}. Nothing was booked.", number=number, there=there)
    )


def design_of(trial: Trial) -> Design:
    """Return a trial's layout."""
    from ortet.evidence.trials import read_design  # brings in NumPy, which no other deed needs

    return read_design(trial.design)


def plots_struck(trial: Trial) -> dict[int, Batch]:
    """Return the batch of each plot; a strike that was taken back leaves its plot free."""
    moved = Movement.objects.filter(to_place=OuterRef("pk"), why=Why.STRUCK, reversed_by=None)
    batches = Batch.objects.filter(Exists(moved), trial=trial).select_related("place", "lot__variety")
    return {batch.plot: batch for batch in batches if batch.plot is not None}


def laid_plot(trial: int | None, plot: int | None, lot: Lot, count: int | None, treatment: str) -> LaidPlot:
    """Return the plot that a lot is to be struck in, having checked that it is of the plot's variety, and free.

    Raises
    ------
    Refused
        If trial or plot is not there, the plot is struck already, or variety, number or treatment is not the plot's.
    """
    if trial is None or plot is None:
        raise Refused(say("Name both the trial and the plot, or neither. Nothing was booked."))
    laid = trial_numbered(trial)
    design = design_of(laid)
    try:
        its = design.plot(plot)
    except ValueError as error:
        raise Unknown(say("{error} Nothing was booked.", error=error)) from None
    if other := plots_struck(laid).get(plot):
        raise Refused(
            say(
                "Plot {plot} of trial {trial} was struck on {struck_at} as batch {other}. Nothing was booked.",
                plot=plot,
                trial=laid.number,
                struck_at=told(other.struck_at),
                other=other,
            )
        )
    return _fitting(laid, design, its, lot, count, treatment)


def _free(name: str) -> str:
    """Return a name for a plot's batch; where one was struck and taken back, the next is T3-5b, T3-5c, …"""
    taken = set(Place.objects.filter(name_key__startswith=fold(name)).values_list("name_key", flat=True))
    return next(
        one
        for one in (name, *(f"{name}{letter}" for letter in "bcdefghijklmnopqrstuvwxyz"))
        if fold(one) not in taken
    )


def _fitting(
    trial: Trial, design: Design, plot: Plot, lot: Lot, count: int | None, treatment: str
) -> LaidPlot:
    where = say("Plot {plot} of trial {trial}", plot=plot.number, trial=trial.number)
    wanted, given = design.varieties[plot.variety], lot.variety.name
    if fold(wanted) != fold(given):
        raise Refused(
            say(
                "{where} is for {wanted}; lot {lot} is {given}. Nothing was booked.",
                where=where,
                wanted=wanted,
                lot=lot,
                given=given,
            )
        )
    if count is not None and not 1 <= count <= len(plot.cells):
        raise Refused(
            say(
                "{where} has {cells} cells: strike 1 to {cells}, not {count}. Nothing was booked.",
                where=where,
                cells=len(plot.cells),
                count=count,
            )
        )
    name = design.treatments[plot.treatment]
    if treatment.strip() and fold(treatment) != fold(name):
        raise Refused(
            say(
                "{where} gets {name}, not {treatment}: the draw decides, or the trial tells nothing. Nothing was booked.",
                where=where,
                name=name,
                treatment=treatment.strip(),
            )
        )
    return LaidPlot(
        trial,
        plot.number,
        count or len(plot.cells),
        _free(f"T{trial.number}-{plot.number}"),
        f"T{trial.number}/{plot.tray}",
        name,
    )
