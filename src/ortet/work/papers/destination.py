"""What to ask before wood goes somewhere, of an order or of any two places; and on paper."""

from collections import Counter
from dataclasses import dataclass

from ortet.decisions.borders import ALWAYS, Checklist, checklist
from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery, Order
from ortet.paper.checklist import CheckRow, CheckSheet, check_sheet
from ortet.wood.countries import is_country
from ortet.wood.speech import say
from ortet.work import names
from ortet.work.orders import find_order

from .sheet import Days, paper_for, printing

__all__ = ["Asked", "destination", "destination_sheet"]


@dataclass(frozen=True, slots=True)
class Asked:
    """Where wood goes; what is not said follows from the order and the nursery."""

    order: int | None = None
    to: str = ""  # ISO 3166-1
    region: str = ""  # the end of its ISO 3166-2 code
    zone: bool = False  # into a protected zone, a pest-free area
    is_trade: bool | None = None


def destination(asked: Asked) -> Checklist:
    """Return what to ask before wood goes there.

    Raises
    ------
    Refused
        If the country is no two letters.
    Unknown
        If there is no such order.
    """
    return _of(asked, find_order(asked.order) if asked.order is not None else None)


def _of(asked: Asked, order: Order | None) -> Checklist:
    nursery = Nursery.get()
    to = asked.to.strip().upper()
    if to and not is_country(to):
        raise Refused(
            say("{to!r}: write the country as two letters, such as FR. Nothing was looked up.", to=asked.to)
        )
    trade = asked.is_trade
    if order is not None:
        to = to or order.goes_to or nursery.country
        trade = order.buyer.is_trade if trade is None else trade
    return checklist(
        nursery.country,
        to,
        from_region=nursery.region,
        to_region=asked.region.strip().upper(),
        zone=asked.zone,
        is_trade=bool(trade),
    )


def destination_sheet(asked: Asked, paper: str = "") -> bytes:
    """Return what to ask as a PDF, with room for what was answered.

    Raises
    ------
    Refused, Unknown
        As `destination`, or if the paper is unknown.
    """
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    order = find_order(asked.order) if asked.order is not None else None
    found = _of(asked, order)
    facts: list[tuple[str, str]] = []
    if order is not None:
        wanted: Counter[str] = Counter()
        for line in order.lines.filter(ended_at=None).select_related("variety"):
            wanted[names.full_name(line.variety)] += line.count
        facts = [
            (say("Order"), say("{order}, of {buyer}", order=order.number, buyer=order.buyer)),
            (
                say("What"),
                ", ".join(f"{count} {name}" for name, count in wanted.items()) or say("nothing any more"),
            ),
        ]
    sheet = CheckSheet(
        nursery=nursery.name or say("The nursery"),
        title=found.title,
        caution=say(ALWAYS),
        made=Days.of(nursery).whole(nursery.today()),
        facts=tuple(facts),
        rows=tuple(CheckRow(one.ask, one.whom, one.usual, one.source) for one in found.questions),
    )
    with printing():
        return check_sheet(sheet, paper=on)
