"""The season's plan: what needs a decision first, then what to take, who gets what, the benches, the post."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from ortet.ledger.models import Kind, Lot, MotherPlant, OrderLine, Place, Target
from ortet.pages.forms.deed import Deed
from ortet.pages.forms.plan import Give, LetChoose, PlanSeason, SetBatch
from ortet.pages.listing import as_file
from ortet.wood.speech import say, say_many
from ortet.work.plan import by_hand
from ortet.work.plan.shown import Post, Promise, Shown, changed_since, shown
from ortet.work.plan.whole import plan_season as make

from .asking import Done, a_deed
from .refusing import says_why

__all__ = [
    "cuts_table",
    "give",
    "let_choose",
    "picks_table",
    "plan",
    "plan_season",
    "set_batch",
    "slots_table",
]


@dataclass(frozen=True, slots=True)
class Group:
    """The wishes of one order, or the nursery's own."""

    title: str
    order: int | None
    promises: list[Promise]

    @property
    def given(self) -> int:
        """Cuttings that they get."""
        return sum(one.given for one in self.promises)

    @property
    def short(self) -> int:
        """Cuttings that they lack."""
        return sum(one.short for one in self.promises)

    @property
    def first(self) -> date | None:
        """The first day on which something of an order can be picked."""
        return min((pick.day for one in self.promises for pick in one.picks if one.order), default=None)


def _groups(promises: Sequence[Promise]) -> list[Group]:
    return [
        Group(
            say("Order {order}, {who}", order=order, who=rows[0].who) if order else say("Our own wishes"),
            order,
            rows,
        )
        for order, found in groupby(promises, key=lambda one: one.order)
        for rows in [list(found)]
    ]


def _held(posts: Sequence[Post]) -> list[tuple[str, list[Post]]]:
    """Return the orders without a day, those of one reason together."""
    of: dict[str, list[Post]] = defaultdict(list)
    for post in posts:
        if post.day is None:
            of[post.why].append(post)
    return list(of.items())


def _begun() -> dict[str, bool]:
    """Return what is in the book already of what a plan is made from."""
    return {
        "mothers": MotherPlant.objects.exists(),
        "lots": Lot.objects.exists(),
        "wishes": OrderLine.objects.exists() or Target.objects.exists(),
        "benches": Place.objects.filter(kind=Kind.BENCH, setups__isnull=False).exists(),
    }


def _counted(there: Shown) -> dict[str, object]:
    cuts = [cut for cut in there.cuts if cut.count > cut.done]
    held = _held(there.posts)
    sets = [one for one in there.sets if one.count > one.done]
    return {
        "changed": changed_since(there),
        "cuts": cuts,
        "to_take": sum(cut.count - cut.done for cut in cuts),
        "groups": _groups(there.promises),
        "met": there.met,
        "sets": sets,
        "to_set": sum(one.count - one.done for one in sets),
        "held": held,
        "posts": [post for post in there.posts if post.day],
        "undecided": len(there.short) + len(there.unplaced) + len(held),
    }


@require_safe
@says_why
def plan(request: HttpRequest) -> HttpResponse:
    """Show the plan that counts."""
    there = shown()
    seen: dict[str, object] = {"plan": there, "form": PlanSeason(request.nursery), "begun": _begun()}
    return render(request, "plan.html", seen | (_counted(there) if there else {}))


@a_deed(PlanSeason)
def plan_season(form: Deed, by: User) -> Done:
    """Plan the season."""
    make(by=by, confidence=float(form.cleaned_data["sure"]))
    return Done(_planned(say("The season is planned.")), reverse("plan"))


def _planned(said: str) -> str:
    there = shown()
    short = len(there.short) if there else 0
    return (
        say_many("{said} {count} wish goes short.", "{said} {count} wishes go short.", short, said=said)
        if short
        else say("{said} Every wish gets its wood.", said=said)
    )


@a_deed(Give)
def give(form: Deed, by: User) -> Done:
    """Give wood to a wish by hand."""
    said = form.deed()
    by_hand.give(
        said["wish"],
        said["lot"],
        said["count"],
        said["day"],
        by=by,
        mother=said["mother"],
        from_place=said["from_place"],
        instead=said["instead"],
    )
    return Done(
        _planned(say("Your choice is kept and the rest planned around it.")), f"{reverse('plan')}#who"
    )


@a_deed(SetBatch)
def set_batch(form: Deed, by: User) -> Done:
    """Choose bench, heat and week of a batch by hand."""
    said = form.deed()
    by_hand.set_batch(
        said["lot"],
        said["bench"],
        said["base_c"],
        said["start"],
        by=by,
        from_place=said["from_place"] or None,
        count=said["count"],
    )
    return Done(say("Your choice is kept and the other batches planned around it."), reverse("plan-benches"))


@a_deed(LetChoose)
def let_choose(form: Deed, by: User) -> Done:
    """Give a choice made by hand back to the plan."""
    said = form.cleaned_data
    if said["slot"]:
        by_hand.free_batch(said["slot"], by=by)
        return Done(say("The plan chose anew where it stands and when."), reverse("plan-benches"))
    by_hand.free_pick(said["pick"], by=by)
    return Done(_planned(say("The plan chose anew who gets it.")), f"{reverse('plan')}#who")


@require_safe
def cuts_table(request: HttpRequest) -> HttpResponse:
    """Answer with what is to be taken as a file."""
    there = shown()
    rows = (
        (cut.mother, cut.variety, cut.use, cut.count, cut.done, cut.day, cut.why)
        for cut in (there.cuts if there else ())
    )
    return as_file("to-take", ("mother plant", "variety", "use", "count", "done", "best day", "why"), rows)


@require_safe
def picks_table(request: HttpRequest) -> HttpResponse:
    """Answer with who gets what as a file."""
    there = shown()
    rows = (
        (
            one.wish,
            one.who,
            one.variety,
            one.asked,
            one.given,
            one.short,
            pick.lot,
            pick.name,
            pick.place,
            pick.count,
            pick.day,
            "by hand" if pick.by_hand else "",
            pick.note,
        )
        for one in (there.promises if there else ())
        for pick in one.picks
    )
    columns = (
        "wish", "who", "variety", "asked", "gets", "short", "lot", "name", "place", "count", "from", "chosen", "note",
    )  # fmt: skip
    return as_file("who-gets-what", columns, rows)


@require_safe
def slots_table(request: HttpRequest) -> HttpResponse:
    """Answer with what goes on the benches as a file."""
    there = shown()
    rows = (
        (
            one.lot,
            one.name,
            one.variety,
            one.place,
            one.bench,
            one.base_c,
            one.count,
            one.done,
            one.start,
            one.ready,
            round(one.risk, 4),
            "by hand" if one.by_hand else "",
            one.why,
        )
        for one in (there.sets if there else ())
    )
    columns = (
        "lot", "name", "variety", "place", "bench", "base °C", "count", "done", "from", "half rooted", "risk", "chosen", "why",
    )  # fmt: skip
    return as_file("benches", columns, rows)
