"""The season's plan as a PDF. Nothing is booked, so whoever may read may print."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from ortet.work import Refused

__all__ = ["plan_sheet"]


@require_safe
def plan_sheet(request: HttpRequest) -> HttpResponse:
    """Answer with the plan that counts; on the paper asked for, else on what the nursery prints on."""
    from ortet.work.papers.sheet import usual_paper
    from ortet.work.plan.sheet import season_sheet

    paper = request.GET.get("paper", "") or usual_paper(request.nursery)
    try:
        pdf = season_sheet(paper)
    except Refused as error:
        return HttpResponse(str(error), status=422, content_type="text/plain; charset=utf-8")
    headers = {"Content-Disposition": f'inline; filename="season-{paper}.pdf"'}
    return HttpResponse(pdf, content_type="application/pdf", headers=headers)
