"""The page behind a buyer's link: what became of the cuttings of one parcel. Nobody signs in for it, and it names nobody."""

from datetime import datetime

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import now
from django.utils.translation import gettext_lazy as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from ortet.ledger.models import Parcel
from ortet.pages.forms.fields import CountField, Notes
from ortet.wood.speech import say
from ortet.work import Refused
from ortet.work.brake import begin_try
from ortet.work.packing.reporting import Sold, of_link, sold_in, told_by_link

__all__ = ["report"]


class _Report(forms.Form):
    """So many set and rooted of each lot of a parcel."""

    note = Notes(_("Anything else"), help_text=_("How they were set, or what struck you."))

    def __init__(self, sold: list[Sold], data: object = None) -> None:
        super().__init__(data, use_required_attribute=False)
        self.sold = sold
        for one in sold:
            is_graft = one.use == "grafting"
            number = one.movement.number
            last = one.last
            self.fields[f"struck-{number}"] = CountField(
                label=say("You grafted") if is_graft else say("You set"),
                required=False,
                initial=last.struck if last else None,
            )
            self.fields[f"rooted-{number}"] = CountField(
                label=say("Of them taken") if is_graft else say("Of them rooted"),
                required=False,
                initial=last.rooted if last else None,
            )

    def rows(self) -> list[tuple[Sold, list[forms.BoundField]]]:
        """Return each lot with its two fields."""
        return [
            (one, [self[f"struck-{one.movement.number}"], self[f"rooted-{one.movement.number}"]])
            for one in self.sold
        ]

    def counts(self) -> dict[int, tuple[int, int]]:
        """Return what was filled in, by the number of the sale."""
        found = {}
        for one in self.sold:
            number = one.movement.number
            struck, rooted = (self.cleaned_data.get(f"{name}-{number}") for name in ("struck", "rooted"))
            if struck is None and rooted is None:
                continue
            if struck is None or rooted is None:
                raise Refused(
                    say(
                        "{variety}, {lot}: fill in both numbers, or neither. Nothing was noted.",
                        variety=one.variety,
                        lot=one.lot,
                    )
                )
            found[number] = (struck, rooted)
        return found


def _late(until: datetime, at: datetime, request: HttpRequest) -> HttpResponse:
    answer = render(request, "report.html", {"wait": True}, status=429)
    answer["Retry-After"] = str(int((until - at).total_seconds()) + 1)
    return answer


def _quietly(response: HttpResponse) -> HttpResponse:
    """Keep the address of the page from other sites and from what lists the web."""
    response["Referrer-Policy"] = "no-referrer"
    response["X-Robots-Tag"] = "noindex, nofollow"
    return response


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def report(request: HttpRequest, word: str) -> HttpResponse:
    """Ask what became of the cuttings of a parcel; note it."""
    return _quietly(_answer(request, word))


def _answer(request: HttpRequest, word: str) -> HttpResponse:
    at, came_from = now(), request.META.get("REMOTE_ADDR", "")
    parcel = of_link(word)
    if parcel is None:
        if until := begin_try("", came_from, at):
            return _late(until, at, request)
        return render(request, "report.html", {"gone": True}, status=404)
    sold = sold_in(parcel)
    if request.method != "POST":
        said = {"form": _Report(sold), "parcel": parcel, "thanks": "noted" in request.GET}
        return render(request, "report.html", said)
    if until := begin_try(f"report {parcel.pk}", came_from, at):
        return _late(until, at, request)
    return _note(request, parcel, sold)


def _note(request: HttpRequest, parcel: Parcel, sold: list[Sold]) -> HttpResponse:
    form = _Report(sold, request.POST)
    here = request.nursery.now()
    try:
        if form.is_valid():
            day = here.astimezone(request.nursery.tz).date()
            told_by_link(parcel, form.counts(), at=here, told_on=day, note=form.cleaned_data["note"].strip())
            return redirect(f"{request.path}?noted")
    except Refused as error:
        form.add_error(None, str(error).replace(say("Nothing was booked."), say("Nothing was noted.")))
    return render(request, "report.html", {"form": form, "parcel": parcel}, status=422)
