"""Parcels that were packed here: the list, one of them, and what comes after it was sent."""

from ipaddress import ip_address
from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from ortet.ledger.models import Nursery, Parcel
from ortet.ledger.packed import contents_of
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.packing import Arrived, Complain, Replace, Send, Told
from ortet.pages.known import called
from ortet.pages.listing import Asked, as_file, turned_to
from ortet.wood.speech import say
from ortet.work import packing
from ortet.work.packing import showing

from .asking import Done, a_deed
from .refusing import says_why

__all__ = [
    "arrived",
    "complain",
    "outgoing",
    "outgoing_table",
    "parcel",
    "replace",
    "report_link",
    "send",
    "told",
]

WORDS = "report-words"  # of links made in this session, by parcel: the book does not keep them


def _to(number: int) -> str:
    return reverse("outgoing-parcel", args=[number])


def _order(number: int) -> str:
    return f"{reverse('order-of', args=[number])}#after"


def _asked(request: HttpRequest) -> Asked:
    return Asked.of(request, "-number", "still")


@require_safe
@says_why
def outgoing(request: HttpRequest) -> HttpResponse:
    """List the parcels packed here."""
    asked = _asked(request)
    page = turned_to(showing.parcels(asked.search, sort=asked.sort, still=bool(asked.more)), request)
    headings = [
        asked.heading(say("Parcel"), "number"),
        asked.heading(say("To"), "buyer"),
        asked.heading(say("Order"), "order", kind="wide"),
        asked.heading(say("Cuttings"), "count", kind="number"),
        asked.heading(say("State"), "sent"),
    ]
    seen = {
        "asked": asked,
        "page": page,
        "headings": headings,
        "any": Parcel.objects.exists(),
        "waiting": showing.parcels(still=True).count(),
    }
    return render(request, "outgoing.html", seen)


@require_safe
@says_why
def outgoing_table(request: HttpRequest) -> HttpResponse:
    """Answer with what lies and lay in the parcels as a file."""
    asked = _asked(request)
    columns = (
        "parcel", "order", "line", "buyer", "variety", "lot", "count", "out of", "packed", "sent", "gross_g", "carrier", "tracking",
    )  # fmt: skip
    rows = []
    found = list(showing.parcels(asked.search, sort=asked.sort, still=bool(asked.more)))
    inside = contents_of(found)
    for one in found:
        sent = getattr(one, "sending", None)
        went = (sent.at.isoformat(), sent.gross_g, sent.carrier, sent.tracking) if sent else ("", "", "", "")
        rows.extend(
            (one.number, one.order.number, row.line.position, one.order.buyer.name, row.lot.variety.name,
             str(row.lot), row.count, row.bag.name, row.at.isoformat(), *went)
            for row in inside[one.place_id]
        )  # fmt: skip
    return as_file("outgoing", columns, rows)


@require_safe
@says_why
def parcel(request: HttpRequest, number: int) -> HttpResponse:
    """Show one parcel: what lies in it, what is missing, how it went and arrived."""
    seen = showing.view(number)
    words = request.session.get(WORDS, {})
    word = words.pop(str(number), "")
    if word:
        request.session[WORDS] = words
    link = packing.report_address(word) if word else ""
    here = request.nursery.country
    to = seen.parcel.order.goes_to
    abroad = to if here and to != here else ""
    shown = {
        "seen": seen,
        "link": link,
        "is_near": bool(link) and _is_near(request.nursery),
        "abroad": abroad,
    }
    return render(request, "outgoing_parcel.html", shown)


def _is_near(nursery: Nursery) -> bool:
    """Whether the nursery's address leads nowhere from outside its own network."""
    host = urlsplit(nursery.address).hostname or ""
    try:
        return not ip_address(host).is_global
    except ValueError:
        return "." not in host or host.endswith(".local")


def _keep_word(request: HttpRequest, number: int, word: str) -> None:
    request.session[WORDS] = {**request.session.get(WORDS, {}), str(number): word}


@require_POST
@says_why
def report_link(request: HttpRequest, number: int) -> HttpResponse:
    """Make a new link by which the buyer reports back; it is shown once."""
    word = packing.report_link(number, by=request.user, at=request.nursery.now())
    _keep_word(request, number, word)
    messages.success(
        request, say("A new link is made. It is shown this once; one made before no longer opens.")
    )
    return redirect(f"{_to(number)}#report")


def send(request: HttpRequest) -> HttpResponse:
    """Give a parcel to the carrier."""

    def act(form: Deed, by: User) -> Done:
        done = packing.send(**form.deed(), by=by)
        number = done.sending.parcel.number
        if done.word:
            _keep_word(request, number, done.word)
        count = sum(one.count for one in done.movements)
        buyer = done.sending.parcel.order.buyer
        return Done(
            say(
                "Parcel {number} is sent: {count} cuttings are sold to {buyer}.",
                number=number,
                count=count,
                buyer=buyer,
            ),
            _to(number),
        )

    return a_deed(Send, "send.html")(act)(request)


@a_deed(Arrived)
def arrived(form: Deed, by: User) -> Done:
    """Note how a parcel arrived."""
    noted = packing.arrived(**form.deed(), by=by)
    parcel = noted.parcel
    said = say("Parcel {parcel} arrived: {state}.", parcel=parcel.number, state=noted.get_state_display())
    more = f"{reverse('complain')}?{urlencode({'line': f'{parcel.order.number}/1', 'parcel': parcel.number})}"
    return Done(said, _to(parcel.number), more, say("Note a complaint"))


@a_deed(Complain)
def complain(form: Deed, by: User) -> Done:
    """Note what a buyer complains of."""
    noted = packing.complain(**form.deed(), by=by)
    said = say(
        "Noted: {count} of {line}, {what}. It stays open until it is answered.",
        count=noted.count,
        line=called(noted.line),
        what=noted.get_what_display(),
    )
    again = f"{reverse('replace')}?{urlencode({'complaint': noted.pk})}"
    return Done(said, _order(noted.line.order.number), again, say("Replace them"))


@a_deed(Replace)
def replace(form: Deed, by: User) -> Done:
    """Answer a complaint by a replacement."""
    made = packing.replace(**form.deed(), by=by)
    line = made.lines.get()
    said = say(
        "Order {order} replaces them: {count} of {variety}, without a price.",
        order=made.number,
        count=line.count,
        variety=line.variety,
    )
    return Done(said, reverse("order-of", args=[made.number]))


@a_deed(Told)
def told(form: Deed, by: User) -> Done:
    """Copy what a buyer told."""
    noted = packing.told(**form.deed(), by=by)
    said = say("Told by the buyer: {rooted} of {struck} rooted.", rooted=noted.rooted, struck=noted.struck)
    parcel = getattr(noted.movement.from_place, "parcel", None)
    to = _to(parcel.number) if parcel else reverse("lot", args=[noted.movement.lot.code])
    return Done(said, to)
