"""A sample of a lot: which cuttings to look at, and what the answer means. Asked by address; nothing is booked."""

from itertools import pairwise

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from ortet.pages.forms.sample import Sample
from ortet.work import Refused
from ortet.work.sample import in_words
from ortet.work.sample import sample as draw

__all__ = ["sample"]


def _steps(places: tuple[int, ...]) -> str:
    """Return the places as fingers count them: so many on from the last."""
    return ", ".join(f"+{there - here}" for here, there in pairwise((0, *places)))


@require_safe
def sample(request: HttpRequest) -> HttpResponse:
    """Ask what must show; answer with how many to look at and which; told what was found, say what it means."""
    form, card, status = Sample(request.GET), None, 200
    if form.is_bound:
        try:
            card = draw(form.asked()) if form.is_valid() else None
        except Refused as error:
            form.add_error(None, str(error))
        status = 200 if card else 422
    seen: dict[str, object] = {"form": form, "card": card}
    if card:
        seen |= {
            "words": in_words(card),
            "pulls": [(card.kinds[one.bag], one, _steps(one.places)) for one in card.pulls],
        }
    return render(request, "sample.html", seen, status=status)
