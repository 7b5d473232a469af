"""Lots: the list, one lot whole, and where a label's code leads."""

from collections import defaultdict

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from ortet.ledger import stock
from ortet.ledger.models import Balance, Kind, Lot, MotherPlant, Place
from ortet.pages import graphs
from ortet.pages.listing import Asked, as_file, turned_to
from ortet.science.species import species
from ortet.wood import code as codes
from ortet.wood.speech import say
from ortet.work import Unknown, lists
from ortet.work import lots as work
from ortet.work.cut import graded
from ortet.work.today import season_forecast

from .refusing import says_why

__all__ = ["from_label", "lot", "lots", "lots_table"]


def _asked(request: HttpRequest) -> Asked:
    return Asked.of(request, "-day", "all")


def _with_places(rows: list[Lot]) -> list[tuple[Lot, list[Balance]]]:
    """Return each lot with where it lies."""
    here = defaultdict(list)
    for balance in stock.balances().filter(lot__in=rows):
        here[balance.lot_id].append(balance)
    return [(row, here[row.pk]) for row in rows]


@require_safe
@says_why
def lots(request: HttpRequest) -> HttpResponse:
    """List lots."""
    asked = _asked(request)
    page = turned_to(lists.lots(asked.search, sort=asked.sort, on_hand=not asked.more), request)
    headings = [
        asked.heading(say("Lot"), "lot"),
        asked.heading(say("Variety"), "variety"),
        asked.heading(say("Lies in"), kind="wide"),
        asked.heading(say("Made"), "day", kind="wide"),
        asked.heading(say("Grade"), kind="wide"),
        asked.heading(say("On hand"), "count", kind="number"),
    ]
    rows = _with_places(list(page))
    any_lot = bool(rows) or Lot.objects.exists()
    return render(
        request,
        "lots.html",
        {
            "asked": asked,
            "page": page,
            "rows": rows,
            "headings": headings,
            "any_lot": any_lot,
            "any_mother": any_lot or MotherPlant.objects.exists(),
        },
    )


@require_safe
@says_why
def lots_table(request: HttpRequest) -> HttpResponse:
    """Answer with the same list as a file."""
    asked = _asked(request)
    found = list(lists.lots(asked.search, sort=asked.sort, on_hand=not asked.more))
    rows = (
        (
            codes.show(lot.code),
            lot.mark,
            lot.variety.name,
            species(lot.variety.species).name,
            lot.mother and lot.mother.accession,
            lot.taken_at.astimezone(request.nursery.tz).isoformat(timespec="minutes"),
            lot.use,
            lot.grade,
            lot.on_hand,
            "; ".join(f"{balance.count} in {balance.place}" for balance in here),
        )
        for lot, here in _with_places(found)
    )
    columns = ("lot", "mark", "variety", "species", "mother", "taken", "use", "grade", "on hand", "places")
    return as_file("lots", columns, rows)


@require_safe
@says_why
def lot(request: HttpRequest, code: str) -> HttpResponse:
    """Show a lot: how it will fare, what happened to it, where it came from and went."""
    seen, now = work.view(code), request.nursery.now()
    forecasts = graphs.of_lot(season_forecast(now, seen.lot), request.nursery.units) if seen.wood else []
    bare = seen.wood and any(balance.place.kind == Kind.BENCH for balance in seen.where)
    in_places = graphs.in_places(forecasts, request.nursery.tz)
    return render(
        request, "lot.html", {"seen": seen, "forecasts": in_places, "graded": graded(seen.lot), "bare": bare}
    )


@require_safe
@says_why
def from_label(request: HttpRequest, code: str) -> HttpResponse:
    """Lead from a label's code to its lot, its bag or its batch, however the code was typed."""
    if codes.is_code(code):
        plain = codes.read(code)
        if not Lot.objects.filter(code=plain).exists() and (
            place := Place.objects.filter(code=plain).first()
        ):
            return redirect("batch" if place.kind == Kind.BATCH else "place", place.code)
        return redirect("lot", work.view(plain).lot.code)
    raise Unknown(
        say(
            "{code!r} is not a code that Ortet made: a character was misread. Type it again, or look among the lots.",
            code=code,
        )
    )
