"""One place, whole: what lies in it, what it is, what was read of it; and one mother plant with the lots it gave."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from django.db.models import OuterRef, QuerySet, Subquery, Sum

from ortet.ledger import stock
from ortet.ledger.models import Bag, Balance, Kind, Lot, MotherPlant, Movement, Place, Standing, Weighing
from ortet.ledger.readings import readings_that_count
from ortet.wood.holding import Climate

from . import find
from .lists import ON_HAND_SUM
from .lots import Event, remarks

__all__ = ["BagWeight", "MotherView", "PlaceView", "mother", "record", "view"]


@dataclass(frozen=True, slots=True)
class BagWeight:
    """A bag on the scale, and what it had lost since it was first weighed with the same wood in it."""

    at: datetime
    gross_g: float
    lost_g: float | None


@dataclass(frozen=True, slots=True)
class PlaceView:
    """A place and all that is known of it."""

    place: Place
    contents: list[Balance]
    bag: Bag | None
    stands_in: Standing | None  # where a bag stands now
    stood: list[Standing]  # where a bag stood, first to last
    bags: (
        QuerySet[Place] | None
    )  # bags in a cold place, batches on a bench, as they stand now, with what they hold
    weighings: list[BagWeight]
    plants: list[MotherPlant]  # the mother plants that grow on a site
    remarks: list[Event]  # notes and photos of it

    @property
    def on_hand(self) -> int:
        """Cuttings in this place itself."""
        return sum(balance.count for balance in self.contents)


@dataclass(frozen=True, slots=True)
class MotherView:
    """A mother plant and the lots taken from it."""

    mother: MotherPlant
    lots: list[Lot]
    taken: int


HOLDS = {Kind.STORE: Kind.BAG, Kind.BENCH: Kind.BATCH}  # what stands in or on a place, with all in it


def _standing_in(store: Place) -> QuerySet[Place]:
    last = Standing.objects.filter(bag=OuterRef("pk")).order_by("-since").values("store")[:1]
    return (
        Place.objects.filter(kind=HOLDS[Kind(store.kind)], balances__count__gt=0)
        .annotate(on_hand=Sum("balances__count"), stands_in=Subquery(last))
        .filter(stands_in=store.pk)
        .order_by("name")
    )


def _weights(place: Place) -> list[BagWeight]:
    """Return a bag's weighings; a loss is counted only from weighings since wood last came or went."""
    ends = [
        moved.at
        for rows in (Movement.objects.filter(to_place=place), Movement.objects.filter(from_place=place))
        for moved in rows
    ]
    weights: list[BagWeight] = []
    first: tuple[int, float] | None = None
    for weighing in readings_that_count(Weighing).filter(place=place):
        changes = sum(at <= weighing.at for at in ends)
        if first is None or first[0] != changes:
            first = changes, weighing.gross_g
            weights.append(BagWeight(weighing.at, weighing.gross_g, None))
        else:
            weights.append(BagWeight(weighing.at, weighing.gross_g, first[1] - weighing.gross_g))
    return weights


def view(text: str) -> PlaceView:
    """Return a place whole, by its code or name.

    Raises
    ------
    Unknown
        If there is none.
    """
    place = find.place(text, Kind.BENCH, Kind.STORE, Kind.BAG, Kind.GROUND, Kind.SITE)
    is_bag = place.kind == Kind.BAG
    stood = list(place.standings.select_related("store").order_by("since")) if is_bag else []
    return PlaceView(
        place=place,
        contents=list(stock.balances().filter(place=place)),
        bag=Bag.objects.get(place=place) if is_bag else None,
        stands_in=stood[-1] if stood else None,
        stood=stood,
        bags=_standing_in(place) if place.kind in HOLDS else None,
        weighings=_weights(place) if is_bag else [],
        plants=list(place.mothers_here.select_related("variety")) if place.kind == Kind.SITE else [],
        remarks=remarks(place=place),
    )


def record(place: Place, now: datetime, days: int) -> Climate | None:
    """Return the hourly record of a place over the last days up to now; None where nothing was recorded."""
    since = int(stock.hours(now - timedelta(days=days)))
    climate = stock.climates([place.pk], since).get(place.name)
    if climate is None:
        return None
    keep = max(0, min(len(climate.air_c), int(stock.hours(now)) + 1 - climate.first_hour))
    if not np.isfinite(climate.air_c[:keep]).any():
        return None
    return Climate(climate.place, climate.first_hour, climate.air_c[:keep], climate.humidity[:keep])


def mother(accession: str) -> MotherView:
    """Return a mother plant with its lots, latest first.

    Raises
    ------
    Unknown
        If there is none.
    """
    plant = find.mother(accession)
    lots = plant.lots.select_related("variety").annotate(on_hand=ON_HAND_SUM).order_by("-made_at", "-pk")
    taken = -(Balance.objects.filter(place=plant.place).aggregate(sum=Sum("count"))["sum"] or 0)
    return MotherView(plant, list(lots), taken)
