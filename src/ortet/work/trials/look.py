"""Reading a trial: its plots, its looks, and what the counts say."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from ortet.evidence.trials import (
    Design,
    Plot,
    PlotCount,
    Verdict,
    critical,
    judge,
    say_effect,
    say_level,
    say_variety,
    smallest_shown,
)
from ortet.evidence.trials.size import HEADLINE, LEVEL, PRIOR_FREEDOM, inflation_of, spent
from ortet.ledger.models import Nursery, Trial
from ortet.wood.speech import say, short_month
from ortet.work.growing.batches import Struck, batches_struck
from ortet.work.growing.plots import design_of, plots_struck, trial_numbered

__all__ = ["LETTERS", "Look", "PlotView", "TrialView", "looks_of", "trial_view", "trials"]

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True)
class PlotView:
    """A plot, its batch, and the latest count; None where it was not struck or counted."""

    plot: Plot
    letter: str  # of its treatment; A is the check
    treatment: str
    variety: str
    told: Struck | None

    @property
    def rooted(self) -> int | None:
        """How many are known to have rooted, those potted since included."""
        return self.told.rooted if self.told else None

    @property
    def counted_at(self) -> datetime | None:
        """When roots were last counted."""
        seen = [one.at for one in self.told.counts if one.rooted is not None] if self.told else []
        return seen[-1] if seen else None


@dataclass(frozen=True, slots=True)
class Look:
    """All plots counted once: rooted of each by its number; judged when the last is counted or the next look begun."""

    number: int
    day: date  # of its last count
    rooted: Mapping[int, int]
    of: int  # plots struck
    is_done: bool
    verdict: Verdict | None  # None: not yet
    sentences: tuple[str, ...]

    @property
    def left(self) -> int:
        """How many plots are still to be counted."""
        return self.of - len(self.rooted)


@dataclass(frozen=True, slots=True)
class TrialView:
    """A trial and all that is known of it."""

    trial: Trial
    design: Design
    plots: tuple[PlotView, ...]
    looks: tuple[Look, ...]
    shows: str  # what a trial of this size shows

    @property
    def struck(self) -> int:
        """How many plots are struck."""
        return sum(one.told is not None for one in self.plots)

    @property
    def last(self) -> Look | None:
        """The latest look that was judged."""
        return next((one for one in reversed(self.looks) if one.verdict), None)

    @property
    def now(self) -> Look | None:
        """The look under way; None before the first count and when all plots are counted."""
        return self.looks[-1] if self.looks and not self.looks[-1].is_done else None

    @property
    def key(self) -> list[tuple[str, str]]:
        """Letters and the treatments they stand for; A is the check."""
        return [(LETTERS[k], name) for k, name in enumerate(self.design.treatments)]

    @property
    def rests_on(self) -> str:
        """How often its words would be wrong, were nothing different."""
        return say_level(self.last.verdict) if self.last and self.last.verdict else ""


def trials() -> list[TrialView]:
    """Return all trials, the latest first."""
    return [_view(trial) for trial in Trial.objects.order_by("-number")]


def trial_view(number: int) -> TrialView:
    """Return a trial by its number.

    Raises
    ------
    Unknown
        If there is none.
    """
    return _view(trial_numbered(number))


def _view(trial: Trial) -> TrialView:
    design = design_of(trial)
    batches = plots_struck(trial)
    told = {one.place: one for one in batches_struck([batch.pk for batch in batches.values()])}
    of_plot = {number: told[batch.pk] for number, batch in batches.items() if batch.pk in told}
    plots = tuple(
        PlotView(
            plot,
            LETTERS[plot.treatment],
            design.treatments[plot.treatment],
            design.varieties[plot.variety],
            of_plot.get(plot.number),
        )
        for plot in design.plots
    )
    return TrialView(trial, design, plots, looks_of(design, of_plot, Nursery.get()), _shows(design))


def _shows(design: Design) -> str:
    """Return what a trial of this size shows, where half root under the check."""
    several, k = len(design.varieties) > 1, len(design.treatments)
    level = spent(design.looks, design.looks, LEVEL * (HEADLINE if several else 1.0))
    freedom = PRIOR_FREEDOM + max(0, design.blocks - len(design.varieties)) * (k - 1)
    alone = design.blocks * design.plot_cuttings / inflation_of(design.plot_cuttings)
    least = smallest_shown(0.5, alone, errors=critical(level, k - 1, freedom))
    if least is None:
        return say("It is too small to show even the largest difference four times in five.")
    return say(
        "Where half root with {check}, it shows a difference of {least:.0f} in 100 or more four times in five; "
        "a smaller one may well be missed.",
        check=design.treatments[0],
        least=100 * least,
    )


def looks_of(design: Design, struck: Mapping[int, Struck], nursery: Nursery) -> tuple[Look, ...]:
    """Return the looks at a trial's plots, each judged once it is whole.

    A look begins anew when a plot is counted again on a later day. A plot of which nothing is left to count keeps what was
    known of it.
    """
    seen = sorted(
        (one.at, number, one.rooted + told.gone("potted", "sold", before=one.at))
        for number, told in struck.items()
        for one in told.counts
        if one.rooted is not None
    )
    looks: list[dict[int, tuple[datetime, int]]] = []
    for at, number, rooted in seen:
        before = looks[-1].get(number) if looks else None
        if not looks or (before and _day(before[0], nursery.tz) != _day(at, nursery.tz)):
            looks.append({})
        looks[-1][number] = (at, rooted)
    made = []
    for k, one in enumerate(looks, 1):
        end = max(at for at, _ in one.values())
        known = {number: count for number, (_, count) in one.items()} | _finished(struck, one, end)
        is_done = k < len(looks) or len(known) == len(struck)
        made.append(_look(design, struck, k, _day(end, nursery.tz), known, is_done, nursery))
    return tuple(made)


def _day(at: datetime, zone: tzinfo) -> date:
    return at.astimezone(zone).date()


def _finished(struck: Mapping[int, Struck], counted: Mapping[int, object], by: datetime) -> dict[int, int]:
    """Return how many had rooted in plots that were empty by then."""
    return {
        number: told.rooted
        for number, told in struck.items()
        if number not in counted
        and told.rooted is not None
        and not told.here
        and max(gone.at for gone in told.left) <= by
    }


def _look(
    design: Design,
    struck: Mapping[int, Struck],
    number: int,
    day: date,
    rooted: Mapping[int, int],
    is_done: bool,
    nursery: Nursery,
) -> Look:
    plots = [
        PlotCount(plot.block, design.varieties[plot.variety], plot.treatment, struck[plot.number].struck, min(rooted[plot.number], struck[plot.number].struck))
        for plot in design.plots
        if plot.number in rooted
    ]  # fmt: skip
    verdict = None
    if is_done:
        try:
            verdict = judge(plots, len(design.treatments), look=number, looks=design.looks)
        except ValueError:  # no block has the check beside another treatment
            verdict = None
    by = f"{short_month(day)} {day.day}" if nursery.units == "US" else f"{day.day} {short_month(day)}"
    return Look(number, day, rooted, len(struck), is_done, verdict, _sentences(design, verdict, by))


def _sentences(design: Design, verdict: Verdict | None, by: str) -> tuple[str, ...]:
    if verdict is None:
        return ()
    return tuple(say_effect(effect, verdict, design.treatments, by) for effect in verdict.effects)


def variety_sentences(design: Design, verdict: Verdict) -> Sequence[str]:
    """Return what each treatment did for each variety, where there are several."""
    return [
        say_variety(one, design.treatments[effect.treatment], design.treatments[0])
        for effect in verdict.effects
        for one in effect.varieties
    ]
