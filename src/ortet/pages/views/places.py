"""Places: the list, and one bench, bag, cold place, standing ground or site."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from ortet.ledger.models import Kind, Place
from ortet.pages import graphs
from ortet.pages.listing import Asked, as_file, turned_to
from ortet.wood.speech import say
from ortet.work import lists
from ortet.work import places as work
from ortet.work.today import season_forecast

from .refusing import says_why

__all__ = ["place", "places", "places_table"]

KINDS = [
    (kind.value, kind.label)
    for kind in (Kind.STORE, Kind.BAG, Kind.BENCH, Kind.BATCH, Kind.GROUND, Kind.PARCEL, Kind.SITE)
]
SPANS = (
    (7, _("week")),
    (28, _("four weeks")),
    (365, _("year")),
)  # days of a temperature record that may be shown


def _asked(request: HttpRequest) -> Asked:
    return Asked.of(request, "name", "kind", "all")


def _found(asked: Asked) -> lists.Found[Place]:
    more = dict(asked.more)
    return lists.places(asked.search, sort=asked.sort, kind=more.get("kind", ""), here="all" not in more)


@require_safe
@says_why
def places(request: HttpRequest) -> HttpResponse:
    """List benches, cold places, bags, batches, standing grounds and sites."""
    asked = _asked(request)
    page = turned_to(_found(asked), request)
    headings = [
        asked.heading(say("Place"), "name"),
        asked.heading(say("What it is"), "kind"),
        asked.heading(say("Lots"), kind="number wide"),
        asked.heading(say("Cuttings"), "count", kind="number"),
    ]
    return render(
        request,
        "places.html",
        {"asked": asked, "page": page, "headings": headings, "kinds": KINDS, "more": dict(asked.more)},
    )


@require_safe
@says_why
def places_table(request: HttpRequest) -> HttpResponse:
    """Answer with the same list as a file."""
    asked = _asked(request)
    found = _found(asked)
    rows = ((p.name, p.get_kind_display(), p.code, p.lots, p.on_hand, p.note) for p in found)
    return as_file("places", ("name", "kind", "code", "lots", "cuttings", "note"), rows)


@require_safe
@says_why
def place(request: HttpRequest, code: str) -> HttpResponse:
    """Show one place: what lies in it, and its temperatures or what is forecast for it."""
    if batch := Place.objects.filter(code=code, kind=Kind.BATCH).first():
        return redirect("batch", batch.code)
    if box := Place.objects.filter(code=code, kind=Kind.PARCEL).select_related("parcel").first():
        return redirect("outgoing-parcel", box.parcel.number)
    seen, now, units = work.view(code), request.nursery.now(), request.nursery.units
    days = next((days for days, _ in SPANS if request.GET.get("days") == str(days)), 28)
    charts = []
    if seen.place.kind in (Kind.STORE, Kind.SITE):
        charts = graphs.of_record(work.record(seen.place, now, days), units)
    elif seen.bag and seen.contents:
        charts = graphs.of_bag(season_forecast(now, place=seen.place), units)
    drawn = graphs.drawn(charts, request.nursery.tz)
    return render(request, "place.html", {"seen": seen, "charts": drawn, "days": days, "spans": SPANS})
