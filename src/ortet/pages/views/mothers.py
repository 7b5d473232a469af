"""Mother plants: the list, and one of them."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.pages.listing import Asked, as_file, turned_to
from ortet.science.species import species
from ortet.wood.speech import say
from ortet.work import lists, names, passports, rights
from ortet.work import places as work

from .refusing import says_why

__all__ = ["mother", "mothers", "mothers_table"]


@require_safe
@says_why
def mothers(request: HttpRequest) -> HttpResponse:
    """List mother plants."""
    asked = Asked.of(request, "accession")
    headings = [
        asked.heading(say("Accession"), "accession"),
        asked.heading(say("Variety"), "variety"),
        asked.heading(say("Where it grows"), kind="wide"),
        asked.heading(say("Lots"), kind="number wide"),
        asked.heading(say("Taken"), "taken", kind="number"),
    ]
    page = turned_to(lists.mothers(asked.search, sort=asked.sort), request)
    return render(request, "mothers.html", {"asked": asked, "page": page, "headings": headings})


@require_safe
@says_why
def mothers_table(request: HttpRequest) -> HttpResponse:
    """Answer with the same list as a file."""
    asked = Asked.of(request, "accession")
    found = lists.mothers(asked.search, sort=asked.sort)
    rows = (
        (
            m.accession,
            m.variety.name,
            species(m.variety.species).name,
            m.site or "",
            m.source,
            m.health,
            m.lot_count,
            m.taken,
        )
        for m in found
    )
    columns = ("accession", "variety", "species", "site", "source", "health", "lots", "cuttings taken")
    return as_file("mothers", columns, rows)


@require_safe
@says_why
def mother(request: HttpRequest, accession: str) -> HttpResponse:
    """Show one mother plant and the lots it gave."""
    seen = work.mother(accession)
    variety, day = seen.mother.variety, request.nursery.today()
    shown = {"seen": seen, "name": names.seen(variety), "stop": rights.stops(variety, day)}
    shown["passport"] = passports.passport_told(accession)
    return render(request, "mother.html", shown | {"warrant": rights.latest_warrants().get(variety.pk)})
