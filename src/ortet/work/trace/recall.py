"""Who got anything of some wood, what of it is still here, and which open orders are planned from it."""

from collections import Counter, defaultdict
from dataclasses import asdict, dataclass
from datetime import date, datetime

from django.db.models import Q

from ortet.ledger import lineage as book
from ortet.ledger.models import MotherPlant, OrderLine, Pick, PlanKind, Sale
from ortet.ledger.slices import in_slices
from ortet.tables.out import as_csv
from ortet.wood import code as codes
from ortet.wood.speech import say

from .tracing import Trace, trace

__all__ = ["COLUMNS", "Bought", "Buyer", "Keep", "Planned", "Recall", "recall", "recalled"]

COLUMNS = (
    "buyer", "address", "email", "order", "lot", "mark", "variety", "species", "count", "sold", "from", "movement",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Bought:
    """What went to a buyer at once."""

    lot: str  # code
    mark: str
    variety: str
    species: str
    count: int
    at: datetime
    place: str  # that it left
    order: str
    movement: int


@dataclass(frozen=True, slots=True)
class Buyer:
    """Somebody to be told."""

    name: str  # nothing where nobody noted who
    address: str
    email: str
    bought: tuple[Bought, ...]

    @property
    def count(self) -> int:
        """Cuttings and plants they got."""
        return sum(one.count for one in self.bought)


@dataclass(frozen=True, slots=True)
class Keep:
    """What is still here and must not go out."""

    lot: str
    mark: str
    variety: str
    place: str
    place_code: str
    kind: str
    count: int


@dataclass(frozen=True, slots=True)
class Planned:
    """Wood that the latest plan means for somebody."""

    lot: str  # nothing while it is still to be taken
    mother: str
    place: str
    count: int
    day: date
    order: int | None
    who: str


@dataclass(frozen=True, slots=True)
class Recall:
    """Everyone to be told, and everything to be stopped."""

    trace: Trace
    buyers: list[Buyer]
    keep: list[Keep]
    planned: list[Planned]

    @property
    def emails(self) -> list[str]:
        """Where to write to, each once."""
        return list(dict.fromkeys(buyer.email for buyer in self.buyers if buyer.email))

    @property
    def count(self) -> int:
        """Cuttings and plants that went out."""
        return sum(buyer.count for buyer in self.buyers)

    def rows(self) -> list[tuple[object, ...]]:
        """Return the list as a table of `COLUMNS`, a row for each time a buyer got something. Prices are not in it."""
        return [
            (
                buyer.name, buyer.address, buyer.email, one.order, codes.show(one.lot), one.mark, one.variety, one.species,
                one.count, one.at.isoformat(timespec="minutes"), one.place, one.movement,
            )
            for buyer in self.buyers
            for one in buyer.bought
        ]  # fmt: skip

    def table(self) -> str:
        """Return the list as a CSV file."""
        return as_csv(COLUMNS, self.rows())

    def as_dict(self) -> dict[str, object]:
        """Return it for programs."""
        return {
            "of": self.trace.asked.says,
            "whole": self.trace.whole,
            "emails": self.emails,
            "buyers": [asdict(buyer) for buyer in self.buyers],
            "on_hand": [asdict(keep) for keep in self.keep],
            "planned": [asdict(one) for one in self.planned],
        }


def _buyers(traced: Trace, lots: dict[int, book.Begun]) -> list[Buyer]:
    bought: dict[tuple[str, str, str], list[Bought]] = defaultdict(list)
    for move, to in traced.sold:
        lot = lots[move.lot]
        who = (to.name, to.address, to.email) if to else ("", "", "")
        order = f"{to.order}/{to.position}" if to and to.order else ""
        bought[who].append(
            Bought(
                lot.code, lot.mark or "", lot.variety, lot.species, move.count, move.at, move.here_name, order, move.number
            )
        )  # fmt: skip
    return [Buyer(*who, tuple(rows)) for who, rows in sorted(bought.items(), key=lambda item: item[0])]


def _still_open(lines: set[int]) -> set[int]:
    """Return the lines of orders that are wanted yet and not all sent."""
    rows = Sale.objects.filter(line__in=lines).order_by()
    sales = list(rows.values_list("line_id", "movement__lot_id", "movement__number", "movement__count"))
    void = book.taken_back({lot for _, lot, *_ in sales})
    sent: Counter[int | None] = Counter()
    for line, _, number, count in sales:
        sent[line] += 0 if number in void else count
    wanted = OrderLine.objects.filter(pk__in=lines, ended_at=None).values_list("pk", "count")
    return {line for line, count in wanted if sent[line] < count}


def _planned(traced: Trace) -> list[Planned]:
    """Return what the latest plan gives to open orders and own targets out of this wood, or means to take of its plants."""
    from ortet.work.plan.desk import latest

    plan = latest(PlanKind.ALLOT)
    lying = {row.lot for row in traced.here}  # wherever the plan found them: they may have been moved since
    if plan is None:
        return []
    asked = traced.asked
    plants = MotherPlant.objects.filter(accession=asked.text) if asked.word == "mother" else ()
    rows = plan.picks.filter(Q(target=None) | Q(target__ended_at=None)).select_related(
        "lot", "place", "mother", "line__order__buyer", "target"
    )
    found: list[Pick] = list(in_slices(rows, "lot", lying))
    found += in_slices(rows, "mother", plants)
    still = _still_open({pick.line_id for pick in found if pick.line_id})
    return sorted(
        (
            Planned(
                pick.lot.code if pick.lot else "",
                pick.mother.accession if pick.mother else "",
                pick.place.name if pick.place else "",
                pick.count,
                pick.day,
                pick.line.order.number if pick.line else None,
                pick.line.order.buyer.name if pick.line else say("own {target}", target=pick.target),
            )
            for pick in found
            if (pick.line_id in still if pick.line_id else pick.target_id)
        ),
        key=lambda one: (one.day, one.order or 0, one.lot),
    )


def recalled(traced: Trace) -> Recall:
    """Return who must be told about wood that was traced, and what is to be stopped."""
    lots = book.begun({move.lot for move, _ in traced.sold} | {row.lot for row in traced.here})
    keep = [
        Keep(lot.code, lot.mark or "", lot.variety, row.name, row.code, row.kind, row.count)
        for row in traced.here
        for lot in (lots[row.lot],)
    ]
    return Recall(
        traced,
        _buyers(traced, lots),
        sorted(keep, key=lambda one: (one.place, one.lot)),
        _planned(traced),
    )


def recall(text: str, *, whole: bool = False) -> Recall:
    """Return everyone who got anything of whatever is named, what of it is still here, and what is planned from it.

    Raises
    ------
    Ambiguous, Unknown
        As `asked`.
    """
    return recalled(trace(text, whole=whole))
