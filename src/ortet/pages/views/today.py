"""The first page: what to do now; and the way to every deed."""

from uuid import UUID, uuid5

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from ortet import work
from ortet.ledger.models import Lot, MotherPlant, Received
from ortet.pages.todo import AT_ONCE, kept, todos
from ortet.wood.speech import say
from ortet.work.today import today as look

from .refusing import says_why

__all__ = ["done", "record", "today"]


@require_safe
@says_why
def today(request: HttpRequest) -> HttpResponse:
    """Show what to do now, in order of what waiting costs."""
    day = look()
    came = Received.objects.exists()  # wood may come into the book by a parcel alone
    begun = {"mothers": came or MotherPlant.objects.exists(), "lots": came or Lot.objects.exists()}
    hour = day.now.timestamp() / 3600
    return render(
        request,
        "today.html",
        {"day": day, "hour": hour, "todos": todos(day), "kept": kept(day), "begun": begun},
    )


@require_POST
@says_why
def done(request: HttpRequest) -> HttpResponse:
    """Record for all bags of a task at once that they were aired, or wiped and aired; all or none."""
    kind, bags = request.POST.get("kind", ""), request.POST.getlist("place")
    try:
        sent = UUID(request.POST.get("id", ""))
    except ValueError:
        raise work.Refused(
            say("This form lacks its number: load Today anew and press again. Nothing was booked.")
        ) from None
    if kind not in AT_ONCE or not bags:
        raise work.Refused(say("Say which bags were aired, or wiped and aired. Nothing was booked."))
    with transaction.atomic():
        at = request.nursery.now()
        booked = [work.treat(bag, kind, by=request.user, at=at, id=uuid5(sent, bag)) for bag in bags]
    names = ", ".join(str(treatment.place) for treatment in booked)
    messages.success(request, say("{done}, recorded: {bags}.", done=say(AT_ONCE[kind]), bags=names))
    return redirect("today")


@require_safe
def record(request: HttpRequest) -> HttpResponse:
    """Show the way to every deed."""
    return render(request, "record.html")
