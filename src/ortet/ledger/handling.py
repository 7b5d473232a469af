"""Who had which lots open where and when: the acts of a day at one bench or in one cold place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime, tzinfo
from typing import NamedTuple

from django.db.models import Max, Q, Sum

from .batches import Count
from .movements import Movement, Why
from .places import Kind, Place, Standing
from .readings import Inspection, Treatment, readings_that_count
from .slices import in_slices

__all__ = ["Handling", "Sites", "acts_at", "acts_between", "lay_open", "sites_of"]

ACTS = {
    Why.TAKEN: "taken",
    Why.RECEIVED: "received",
    Why.BAGGED: "bagged",
    Why.MOVED: "moved",
    Why.SPLIT: "split",
    Why.STRUCK: "struck",
    Why.GRAFTED: "grafted",
    Why.POTTED: "potted",
    Why.PACKED: "sold",  # out of its bag for a buyer; the parcel itself leaves closed
    Why.SOLD: "sold",
    Why.GIVEN_UP: "looked",
}
STANDS = (Kind.BAG, Kind.BATCH)  # what stands in or on another place
BACK = 5_000  # movements looked through at a time
OPEN = (Kind.BENCH, Kind.STORE, Kind.GROUND)  # where work is done


class Handling(NamedTuple):
    """Something done to a lot with its wood in the hand."""

    at: datetime
    by: str
    act: str
    lot: int
    cells: tuple[int, ...]  # the places its cuttings were in or came to
    site: int  # where it was done


class Sites:
    """Where bags and batches stood."""

    def __init__(self, places: Iterable[int]) -> None:
        self._stood: dict[int, list[tuple[datetime, int]]] = defaultdict(list)
        rows = Standing.objects.order_by("since").values_list("bag_id", "store_id", "since")
        for bag, store, since in in_slices(rows, "bag", places):
            self._stood[bag].append((since, store))

    def of(self, place: int, kind: str, at: datetime) -> int | None:
        """Return the bench, cold place or ground at which wood in a place was handled at a moment."""
        if kind in OPEN:
            return place
        if kind not in STANDS or not self._stood[place]:
            return None
        stood = [store for since, store in self._stood[place] if since <= at]
        return stood[-1] if stood else self._stood[place][0][1]

    def of_move(self, here: int, here_kind: str, there: int, there_kind: str, at: datetime) -> int | None:
        """Return where a movement was done: on its bench, else where what it came to or from stands."""
        ends = ((here, here_kind), (there, there_kind))
        for place, kind in ends:
            if kind == Kind.BENCH:
                return place
        for place, kind in (ends[1], ends[0]):
            if (site := self.of(place, kind, at)) is not None:
                return site
        return None


def _moves(condition: Q) -> Iterator[tuple]:
    """Return movements that still count."""
    rows = Movement.objects.filter(condition, reverses=None, reversed_by=None, why__in=ACTS)
    yield from rows.order_by("at", "number").values_list(
        "at", "by__username", "why", "lot_id", "from_place_id", "from_place__kind", "to_place_id", "to_place__kind"
    )  # fmt: skip


def _looks(condition: Q) -> Iterator[tuple]:
    """Return readings that are taken with the bag or tray open: when, by whom, of which lot if of one, where."""
    for model in (Inspection, Treatment, Count):
        rows = readings_that_count(model).filter(condition).order_by("at")
        yield from rows.values_list("at", "by__username", "lot_id", "place_id", "place__kind")


def sites_of(lots: Iterable[int], day: tzinfo) -> set[tuple[int, datetime]]:
    """Return where lots were ever handled, with the day's beginning in a zone."""
    lots = set(lots)
    moves = [row for some in _each(lots) for row in _moves(Q(lot__in=some))]
    cells = {place for row in moves for place in (row[4], row[6])}
    sites = Sites(cells)
    found = set()
    for at, _, _, _, here, here_kind, there, there_kind in moves:
        if (site := sites.of_move(here, here_kind, there, there_kind, at)) is not None:
            found.add((site, _morning(at, day)))
    kinds = dict(in_slices(Place.objects.values_list("pk", "kind"), "pk", cells))
    places = {place for place, kind in kinds.items() if kind in STANDS or kind in OPEN}
    for some in _each(places):
        for at, _, lot, place, kind in _looks(Q(place__in=some)):
            if lot in lots or lot is None or kind == Kind.BAG:  # a bag is opened with all that lies in it
                site = sites.of(place, kind, at)
                found |= {(site, _morning(at, day))} if site is not None else set()
    return found


def _morning(at: datetime, zone: tzinfo) -> datetime:
    return at.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)


def _each(values: Iterable[int], slice_of: int = 5_000) -> Iterator[list[int]]:
    every = sorted(values)
    for start in range(0, len(every), slice_of):
        yield every[start : start + slice_of]


def acts_at(site: int, first: datetime, last: datetime) -> list[Handling]:
    """Return what was done at one bench, cold place or ground between two moments, in order of time."""
    stood = set(Standing.objects.filter(store=site, since__lt=last).values_list("bag_id", flat=True))
    within = Q(at__gte=first, at__lt=last)
    moves, looks = set(), set()
    for some in _each({site} | stood):
        moves |= set(_moves(within & (Q(from_place__in=some) | Q(to_place__in=some))))
        looks |= set(_looks(within & Q(place__in=some)))
    return [act for act in _handled(moves, looks) if act.site == site]


def acts_between(first: datetime, last: datetime) -> list[Handling]:
    """Return what was done anywhere between two moments, the first of them lately, in order of time."""
    within = Q(at__gte=first, at__lt=last)
    return _handled(set(_moves(within & Q(number__gt=_none_before(first)))), set(_looks(within)))


def _none_before(first: datetime) -> int:
    """Return the number of a movement up to which none is dated from a moment on.

    Movements are found by number, not by date: nothing is dated ahead of the day it was booked on, so what is of today was
    booked last.
    """
    low = (Movement.objects.aggregate(last=Max("number"))["last"] or 0) - BACK
    while low > 0 and Movement.objects.filter(number__gt=low, number__lte=low + BACK, at__gte=first).exists():
        low -= BACK
    return low


def _handled(moves: set[tuple], looks: set[tuple]) -> list[Handling]:
    """Return movements and looks as acts, each with where it was done."""
    cells = {place for row in moves for place in (row[4], row[6])} | {row[3] for row in looks}
    sites, out = Sites(cells), []
    for at, by, why, lot, here, here_kind, there, there_kind in moves:
        if (site := sites.of_move(here, here_kind, there, there_kind, at)) is not None:
            out.append(Handling(at, by, ACTS[why], lot, (here, there), site))
    for at, by, lot, place, kind in looks:
        if (site := sites.of(place, kind, at)) is not None:
            # a bag is opened with all that lies in it
            lots = ({lot} if lot else set()) | (set(lay_open(place, at)) if kind == Kind.BAG else set())
            out += [Handling(at, by, "looked", one, (place,), site) for one in lots]
    return sorted(out, key=lambda act: (act.at, act.lot, act.act))


def lay_open(place: int, at: datetime) -> dict[int, int]:
    """Return the lots that lay in a place at a moment, and how many of each."""
    held: dict[int, int] = defaultdict(int)
    for end, sign in (("to_place", 1), ("from_place", -1)):
        rows = Movement.objects.filter(**{end: place}, at__lte=at).order_by().values_list("lot_id")
        for lot, count in rows.annotate(sum=Sum("count")):
            held[lot] += sign * count
    return {lot: count for lot, count in held.items() if count > 0}
