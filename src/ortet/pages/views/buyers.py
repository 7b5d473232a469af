"""Buyers: the list, one of them whole, all that is held of one, and the deeds about them, their money and protected varieties."""

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from ortet import work
from ortet.pages.forms.buyers import BuyerAt, Charge, Erase, Pay, Variety, Warrant
from ortet.pages.forms.deed import Deed
from ortet.pages.listing import Asked, as_file, turned_to
from ortet.wood.speech import say, to_say
from ortet.work import dealings, lists, payments, plants, privacy, rights
from ortet.work.loading_orders import buyer_rows
from ortet.work.names import full_name

from .asking import Done, a_deed
from .refusing import says_why

__all__ = [
    "buyer", "buyers", "buyers_table", "charge", "erase", "export", "pay", "the_buyer", "variety", "warrant",
]  # fmt: skip


SHOWN = 12  # places that a page's answer names; ortet erase-buyer names all


def _of(number: int) -> str:
    return reverse("buyer-of", args=[number])


@a_deed(BuyerAt)
def buyer(form: Deed, by: User) -> Done:
    """Note who a buyer is and where reached."""
    who = work.buyer(**form.deed())
    return Done(say("{who} is in the book.", who=who), _of(who.pk))


@a_deed(Pay, "pay.html")
def pay(form: Deed, by: User) -> Done:
    """Note money that came for an order or went back."""
    paid = payments.pay(**form.deed(), by=by)
    said = (
        to_say("{amount} came for order {order} of {buyer}.")
        if paid.amount > 0
        else to_say("{amount} went back for order {order} of {buyer}.")
    )
    mend = {"order": paid.order.number, "way": "out" if paid.amount > 0 else "in", "amount": abs(paid.amount)}
    return Done(
        say(said, amount=abs(paid.amount), order=paid.order.number, buyer=paid.order.buyer),
        reverse("order-of", args=[paid.order.number]),
        f"{reverse('pay')}?{urlencode(mend)}",
        say("Mistaken? Note it the other way"),
    )


@a_deed(Charge)
def charge(form: Deed, by: User) -> Done:
    """Note what a buyer pays for posting."""
    order = payments.charge(**form.deed())
    return Done(
        say("Carriage {carriage} on order {order}.", carriage=order.carriage, order=order.number),
        reverse("order-of", args=[order.number]),
    )


@a_deed(Variety)
def variety(form: Deed, by: User) -> Done:
    """Note Group, selling name and right of a variety."""
    what = plants.describe_variety(**form.deed())
    plant = what.mothers.first()
    to = reverse("mother", args=[plant.accession]) if plant else reverse("mothers")
    return Done(say("{variety} is in the book.", variety=full_name(what)), to)


@a_deed(Warrant)
def warrant(form: Deed, by: User) -> Done:
    """Note a licence or an exemption for a protected variety."""
    noted = rights.warrant(**form.deed(), by=by)
    until = say(" until {until}", until=noted.until) if noted.until else ""
    return Done(
        say(
            "{variety}: {leave}{until}, noted.",
            variety=noted.variety,
            leave=noted.get_leave_display(),
            until=until,
        ),
        reverse("wanted"),
    )


@a_deed(Erase, "erase.html")
def erase(form: Deed, by: User) -> Done:
    """Take a buyer out of the book."""
    done = privacy.erase_buyer(**form.deed(), by=by)
    also = ""
    if done.still:
        more = say(" and {count} more", count=len(done.still) - SHOWN) if len(done.still) > SHOWN else ""
        also = say(
            " Words of theirs, or like them, still stand here: {still}{more}.",
            still=", ".join(done.still[:SHOWN]),
            more=more,
        )
    return Done(
        say("The name and addresses are out: {buyer}.{also}", buyer=done.erasure.buyer, also=also),
        _of(done.erasure.buyer.pk),
    )


@require_safe
@says_why
def buyers(request: HttpRequest) -> HttpResponse:
    """List buyers, and say who may be erased now."""
    asked = Asked.of(request, "name", "done")
    rows = lists.buyers(asked.search, sort=asked.sort)
    free = {who.pk for who in privacy.erasable(request.nursery.today())}
    page = turned_to(rows.filter(pk__in=free) if asked.more else rows, request)
    there = list(page)
    dealt = dealings.dealt_with(there)
    seen = {
        "asked": asked,
        "page": page,
        "rows": [(who, dealt[who.pk], who.pk in free) for who in there],
        "free": len(free),
        "any": lists.buyers().exists(),
        "headings": [
            asked.heading(say("Buyer"), "name"),
            asked.heading(say("Country"), "country", kind="wide"),
            asked.heading(say("Reached at"), kind="wide"),
            asked.heading(say("Orders"), kind="number wide"),
            asked.heading(say("Last dealing"), kind="wide"),
            asked.heading(say("Owed"), kind="number"),
        ],
    }
    return render(request, "buyers.html", seen)


@require_safe
@says_why
def buyers_table(request: HttpRequest) -> HttpResponse:
    """Answer with the list of buyers as a file: its columns are those that can be loaded."""
    from ortet.tables.columns import BUYERS

    asked = Asked.of(request, "name", "done")
    rows = buyer_rows(lists.buyers(asked.search, sort=asked.sort))
    return as_file("buyers", [column.name for column in BUYERS.columns], rows)


@never_cache
@require_safe
@says_why
def the_buyer(request: HttpRequest, number: int) -> HttpResponse:
    """Show one buyer whole: orders, what went to them, what is owed, until when they are kept."""
    seen = dealings.view(number)
    months = request.nursery.holds_addresses
    today = request.nursery.today()
    shown = {
        "seen": seen,
        "kept": privacy.keeps(seen.dealt, months, today),
        "until": privacy.kept_until(seen.dealt, months),
    }
    return render(request, "buyer.html", shown)


@never_cache
@require_safe
@says_why
def export(request: HttpRequest, number: int) -> HttpResponse:
    """Answer with all that is held of one buyer."""
    name, packed = privacy.export_buyer(f"buyer {number}")
    answer = HttpResponse(packed, content_type="application/zip")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
