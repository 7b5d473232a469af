"""Batches: the list, and one whole."""

from datetime import datetime, time, timedelta

import numpy as np
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import pgettext
from django.views.decorators.http import require_safe

from ortet.ledger.models import Batch
from ortet.pages import graphs
from ortet.pages.chart import Chart, Limit
from ortet.pages.listing import Asked, as_file, turned_to
from ortet.wood import code as codes
from ortet.wood.speech import say, to_say
from ortet.work import lists
from ortet.work.growing import batches as work
from ortet.work.growing.foretold import Foretold, foretold

from .refusing import says_why

__all__ = ["batch", "batch_label", "batches", "batches_table"]


def _asked(request: HttpRequest) -> Asked:
    return Asked.of(request, "-day", "all")


def _told(rows: list[Batch]) -> list[tuple[Batch, work.Struck]]:
    """Return each batch with what is known of it."""
    told = {one.place: one for one in work.batches_struck([row.pk for row in rows])}
    return [(row, told[row.pk]) for row in rows if row.pk in told]


@require_safe
@says_why
def batches(request: HttpRequest) -> HttpResponse:
    """List batches."""
    asked = _asked(request)
    page = turned_to(lists.batches(asked.search, sort=asked.sort, here=not asked.more), request)
    headings = [
        asked.heading(say("Batch"), "name"),
        asked.heading(say("Variety"), "variety"),
        asked.heading(say("Bench"), "bench", kind="wide"),
        asked.heading(say("Made"), "day", kind="wide"),
        asked.heading(say("Struck"), "struck", kind="number wide"),
        asked.heading(say("Rooted"), kind="number"),
        asked.heading(say("There now"), "here", kind="number"),
    ]
    rows = _told(list(page))
    any_batch = bool(rows) or Batch.objects.exists()
    shown = {"asked": asked, "page": page, "rows": rows, "headings": headings, "any_batch": any_batch}
    return render(request, "batches.html", shown)


@require_safe
@says_why
def batches_table(request: HttpRequest) -> HttpResponse:
    """Answer with the same list as a file."""
    asked = _asked(request)
    found = list(lists.batches(asked.search, sort=asked.sort, here=not asked.more))
    columns = ("batch", "code", "lot", "variety", "species", "mother", "craft", "made", "bench", "tray", "medium",
               "treatment", "wounded", "base °C", "weeks since taken", "struck", "rooted", "potted", "sold", "given up",
               "not found", "here", "finished")  # fmt: skip
    rows = (
        (
            one.name,
            codes.show(one.code),
            codes.show(one.lot),
            one.variety,
            one.species,
            one.mother,
            one.craft,
            one.struck_at.astimezone(request.nursery.tz).isoformat(timespec="minutes"),
            one.bench,
            one.tray,
            one.medium,
            one.treatment,
            one.is_wounded,
            one.base_c,
            round(one.weeks, 1),
            one.struck,
            one.rooted,
            *(one.gone(why) for why in ("potted", "sold", "given_up", "lost")),
            one.here,
            one.is_finished,
        )
        for _, one in _told(found)
    )
    return as_file("batches", columns, rows)


@require_safe
@says_why
def batch(request: HttpRequest, code: str) -> HttpResponse:
    """Show a batch: how it was made, what was counted, what left it, and what happened to it."""
    seen = work.view(code)
    ahead = foretold(seen.batch.place.code, request.nursery.now())
    charts = _rooted(seen.told) if seen.told else []
    if ahead:
        charts = [_ahead(ahead)]
    drawn = graphs.drawn(charts, request.nursery.tz)
    return render(request, "batch.html", {"seen": seen, "charts": drawn, "ahead": ahead})


@require_safe
@says_why
def batch_label(request: HttpRequest, code: str) -> HttpResponse:
    """Answer with the label of a batch's tray, on a sheet by itself."""
    from ortet.work.labels import labels

    seen = work.view(code)
    name = f"label-{seen.batch.place.code}.pdf"
    return HttpResponse(
        labels([seen.batch.place.code]),
        content_type="application/pdf",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


def _ahead(told: Foretold) -> Chart:
    """Return the share that will have shown roots by each day, with its band, beside what was counted."""
    batch, ahead = told.batch, told.ahead
    days = np.arange(ahead.expected.size)
    noon = datetime.combine(ahead.first, time(23), timezone.get_current_timezone()).timestamp() / 3600
    low, middle, high = ahead.share
    return Chart(
        key="ahead",
        title=say("Rooted, counted and to come"),
        says=told.says,
        how="science/time-to-root",
        at=noon + 24.0 * days,
        middle=middle,
        low=low,
        high=high,
        unit="\N{NO-BREAK SPACE}%",
        scale=100.0,
        now=noon - 23.0,
        floor=0.0,
        ceiling=1.0,
        points=[
            (
                one.at.timestamp() / 3600,
                ((one.rooted or 0) + batch.gone(*work.ROOTED, before=one.at)) / batch.struck,
            )
            for one in batch.counts
            if one.rooted is not None
        ],
    )


def _rooted(told: work.Struck) -> list[Chart]:
    """Return how many were known to have rooted at each count, those gone by then included; nothing on the first day."""
    counts = [one for one in told.counts if one.rooted is not None]
    if not counts or counts[-1].at - told.struck_at < timedelta(days=1):
        return []
    known = [(one.rooted or 0) + told.gone(*work.ROOTED, before=one.at) for one in counts]
    points = [(one.at.timestamp() / 3600, float(n)) for one, n in zip(counts, known, strict=True)]
    is_graft = told.craft == "graft"
    says = (
        to_say("{known} of {struck} taken when last counted.")
        if is_graft
        else to_say("{known} of {struck} rooted when last counted.")
    )
    line = [(told.struck_at.timestamp() / 3600, 0.0), *points]
    return [
        Chart(
            key="rooted",
            title=pgettext("graft", "Taken") if is_graft else say("Rooted"),
            says=say(says, known=known[-1], struck=told.struck),
            at=np.array([at for at, _ in line]),
            middle=np.array([n for _, n in line]),
            limits=[Limit(float(told.struck), say("all that were struck"), is_good=True)],
            floor=0.0,
            points=points,
        )
    ]
