"""The pick walk by page, bag by bag, and what is packed on it."""

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_safe

from ortet.ledger.packed import open_parcel
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.packing import FoundOnly, Pack
from ortet.pages.known import called, order_or_none
from ortet.pages.listing import as_file
from ortet.pages.policy import SHED_POLICY
from ortet.wood.speech import say
from ortet.work import Refused
from ortet.work.orders import find_order, read_line
from ortet.work.packing import Short, Stop, halted_lines, left_of, walk
from ortet.work.packing import found_only as book_found
from ortet.work.packing import pack as book_pack

from .asking import Done, a_deed
from .refusing import says_why

__all__ = ["found_only", "from_list", "pack", "pick", "pick_table"]


def _order(request: HttpRequest) -> int | None:
    """Return the order asked for; nothing: what is due this week."""
    said = request.GET.get("order", "").strip()
    if not said:
        return None
    if not said.isdecimal() or len(said) > 9:
        raise Refused(say("{said!r} is no order: write its number, such as 3.", said=said))
    return int(said)


def _to(stop: Stop, within: int | None, page: str = "pack") -> str:
    """Return where one stop of a walk is packed."""
    line = f"{stop.line.order.number}/{stop.line.position}"
    here = {"line": line, "lot": stop.lot.code, "from": stop.place.code}
    return f"{reverse(page)}?{urlencode({**here, 'within': within or ''})}"


@require_safe
@says_why
def pick(request: HttpRequest) -> HttpResponse:
    """Show the whole walk, and lead to its first bag."""
    order = _order(request)
    stops = walk(order)
    about = find_order(order) if order else None
    seen = {
        "order": about,
        "parcel": open_parcel(about) if about else None,
        "stops": [(stop, _to(stop, order)) for stop in stops],
        "halted": halted_lines(order),
        "count": sum(stop.count for stop in stops),
        "bags": len({stop.place.pk for stop in stops}),
        "lacking": [(line, left) for line in about.lines.filter(ended_at=None) if (left := left_of(line))]
        if about
        else [],
        "query": f"?order={order}" if order else "",
    }
    return render(request, "pick.html", seen)


@require_safe
def from_list(request: HttpRequest, number: int, position: int, lot: str, place: str) -> HttpResponse:
    """Lead from a printed code to the stop that is to be packed."""
    stop = {"line": f"{number}/{position}", "lot": lot, "from": place}
    return redirect(f"{reverse('pack')}?{urlencode(stop)}")


@require_safe
@says_why
def pick_table(request: HttpRequest) -> HttpResponse:
    """Answer with the walk as a file."""
    columns = (
        "cold place",
        "bag",
        "lot",
        "mark",
        "variety",
        "count",
        "there",
        "order",
        "line",
        "buyer",
        "from",
        "note",
    )
    rows = (
        (stop.store, stop.place.name, str(stop.lot), stop.lot.mark or "", stop.lot.variety.name, stop.count, stop.there,
         stop.line.order.number, stop.line.position, stop.line.order.buyer.name, stop.day, stop.note)
        for stop in walk(_order(request))
    )  # fmt: skip
    return as_file("pick", columns, rows)


def _next(form: Deed) -> str:
    """Return the next bag of the walk; after the last the parcel, or the list."""
    order = order_or_none(form.said("within"))
    within = order.number if order else None
    stops = [stop for stop in walk(within) if stop.there]
    if stops:
        return _to(stops[0], within)
    parcel = open_parcel(find_order(read_line(form.said("line"))[0])) if within else None
    return reverse("outgoing-parcel", args=[parcel.number]) if parcel else reverse("pick")


@a_deed(Pack, "pack.html")
def _pack(form: Deed, by: User) -> Done:
    moved = book_pack(**form.deed(), by=by)
    said = say(
        "Movement {number}: {count} of lot {lot}, {variety}, into {to_place}.",
        number=moved.number,
        count=moved.count,
        lot=moved.lot.mark or moved.lot,
        variety=moved.lot.variety,
        to_place=moved.to_place,
    )
    return Done(
        said,
        _next(form),
        f"{reverse('correct')}?{urlencode({'movement': moved.number})}",
        say("Mistaken? Unpack"),
    )


@a_deed(FoundOnly, "pack.html")
def _found_only(form: Deed, by: User) -> Done:
    return Done(_of_short(book_found(**form.deed(), by=by)), _next(form))


def _of_short(short: Short) -> str:
    """Say what was booked of a short pick, and where the missing ones come from."""
    said = [say("{count} packed.", count=short.packed.count) if short.packed else say("Nothing packed.")]
    if short.gone:
        said.append(f"{short.gone.count} {short.gone.get_why_display()}.")
    if not short.missing:
        return " ".join([*said, say("{line} is filled.", line=called(short.line).capitalize())])
    said.append(
        say(
            "{line} still lacks {missing}. {told}",
            line=called(short.line).capitalize(),
            missing=short.missing,
            told=short.told,
        )
    )
    if short.instead:
        where = ", ".join(
            say("{count} of {lot} from {place}", count=stop.count, lot=stop.name, place=stop.place)
            for stop in short.instead
        )
        said.append(say("Now to be picked: {where}.", where=where))
    if short.to_take:
        said.append(
            say(
                "Still to be taken: {to_take}.",
                to_take=", ".join(
                    say("{count} from {mother}", count=count, mother=mother)
                    for mother, count in short.to_take
                ),
            )
        )
    if short.still:
        said.append(say("{still} stay short. {why}", still=short.still, why=" ".join(short.why)))
    return " ".join(said)


def _scanning(response: HttpResponse) -> HttpResponse:
    """Let the page read codes through the camera, as the shed's does."""
    response["Content-Security-Policy"] = SHED_POLICY
    return response


def pack(request: HttpRequest) -> HttpResponse:
    """Pack for an order, once a scan has proved the bag."""
    return _scanning(_pack(request))


def found_only(request: HttpRequest) -> HttpResponse:
    """Book that fewer were found, and plan the rest anew."""
    return _scanning(_found_only(request))
