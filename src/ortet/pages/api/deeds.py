"""Calls that book: one deed of `ortet.work` each, under an id, so that sending twice books once."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest
from ninja import Router

from ortet import work
from ortet.work import orders
from ortet.work.lists import lines_of
from ortet.work.lots import view as lot_whole
from ortet.work.moments import done_at
from ortet.work.places import view as place_whole
from ortet.work.plan.shown import shown
from ortet.work.programs import once

from . import answers, asked, said
from .problems import REFUSALS
from .token import Token

__all__ = ["deeds"]

deeds = Router()
Act = Callable[..., Any]


def a_deed(
    asks: type[asked.Deed], gives: Any, *needs: str, again: Act | None = None, in_turn: bool = True
) -> Callable[[Act], Act]:
    """Make a call of a function that books what was sent."""

    def call_of(act: Act) -> Act:
        name = act.__name__.replace("_", "-")

        def call(request: HttpRequest, said: asks) -> Any:  # type: ignore[valid-type]
            now, device = request.nursery.now(), request.auth
            at = done_at(said.at, now) if said.at else now
            with_words = {"by": device.user, "at": at}
            return once(
                said.id,
                name,
                said.model_dump(mode="json", exclude_unset=True),
                device=device,
                now=now,
                act=lambda: act(said.said(), **with_words),
                again=(lambda: again(said.said(), **with_words)) if again else None,
                in_turn=in_turn,
            )

        call.__name__, call.__doc__ = act.__name__, act.__doc__
        made = deeds.post(
            f"/{name}",
            auth=Token(*(needs or ("write",))),
            response={200: gives, **REFUSALS},
            operation_id=act.__name__,
            summary=(act.__doc__ or "").split("\n")[0].rstrip("."),
            tags=["Deeds"],
        )
        return made(call)

    return call_of


def _whole(code: str) -> dict[str, Any]:
    return said.lot_of(lot_whole(code))


@a_deed(asked.Take, answers.Lot)
def take(what: dict[str, Any], **who: Any) -> Any:
    """Take wood from a mother plant: a new lot, on the bench."""
    return _whole(work.take(**what, **who).code)


@a_deed(asked.Bag, answers.Place)
def bag(what: dict[str, Any], **who: Any) -> Any:
    """Close wood in a new bag and stand it in a cold place."""
    return said.place_of(place_whole(work.bag(**what, **who).code))


@a_deed(asked.Weigh, answers.Reading)
def weigh(what: dict[str, Any], **who: Any) -> Any:
    """Record what a bag weighs with all in it."""
    return said.reading_of(work.weigh(**what, **who))


@a_deed(asked.Inspect, answers.Reading)
def inspect(what: dict[str, Any], **who: Any) -> Any:
    """Record what was seen of a lot in a bag or on a bench."""
    return said.reading_of(work.inspect(**what, **who))


@a_deed(asked.Treat, answers.Reading)
def treat(what: dict[str, Any], **who: Any) -> Any:
    """Record that wood was disinfected, washed, waxed, or its bag aired or wiped dry."""
    return said.reading_of(work.treat(**what, **who))


@a_deed(asked.Move, answers.Moved)
def move(what: dict[str, Any], **who: Any) -> Any:
    """Move cuttings of a lot to another place."""
    return said.moved_of(work.move(**{"count": None, **what}, **who))


@a_deed(asked.Stand, answers.Stands)
def stand(what: dict[str, Any], **who: Any) -> Any:
    """Stand a bag in another cold place, or a batch on another bench, with all in it."""
    return said.standing_of(work.stand(**what, **who))


@a_deed(asked.Split, answers.Lot)
def split(what: dict[str, Any], **who: Any) -> Any:
    """Make part of a lot a lot of its own, with its own label."""
    return _whole(work.split(**what, **who).code)


@a_deed(asked.GiveUp, answers.Moved)
def give_up(what: dict[str, Any], **who: Any) -> Any:
    """Book cuttings out as given up, or as not found."""
    return said.moved_of(work.give_up(**{"count": None, **what}, **who))


@a_deed(asked.Strike, answers.Batch)
def strike(what: dict[str, Any], **who: Any) -> Any:
    """Strike cuttings of a lot as a batch on a bench."""
    return said.batch_of(work.strike(**{"count": None, **what}, **who))


@a_deed(asked.Graft, answers.Batch)
def graft(what: dict[str, Any], **who: Any) -> Any:
    """Graft scions of one lot on stocks of another: a batch of a new lot."""
    return said.batch_of(work.graft(**what, **who))


@a_deed(asked.Counted, answers.Reading)
def count(what: dict[str, Any], **who: Any) -> Any:
    """Record what stands in a batch or on a standing ground."""
    return said.reading_of(work.count(**what, **who))


@a_deed(asked.Pot, answers.Moved)
def pot(what: dict[str, Any], **who: Any) -> Any:
    """Pot what rooted of a batch and stand it on a standing ground."""
    return said.moved_of(work.pot_on(**{"count": None, **what}, **who))


@a_deed(asked.Sell, answers.Moved)
def sell(what: dict[str, Any], **who: Any) -> Any:
    """Book cuttings or plants out as sold."""
    return said.moved_of(work.sell(**{"count": None, **what}, **who))


@a_deed(asked.NoteIt, answers.Reading)
def note(what: dict[str, Any], **who: Any) -> Any:
    """Note words about a lot, a place, or a lot in a place."""
    return said.reading_of(work.note(**what, **who))


@a_deed(asked.Correct, answers.Moved)
def correct(what: dict[str, Any], **who: Any) -> Any:
    """Reverse an earlier movement by a new one that names it."""
    return said.moved_of(work.correct(**what, **who))


@a_deed(asked.Withdraw, answers.Reading)
def withdraw(what: dict[str, Any], **who: Any) -> Any:
    """Say that an earlier reading was mistaken: it stays readable and no longer counts."""
    return said.reading_of(work.withdraw(**what, **who))


@a_deed(asked.AnOrder, answers.Order, "write", "orders")
def order(what: dict[str, Any], **who: Any) -> Any:
    """Note what a buyer orders, as a new order or added to one."""
    made = orders.order(**{"buyer": "", **what}, **who)
    return said.order_of(made, lines_of(made))


@a_deed(asked.NoteBuyer, answers.Buyer, "write", "buyers")
def buyer(what: dict[str, Any], **who: Any) -> Any:
    """Note who a buyer is and where reached, making the buyer where the name is new."""
    return work.buyer(**{field: value for field, value in what.items() if field != "id"})


@a_deed(asked.Want, answers.Target)
def want(what: dict[str, Any], **who: Any) -> Any:
    """Note what the nursery itself wants of a variety."""
    return said.target_of(orders.want(**what, **who))


@a_deed(asked.Cancel, answers.Cancelled, "write", "orders", again=lambda what, **who: what)
def cancel(what: dict[str, Any], **who: Any) -> Any:
    """End a wish: an order, one line of it, or a target."""
    orders.cancel(what["what"], at=who["at"])
    return what


@a_deed(asked.MakePlan, answers.Plan, again=lambda what, **who: shown(), in_turn=False)
def plan(what: dict[str, Any], **who: Any) -> Any:
    """Plan the season: what to take, who gets what, what goes on the bench, which day to post."""
    from ortet.work.plan.whole import plan_season

    plan_season(by=who["by"], confidence=what.get("sure", 0.9))
    return shown()
