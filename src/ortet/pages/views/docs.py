"""The docs, where the work is: a page each, their figures, and a search among them."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from ortet.pages import handbook
from ortet.wood.speech import say

__all__ = ["docs", "page"]


def _listed(names: list[str]) -> list[tuple[str, str, str]]:
    return [(name, handbook.title_of(name), handbook.says_first(name)) for name in names]


@require_safe
def docs(request: HttpRequest) -> HttpResponse:
    """Show the start page of the docs, or the pages that hold the words asked for."""
    asked = request.GET.get("q", "").strip()[:200]
    if not asked:
        return page(request, handbook.START)
    found = _listed(handbook.seek(asked))
    return render(request, "docs.html", {"asked": asked, "found": found, "title": say("Docs")})


@require_safe
def page(request: HttpRequest, name: str) -> HttpResponse:
    """Show a page of the docs, a room of them, or a figure."""
    if name == handbook.START and request.resolver_match.url_name != "docs":
        return redirect("docs")
    if name in handbook.ROOMS:
        found = _listed([one for one in handbook.files() if one.startswith(f"{name}/") and "." not in one])
        return render(request, "docs.html", {"title": say(handbook.ROOMS[name]), "found": found})
    file = handbook.files().get(name)
    if file is None:
        raise Http404(say("The docs have no such page."))
    if file.suffix in handbook.FIGURES:
        return HttpResponse(file.read_bytes(), content_type=handbook.FIGURES[file.suffix])
    room = name.partition("/")[0]
    told = {
        "title": handbook.title_of(name),
        # Our own pages, written with HTML off: what they hold of it is escaped.
        "html": mark_safe(handbook.as_html(name)),
        "room": room if room in handbook.ROOMS else "",
        "room_title": say(handbook.ROOMS.get(room, "")),
    }
    return render(request, "docs.html", told)
