"""Who may look and who may write.

On this machine's own loopback address, with one person in the book, the grower needs no login. Everything else does, and
once ORTET_HOSTS names other ways to come in, everyone does: a proxy may hide where a request comes from. Over the farm's
network, which is https by Ortet itself, a phone comes in by the cookie that it was paired with. A program brings its own token.
"""

import re
from collections.abc import Callable
from ipaddress import ip_address

from django.conf import settings
from django.contrib.auth.models import AnonymousUser
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.timezone import now

from ortet.ledger.models import Nursery
from ortet.wood.speech import say
from ortet.work import nursery as hands
from ortet.work import phones

_REPORT = re.compile(r"/r/[\w-]{10,60}", re.ASCII)  # a buyer's link, and nothing beneath it
Answer = Callable[[HttpRequest], HttpResponse]
# Any of these says that the request came through a proxy.
PASSED_ON = ("HTTP_X_FORWARDED", "HTTP_X_REAL_IP", "HTTP_FORWARDED", "HTTP_VIA")
SAFE = ("GET", "HEAD", "OPTIONS")
# The prefix makes browsers refuse it over plain http or from another host (RFC 6265bis, 4.1.3.2).
PHONE = "__Host-ortet-phone"


def _is_loopback(name: str) -> bool:
    if name == "localhost":
        return True
    try:
        return ip_address(name.strip("[]")).is_loopback
    except ValueError:
        return False


def _from_this_desk(request: HttpRequest) -> bool:
    """Whether the request was made on this machine, to this machine, by no proxy."""
    host = (
        request.get_host().rsplit(":", 1)[0] if not request.get_host().endswith("]") else request.get_host()
    )
    passed_on = any(name.startswith(PASSED_ON) for name in request.META)
    here = _is_loopback(request.META.get("REMOTE_ADDR", "")) and _is_loopback(host)
    return here and not passed_on and not request.is_secure()  # the desk's own door is plain http


def _sets_own_password(request: HttpRequest) -> bool:
    return request.path == reverse("nursery") and request.POST.get("do") == "set-own"


def _is_own_matter(request: HttpRequest) -> bool:
    """Whether it concerns nobody else: one's own password, or a program that may do no more than oneself."""
    return _sets_own_password(request) or request.path == reverse("programs")


def _is_open(request: HttpRequest) -> bool:
    """Whether a stranger may ask for this page: to sign in, to pair a phone, to read in another language, or to tell what became of a parcel by its link."""
    pair = reverse("pair")
    if _REPORT.fullmatch(request.path):
        return True
    return request.path in (reverse("sign-in"), reverse("language"), pair) or request.path.startswith(
        f"{pair}/"
    )


def _has_own_key(request: HttpRequest) -> bool:
    """Whether this is asked by a program: a call that brings a token, or a calendar by its secret address. No cookie counts there."""
    return request.path.startswith(("/api/v1/", "/calendar/"))


def remember_phone(response: HttpResponse, token: str) -> None:
    """Give a phone the cookie that it is known by; no script can read it and no other site can have it sent along."""
    response.set_cookie(
        PHONE, token, max_age=phones.KEPT, secure=True, httponly=True, samesite="Lax", path="/"
    )


class OnlyKnownHands:
    """Middleware: sign the grower in at their own desk, a phone by its cookie; ask everyone else; let readers only read.

    Readers may still change their own password and let programs read. A phone may not, nor change who else comes in: whoever found it could
    make their way back after it was shut out.
    """

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Let the request through, or lead to the sign-in page, or refuse."""
        request.phone = None
        if _has_own_key(request):
            request.user = AnonymousUser()
            return self.answer(request)
        if request.is_secure() and (token := request.COOKIES.get(PHONE)):
            return self._from_phone(request, token)
        if (
            not settings.HOSTS
            and not request.user.is_authenticated
            and _from_this_desk(request)
            and hands.is_alone()
        ):
            request.user = hands.grower()
        return self._from_hand(request)

    def _from_hand(self, request: HttpRequest) -> HttpResponse:
        if _is_open(request):
            return self.answer(request)
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        own = request.path == reverse("sign-out") or (not request.phone and _is_own_matter(request))
        if request.method not in SAFE and not own and not hands.may_write(request.user):
            return render(
                request, "refused.html", {"why": say("You may read this book, not write in it.")}, status=403
            )
        return self.answer(request)

    def _from_phone(self, request: HttpRequest, token: str) -> HttpResponse:
        """Let a paired phone in as its hand, whatever else it says; end everything of one that was shut out."""
        device = phones.known(token, now=now())
        if device is None:
            request.session.flush()
            request.user = AnonymousUser()
            response = (
                self.answer(request) if _is_open(request) else render(request, "shut_out.html", status=403)
            )
            if PHONE not in response.cookies:
                response.delete_cookie(PHONE, samesite="Lax")
            return response
        request.phone, request.user = device, device.user
        if (
            request.path in (reverse("nursery"), reverse("phones"), reverse("programs"))
            and request.method not in SAFE
        ):
            why = say(
                "A paired phone changes neither the nursery nor who comes in: do that at the desk. Nothing was changed."
            )
            return render(request, "refused.html", {"why": why}, status=403)
        response = self._from_hand(request)
        if device.last_seen.date() != now().date() and PHONE not in response.cookies:
            remember_phone(response, token)  # a phone in use stays paired
        return response


class GrowersClock:
    """Middleware: show times in the nursery's own zone."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Set the zone and hang the nursery on the request."""
        request.nursery = Nursery.get()
        with timezone.override(request.nursery.tz):
            return self.answer(request)
