"""Mix a dip: asked by a link's address, so that a card can be kept, sent and printed. Nothing is booked."""

import re

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from ortet.pages.forms.mix import TREATED, Mix
from ortet.work import Refused
from ortet.work.mix import AGENTS, Card
from ortet.work.mix import mix as reckon

__all__ = ["mix"]


def _held_together(words: str) -> str:
    """Keep a number and its unit in one line."""
    return re.sub(r"(?<=\d) (?=%|L\b|mL\b|gal\b|fl oz\b|tsp\b|ppm\b)", "\N{NO-BREAK SPACE}", words)


def _record(card: Card, form: Mix) -> str:
    """Return the address that records a treatment with this mix; nothing where none is booked."""
    if not card.strength:
        return ""
    said = {
        "kind": "disinfect",
        "agent": AGENTS[card.agent] if card.agent != "product" else "",
        "strength": card.strength,
        "minutes": "" if card.minutes is None else f"{card.minutes:g}",
        **{name: form.cleaned_data[name] for name in TREATED},
    }
    return f"{reverse('treat')}?{urlencode({name: value for name, value in said.items() if value})}"


@require_safe
def mix(request: HttpRequest) -> HttpResponse:
    """Ask what to mix; answer with the card."""
    agent = request.GET.get("agent", "")
    agent = agent if agent in AGENTS else "bleach"
    form, card, status = Mix(request.nursery, agent, request.GET), None, 200
    if form.is_bound:
        try:
            card = reckon(form.asked()) if form.is_valid() else None
        except Refused as error:
            form.add_error(None, str(error))
        status = 200 if card else 422
    kept = {name: value for name in TREATED if (value := request.GET.get(name))}
    ways = [(key, words, f"?{urlencode({'agent': key, **kept})}") for key, words in AGENTS.items()]
    seen = {
        "form": form,
        "card": card,
        "title": _held_together(card.title) if card else "",
        "agent": agent,
        "ways": ways,
        "record": _record(card, form) if card else "",
    }
    return render(request, "mix.html", seen, status=status)
