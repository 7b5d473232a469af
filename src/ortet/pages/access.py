"""Who may look and who may write.

On this machine's own loopback address, with one person in the book, the grower needs no login. Everything else does, and
once ORTET_HOSTS names other ways to come in, everyone does: a proxy may hide where a request comes from.
"""

from collections.abc import Callable
from ipaddress import ip_address

from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from ortet.ledger.models import Nursery
from ortet.work import nursery as hands

Answer = Callable[[HttpRequest], HttpResponse]
# Any of these says that the request came through a proxy.
PASSED_ON = ("HTTP_X_FORWARDED", "HTTP_X_REAL_IP", "HTTP_FORWARDED", "HTTP_VIA")
SAFE = ("GET", "HEAD", "OPTIONS")


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
    return _is_loopback(request.META.get("REMOTE_ADDR", "")) and _is_loopback(host) and not passed_on


def _sets_own_password(request: HttpRequest) -> bool:
    return request.path == reverse("nursery") and request.POST.get("do") == "set-own"


class OnlyKnownHands:
    """Middleware: sign the grower in at their own desk; ask everyone else; let readers only read, but for their own password."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Let the request through, or lead to the sign-in page, or refuse."""
        if (
            not settings.HOSTS
            and not request.user.is_authenticated
            and _from_this_desk(request)
            and User.objects.count() <= 1
        ):
            request.user = hands.grower()
        if request.path == reverse("sign-in"):
            return self.answer(request)
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        own = request.path == reverse("sign-out") or _sets_own_password(request)
        if request.method not in SAFE and not own and not hands.may_write(request.user):
            return render(
                request, "refused.html", {"why": "You may read this book, not write in it."}, status=403
            )
        return self.answer(request)


class GrowersClock:
    """Middleware: show times in the nursery's own zone."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Set the zone and hang the nursery on the request."""
        request.nursery = Nursery.get()
        with timezone.override(request.nursery.tz):
            return self.answer(request)
