"""Roots or leaves first: asked by a link's address, so that it can be kept and sent. Nothing is booked."""

import math
from datetime import tzinfo

import numpy as np
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from ortet.decisions.racing import Row, in_words
from ortet.pages.chart import Chart, Limit
from ortet.pages.forms.race import Race
from ortet.pages.graphs import Drawn, drawn
from ortet.wood.speech import say
from ortet.wood.units import show_temperature
from ortet.work import Refused
from ortet.work.race import RaceCard
from ortet.work.race import race as play

__all__ = ["race"]

PERCENT = "\N{NO-BREAK SPACE}%"
MARGIN_D = 14.0  # days drawn after nearly all have rooted and are in leaf
LONGEST_D = 120.0


def _days(value: float) -> str:
    return (
        say("{days:.0f}\N{NO-BREAK SPACE}days", days=value)
        if math.isfinite(value)
        else say("not in half a year")
    )


def _held_together(words: str) -> str:
    """Keep a number and its unit in one line."""
    return words.replace(" %", PERCENT).replace(" °", "\N{NO-BREAK SPACE}°")


def _few(value: float) -> str:
    return f"{value:.0f}" if math.isfinite(value) else "never"


def _between(three: tuple[float, float, float]) -> str:
    low, middle, high = three
    if not math.isfinite(middle):
        return say("not in half a year")
    late = f"{high:.0f}" if math.isfinite(high) else say("later than half a year")
    return say(
        "half after {middle:.0f} days; one in ten after {low:.0f}, nine in ten after {late}",
        middle=middle,
        low=low,
        late=late,
    )


def _charts(card: RaceCard, zone: tzinfo) -> list[Drawn]:
    raced, start = card.raced, card.struck_at
    ends = [value for value in (raced.roots[2], raced.leaves[2]) if math.isfinite(value)]
    keep = raced.days <= min(max([28.0, *ends]) + MARGIN_D, LONGEST_D)
    at = start + raced.days[keep] * 24.0
    shared = {"unit": PERCENT, "scale": 100.0, "floor": 0.0, "ceiling": 1.0}
    rooted, leafed = raced.rooted[:, keep], raced.leafed[keep]
    half = [Limit(0.5, "half", is_good=True)]
    charts = [
        Chart(
            key="rooted",
            title=say("Rooted, of those that can"),
            says=say("Roots: {when}. The band is how sure the pace is.", when=_between(raced.roots)),
            how="science/roots",
            at=at,
            middle=rooted[1],
            low=rooted[0],
            high=rooted[2],
            limits=half,
            **shared,
        ),
        Chart(
            key="leafed",
            title=say("In leaf"),
            says=say("Leaves: {when}.", when=_between(raced.leaves)),
            how="science/leaves",
            at=at,
            middle=leafed,
            limits=half,
            **shared,
        ),
        Chart(
            key="risk",
            title=say("Leaves too early, by the day of striking"),
            says=say(
                "While the wood waits in the store it gathers chill, and its leaves need less warmth. "
                "The band is how sure the pace of roots is."
            ),
            how="science/race",
            at=start - _wait_h(card) + raced.waits * 24.0,
            middle=raced.risk[1],
            low=np.min(raced.risk, axis=0),
            high=np.max(raced.risk, axis=0),
            points=[(start, raced.too_early[1])],
            **shared,
        ),
    ]
    return drawn(charts, zone)


def _wait_h(card: RaceCard) -> float:
    """Return how long the wood waits until it is struck. [h]"""
    return next((row.value * 24.0 for row in card.raced.by_day if row.is_asked), 0.0)


def _told(rows: list[Row], units: str, *, of_days: bool = False) -> list[tuple[str, str, str, str, bool]]:
    """Return rows as they are shown: what it is, days to roots, days to leaves, the risk, whether it was asked."""
    return [
        (
            (say("in {days:.0f} days", days=row.value) if row.value else say("today"))
            if of_days
            else show_temperature(row.value, units),
            _days(row.root_days),
            _days(row.leaf_days),
            _held_together(in_words(row.too_early)),
            row.is_asked,
        )
        for row in rows
    ]


@require_safe
def race(request: HttpRequest) -> HttpResponse:
    """Ask which wood and bench; answer with the race."""
    units = request.nursery.units
    form, card, status = Race(request.nursery, request.GET), None, 200
    if form.is_bound:
        try:
            card = play(form.asked()) if form.is_valid() else None
        except Refused as error:
            form.add_error(None, str(error))
        status = 200 if card else 422
    seen: dict[str, object] = {"form": form, "card": card}
    if card:
        raced = card.raced
        low, _, high = raced.too_early
        seen |= {
            "verdict": _held_together(raced.verdict),
            "sure": _held_together(
                say(
                    "If it roots quickly {quick}, if slowly {slow}.",
                    quick=in_words(low),
                    slow=in_words(high),
                )
            ),
            "when": [
                (say("Roots, of those that can"), *map(_few, raced.roots)),
                (say("Leaves"), *map(_few, raced.leaves)),
            ],
            "base": show_temperature(card.base_c, units),
            "air": show_temperature(card.air_c, units),
            "tables": [
                (say("Another base"), say("At the base"), _told(raced.by_base, units)),
                (say("Another air"), say("In the air"), _told(raced.by_air, units)),
                (say("Another day"), say("Struck"), _told(raced.by_day, units, of_days=True)),
            ],
            "charts": _charts(card, timezone.get_current_timezone()),
        }
    return render(request, "race.html", seen, status=status)
