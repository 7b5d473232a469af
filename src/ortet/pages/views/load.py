"""Loading a season's files, and the empty tables to fill."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from ortet.pages.forms.house import Load
from ortet.wood.speech import say

__all__ = ["load"]

MOST_PROBLEMS = 200  # shown at once; the rest is counted


def _template(name: str) -> HttpResponse:
    from ortet.tables.columns import TABLES, template

    if name not in TABLES:
        raise Http404(say("There is no table {name!r}.", name=name))
    headers = {"Content-Disposition": f'attachment; filename="{name}.csv"'}
    return HttpResponse(template(name), content_type="text/csv; charset=utf-8", headers=headers)


@require_http_methods(["GET", "HEAD", "POST"])
def load(request: HttpRequest) -> HttpResponse:
    """Ask for files; answer with what was booked, or with every problem found and nothing booked."""
    from ortet.tables.columns import TABLES
    from ortet.work.load import load as take_in

    if wanted := request.GET.get("template"):
        return _template(wanted)
    form, seen, status = Load(initial={"place": request.GET.get("place", "")}), {}, 200
    if request.method == "POST":
        form = Load(request.POST, request.FILES)
        if form.is_valid():
            loaded = take_in(
                form.cleaned_data["files"], by=request.user, at=request.nursery.now(), **form.asked()
            )
            problems = loaded.problems
            seen = {
                "loaded": loaded,
                "problems": problems[:MOST_PROBLEMS],
                "untold": len(problems[MOST_PROBLEMS:]),
            }
            status = 422 if problems else 200
        else:
            status = 422
    return render(request, "load.html", {"form": form, "tables": TABLES.values(), **seen}, status=status)
