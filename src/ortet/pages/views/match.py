"""Which scion goes on which stock: asked by a link's address, so that the answer can be kept. Nothing is booked."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.pages.forms.match import Match
from ortet.work import Refused
from ortet.work.match import match as pair

__all__ = ["match"]


@require_safe
def match(request: HttpRequest) -> HttpResponse:
    """Ask for thicknesses; answer with the pairs."""
    form = Match(request.nursery, request.GET)
    found, status = None, 200
    if form.is_bound:
        status = 422
        try:
            if form.is_valid():
                found, status = pair(**form.asked()), 200
        except Refused as error:
            form.add_error(None, str(error))
    return render(request, "match.html", {"form": form, "found": found}, status=status)
