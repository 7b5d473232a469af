"""The benches week by week, and what would come of another bench, heat or week."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.decisions.bench import Outcome
from ortet.pages.forms.plan import LookAt, SetBatch, where_key
from ortet.wood.speech import say
from ortet.work import Refused
from ortet.work.plan.bench_look import Look, Standing, benches_planned

from .plan_drawing import drawn, risk_word
from .refusing import says_why

__all__ = ["benches", "look"]


def _numbers(found: Outcome) -> dict[str, object]:
    """Return an outcome as it is shown."""
    return {
        "risk": found.risk,
        "word": risk_word(found.risk),
        "roots": found.roots,
        "leaves": found.leaves,
        "off": found.off,
        "ready": found.ready,
        "plants": found.plants,
        "late": found.late,
        "energy": found.energy,
    }


def _looked(request: HttpRequest, standing: Standing, form: LookAt) -> dict[str, object]:
    """Return what comes of what was asked, for the page's part that shows it."""
    seen: dict[str, object] = {"form": form, "look": None}
    try:
        found: Look | None = standing.look(*form.asked()) if form.is_valid() else None
    except Refused as error:
        form.add_error(None, str(error))
        found = None
    if found:
        keep = {
            "lot": found.lot.code,
            "from": found.place.code,
            "where": where_key(found.bench, found.base_c),
            "start": found.start,
        }
        seen |= {
            "look": found,
            "now": _numbers(found.outcome),
            "planned": _numbers(found.planned) if found.planned else None,
            "as_planned": found.outcome == found.planned,
            "keep": SetBatch(request.nursery, given={name: str(value) for name, value in keep.items()}),
        }
    return seen


@require_safe
@says_why
def benches(request: HttpRequest) -> HttpResponse:
    """Show the benches as planned, and a look at one batch otherwise."""
    standing = benches_planned()
    if standing is None or not (standing.wood and standing.courses):
        return render(request, "plan_benches.html", {"standing": None})
    form = LookAt(standing, request.nursery, request.GET)
    seen = _looked(request, standing, form)
    picture = drawn(standing, request.nursery.units, form["batch"].value())
    status = 200 if seen["look"] else 422
    seen |= {"standing": standing, "picture": picture}
    return render(request, "plan_benches.html", seen, status=status)


@require_safe
@says_why
def look(request: HttpRequest) -> HttpResponse:
    """Answer with what would come of a batch on another bench, at another heat, in another week."""
    standing = benches_planned()
    if standing is None or not (standing.wood and standing.courses):
        raise Refused(say("Nothing is planned for a bench. Plan the season first."))
    seen = _looked(request, standing, LookAt(standing, request.nursery, request.GET))
    return render(request, "_plan_look.html", seen, status=200 if seen["look"] else 422)
