"""The book, laid out for the judge: which groups of plants there are, and at which moments their lots lay open with others."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, tzinfo

from ortet.decisions.mixup import ACTS, Group, Moment, Pool, Side, Source
from ortet.ledger import lineage as book
from ortet.ledger.booking import Refused
from ortet.ledger.handling import Handling, acts_at, lay_open, sites_of
from ortet.ledger.models import Kind, Lot, MotherPlant, Part, Place, Sale
from ortet.ledger.places import ON_HAND
from ortet.ledger.slices import in_slices
from ortet.wood import code as codes
from ortet.wood.speech import say

from .asking import Find
from .flowing import Cell, Flows, Held

__all__ = ["Case", "Sitting", "lay_out"]

GONE = (Kind.GIVEN_UP, Kind.LOST)


@dataclass(frozen=True, slots=True)
class Sitting:
    """A day at one bench or in one cold place on which two lots were open."""

    site: str
    day: datetime
    first: tuple[Handling, ...]  # acts on the one lot; nothing where it only lay there
    second: tuple[Handling, ...]


@dataclass(frozen=True, slots=True)
class Case:
    """All that the judge is told, and what its keys and groups stand for."""

    groups: tuple[Group, ...]
    cells: tuple[tuple[Cell, ...], ...]  # of each group
    moments: tuple[Moment, ...]
    sources: tuple[Source, ...]
    sittings: dict[int, Sitting]  # by the key of a moment
    lots: dict[int, book.Begun]
    names: dict[int, tuple[str, str, str]]  # of places: name, kind, code
    buyers: dict[int, str]
    now: dict[Cell, Held]


def lay_out(finds: Sequence[Find], zone: tzinfo) -> Case:
    """Return the case that the book makes of what was found."""
    return _Desk(finds, zone).case()


def _suspects(lots: set[int]) -> tuple[set[int], tuple[book.Link, ...]]:
    """Return the lots found wrong and all that their wood came from, rootstocks left out; and the links."""
    links = book.lineage(lots).links
    parents = defaultdict(set)
    for link in links:
        if link.part != Part.STOCK:
            parents[link.child].add(link.parent)
    found, edge = set(lots), set(lots)
    while edge:
        edge = {parent for lot in edge for parent in parents[lot]} - found
        found |= edge
    return found, links


def _of_mothers(lots: Iterable[int]) -> dict[MotherPlant, set[int]]:
    """Return the mother plants of lots, and all lots taken from each."""
    plants = {lot.mother for lot in in_slices(Lot.objects.select_related("mother"), "pk", lots) if lot.mother}
    return {plant: book.taken_from([plant]) for plant in plants}


class _Desk:
    """The book's pages that a case needs, read once."""

    def __init__(self, finds: Sequence[Find], zone: tzinfo) -> None:
        self.finds = finds
        self.suspects, self.links = _suspects({one.lot.pk for one in finds})
        self.mothers = _of_mothers(self.suspects)
        self._read_days(zone)
        touched = {act.lot for acts in self.days.values() for act in acts} | self.suspects
        touched = touched.union(*self.lying.values(), *self.mothers.values())
        found = book.lineage(touched)
        self.begun = book.begun(found.after | found.before)
        self.base_mm = dict(in_slices(Lot.objects.values_list("pk", "base_mm"), "pk", self.begun))
        moves = book.moved(found.after)
        sales = Sale.objects.order_by().values_list("movement__number", "buyer_id", "buyer__name")
        sold = list(in_slices(sales, "movement__lot", {m.lot for m in moves if m.there_kind == Kind.SOLD}))
        self.buyers = {buyer: name for _, buyer, name in sold}
        self.names = {move.here: (move.here_name, move.here_kind, move.here_code) for move in moves}
        self.names |= {move.there: (move.there_name, move.there_kind, move.there_code) for move in moves}
        self.flows = Flows(moves, found.links, self.begun, {number: buyer for number, buyer, _ in sold})
        grown = {link.child for link in found.links if link.part != Part.STOCK}
        self.now: dict[Cell, Held] = {}
        for root in self.begun.keys() - grown:
            self.now |= self.flows.play(root)[0]
        self._gather()

    def _read_days(self, zone: tzinfo) -> None:
        """Read what was done on the days, and at the places, on which a suspect was handled."""
        day_long = timedelta(days=1)
        self.days = {
            (site, day): acts_at(site, day, day + day_long) for site, day in sites_of(self.suspects, zone)
        }
        sites = {site for site, _ in self.days}
        self.sites = {place.pk: place for place in in_slices(Place.objects.all(), "pk", sites)}
        self.lying = {
            (site, day): set(lay_open(site, day)) if self.sites[site].kind == Kind.BENCH else set()
            for site, day in self.days
        }

    def _gather(self) -> None:
        """Part the cells into groups: of a lot told of without a place all of it is one, else each cell is."""
        whole = {one.lot.pk for one in self.finds if not (one.place or one.buyer)}
        by_group: dict[tuple[int, ...], list[Cell]] = defaultdict(list)
        for cell, held in sorted(self.now.items()):
            kind = self.names[cell.place][1]
            told = any((one.lot.pk, one.place, one.buyer) == cell for one in self.finds)
            if cell.lot in whole:
                by_group[(cell.lot,)].append(cell)
            elif (kind in ON_HAND or kind == Kind.SOLD) and (held.here >= 0.5 or told):
                by_group[tuple(cell)].append(cell)
        self.keys = list(by_group)
        self.cells = [tuple(cells) for cells in by_group.values()]

    def count(self, g: int, of: dict[Cell, Held]) -> float:
        """Return how many plants of a group there are, those that went from it included where it was looked at."""
        key = self.keys[g]
        told = len(key) == 1 or any((one.lot.pk, one.place, one.buyer) == key for one in self.finds)
        return sum(of[cell].here + (of[cell].gone if told else 0.0) for cell in self.cells[g] if cell in of)

    def group(self, g: int) -> Group:
        """Return a group with what was found of it."""
        key, lot = self.keys[g], self.begun[self.keys[g][0]]
        right = 0
        wrong: dict[str, int] = defaultdict(int)
        for one in self.finds:
            if one.lot.pk == lot.lot and (len(key) == 1 or (one.lot.pk, one.place, one.buyer) == key):
                right += one.right
                if one.wrong:
                    wrong[one.variety] += one.wrong
        count, looked = round(self.count(g, self.now)), right + sum(wrong.values())
        if looked > count:
            raise Refused(
                say(
                    "Lot {lot}: {looked} looked at, and the book has {count} of it there, those given up "
                    "included. Count again. Nothing was booked.",
                    lot=codes.show(lot.code),
                    looked=looked,
                    count=count,
                )
            )
        return Group(lot.code, lot.code, lot.variety, count, right, tuple(wrong.items()))

    def pool(
        self, lots: Iterable[int], opened: Iterable[Cell] | None, at: datetime | None, name: str
    ) -> Pool:
        """Return what lay open of lots in some cells at a moment (all of them from their beginning), and where it is now."""
        count, reach = 0.0, [0.0] * len(self.cells)
        for lot in lots:
            mine = [cell for cell in opened or () if cell.lot == lot]
            if opened is None:
                now = self.flows.play(lot)[0]
                reached, then = now, {Cell(lot, 0): sum(held.here + held.gone for held in now.values())}
            else:
                _, reached, then = self.flows.play(lot, mine, at)
            count += sum(then.values())
            for g in range(len(self.cells)):
                reach[g] += self.count(g, reached)
        whole = [min(round(value), round(self.count(g, self.now))) for g, value in enumerate(reach)]
        return Pool(name, max(round(count), sum(whole)), tuple(whole))

    def side(self, lot: int, acts: Sequence[Handling], site: int, end: datetime) -> Side | None:
        """Return one of the two lots of a moment with what of it lay open; None where nothing did at the day's end."""
        begun = self.begun[lot]
        places = {place for one in acts for place in one.cells} or {site}
        came = {one.cells[-1] for one in acts} or {site}
        moves = self.flows.moves_of([lot])
        cells = {self.flows.cell(move, there=True) for move in moves}
        pools = []
        for cell in sorted(cells):
            name, kind, _ = self.names[cell.place]
            if cell.place not in places or kind in GONE or kind == Kind.BECAME:
                continue
            pool = self.pool([lot], [cell], end, name)
            if any(pool.reach):
                pools.append(replace(pool, was_moved=cell.place in came))
        act = max((one.act for one in acts), key=ACTS.__getitem__, default="lay")
        if not pools:
            return None
        return Side(begun.code, begun.variety, begun.species, self.base_mm[lot], act, tuple(pools))

    def moments(self) -> tuple[list[Moment], dict[int, Sitting]]:
        """Return the pairs of lots that were open together."""
        moments: list[Moment] = []
        sittings: dict[int, Sitting] = {}
        for (site, day), acts in sorted(self.days.items(), key=lambda item: (item[0][1], item[0][0])):
            end = day + timedelta(days=1) - timedelta(microseconds=1)
            by_lot: dict[int, list[Handling]] = {lot: [] for lot in self.lying[site, day] | self.suspects}
            for act in acts:
                by_lot.setdefault(act.lot, []).append(act)
            sides: dict[int, Side | None] = {}
            for one, other in self._pairs(by_lot, self.lying[site, day]):
                for lot in (one, other):
                    if lot not in sides:
                        sides[lot] = self.side(lot, by_lot[lot], site, end)
                first, second = sides[one], sides[other]
                if first and second:
                    mine, theirs = by_lot[one], by_lot[other]
                    apart = min((abs(a.at - b.at) for a in mine for b in theirs), default=timedelta(0))
                    one_hand = not theirs or bool({act.by for act in mine} & {act.by for act in theirs})
                    key = len(moments)
                    moments.append(Moment(key, first, second, apart.total_seconds() / 3600, one_hand))
                    sittings[key] = Sitting(self.sites[site].name, day, tuple(mine), tuple(theirs))
        return moments, sittings

    def _pairs(self, by_lot: dict[int, list[Handling]], lying: set[int]) -> Iterator[tuple[int, int]]:
        """Return each suspect that was handled with each lot of another variety that was handled, or lay there."""
        handled = {lot for lot, acts in by_lot.items() if acts}
        seen = set()
        for one in sorted(handled & self.suspects):
            for other in sorted((handled | lying) - {one}):
                pair = frozenset((one, other))
                if pair not in seen and self.begun[one].variety != self.begun[other].variety:
                    seen.add(pair)
                    yield one, other

    def sources(self, first_key: int) -> list[Source]:
        """Return mother plants, a day's shoots, rootstocks and unseen hands."""
        out: list[Source] = []

        def add(kind: str, name: str, variety: str, pool: Pool) -> None:
            if pool.count and any(pool.reach):
                out.append(Source(first_key + len(out), kind, name, variety, pool))

        for plant, lots in self.mothers.items():
            add("mother", plant.accession, "", self.pool(lots, None, None, ""))
            for lot in sorted(lots & self.suspects):
                add("part", self.begun[lot].code, "", self.pool([lot], None, None, ""))
        for lot in sorted(self.suspects):
            for move in self.flows.moves_of([lot]):
                if move.here_kind == Kind.SENDER:
                    whole = self.pool([lot], None, None, "")
                    add(
                        "sender",
                        say(
                            "lot {lot} from {sender}",
                            lot=codes.show(self.begun[lot].code),
                            sender=move.here_name,
                        ),
                        "",
                        whole,
                    )
                    add("part", self.begun[lot].code, "", whole)
        for one in {one.lot.pk: one.lot for one in self.finds if one.wrong}.values():
            add("unseen", one.code, "", self.pool([one.pk], None, None, ""))
        stocks = [link for link in self.links if link.part == Part.STOCK and link.child in self.suspects]
        for link in stocks:
            stock = self.begun.get(link.parent) or book.begun([link.parent])[link.parent]
            add("stock", self.begun[link.child].code, stock.variety, self.pool([link.child], None, None, ""))
        return out

    def case(self) -> Case:
        """Return the case."""
        moments, sittings = self.moments()
        return Case(
            groups=tuple(self.group(g) for g in range(len(self.keys))),
            cells=tuple(self.cells),
            moments=tuple(moments),
            sources=tuple(self.sources(len(moments))),
            sittings=sittings,
            lots=self.begun,
            names=self.names,
            buyers=self.buyers,
            now=self.now,
        )
