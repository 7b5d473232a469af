"""Parcels received: the list, one parcel step by step, and its claim."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from ortet.ledger.models import Received
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.receiving import STEP_FORMS, Finish, Receive, Slip, Step, Whole
from ortet.pages.listing import Asked, as_file, turned_to
from ortet.wood import code as codes
from ortet.wood.speech import say
from ortet.work import Refused, Unknown, receiving
from ortet.work.receiving.told import STEPS, ParcelTold, parcel_told

from .asking import Done, a_deed
from .refusing import says_why

__all__ = [
    "add_line",
    "claim",
    "discard",
    "drop",
    "finish",
    "parcel",
    "parcels",
    "parcels_table",
    "photo",
    "receive",
    "step",
    "whole",
]


@a_deed(Receive)
def receive(form: Deed, by: User) -> Done:
    """Begin to receive a parcel."""
    begun = receiving.begin(**form.deed(), by=by)
    return Done(
        say("Parcel {number} of {sender} is open.", number=begun.number, sender=begun.sender),
        _to(begun.number),
    )


def _to(number: int) -> str:
    return reverse("parcel", args=[number])


def _asked(request: HttpRequest) -> Asked:
    return Asked.of(request, "-number", "all")


@require_safe
@says_why
def parcels(request: HttpRequest) -> HttpResponse:
    """List the parcels received."""
    asked = _asked(request)
    page = turned_to(receiving.parcels(asked.search, sort=asked.sort), request)
    headings = [
        asked.heading(say("Parcel"), "number"),
        asked.heading(say("From"), "sender"),
        asked.heading(say("Opened"), "opened", kind="wide"),
        asked.heading(say("Slip"), kind="wide"),
        asked.heading(say("State"), "finished"),
    ]
    seen = {
        "asked": asked,
        "page": page,
        "headings": headings,
        "any": bool(page) or Received.objects.exists(),
    }
    return render(request, "parcels.html", seen)


@require_safe
@says_why
def parcels_table(request: HttpRequest) -> HttpResponse:
    """Answer with the lines of the parcels as a file."""
    asked = _asked(request)
    columns = (
        "parcel", "sender", "posted", "opened", "finished", "line", "variety", "species", "stated", "came", "dead", "mouldy",
        "sent_g", "came_g", "scratch_green", "scratch_of", "done", "lot",
    )  # fmt: skip
    rows = []
    for one in receiving.parcels(asked.search, sort=asked.sort):
        lots = {row.position: codes.show(row.lot.code) for row in one.lots.select_related("lot")}
        head = (one.number, one.sender.name, one.posted_on, one.opened_at.isoformat(), one.finished_at)
        for row in one.said["lines"]:
            found = row["found"]
            seen = (found.get(name) for name in ("counted", "dead", "mouldy"))
            more = (found.get(name) for name in ("came_g", "scratch_green", "scratch_of"))
            rows.append(
                (*head, row["line"], row["variety"], row["species"], row["count"], *seen, row["sent_g"], *more,
                 row.get("then", ""), lots.get(row["line"], ""))
            )  # fmt: skip
    return as_file("parcels", columns, rows)


@require_safe
@says_why
def parcel(request: HttpRequest, number: int) -> HttpResponse:
    """Show one parcel: what is to be done with each line, and why."""
    told = parcel_told(number)
    lots = [one.lot.lot.code for one in told.lines if one.lot]
    labels = f"{reverse('labels')}?{urlencode([('lot', code) for code in lots])}" if lots else ""
    return render(request, "parcel.html", {"told": told, "labels": labels, "steps": STEPS})


def _ask(
    request: HttpRequest, told: ParcelTold, form: Step, at: str, line: Any = None, *, status: int = 200
) -> HttpResponse:
    numbers = [one.line for one in told.lines]
    seen: dict[str, Any] = {
        "told": told,
        "form": form,
        "line": line,
        "step": at,
        "steps": STEPS,
        "back": _to(told.parcel.number),
    }
    if line and at in STEPS:
        place, turn = numbers.index(line.line), STEPS.index(at)
        seen |= {"place": place + 1, "turn": turn + 1}
        if turn:
            seen["back"] = reverse("parcel-step", args=[told.parcel.number, line.line, STEPS[turn - 1]])
        elif place:
            seen["back"] = reverse("parcel-step", args=[told.parcel.number, numbers[place - 1], STEPS[-1]])
    return render(request, "parcel_step.html", seen, status=status)


def _onward(number: int, line: int, at: str) -> str:
    """Return the step after one, or the parcel once all lines are through."""
    lines = [one.line for one in parcel_told(number).lines]
    if at in STEPS[:-1]:
        return reverse("parcel-step", args=[number, line, STEPS[STEPS.index(at) + 1]])
    later = lines[lines.index(line) + 1 :]
    return reverse("parcel-step", args=[number, later[0], STEPS[0]]) if at in STEPS and later else _to(number)


@require_http_methods(["GET", "HEAD", "POST"])
@says_why
def step(request: HttpRequest, number: int, line: int, at: str) -> HttpResponse:
    """Ask for one step of one line, note it, and go on to the next."""
    told = parcel_told(number)
    one = next((one for one in told.lines if one.line == line), None)
    if one is None or at not in STEP_FORMS:
        raise Unknown(say("Parcel {number} has no such step. Go on from the parcel itself.", number=number))
    before = {**one.row, **one.row["found"]} if at != "slip" else one.row
    form = STEP_FORMS[at](request.nursery, request.POST if request.method == "POST" else None, before)
    if request.method != "POST":
        return _ask(request, told, form, at, one)
    try:
        if not form.is_valid():
            return _ask(request, told, form, at, one, status=422)
        if isinstance(form, Slip):
            receiving.mend_line(number, line, form.line(), at=request.nursery.now())
        else:
            receiving.note_found(number, line, at=request.nursery.now(), **form.found())
    except Refused as error:
        form.add_error(None, str(error))
        return _ask(request, told, form, at, one, status=422)
    return redirect(_onward(number, line, at))


@require_http_methods(["GET", "HEAD", "POST"])
@says_why
def add_line(request: HttpRequest, number: int) -> HttpResponse:
    """Ask for a further line of the slip."""
    told = parcel_told(number)
    form = Slip(request.nursery, request.POST if request.method == "POST" else None, {"use": "rooting"})
    if request.method != "POST":
        return _ask(request, told, form, "slip")
    try:
        if form.is_valid():
            receiving.add_line(number, form.line(), at=request.nursery.now())
            return redirect(_to(number))
    except Refused as error:
        form.add_error(None, str(error))
    return _ask(request, told, form, "slip", status=422)


@require_http_methods(["GET", "HEAD", "POST"])
@says_why
def whole(request: HttpRequest, number: int) -> HttpResponse:
    """Ask for what concerns the parcel as a whole."""
    told = parcel_told(number)
    form = Whole(
        request.nursery, request.POST if request.method == "POST" else None, told.parcel.said["found"]
    )
    if request.method != "POST":
        return _ask(request, told, form, "whole")
    try:
        if form.is_valid():
            receiving.note_parcel(number, at=request.nursery.now(), **form.found())
            return redirect(_to(number))
    except Refused as error:
        form.add_error(None, str(error))
    return _ask(request, told, form, "whole", status=422)


@require_http_methods(["GET", "HEAD", "POST"])
@says_why
def finish(request: HttpRequest, number: int) -> HttpResponse:
    """Ask what is done with each line, and book it."""
    told = parcel_told(number)
    form = Finish(told, request.POST if request.method == "POST" else None)
    if request.method != "POST":
        return render(request, "parcel_finish.html", {"told": told, "form": form})
    try:
        if form.is_valid():
            done = receiving.finish(number, **form.deed(), by=request.user, at=request.nursery.now())
            messages.success(
                request,
                say(
                    "Parcel {number} is finished: its wood is in the book. Print the labels now.",
                    number=done.number,
                ),
            )
            return redirect(_to(number))
    except Refused as error:
        form.add_error(None, str(error))
    return render(request, "parcel_finish.html", {"told": told, "form": form}, status=422)


@require_POST
@says_why
def drop(request: HttpRequest, number: int, line: int) -> HttpResponse:
    """Take a line out of the slip."""
    receiving.drop_line(number, line, at=request.nursery.now())
    messages.success(request, say("Line {line} is taken out.", line=line))
    return redirect(_to(number))


@require_POST
@says_why
def discard(request: HttpRequest, number: int) -> HttpResponse:
    """Throw away a parcel that was begun by mistake."""
    receiving.discard(number)
    messages.success(request, say("Parcel {number} is thrown away. Nothing of it was booked.", number=number))
    return redirect("parcels")


@require_POST
@says_why
def photo(request: HttpRequest, number: int) -> HttpResponse:
    """Keep a photo of a parcel that lies open."""
    picture = request.FILES.get("photo")
    if picture is None:
        raise Refused(say("No photo came with it: choose one. Nothing was noted."))
    receiving.add_photo(number, picture.read(), by=request.user, at=request.nursery.now())
    messages.success(request, say("The photo is kept, and goes with the claim."))
    return redirect(_to(number))


@require_safe
@says_why
def claim(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with the claim to the sender, as a PDF."""
    answer = HttpResponse(receiving.claim(number), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="claim-{number}.pdf"'
    return answer
