"""Trace: wood followed back and forward from any code, and who must be told about it."""

from collections.abc import Callable
from functools import wraps

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from ortet.work import Refused, Unknown
from ortet.work import trace as work

from .trace_across import across
from .trace_down import down

__all__ = ["recall", "recall_table", "trace"]

LONGEST = 200  # characters of a code or name
View = Callable[[HttpRequest, str, bool], HttpResponse]


def _of_a_code(view: View) -> Callable[[HttpRequest], HttpResponse]:
    """Read the code from the address; where it names nothing, or several things, say so beside the box to type it in."""

    @wraps(view)
    def answer(request: HttpRequest) -> HttpResponse:
        code = " ".join(request.GET.get("code", "").split())[:LONGEST]
        whole = request.GET.get("whole") == "1"
        seen: dict[str, object] = {"code": code, "whole": whole}
        if not code:
            return render(request, "trace.html", seen)
        try:
            return view(request, code, whole)
        except work.Ambiguous as several:
            return render(
                request, "trace.html", {**seen, "why": several, "choices": several.choices}, status=422
            )
        except Unknown as why:
            return render(request, "trace.html", {**seen, "why": why}, status=404)
        except Refused as why:
            return render(request, "trace.html", {**seen, "why": why}, status=422)

    return answer


def _asking(traced: work.Trace, *, whole: bool) -> str:
    """Return the query that asks for this and nothing else, however it was typed."""
    return urlencode({"code": traced.asked.called} | ({"whole": 1} if whole else {}))


@require_safe
@_of_a_code
def trace(request: HttpRequest, code: str, whole: bool) -> HttpResponse:
    """Show where wood came from and went, drawn and as lists."""
    traced = work.trace(code, whole=whole)
    return render(
        request,
        "trace.html",
        {
            "code": code,
            "whole": whole,
            "traced": traced,
            "down": down(traced, request.nursery.units),
            "across": across(traced),
            "asking": _asking(traced, whole=whole),
            "turned": _asking(traced, whole=not whole),
            "buyers": len(traced.of_kind("buyer")),
        },
    )


@require_safe
@_of_a_code
def recall(request: HttpRequest, code: str, whole: bool) -> HttpResponse:
    """List who got anything of it, what is still here, and what is planned from it."""
    found = work.recall(code, whole=whole)
    return render(
        request,
        "recall.html",
        {
            "found": found,
            "whole": whole,
            "asking": _asking(found.trace, whole=whole),
            "write_to": ",".join(found.emails),
        },
    )


@require_safe
@_of_a_code
def recall_table(request: HttpRequest, code: str, whole: bool) -> HttpResponse:
    """Answer with the buyers as a file."""
    answer = HttpResponse(work.recall(code, whole=whole).table(), content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = 'attachment; filename="recall.csv"'
    return answer
