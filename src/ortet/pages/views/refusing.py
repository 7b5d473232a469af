"""How a page says no."""

from collections.abc import Callable
from functools import wraps

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from ortet.work import Refused, Unknown

__all__ = ["says_why"]

View = Callable[..., HttpResponse]


def says_why(view: View) -> View:
    """Answer 404 with the sentence where something is not in the book, 422 where it is refused."""

    @wraps(view)
    def answer(request: HttpRequest, *args: str, **given: str) -> HttpResponse:
        try:
            return view(request, *args, **given)
        except Unknown as why:
            return render(request, "404.html", {"why": str(why)}, status=404)
        except Refused as why:
            return render(request, "refused.html", {"why": str(why)}, status=422)

    return answer
