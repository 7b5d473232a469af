"""Trials: the list, one whole, its plots to count one after the other, its paper; design one, strike it; what records suggest."""

from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_safe
from uuid_utils.compat import uuid7

from ortet import work
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.trials import DesignTrial, StrikeTrial
from ortet.wood.speech import say
from ortet.work import Refused, Unknown
from ortet.work.growing.selling import right_of
from ortet.work.growing.striking import crowding
from ortet.work.trials import design_trial as note_trial
from ortet.work.trials import strike_trial as strike_all
from ortet.work.trials.designing import laid_out
from ortet.work.trials.look import PlotView, TrialView, trial_view, variety_sentences
from ortet.work.trials.look import trials as all_trials

from . import trial_drawing
from .asking import Done, a_deed
from .refusing import says_why

if TYPE_CHECKING:
    from ortet.work.trials.suggest import Hint

__all__ = [
    "design_trial",
    "from_label",
    "hints",
    "labels",
    "plot",
    "strike_trial",
    "tray_map",
    "trial",
    "trials",
]

MOST_BUTTONS = 30  # plots of up to so many cuttings are counted by one tap


@require_safe
def trials(request: HttpRequest) -> HttpResponse:
    """List the trials, each with what it says so far."""
    return render(request, "trials.html", {"trials": all_trials()})


@require_safe
@says_why
def trial(request: HttpRequest, number: int) -> HttpResponse:
    """Show a trial: its question, what the counts say, its trays."""
    view = trial_view(number)
    last, names = view.last, view.design.treatments
    seen: dict[str, object] = {
        "view": view,
        "trays": [
            (f"T{number}/{tray}", trial_drawing.tray(view.design, view.plots, tray, number))
            for tray in range(1, view.design.trays + 1)
        ],
        "next": _next(view, request.nursery.now()),
        "due": sum(look.is_done for look in view.looks) < view.design.looks,
        "earlier": [look for look in view.looks if look.is_done and look is not last],
    }
    if last and last.verdict:
        said = " ".join(last.sentences)
        seen |= {
            "says": last.sentences,
            "by_variety": variety_sentences(view.design, last.verdict),
            "drawn": trial_drawing.effects(last.verdict, names, said),
            "told": trial_drawing.told(last.verdict, names),
        }
    return render(request, "trial.html", seen)


def _waits(one: PlotView, now: datetime) -> bool:
    """Return whether something stands in a plot and nobody counted it today."""
    at = one.counted_at
    return bool(one.told and one.told.here) and (
        at is None or timezone.localdate(at) != timezone.localdate(now)
    )


def _next(view: TrialView, now: datetime, after: int = 0) -> int | None:
    """Return the next plot that waits to be counted, round the trial once."""
    waits = [one.plot.number for one in view.plots if _waits(one, now)]
    return next((number for number in waits if number > after), waits[0] if waits else None)


@require_http_methods(["GET", "HEAD", "POST"])
@says_why
def plot(request: HttpRequest, number: int, plot: int) -> HttpResponse:
    """Show a plot and count it by one tap; then comes the next one."""
    view = trial_view(number)
    if not 1 <= plot <= len(view.plots):
        raise Unknown(
            say(
                "Trial {number} has no plot {plot}: it has plots 1 to {count}.",
                number=number,
                plot=plot,
                count=len(view.plots),
            )
        )
    one, error, status = view.plots[plot - 1], "", 200
    if request.method == "POST":
        try:
            return _count(request, number, one)
        except (Refused, ValueError) as refused:
            error, status = str(refused), 422
    now = request.nursery.now()
    waits = sum(_waits(other, now) for other in view.plots)
    here = one.told.here if one.told else 0
    seen = {
        "view": view, "one": one, "error": error, "id": uuid7(), "here": here, "waits": waits, "today": here and not _waits(one, now),
        "buttons": range(here + 1) if here <= MOST_BUTTONS else (), "next": _next(view, now, plot),
    }  # fmt: skip
    return render(request, "trial_plot.html", seen, status=status)


