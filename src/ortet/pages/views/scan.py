"""A second scan of labels, and whose is a bundle without one. Asked by address; nothing is booked."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.pages.forms.scan import Nameless, Scan
from ortet.work import Refused
from ortet.work.mixup.nameless import whose
from ortet.work.scanning import scan as read

__all__ = ["nameless", "scan"]


@require_safe
def scan(request: HttpRequest) -> HttpResponse:
    """Ask for labels; say of each whether it matches what the book has there."""
    form, seen, status = Scan(request.GET), None, 200
    if form.is_bound:
        try:
            seen = read(form.labels, form.cleaned_data["place"]) if form.is_valid() else None
        except Refused as error:
            form.add_error(None, str(error))
        status = 200 if seen else 422
    return render(request, "scan.html", {"form": form, "seen": seen}, status=status)


@require_safe
def nameless(request: HttpRequest) -> HttpResponse:
    """Ask what was found without a name; say which lots it may be."""
    form, told, status = Nameless(request.nursery, request.GET), None, 200
    if form.is_bound:
        try:
            if form.is_valid():
                said = form.cleaned_data
                told = whose(
                    said["place"],
                    said["count"],
                    species=said["kind"],
                    base_mm=said["base_mm"],
                    seen=form.labelled,
                )
        except Refused as error:
            form.add_error(None, str(error))
        status = 200 if told else 422
    return render(request, "nameless.html", {"form": form, "told": told}, status=status)
