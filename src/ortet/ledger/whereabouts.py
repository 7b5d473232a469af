"""Where lots lay from the day they were taken, and what was seen of their callus and roots there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from django.db.models import Q

from ortet.wood import holding

from .movements import Movement
from .places import Kind, Place, Standing
from .readings import Inspection, readings_that_count
from .slices import in_slices

__all__ = ["Whereabouts", "hours", "looks"]

FROM_NOWHERE = (Kind.MOTHER, Kind.SENDER, Kind.SOLD, Kind.GIVEN_UP, Kind.LOST, Kind.SITE)
SEEN = Q(callus__isnull=False) | Q(callused_of__isnull=False) | Q(rooted_of__isnull=False)


def hours(at: datetime) -> float:
    """Return hours since 1970. [h]"""
    return at.timestamp() / 3600


class Whereabouts:
    """The way of some lots through the places, read from their movements."""

    def __init__(self, lots: set[int]) -> None:
        self.met: set[int] = set()  # places with a climate of their own that were asked for
        self._arrivals: dict[int, list[tuple[int, int, int, float]]] = defaultdict(list)
        self._split: dict[int, tuple[int, int]] = {}  # number of a split's movement: its lot and place
        wanted = lots
        while wanted:
            rows = Movement.objects.order_by("number").values_list(
                "number", "lot_id", "from_place_id", "to_place_id", "at"
            )
            for number, lot, there, here, at in in_slices(rows, "lot", wanted):
                self._arrivals[lot].append((number, there, here, hours(at)))
            # a lot split off another lay where that one lay: its movement follows its parent's
            parents = list(
                in_slices(
                    Movement.objects.filter(to_place__kind=Kind.BECAME).values_list(
                        "number", "lot_id", "from_place_id"
                    ),
                    "number",
                    [row[0] - 1 for lot in wanted for row in self._arrivals[lot][:1]],
                )
            )
            self._split |= {number + 1: (lot, place) for number, lot, place in parents}
            wanted = {lot for _, lot, _ in parents} - self._arrivals.keys()
        moves = {row for rows in self._arrivals.values() for row in rows}
        places = {place for _, there, here, _ in moves for place in (there, here)}
        self._kinds = dict(in_slices(Place.objects.values_list("pk", "kind"), "pk", places))
        named = Place.objects.exclude(kind__in=(Kind.MOTHER, Kind.SENDER)).values_list("pk", "name")
        self._names = dict(in_slices(named, "pk", places))
        bags = [place for place, kind in self._kinds.items() if kind == Kind.BAG]
        self._stood: dict[int, list[tuple[float, int, str]]] = defaultdict(list)
        standing = Standing.objects.order_by("since").values_list(
            "bag_id", "store_id", "store__name", "since"
        )
        for bag, store, name, since in in_slices(standing, "bag", bags):
            self._stood[bag].append((hours(since), store, name))

    def came(self, lot: int, place: int, until: float = float("inf")) -> float:
        """Return when a lot last came to a place, up to an hour. [h since 1970]"""
        return self._last(lot, place, until)[3]

    def before(self, lot: int, place: int, until: float = float("inf")) -> tuple[holding.Stay, ...]:
        """Return where a lot lay before it last came to a place, up to an hour, in order of time."""
        return self._way(lot, place, self.came(lot, place, until))[0]

    def stays(self, lot: int, place: int, until: float) -> tuple[holding.Stay, ...]:
        """Return where a lot lay from the day it was taken until an hour at which it lay in a place."""
        before, since = self._way(lot, place, until)
        return _joined([*before, *self._climates(place, since, until)])

    def _last(self, lot: int, place: int, until: float = float("inf")) -> tuple[int, int, int, float]:
        found = [row for row in self._arrivals[lot] if row[2] == place and row[3] <= until]
        return max(found, key=lambda row: (row[3], row[0]))

    def _way(self, lot: int, place: int, until: float) -> tuple[tuple[holding.Stay, ...], float]:
        """Return the stays before a lot came to a place, and when it came there."""
        number, there, _, came = self._last(lot, place, until)
        since, stays = came, []
        before = number + 1
        while number < before and self._kinds[there] not in FROM_NOWHERE:
            before = number
            if self._kinds[there] == Kind.BECAME:
                if number not in self._split:
                    break
                lot, there = self._split[number]
            rows = [row for row in self._arrivals[lot] if row[2] == there and row[0] < before]
            if not rows:
                break
            left = since
            number, place, since = rows[-1][0], there, rows[-1][3]
            there = rows[-1][1]
            stays.append(self._climates(place, since, left))
        return _joined([stay for one in reversed(stays) for stay in one]), came

    def _climates(self, place: int, since: float, until: float) -> tuple[holding.Stay, ...]:
        """Return the places with a climate that a stay in one place meant: a bag's are where it stood."""
        if self._kinds[place] != Kind.BAG:
            self.met.add(place)
            return (holding.Stay(self._names[place], since),)
        stood = [row for row in self._stood[place] if row[0] < until] or self._stood[place][:1]
        first = max([n for n, row in enumerate(stood) if row[0] <= since], default=0)
        self.met |= {store for _, store, _ in stood[first:]}
        return tuple(holding.Stay(name, max(at, since)) for at, _, name in stood[first:])


def _joined(stays: list[holding.Stay]) -> tuple[holding.Stay, ...]:
    """Return stays of which no two in a row are in one place."""
    return tuple(
        stay for number, stay in enumerate(stays) if not number or stays[number - 1].place != stay.place
    )


def looks(lying: Iterable[Any], since_hour: int) -> tuple[dict[str, tuple[holding.Seen, ...]], Whereabouts]:
    """Return what was seen of callus and roots of the species that lie here, by species, and where all these lots lay.

    Lots taken since an hour count, whatever became of them: the season that the climates are read for.
    """
    rows = list(lying)
    seen = list(
        readings_that_count(Inspection)
        .filter(SEEN, lot__variety__species__in={row.lot__variety__species for row in rows})
        .filter(lot__taken_at__gte=datetime.fromtimestamp(since_hour * 3600, tz=UTC))
        .select_related("lot__variety")
    )
    lay = Whereabouts({row.lot_id for row in rows} | {look.lot_id for look in seen})
    by_species: dict[str, list[holding.Seen]] = defaultdict(list)
    for look in seen:
        try:
            stays = lay.stays(look.lot_id, look.place_id, hours(look.at))
        except ValueError:  # looked at before it came there: the movement was dated later, or taken back
            continue
        by_species[look.lot.variety.species].append(
            holding.Seen(
                at=hours(look.at),
                lot=look.lot.code,
                variety=look.lot.variety.name,
                species=look.lot.variety.species,
                taken=hours(look.lot.taken_at),
                stays=stays,
                callus=look.callus,
                callused=look.callused,
                callused_of=look.callused_of,
                rooted=look.rooted,
                rooted_of=look.rooted_of,
            )
        )
    return {kind: tuple(found) for kind, found in by_species.items()}, lay