def _count(request: HttpRequest, number: int, one: PlotView) -> HttpResponse:
    """Book what was tapped and go on to the next plot."""
    if not one.told:
        raise Refused(say("Plot {plot} is not struck yet. Nothing was booked.", plot=one.plot.number))
    rooted = request.POST.get("rooted", "")
    if not rooted.isdecimal():
        raise Refused(say("Tap how many have roots. Nothing was booked."))
    try:
        id = UUID(request.POST.get("id", ""))
    except ValueError:
        raise Refused(say("Load this page anew, then tap. Nothing was booked.")) from None
    seen = work.count(one.told.name, rooted=int(rooted), by=request.user, at=request.nursery.now(), id=id)
    then = _next(trial_view(number), request.nursery.now(), one.plot.number)
    mend = f"{reverse('withdraw')}?{urlencode({'reading': seen.pk})}"
    said = say("Plot {plot}: {rooted} rooted.", plot=one.plot.number, rooted=rooted)
    messages.success(request, format_html('{} <a href="{}">{}</a>', said, mend, say("Mistaken? Withdraw it")))
    return redirect("trial-plot", number, then) if then else redirect("trial", number)


@require_safe
def from_label(request: HttpRequest, number: int, plot: int = 0) -> HttpResponse:
    """Lead from a printed code to the trial, or to the plot."""
    return redirect("trial-plot", number, plot) if plot else redirect("trial", number)


def _pdf(name: str, made: bytes) -> HttpResponse:
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(made, content_type="application/pdf", headers=headers)


@require_safe
@says_why
def tray_map(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with the map as a PDF."""
    from ortet.work.trials.paper import tray_map as printed

    return _pdf(f"trial-{number}-map", printed(number, request.GET.get("paper", "")))


@require_safe
@says_why
def labels(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with a label for each plot as a PDF."""
    from ortet.work.trials.paper import plot_labels

    return _pdf(f"trial-{number}-labels", plot_labels(number, request.GET.get("paper", "")))


@a_deed(DesignTrial, "design_trial.html")
def _note(form: Deed, by: User) -> Done:
    made = note_trial(**form.deed(), by=by)
    to = reverse("trial", args=[made.number])
    return Done(say("{trial}: drawn with seed {seed}. Print its map before you strike.", trial=made, seed=made.seed), to, reverse("trial-map", args=[made.number]), say("The map"))  # fmt: skip


@require_http_methods(["GET", "HEAD", "POST"])
def design_trial(request: HttpRequest) -> HttpResponse:
    """Ask for a trial; say how many cuttings it takes, or note it."""
    if request.method != "POST" or "look" not in request.POST:
        return _note(request)
    form, found = DesignTrial(request.nursery, request.POST), None
    try:
        found = laid_out(form.wanted()) if form.is_valid() else None
    except Refused as error:
        form.add_error(None, str(error))
    seen: dict[str, object] = {"form": form}
    if found:
        design, size = found
        seen |= {"design": design, "size": size, "sought": form.cleaned_data["sought"]}
    return render(request, "design_trial.html", seen, status=200 if found else 422)


@a_deed(StrikeTrial)
def strike_trial(form: Deed, by: User) -> Done:
    """Strike all plots of a trial."""
    asked = form.deed()
    made = strike_all(asked.pop("number"), asked.pop("lots"), by=by, **asked)
    number = made[0].trial.number
    lots = {batch.lot_id: batch.lot for batch in made}.values()
    said = say(
        "Trial {number}: {count} plots struck, batches {first} to {last}.",
        number=number,
        count=len(made),
        first=made[0],
        last=made[-1],
    )
    told = [said, crowding(made[0].place.standings.latest("since").store), *map(right_of, lots)]
    return Done(" ".join(filter(None, told)), reverse("trial", args=[number]))


@require_safe
def hints(request: HttpRequest) -> HttpResponse:
    """Say what ordinary records suggest, what they cannot tell, and the trial that would."""
    from ortet.work.trials.suggest import hints as all_hints

    return render(request, "trial_hints.html", {"hints": [(one, _asks(one)) for one in all_hints()]})


def _asks(hint: "Hint") -> str:
    """Return the address of a form that has the trial filled in."""
    trial = hint.suggestion.trial
    names = [name or say("no treatment") for name in trial.treatments]
    given = {
        "name": f"{names[1]}"[:60], "question": say("Do more root with {treatment} than with {check}?", treatment=names[1], check=names[0])[:500],
        "treatments": "\n".join(names), "varieties": "\n".join(trial.varieties),
        "check": f"{100 * trial.check_share:.0f}", "sought": f"{100 * trial.sought:.0f}",
    }  # fmt: skip
    return f"{reverse('design-trial')}?{urlencode(given)}"
