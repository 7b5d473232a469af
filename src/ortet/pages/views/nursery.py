"""The nursery: its name, zone, units and address; what its plans rest on; who else may read or write."""

from collections.abc import Callable

from django.contrib import messages
from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.models import User
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from ortet.ledger.models import Nursery
from ortet.pages.forms.house import Hand, OwnPassword, TheNursery, phones_reach
from ortet.wood.speech import say, to_say
from ortet.work import Refused
from ortet.work import nursery as work

__all__ = ["nursery"]

BY_PASSWORD = "django.contrib.auth.backends.ModelBackend"


def _describe(request: HttpRequest, form: TheNursery) -> str:
    described, plans, papers, books = form.asked()
    with transaction.atomic():
        work.describe(**described)
        work.plan_with(**plans)
        work.papers_with(**papers)
        here = work.books_with(**books)
    return say("{name}: kept.", name=here.name)


def _add_hand(request: HttpRequest, form: Form) -> str:
    """Let another person in; whoever set their own password in the same go stays signed in."""
    if not request.user.is_superuser:
        raise PermissionDenied
    said = form.cleaned_data
    with transaction.atomic():
        if own := said.get("own"):
            work.set_password(request.user.username, own)
        added = work.add_hand(said["hand"], said["password"], may_write=said["may"] == "write")
    login(request, User.objects.get(pk=request.user.pk), backend=BY_PASSWORD)
    may = (
        to_say(
            "{hand} may read and write. From now on everyone signs in, at this desk too; you sign in as {you}."
        )
        if said["may"] == "write"
        else to_say("{hand} may read. From now on everyone signs in, at this desk too; you sign in as {you}.")
    )
    return say(may, hand=added.username, you=request.user.username)


def _set_own(request: HttpRequest, form: Form) -> str:
    user = work.set_password(request.user.username, form.cleaned_data["new"])
    update_session_auth_hash(request, user)
    return say("You have a new password. You sign in as {username}.", username=user.username)


ACTS: dict[str, Callable[[HttpRequest, Form], str]] = {
    "describe": _describe,
    "add-hand": _add_hand,
    "set-own": _set_own,
}


def _forms(request: HttpRequest) -> dict[str, Form]:
    """Return the page's three forms, the one that was sent filled with what was typed."""
    here = Nursery.get()
    sent = {request.POST.get("do"): request.POST} if request.method == "POST" else {}
    own = request.user.has_usable_password()
    return {
        "describe": TheNursery.of(here, sent.get("describe")),
        "add-hand": Hand(sent.get("add-hand"), initial={"may": "write"}, has_own=own, auto_id="hand_%s"),
        "set-own": OwnPassword(sent.get("set-own"), auto_id="own_%s"),
    }


@require_http_methods(["GET", "HEAD", "POST"])
def nursery(request: HttpRequest) -> HttpResponse:
    """Show the nursery and its hands; change what was asked."""
    asked, status = _forms(request), 200
    if request.method == "POST":
        act, form = ACTS.get(request.POST.get("do", "")), asked.get(request.POST.get("do", ""))
        if act is None or form is None:
            return render(
                request,
                "refused.html",
                {"why": say("This page does not do that. Nothing was changed.")},
                status=422,
            )
        try:
            if form.is_valid():
                messages.success(request, act(request, form))
                return redirect("nursery")
        except Refused as error:
            form.add_error(None, str(error))
        status = 422
    hands = [(user, work.may_write(user)) for user in User.objects.filter(is_active=True).order_by("id")]
    seen = {
        "describe": asked["describe"],
        "add_hand": asked["add-hand"],
        "set_own": asked["set-own"],
        "hands": hands,
        "unreachable": not phones_reach(Nursery.get().address),
    }
    return render(request, "nursery.html", seen, status=status)
