"""Where names got swapped: told what was found wrong, answer with the moments. Asked by address; nothing is booked."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.pages.forms.mixup import Finds
from ortet.work import Refused
from ortet.work.mixup import mixup as trace

__all__ = ["mixup"]


@require_safe
def mixup(request: HttpRequest) -> HttpResponse:
    """Ask what was found; answer with when it likely happened, what to look at next, and who else is touched."""
    form, answer, status = Finds(request.GET), None, 200
    if form.said:
        try:
            answer = trace(form.found()) if form.is_valid() else None
        except Refused as error:
            form.problem = str(error)
        status = 200 if answer else 422
    return render(request, "mixup.html", {"form": form, "answer": answer}, status=status)
