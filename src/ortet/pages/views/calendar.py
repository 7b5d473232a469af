"""The calendar by its private address."""

from math import ceil

from django.http import Http404, HttpRequest, HttpResponse
from django.utils.timezone import now
from django.views.decorators.http import require_safe

from ortet.wood.speech import say
from ortet.work.brake import wrong_token
from ortet.work.programs import known_program, lacks

__all__ = ["feed"]


@require_safe
def feed(request: HttpRequest, secret: str) -> HttpResponse:
    """Answer with the calendar to whoever knows its secret; to everybody else there is no such page."""
    device = known_program(secret, now=now())
    if device is None or lacks(device, ["calendar"]):
        until = wrong_token(request.META.get("REMOTE_ADDR", ""), now())
        if until is not None:
            answer = HttpResponse(
                say("Too many wrong addresses. Wait.\n"), status=429, content_type="text/plain"
            )
            answer["Retry-After"] = str(max(1, ceil((until - now()).total_seconds())))
            return answer
        raise Http404
    from ortet.work.calendar import calendar

    made = calendar(request.nursery.now(), tasks_apart="todos" in request.GET)
    answer = HttpResponse(made, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="ortet.ics"'
    answer["Cache-Control"] = "private, no-cache"
    return answer
