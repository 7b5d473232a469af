"""The pick walk on paper."""

from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery
from ortet.paper.pick_list import PickList, PickStop
from ortet.paper.pick_list import pick_list as printed
from ortet.wood.speech import say
from ortet.work.packing import walk

from .sheet import Days, full_name, paper_for, printing

__all__ = ["pick_list"]


def pick_list(order: int | None = None, paper: str = "") -> bytes:
    """Return what is to be picked as a PDF: of one order, or what is due this week; in the order in which the bags stand.

    Raises
    ------
    Refused
        If nothing is to be picked, the paper is unknown, or a name cannot be written.
    Unknown
        If there is no such order.
    """
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    stops = walk(order)
    if not stops:
        raise Refused(
            say("Nothing is to be picked of order {order}. Nothing was printed.", order=order)
            if order
            else say("Nothing is to be picked this week. Nothing was printed.")
        )
    now = nursery.now().astimezone(nursery.tz)
    rows = tuple(
        PickStop(
            stop.store,
            stop.place.name,
            f"{stop.lot.mark} ({stop.lot})" if stop.lot.mark else str(stop.lot),
            full_name(stop.lot),
            stop.count,
            stop.there,
            stop.line.order.buyer.name,
            str(stop.line),
            f"{nursery.address}/p/{stop.line.order.number}-{stop.line.position}/{stop.lot.code}/{stop.place.code}",
            stop.note,
        )
        for stop in stops
    )
    sheet = PickList(
        title=say("Pick list, order {order}", order=order) if order else say("Pick list"),
        nursery=nursery.name or say("The nursery"),
        made=f"{Days.of(nursery).whole(now.date())}, {now:%H:%M}",
        stops=rows,
        notes=(
            say("The label in the bag proves the bag: scan it, or read its code, before you take."),
            say("The code at the right opens the line on a phone, to be packed. A tick here books nothing."),
        ),
    )
    with printing():
        return printed(sheet, paper=on)
