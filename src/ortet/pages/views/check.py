"""The recount, by page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.work.check import check as recount

__all__ = ["check"]


@require_safe
def check(request: HttpRequest) -> HttpResponse:
    """Recount the book; show the one line, or what does not hold."""
    faults, line, sums = recount()
    return render(request, "check.html", {"faults": faults, "line": line, "sums": sums})
