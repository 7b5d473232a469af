"""What is wanted: the lists, one order whole, and the deeds about them; and what a mother plant or a bench can do."""

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from ortet.decisions.borders import ALWAYS
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.wishes import Cancel, Limit, Order, SetUpBench, Want
from ortet.pages.known import called
from ortet.pages.listing import Asked, as_file, turned_to
from ortet.wood.speech import say
from ortet.work import benches, lists, rights
from ortet.work import orders as work
from ortet.work.loading_orders import order_rows
from ortet.work.owed import sums
from ortet.work.packing import aftermath
from ortet.work.papers.destination import Asked as Destined
from ortet.work.papers.destination import destination
from ortet.work.payments import payments_of
from ortet.work.plan.shown import posts_of

from .asking import Done, a_deed
from .refusing import says_why

__all__ = [
    "cancel",
    "limit",
    "order",
    "order_file",
    "order_table",
    "set_up_bench",
    "target_table",
    "the_order",
    "want",
    "wanted",
    "wanted_ourselves",
]


def _link(deed: str, **given: object) -> str:
    return f"{reverse(deed)}?{urlencode(given)}"


@a_deed(Order)
def order(form: Deed, by: User) -> Done:
    """Note a line of an order."""
    noted = work.order(**form.deed(), by=by)
    said = form.cleaned_data
    more = _link(
        "order", add_to=noted.number, use=said["use"], first_day=said["first_day"], last_day=said["last_day"]
    )
    return Done(
        say(
            "{count} of {variety} noted, order {order} of {buyer}.",
            count=said["count"],
            variety=noted.lines.last().variety,
            order=noted.number,
            buyer=noted.buyer,
        ),
        reverse("order-of", args=[noted.number]),
        more,
        say("Add another line to order {order}", order=noted.number),
    )


@a_deed(Want)
def want(form: Deed, by: User) -> Done:
    """Note what the nursery wants for itself."""
    target = work.want(**form.deed(), by=by)
    return Done(
        say(
            "Target {target}: {count} of {variety}, {purpose}.",
            target=target.number,
            count=target.count,
            variety=target.variety,
            purpose=target.get_purpose_display(),
        ),
        reverse("wanted-ourselves"),
        _link("cancel", what=target),
        say("Mistaken? Cancel it"),
    )


@a_deed(Cancel, "cancel.html")
def cancel(form: Deed, by: User) -> Done:
    """End an order, a line of it or a target."""
    ended = work.cancel(**form.deed())
    if not isinstance(ended, list):
        return Done(say("No longer wanted: {ended}.", ended=called(ended)), reverse("wanted-ourselves"))
    lines = ", ".join(map(called, ended))
    return Done(
        say("No longer wanted: {lines}.", lines=lines), reverse("order-of", args=[ended[0].order.number])
    )


@a_deed(Limit)
def limit(form: Deed, by: User) -> Done:
    """Say how much a mother plant may give."""
    noted = work.limit(**form.deed(), by=by)
    said = (
        say("{mother} may give {cuttings} in one winter.", mother=noted.mother, cuttings=noted.cuttings)
        if noted.cuttings
        else say("{mother} is spared.", mother=noted.mother)
    )
    return Done(said, reverse("mother", args=[noted.mother.accession]))


@a_deed(SetUpBench)
def set_up_bench(form: Deed, by: User) -> Done:
    """Say what a bench can do."""
    setup = benches.set_up_bench(**form.deed(), by=by)
    return Done(
        say("{place}: {cells} cells, noted.", place=setup.place, cells=setup.cells),
        reverse("place", args=[setup.place.code]),
    )


def _asked(request: HttpRequest, sort: str) -> Asked:
    return Asked.of(request, sort, "all")


