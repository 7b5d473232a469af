"""Cutting shoots: asked by a link's address for a usual one, by a table for measured ones. Nothing is booked."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from ortet.pages.forms.cut import MeasuredShoots, UsualShoot
from ortet.wood.speech import say
from ortet.wood.units import show_length
from ortet.work import Refused
from ortet.work.cut import PAPERS, Cutting, NotRead, print_cards
from ortet.work.cut import cut as reckon

__all__ = ["cut"]

MOST_DRAWN = 12
MOST_PROBLEMS = 100


def _template(name: str) -> HttpResponse:
    from ortet.tables.columns import template
    from ortet.tables.shoots import CUTTING

    if name not in CUTTING:
        raise Http404(say("There is no table {name!r}.", name=name))
    headers = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    return HttpResponse(template(name, CUTTING), content_type="text/csv; charset=utf-8", headers=headers)


def _card(request: HttpRequest, answer: Cutting, paper: str) -> HttpResponse:
    day = request.nursery.today().isoformat()
    pdf = print_cards(answer, paper=paper, nursery=request.nursery.name, day=day)
    headers = {"Content-Disposition": f'inline; filename="rule-card-{paper}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)


def _shown(answer: Cutting) -> dict[str, Any]:
    """Return what the page shows of an answer."""
    from .cut_drawing import draw

    units, plan = answer.units, answer.plan

    def say(mm: float) -> str:
        return show_length(round(mm, 1), units)

    shoots = [
        {
            "name": one.shoot.name or (str(number) if len(plan.cuts) > 1 else ""),
            "drawn": draw(one, f"shoot{number}", units),
            "pieces": [
                (
                    n,
                    piece.grade,
                    say(round(piece.from_mm)),
                    say(round(piece.to_mm)),
                    piece.nodes,
                    say(piece.base_mm),
                    say(piece.tip_mm),
                )
                for n, piece in enumerate(one.pieces, 1)
            ],
            "dropped": [
                (say(round(left.from_mm)), say(round(left.to_mm)), left.nodes, left.reason)
                for left in one.dropped
            ],
        }
        for number, one in enumerate(plan.cuts[:MOST_DRAWN], 1)
    ]
    rules = [
        (variety, answer.steps[variety], answer.says(variety), rule.shoots)
        for variety, rule in answer.rules.items()
    ]
    return {
        "plan": plan,
        "gap": 0.0 if plan.gap < 1e-6 else 100 * plan.gap,
        "shoots": shoots,
        "unshown": len(plan.cuts) - len(shoots),
        "rules": rules,
        "notes": answer.notes,
    }


@require_http_methods(["GET", "HEAD", "POST"])
def cut(request: HttpRequest) -> HttpResponse:
    """Ask what to cut; answer with the plan, the rule of thumb, or its card."""
    if wanted := request.GET.get("template"):
        return _template(wanted)
    posted = request.method == "POST"
    usual = UsualShoot(request.nursery, request.GET)
    measured = MeasuredShoots(
        request.nursery, *((request.POST, request.FILES) if posted else ()), auto_id="measured_%s"
    )
    form, said = (measured, request.POST) if posted else (usual, request.GET)
    seen, status = {}, 200
    if form.is_bound:
        status = 422
        try:
            if form.is_valid():
                shoots, grades, wishes = form.asked()
                answer = reckon(
                    shoots,
                    grades,
                    wanted=wishes,
                    knife=form.knife(),
                    units=request.nursery.units,
                    usual=not posted,
                )
                if paper := said.get("paper"):
                    return _card(request, answer, paper)
                seen, status = _shown(answer), 200
        except NotRead as fault:
            seen = {"problems": fault.problems[:MOST_PROBLEMS], "untold": len(fault.problems[MOST_PROBLEMS:])}
        except Refused as error:
            form.add_error(None, str(error))
    asked = request.GET.copy()
    asked.pop("paper", None)
    seen |= {
        "usual": usual,
        "measured": measured,
        "posted": posted,
        "papers": PAPERS,
        "asked": asked.urlencode(),
    }
    return render(request, "cut.html", seen, status=status)
