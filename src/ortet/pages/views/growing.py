"""The deeds of what grows by page: strike, graft, count, pot on, sell."""

from dataclasses import replace

from django.contrib.auth.models import User
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.text import capfirst

from ortet import work
from ortet.ledger.booking import count_in
from ortet.ledger.models import Batch, Kind, Movement, Place
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.growing import Count, Graft, Pot, Sell, Strike
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.growing.grafting import misfit
from ortet.work.growing.selling import right_of
from ortet.work.growing.striking import crowding
from ortet.work.lots import counted

from .asking import Done, a_deed

__all__ = ["count", "graft", "pot", "sell", "strike"]


def _link(deed: str, **given: object) -> str:
    return f"{reverse(deed)}?{urlencode(given)}"


def _batch(place: Place) -> str:
    return reverse("batch", args=[place.code])


def _made(batch: Batch, *told: str) -> str:
    """Say what was made of how many, and what there is to be careful about."""
    there = batch.place.standings.latest("since").store
    many = count_in(batch.lot, batch.place)
    said = say(
        "Batch {batch}: {count} of {variety} {craft}, on {bench}.",
        batch=batch,
        count=many,
        variety=batch.lot.variety,
        craft=batch.get_craft_display(),
        bench=there,
    )
    return " ".join(filter(None, [said, *told, crowding(there), right_of(batch.lot)]))


@a_deed(Strike, "strike.html")
def strike(form: Deed, by: User) -> Done:
    """Strike cuttings of a lot as a batch."""
    batch = work.strike(**form.deed(), by=by)
    number = Movement.objects.values_list("number", flat=True).get(pk=form.cleaned_data["id"])
    return Done(_made(batch), _batch(batch.place), _link("correct", movement=number))


@a_deed(Graft, "strike.html")
def graft(form: Deed, by: User) -> Done:
    """Graft scions of a lot on stocks of another."""
    said = form.deed()
    batch = work.graft(**said, by=by)
    unlike = misfit(find.lot(said["scion"]), find.lot(said["stock"]))
    return Done(
        _made(batch, unlike), _batch(batch.place), _link("labels", lot=batch.lot.code), say("Print its label")
    )


@a_deed(Count, "count.html")
def count(form: Deed, by: User) -> Done:
    """Count what stands in a batch or on a standing ground."""
    seen = work.count(**form.deed(), by=by)
    said = capfirst(counted(seen))
    out = (
        say(" The {dead} dead are given up.", dead=seen.dead)
        if form.cleaned_data["give_up_dead"] and seen.dead
        else ""
    )
    return Done(
        f"{said}.{out}",
        reverse("place", args=[seen.place.code]) if seen.place.kind == Kind.GROUND else _batch(seen.place),
        _link("withdraw", reading=seen.pk),
        say("Mistaken? Withdraw it"),
    )


@a_deed(Pot)
def pot(form: Deed, by: User) -> Done:
    """Pot rooted cuttings on."""
    moved = work.pot_on(**form.deed(), by=by)
    said = say(
        "Movement {number}: {count} potted on out of {from_place}, on {to_place}.",
        number=moved.number,
        count=moved.count,
        from_place=moved.from_place,
        to_place=moved.to_place,
    )
    return Done(said, _batch(moved.from_place), _link("correct", movement=moved.number))


@a_deed(Sell)
def sell(form: Deed, by: User) -> Done:
    """Book cuttings or plants out as sold."""
    moved = work.sell(**form.deed(), by=by)
    said = say(
        "Movement {number}: {count} of lot {lot} sold to {buyer}.",
        number=moved.number,
        count=moved.count,
        lot=moved.lot,
        buyer=moved.sale.buyer,
    )
    lot = reverse("lot", args=[moved.lot.code])
    caution = right_of(moved.lot)
    done = Done(f"{said} {caution}".strip(), lot, _link("correct", movement=moved.number))
    if moved.sale.price and not moved.sale.line:
        return replace(
            done, then=_link("receipt-of-sales", sales=moved.number), then_words=say("Give a receipt")
        )
    return done