@require_safe
@says_why
def wanted(request: HttpRequest) -> HttpResponse:
    """List what buyers ordered, line by line."""
    asked = _asked(request, "number")
    page = turned_to(lists.orders(asked.search, sort=asked.sort, still=not asked.more), request)
    headings = [
        asked.heading(say("Order"), "number"),
        asked.heading(say("Buyer"), "buyer", kind="wide"),
        asked.heading(say("Variety"), "variety"),
        asked.heading(say("For"), kind="wide"),
        asked.heading(say("Posted"), "window", kind="wide"),
        asked.heading(say("Price"), "price", kind="number wide"),
        asked.heading(say("Priority"), "priority", kind="number wide"),
        asked.heading(say("Wanted"), "count", kind="number"),
    ]
    seen = {"asked": asked, "page": page, "headings": headings, "any": lists.orders(still=False).exists()}
    return render(request, "wanted.html", seen)


@require_safe
@says_why
def wanted_ourselves(request: HttpRequest) -> HttpResponse:
    """List what the nursery wants for itself."""
    asked = _asked(request, "variety")
    page = turned_to(lists.targets(asked.search, sort=asked.sort, still=not asked.more), request)
    headings = [
        asked.heading(say("Target"), "number"),
        asked.heading(say("Variety"), "variety"),
        asked.heading(say("What for"), "purpose", kind="wide"),
        asked.heading(say("By"), "day", kind="wide"),
        asked.heading(say("Worth of one"), "worth", kind="number wide"),
        asked.heading(say("Priority"), "priority", kind="number wide"),
        asked.heading(say("Wanted"), "count", kind="number"),
    ]
    seen = {"asked": asked, "page": page, "headings": headings, "any": lists.targets(still=False).exists()}
    return render(request, "wanted_ourselves.html", seen)


@require_safe
@says_why
def order_table(request: HttpRequest) -> HttpResponse:
    """Answer with the lines of orders as a file."""
    asked = _asked(request, "number")
    rows = (
        (
            line.order.number,
            line.position,
            line.order.buyer.name,
            line.order.country,
            line.variety.name,
            line.use,
            line.count,
            line.least,
            line.grades,
            line.first_day,
            line.last_day,
            line.price,
            line.priority,
            ", ".join(other.variety.name for other in line.substitutes.all()),
            "cancelled" if line.ended_at else "wanted",
            line.note,
        )
        for line in lists.orders(asked.search, sort=asked.sort, still=not asked.more)
    )
    columns = (
        "order", "line", "buyer", "country", "variety", "use", "count", "no fewer than", "grades", "from", "until",
        "price", "priority", "instead", "state", "note",
    )  # fmt: skip
    return as_file("orders", columns, rows)


@require_safe
@says_why
def order_file(request: HttpRequest) -> HttpResponse:
    """Answer with the lines of orders in the columns that can be loaded."""
    from ortet.tables.columns import ORDERS

    asked = _asked(request, "number")
    rows = order_rows(lists.orders(asked.search, sort=asked.sort))
    return as_file("orders", [column.name for column in ORDERS.columns], rows)


@require_safe
@says_why
def target_table(request: HttpRequest) -> HttpResponse:
    """Answer with the nursery's own targets as a file."""
    asked = _asked(request, "variety")
    rows = (
        (
            target.number,
            target.variety.name,
            target.purpose,
            target.use,
            target.count,
            target.wanted_by,
            target.worth,
            target.priority,
            "cancelled" if target.ended_at else "wanted",
            target.note,
        )
        for target in lists.targets(asked.search, sort=asked.sort, still=not asked.more)
    )
    columns = ("target", "variety", "purpose", "use", "count", "by", "worth", "priority", "state", "note")
    return as_file("targets", columns, rows)


@require_safe
@says_why
def the_order(request: HttpRequest, number: int) -> HttpResponse:
    """Show one order whole, and day by day what would come of posting it."""
    found = work.find_order(number)
    lines = list(lists.lines_of(found))
    still = [line for line in lines if not line.ended_at]
    seen = {"order": found, "lines": lines, "open": still, "posts": posts_of(number) if still else []}
    seen |= {"ask": destination(Destined(number)), "always": say(ALWAYS)}
    day = request.nursery.today()
    halted = rights.stopped(day)
    stops = {line.variety_id: halted[line.variety_id] for line in still if line.variety_id in halted}
    seen |= {"owed": sums(found), "payments": payments_of(found), "stops": stops.values()}
    seen |= {"after": aftermath(found), "parcels": found.parcels.select_related("sending")}
    return render(request, "order.html", seen)
