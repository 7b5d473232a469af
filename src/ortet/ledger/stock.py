"""Stock: questions to the book, answered as plain values."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from types import SimpleNamespace
from typing import TypeVar

import numpy as np
from django.db import connection
from django.db.models import Min, QuerySet

from ortet.science.species import species
from ortet.wood import holding
from ortet.wood.cutting import Cutting

from .lots import Lot
from .movements import Balance, Movement
from .places import ON_HAND, WOOD, Bag, Kind, Place, Standing
from .readings import Inspection, Treatment, TreatmentKind, Weighing, readings_that_count
from .slices import in_slices
from .whereabouts import hours, looks

__all__ = ["Season", "balances", "climates", "first_taken", "hours", "season", "season_before"]

Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class Season:
    """All wood on hand, the bags it lies in, and the climates it met."""

    holdings: list[holding.Holding]
    bags: list[holding.Bag]
    climates: dict[str, holding.Climate]


def balances() -> QuerySet[Balance]:
    """Return what is on hand, lot by place."""
    return (
        Balance.objects.filter(count__gt=0, place__kind__in=ON_HAND)
        .select_related("lot__variety", "lot__mother", "place")
        .order_by("place__name", "lot__made_at", "lot_id")
    )


def climates(places: Iterable[int], since_hour: int) -> dict[str, holding.Climate]:
    """Return the hourly means of places' records from an hour on, by name of place; hours without a reading are NaN."""
    wanted = sorted(set(places))
    if not wanted:
        return {}
    names = dict(Place.objects.filter(pk__in=wanted).values_list("pk", "name"))
    marks = ",".join(["%s"] * len(wanted))
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT place_id, at_s / 3600, AVG(air_c), AVG(humidity) FROM ledger_climatereading"
            f" WHERE place_id IN ({marks}) AND at_s >= %s GROUP BY 1, 2 ORDER BY 1, 2",
            [*wanted, since_hour * 3600],
        )
        rows = np.array(cursor.fetchall(), dtype=float).reshape(-1, 4)
    found = {}
    for place in wanted:
        mine = rows[rows[:, 0] == place]
        if len(mine):
            index = mine[:, 1].astype(int)
            first = int(index[0])
            air, humidity = np.full((2, int(index[-1]) - first + 1), np.nan)
            air[index - first] = mine[:, 2]
            humidity[index - first] = mine[:, 3]
            found[names[place]] = holding.Climate(names[place], first, air, humidity)
    return found


def _contents(bags: dict[int, Bag]) -> dict[int, tuple[holding.Content, ...]]:
    """Return what wood each bag held, from when on."""
    moves = sorted(
        {
            move
            for end in ("to_place", "from_place")
            for move in in_slices(
                Movement.objects.order_by().values_list(
                    "number", "lot_id", "from_place_id", "to_place_id", "count", "at"
                ),
                end,
                bags,
            )
        }
    )
    one = {}  # the mass [g] and bark [m2] of one cutting of each lot
    for pk, kind, length, base, tip, nodes in in_slices(
        Lot.objects.values_list("pk", "variety__species", "length_mm", "base_mm", "tip_mm", "nodes"),
        "pk",
        {lot for _, lot, *_ in moves},
    ):
        piece = Cutting(length, base, tip, nodes)
        one[pk] = piece.mass_g(species(kind).value("density")), piece.bark_m2
    steps: dict[int, list[tuple[float, float, float]]] = defaultdict(list)
    for _, lot, from_place, to_place, count, at in moves:
        grams, bark = one[lot]
        for place, sign in ((from_place, -count), (to_place, count)):
            if place in bags:
                steps[place].append((hours(at), sign * grams, sign * bark))
    return {place: _summed(sorted(changes, key=lambda change: change[0])) for place, changes in steps.items()}


def _summed(changes: list[tuple[float, float, float]]) -> tuple[holding.Content, ...]:
    """Turn changes into what was there from each hour on; changes of one hour count as one."""
    contents: dict[float, tuple[float, float]] = {}
    grams = bark = 0.0
    for at, more_grams, more_bark in changes:
        grams, bark = grams + more_grams, bark + more_bark
        contents[at] = (max(grams, 0.0), max(bark, 0.0))
    return tuple(holding.Content(at, *held) for at, held in contents.items())


def _by_place(rows: Iterable[tuple[int, Row]]) -> dict[int, list[Row]]:
    grouped: dict[int, list[Row]] = defaultdict(list)
    for place, row in rows:
        grouped[place].append(row)
    return grouped


LOOKED_AT = (
    "place_id",
    "at",
    "lot__code",
    "sound",
    "mouldy",
    "dry",
    "scratch_green",
    "scratch_of",
    "callus",
    "free_water",
)


