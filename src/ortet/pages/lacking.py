"""What a form needs that the book does not hold yet, and where it is put there: a newcomer is told what to do first."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from ortet.ledger.models import Bag, Batch, Kind, Lot, MotherPlant, Order, Place, Target, Trial
from ortet.wood.speech import say, to_say

__all__ = ["Lack", "lacking"]


@dataclass(frozen=True, slots=True)
class Lack:
    """What is lacking, and the deed that mends it."""

    says: str
    act: str
    deed: str  # the name of its page
    query: str = ""


def _is_place(*kinds: Kind) -> Callable[[], bool]:
    return lambda: Place.objects.filter(kind__in=kinds).exists()


# In the order in which a book grows: what comes later needs what comes before.
_NEEDS: dict[str, tuple[Callable[[], bool], Lack]] = {
    "mother": (
        MotherPlant.objects.exists,
        Lack(
            to_say("The book holds no mother plant yet. Add one first."),
            to_say("Add a mother plant"),
            "add-mother",
        ),
    ),
    "lot": (
        Lot.objects.exists,
        Lack(
            to_say("The book holds no wood yet. Take some from a mother plant first."),
            to_say("Take wood"),
            "take",
        ),
    ),
    "store": (
        _is_place(Kind.STORE),
        Lack(
            to_say("The book knows no cold place yet. Name yours first, such as the fridge or the cellar."),
            to_say("Add a cold place"),
            "add-place",
            "kind=store",
        ),
    ),
    "bag": (
        Bag.objects.exists,
        Lack(to_say("No bag was closed yet. Close one first."), to_say("Close a bag"), "bag"),
    ),
    "batch": (
        Batch.objects.exists,
        Lack(
            to_say("No batch was struck or grafted yet. Strike one first."),
            to_say("Strike cuttings"),
            "strike",
        ),
    ),
    "bench": (
        _is_place(Kind.BENCH),
        Lack(
            to_say("The book knows no bench yet. Add one first."),
            to_say("Add a bench"),
            "add-place",
            "kind=bench",
        ),
    ),
    "trial": (
        Trial.objects.exists,
        Lack(
            to_say("No trial was designed yet. Design one first."), to_say("Design a trial"), "design-trial"
        ),
    ),
    "wish": (
        lambda: Order.objects.exists() or Target.objects.exists(),
        Lack(
            to_say("Nothing is wanted yet. Note an order or what you want yourself first."),
            to_say("Note an order"),
            "order",
        ),
    ),
}
_BEFORE = {
    "lot": ("mother",),
    "bag": ("mother", "lot"),
    "batch": ("mother", "lot"),
}


def lacking(*things: str) -> Lack | None:
    """Return the first thing that the book lacks of these, what they need included; nothing where all is there."""
    needed = {one for thing in things for one in (*_BEFORE.get(thing, ()), thing)}
    for name, (is_there, lack) in _NEEDS.items():
        if name in needed and not is_there():
            return replace(lack, says=say(lack.says), act=say(lack.act))
    return None
