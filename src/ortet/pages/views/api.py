"""The API's door, its document, and the page that shows its calls."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_safe

__all__ = ["call", "calls", "document"]


@csrf_exempt
def call(request: HttpRequest, rest: str) -> HttpResponse:
    """Answer a call. It comes with a token and no cookie, so nobody else's page can make a browser send it."""
    from ortet.pages.api.book import answer

    return answer(request, rest)


@csrf_exempt
def document(request: HttpRequest) -> HttpResponse:
    """Answer with the OpenAPI document, which every program may read."""
    from ortet.pages.api.book import document as made
    from ortet.pages.api.problems import other_method

    if request.method not in ("GET", "HEAD"):
        return other_method("GET")
    return JsonResponse(made(), json_dumps_params={"ensure_ascii": False, "indent": 1})


@require_safe
def calls(request: HttpRequest) -> HttpResponse:
    """Show every call: its path, what it asks, what it answers, the scopes it needs."""
    from ortet.pages.api.shown import shown

    return render(request, "calls.html", {"groups": shown()})