def _bags(bags: dict[int, Bag]) -> tuple[list[holding.Bag], set[int]]:
    """Return the bags as values, and the places with a climate that they stood in."""
    stays: dict[int, list[holding.Stay]] = defaultdict(list)
    stores: set[int] = set()
    standing = Standing.objects.order_by("since").values_list("bag_id", "store_id", "store__name", "since")
    for bag, store, name, since in in_slices(standing, "bag", bags):
        stays[bag].append(holding.Stay(name, hours(since)))
        stores.add(store)
    contents = _contents(bags)
    weighings = _by_place(
        (place, holding.Weighing(hours(at), grams))
        for place, at, grams in in_slices(
            readings_that_count(Weighing).values_list("place_id", "at", "gross_g"), "place", bags
        )
    )
    seen = _by_place(
        (row[0], holding.Inspection(hours(row[1]), *row[2:-1], row[-1] or None))
        for row in in_slices(readings_that_count(Inspection).values_list(*LOOKED_AT), "place", bags)
    )
    done = _by_place(
        (place, (kind, hours(at)))
        for place, kind, at in in_slices(
            readings_that_count(Treatment).values_list("place_id", "kind", "at"), "place", bags
        )
    )
    values = []
    for pk, bag in bags.items():
        opened = {at for _, at in done[pk]} | {look.at for look in seen[pk]}
        values.append(
            holding.Bag(
                code=bag.place.code,
                name=bag.place.name,
                wrap=holding.Wrap(
                    bag.polymer,
                    bag.thickness_um,
                    bag.layers,
                    bag.film_m2,
                    bag.closure,
                    bag.packing,
                    bag.packing_water_g,
                ),
                closed_at=hours(bag.closed_at),
                stays=tuple(stays[pk]),
                contents=contents.get(pk, ()),
                tare_g=bag.tare_g,
                opened=tuple(sorted(opened)),
                wiped=tuple(at for kind, at in done[pk] if kind == TreatmentKind.WIPE),
                weighings=tuple(weighings[pk]),
                inspections=tuple(seen[pk]),
            )
        )
    return values, stores


def first_taken() -> datetime | None:
    """Return when the oldest dormant wood on hand was taken."""
    return Lot.objects.filter(balances__count__gt=0, balances__place__kind__in=WOOD).aggregate(
        first=Min("taken_at")
    )["first"]


# What a holding is made of, read as plain rows: four hundred lots as objects would cost more than their forecast.
LYING = (
    "lot_id",
    "place_id",
    "count",
    "lot__code",
    "lot__mark",
    "lot__variety__name",
    "lot__variety__species",
    "lot__use",
    "lot__grade",
    "lot__length_mm",
    "lot__base_mm",
    "lot__tip_mm",
    "lot__nodes",
    "lot__taken_at",
    "lot__mother__site_id",
    "lot__mother__site__name",
    "place__name",
    "place__kind",
    "place__code",
)


def season(since_hour: int, lot: Lot | None = None, place: Place | None = None) -> Season:
    """Return all dormant wood on hand (of one lot, in one place) with what happened to it, and the climates from an hour on."""
    found = balances().filter(place__kind__in=WOOD).select_related(None)
    if lot:
        found = found.filter(lot=lot)
    if place:
        found = found.filter(place=place)
    return _season(
        [SimpleNamespace(**dict(zip(LYING, row, strict=True))) for row in found.values_list(*LYING)],
        since_hour,
    )


def season_before(lot: Lot, place: Place, count: int, until: datetime, since_hour: int) -> Season:
    """Return cuttings of a lot as they lay in a place until they left it at a moment, and what had happened to them there.

    Raises
    ------
    ValueError
        If they were not there then.
    """
    of = Lot.objects.filter(pk=lot.pk).values(
        *(name.removeprefix("lot__") for name in LYING if name.startswith("lot__"))
    )[0]
    row = SimpleNamespace(
        lot_id=lot.pk,
        place_id=place.pk,
        count=count,
        place__name=place.name,
        place__kind=place.kind,
        place__code=place.code,
        **{f"lot__{name}": value for name, value in of.items()},
    )
    found = _season([row], since_hour, hours(until))
    return Season(found.holdings, [_bag_until(bag, hours(until)) for bag in found.bags], found.climates)


def _bag_until(bag: holding.Bag, until: float) -> holding.Bag:
    """Return a bag as it was just before a moment."""
    return replace(
        bag,
        stays=tuple(one for one in bag.stays if one.since <= until) or bag.stays[:1],
        contents=tuple(one for one in bag.contents if one.since < until) or bag.contents[:1],
        opened=tuple(at for at in bag.opened if at <= until),
        wiped=tuple(at for at in bag.wiped if at <= until),
        weighings=tuple(one for one in bag.weighings if one.at <= until),
        inspections=tuple(one for one in bag.inspections if one.at <= until),
    )


def _season(rows: list[SimpleNamespace], since_hour: int, until: float = float("inf")) -> Season:
    bag_places = {row.place_id for row in rows if row.place__kind == Kind.BAG}
    values, stores = _bags(Bag.objects.select_related("place").in_bulk(bag_places))
    sites = {row.lot__mother__site_id for row in rows} - {None}
    seen, lay = looks(rows, since_hour)
    holdings = [
        holding.Holding(
            lot=row.lot__code,
            variety=row.lot__variety__name,
            species=row.lot__variety__species,
            place=row.place__name,
            count=row.count,
            use=row.lot__use,
            grade=row.lot__grade,
            cutting=Cutting(row.lot__length_mm, row.lot__base_mm, row.lot__tip_mm, row.lot__nodes),
            taken=hours(row.lot__taken_at),
            site=row.lot__mother__site__name,
            bag=row.place__code if row.place__kind == Kind.BAG else None,
            since=lay.came(row.lot_id, row.place_id, until),
            mark=row.lot__mark or "",
            before=lay.before(row.lot_id, row.place_id, until),
            seen=seen.get(row.lot__variety__species, ()),
        )
        for row in rows
    ]
    bare = {row.place_id for row in rows if row.place__kind != Kind.BAG}
    return Season(holdings, values, climates(stores | sites | bare | lay.met, since_hour))
