"""Programs that come in by a token, and calendars by a private address: letting one in, shutting one out."""

from django.contrib import messages
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from ortet.pages.farm.scan import scannable
from ortet.pages.farm.where import open_now
from ortet.pages.forms.programs import CalendarAddress, LetIn
from ortet.wood.speech import say
from ortet.work import Refused, phones
from ortet.work import programs as work

__all__ = ["programs"]


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def programs(request: HttpRequest) -> HttpResponse:
    """Show the programs and calendars of this hand (the grower: all); on a press let one in, or shut one out."""
    if request.phone:
        raise PermissionDenied
    do = request.POST.get("do", "") if request.method == "POST" else ""
    if do == "shut-out":
        return _shut_out(request)
    form = LetIn(request.user, request.POST if do == "let-in" else None)
    address = CalendarAddress(request.POST if do == "calendar" else None)
    made = None
    asked = form if do == "let-in" else address
    if do and asked.is_valid():
        try:
            made = _given(request, form if do == "let-in" else None, address)
        except Refused as error:
            asked.add_error(None, str(error))
    seen = {"form": form, "address": address, "made": made, **_known(request)}
    if made and made.device.scopes == "calendar":
        seen |= _addresses(request, made.secret)
    return render(request, "programs.html", seen, status=422 if do and not made else 200)


def _given(request: HttpRequest, form: LetIn | None, address: CalendarAddress) -> work.Token:
    if form is None:
        said = address.cleaned_data
        return work.give_token(said["name"], ["calendar"], hand=request.user, by=request.user, now=now())
    said = form.cleaned_data
    hand = User.objects.get(username=said["hand"])
    return work.give_token(said["name"], form.scopes, hand=hand, by=request.user, now=now())


def _known(request: HttpRequest) -> dict:
    there = work.programs_of(request.user).filter(shut_out_at=None)
    return {
        "let_in": there.exclude(scopes="calendar"),
        "calendars": there.filter(scopes="calendar"),
        "gone": work.programs_of(request.user).exclude(shut_out_at=None),
        "base": request.build_absolute_uri(reverse("api", args=["today"])),
    }


def _addresses(request: HttpRequest, secret: str) -> dict:
    """Return the calendar's address at this desk, and at the farm's door where that is open."""
    path, where = reverse("calendar", args=[secret]), open_now()
    here = request.build_absolute_uri(path)
    farm = where.pages + path if where else ""
    return {"here": here, "farm": farm, "scan": scannable(farm or here, say("Address of the calendar"))}


def _shut_out(request: HttpRequest) -> HttpResponse:
    try:
        device = phones.shut_out(request.POST.get("program", ""), by=request.user, now=now())
    except Refused as error:
        return render(request, "refused.html", {"why": str(error)}, status=422)
    messages.success(
        request, say("{program} is shut out: nothing comes in with it any more.", program=device.name)
    )
    return redirect("programs")
