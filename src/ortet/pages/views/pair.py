"""Pairing a phone: scanned or typed, pressed once, and this phone is its hand's from then on."""

from datetime import datetime, timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.timezone import localtime, now
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from ortet.pages.access import remember_phone
from ortet.pages.forms.phones import TypedCode
from ortet.wood.speech import say, to_say
from ortet.work import Refused, phones
from ortet.work.brake import begin_try

__all__ = ["by_code", "by_scan"]

NOT_HERE = to_say(
    "A phone is paired over https, on the farm's network: start `ortet serve --farm`, open the page Phones at the desk "
    "and scan what it shows. Nobody was let in."
)
GONE = to_say("This code {not_taken}")


def _let_in(request: HttpRequest, secret: str) -> HttpResponse:
    """Use the code up; whoever was signed in on this phone before is signed out."""
    _, token = phones.pair(secret, now=now(), instead_of=request.phone)
    request.session.flush()
    response = redirect("shed")
    remember_phone(response, token)
    return response


def _refused(request: HttpRequest, why: str, status: int) -> HttpResponse:
    return render(request, "pair.html", {"why": why, "form": TypedCode()}, status=status)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def by_scan(request: HttpRequest, token: str) -> HttpResponse:
    """Say whose phone this will be; on a press make it so. Looking alone uses nothing up: messengers look ahead."""
    if not request.is_secure():
        return _refused(request, say(NOT_HERE), 403)
    if (pairing := phones.invited(token, now=now())) is None:
        return _refused(request, say(GONE, not_taken=say(phones.NOT_TAKEN)), 410)
    if request.method != "POST":
        return render(request, "pair.html", {"pairing": pairing})
    try:
        return _let_in(request, token)
    except Refused as error:
        return _refused(request, str(error), 410)


@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def by_code(request: HttpRequest) -> HttpResponse:
    """Take the code as typed, a few times only."""
    if not request.is_secure():
        return _refused(request, say(NOT_HERE), 403)
    form, status, wait = TypedCode(request.POST if request.method == "POST" else None), 200, None
    if request.method == "POST":
        status = 422
        if form.is_valid():
            at = now()
            if until := begin_try("", request.META.get("REMOTE_ADDR", ""), at):
                form.add_error("code", _wait(until))
                status, wait = 429, until - at
            else:
                try:
                    return _let_in(request, form.cleaned_data["code"])
                except Refused as error:
                    form.add_error("code", str(error))
    answer = render(request, "pair.html", {"form": form}, status=status)
    if wait:
        answer["Retry-After"] = str(int(wait.total_seconds()) + 1)
    return answer


def _wait(until: datetime) -> str:
    again = localtime(until + timedelta(minutes=1))
    return say(
        "Ten tries within a quarter of an hour: wait until {again:%H:%M}. Nobody was let in.", again=again
    )
