"""What every deed's page does: ask, act, answer."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods

from ortet.pages.forms.deed import Deed
from ortet.wood.speech import say
from ortet.work import Refused

__all__ = ["Done", "a_deed"]

REMEMBERED = 30  # forms sent lately, so that a second tap on the button is told from a second deed


@dataclass(frozen=True, slots=True)
class Done:
    """What was booked, the page that shows it, the link by which it is mended, and one to what may follow."""

    said: str
    to: str
    mend: str = ""
    mend_words: str = _("Mistaken? Correct it")
    then: str = ""
    then_words: str = ""


def _tell(request: HttpRequest, done: Done) -> None:
    links = [(to, words) for to, words in ((done.then, done.then_words), (done.mend, done.mend_words)) if to]
    messages.success(
        request, format_html("{}{}", done.said, format_html_join("", ' <a href="{}">{}</a>', links))
    )


def _remember(request: HttpRequest, id: str, to: str) -> None:
    sent = request.session.get("sent", {})
    request.session["sent"] = dict([*sent.items(), (id, to)][-REMEMBERED:])


def a_deed(
    asks: type[Deed], template: str = "deed.html"
) -> Callable[[Callable[[Deed, User], Done]], Callable[[HttpRequest], HttpResponse]]:
    """Make a page of a function that books what a form said."""

    def page_of(act: Callable[[Deed, User], Done]) -> Callable[[HttpRequest], HttpResponse]:
        @wraps(act)
        @require_http_methods(["GET", "HEAD", "POST"])
        def page(request: HttpRequest) -> HttpResponse:
            if request.method != "POST":
                return render(request, template, {"form": asks(request.nursery, given=request.GET.dict())})
            id = request.POST.get("id", "")
            if to := request.session.get("sent", {}).get(id):
                messages.info(request, say("That was sent twice. It is booked once."))
                return redirect(to)
            form = asks(request.nursery, request.POST)
            try:
                done = act(form, request.user) if form.is_valid() else None
            except Refused as error:
                form.add_error(None, str(error))
                done = None
            if done is None:
                return render(request, template, {"form": form}, status=422)
            _tell(request, done)
            _remember(request, id, done.to)
            return redirect(done.to)

        return page

    return page_of
