"""Phones: the way for a phone to trust the desk, a one-time code, and shutting a lost one out."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.timezone import now
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from ortet.ledger.models import Device
from ortet.pages.farm.scan import scannable
from ortet.pages.farm.where import open_now
from ortet.pages.forms.phones import Helper
from ortet.wood.speech import say
from ortet.work import Refused
from ortet.work import phones as work

__all__ = ["phones"]


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def phones(request: HttpRequest) -> HttpResponse:
    """Show the phones and the way in; on a press show a code, or shut a phone out."""
    if request.phone or not request.user.is_superuser:
        raise PermissionDenied
    if request.method == "POST" and request.POST.get("do") == "shut-out":
        return _shut_out(request)
    form, made = Helper(request.POST if request.method == "POST" else None), None
    if form.is_bound and form.is_valid():
        said = form.cleaned_data
        may_write = said["may"] == "write"
        try:
            made = work.invite(
                said["hand"], by=request.user, now=now(), name=said["name"], may_write=may_write
            )
        except Refused as error:
            form.add_error(None, str(error))
    return render(request, "phones.html", _seen(form, made), status=422 if form.errors else 200)


def _shut_out(request: HttpRequest) -> HttpResponse:
    try:
        device = work.shut_out(request.POST.get("phone", ""), by=request.user, now=now())
    except Refused as error:
        return render(request, "refused.html", {"why": str(error)}, status=422)
    messages.success(
        request, say("{phone} is shut out: nobody comes in with it any more.", phone=device.name)
    )
    return redirect("phones")


def _seen(form: Helper, made: work.Invitation | None) -> dict:
    where = open_now()
    devices = Device.objects.filter(is_program=False).select_related("user")
    seen = {
        "form": form,
        "made": made,
        "where": where,
        "paired": devices.filter(shut_out_at=None),
        "gone": devices.exclude(shut_out_at=None),
    }
    if where:
        seen["pairs"] = where.fingerprint.split(" ")
        seen["trust_scan"] = scannable(where.trust, say("Code that leads a phone to the certificate"))
        seen["pair_by_hand"] = where.pages + reverse("pair")
    if where and made:
        seen["pair_scan"] = scannable(
            where.pages + reverse("pair-by-scan", args=[made.token]), say("Code that pairs a phone, once")
        )
    return seen
