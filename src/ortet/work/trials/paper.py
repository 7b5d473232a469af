"""A trial on paper: the map of its trays, and a label for each plot."""

from collections.abc import Sequence

from django.utils import timezone

from ortet.evidence.trials import Design
from ortet.ledger.models import Nursery, Variety
from ortet.paper.labels import Label, wrap_labels
from ortet.paper.tray_map import MapCell, MapPlot, TrayMap, TrialMap
from ortet.paper.tray_map import tray_map as printed
from ortet.science.species import species
from ortet.wood.naming import fold
from ortet.wood.speech import say, short_month, to_say
from ortet.work.papers.sheet import paper_for, printing

from .look import PlotView, TrialView, trial_view

__all__ = ["plot_labels", "tray_map"]

ALIKE = {
    "rows": to_say("Each block lies within rows of like warmth."),
    "columns": to_say("Each block lies within columns of like warmth."),
    "none": "",
    "trays": to_say("Each plot is a tray of its own; the trays of a block stand side by side."),
}
EDGES = {
    "use": "",
    "guard": to_say("The outermost cells are guards: fill them with spare wood, count none of it."),
    "block": to_say("The outermost cells are blocks of their own: edges dry and cool sooner."),
}  # fmt: skip


def _day(view: TrialView, nursery: Nursery) -> str:
    day = timezone.localtime(view.trial.made_at, nursery.tz)
    return (
        f"{short_month(day)} {day.day}, {day.year}"
        if nursery.units == "US"
        else f"{day.day} {short_month(day)} {day.year}"
    )


def _rules(design: Design) -> tuple[str, ...]:
    times = say("once") if design.looks == 1 else say("{count} times", count=design.looks)
    rules = (
        say(
            "One plot is {count} cuttings, struck and counted together. Strike block by block, and a block in one go: the same hand, "
            "day and wood. Keep all but the treatment alike.",
            count=design.plot_cuttings,
        ),
        say(ALIKE[design.tray.alike]),
        say(EDGES[design.tray.edge]),
        say("Count all plots on one day, {times}, without looking up what they got.", times=times),
        say("Do not turn a tray or move a plot: the draw put it there."),
    )
    return tuple(rule for rule in rules if rule)


def tray_map(number: int, paper: str = "") -> bytes:
    """Return a trial's map as a PDF.

    Raises
    ------
    Refused
        If there is no such trial, the paper is unknown, or a name cannot be written.
    """
    nursery, view = Nursery.get(), trial_view(number)
    on = paper_for(paper, nursery)
    design = view.design
    trays = tuple(
        TrayMap(
            f"T{number}/{tray}",
            tuple(
                MapPlot(
                    one.plot.number,
                    one.letter,
                    one.treatment,
                    one.variety,
                    one.plot.block,
                    one.plot.treatment,
                    tuple(MapCell(*cell) for cell in one.plot.cells),
                )
                for one in view.plots
                if one.plot.tray == tray
            ),
        )
        for tray in range(1, design.trays + 1)
    )
    sheet = TrialMap(
        str(view.trial),
        view.trial.question,
        say(
            "drawn {day} by {by}, seed {seed}",
            day=_day(view, nursery),
            by=view.trial.by.username,
            seed=design.seed,
        ),
        design.tray.rows,
        design.tray.columns,
        design.looks,
        tuple(view.key),
        _rules(design),
        trays,
        f"{nursery.address}/t/{number}",
    )
    with printing():
        return printed(sheet, paper=on)


def plot_labels(number: int, paper: str = "", *, skip: int = 0) -> bytes:
    """Return a strip for each plot as a PDF; its code leads to that plot's count.

    Raises
    ------
    Refused
        If there is no such trial, the paper is unknown, the sheet has not that many places, or a name cannot be written.
    """
    nursery, view = Nursery.get(), trial_view(number)
    on = paper_for(paper, nursery)
    kinds = dict(Variety.objects.values_list("name_key", "species"))
    labels: Sequence[Label] = [_label(one, number, nursery, kinds) for one in view.plots]
    with printing():
        return wrap_labels(labels, paper=on, skip=skip)


def _label(one: PlotView, number: int, nursery: Nursery, kinds: dict[str, str]) -> Label:
    key = kinds.get(fold(one.variety))
    return Label(
        variety=f"\N{LEFT SINGLE QUOTATION MARK}{one.variety}\N{RIGHT SINGLE QUOTATION MARK}",
        species=say(species(key).name) if key else "",
        code=f"T{number}-{one.plot.number}",
        day=say("block {block}", block=one.plot.block),
        grade=one.letter,  # the letter, not the treatment: whoever counts need not know it
        count=None,
        address=f"{nursery.address}/t/{number}/{one.plot.number}",
    )
