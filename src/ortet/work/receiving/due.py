"""Parcels and lots of parcels that want something done today."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime
from typing import TYPE_CHECKING

from django.db.models import Max

from ortet.ledger.models import (
    Balance,
    Inspection,
    Kind,
    Place,
    Received,
    ReceivedLine,
    Standing,
    Treatment,
    TreatmentKind,
)
from ortet.ledger.places import WOOD
from ortet.ledger.readings import readings_that_count
from ortet.ledger.whereabouts import hours
from ortet.wood import code as codes

if TYPE_CHECKING:
    from ortet.decisions.incoming import Arrived, LiesOpen

__all__ = ["lots_due", "parcels_open"]


def parcels_open() -> list[LiesOpen]:
    """Return the parcels that were begun and not finished, the oldest first."""
    from ortet.decisions.incoming import LiesOpen

    rows = Received.objects.filter(finished_at=None).select_related("sender").order_by("opened_at")
    found = []
    for one in rows:
        lines = one.said["lines"]
        looked = [{"counted", "mouldy", "dead"} <= line["found"].keys() for line in lines]
        count = sum(line["found"].get("counted", line["count"]) or 0 for line in lines)
        found.append(
            LiesOpen(
                one.number, one.sender.name, hours(one.opened_at), len(lines), looked.count(False), count
            )
        )
    return found


def lots_due(now: datetime) -> list[Arrived]:
    """Return lots of finished parcels that were to be soaked, dipped, struck, kept apart or held, and lie here still."""
    rows = list(
        ReceivedLine.objects.filter(
            received__finished_at__lte=now, lot__balances__count__gt=0, lot__balances__place__kind__in=WOOD
        )
        .select_related("received", "lot__variety", "apart")
        .distinct()
    )
    lots = [row.lot_id for row in rows]
    lying = defaultdict(list)
    for balance in Balance.objects.filter(lot__in=lots, count__gt=0, place__kind__in=WOOD).select_related(
        "place"
    ):
        lying[balance.lot_id].append(balance)
    seen = (
        readings_that_count(Inspection)
        .filter(lot__in=lots)
        .order_by()
        .values_list("lot")
        .annotate(last=Max("at"))
    )
    looked = dict(seen)
    dipped = set(
        readings_that_count(Treatment)
        .filter(lot__in=lots, kind=TreatmentKind.DISINFECT)
        .order_by()
        .values_list("lot", flat=True)
    )
    return [
        one
        for row in rows
        for balance in lying[row.lot_id]
        if (one := _arrived(row, balance, looked.get(row.lot_id), row.lot_id in dipped))
    ]


def _stands_in(place: Place) -> int | None:
    """Return the cold place that a bag stands in, or the place itself."""
    if place.kind != Kind.BAG:
        return place.pk
    last = Standing.objects.filter(bag=place).order_by("-since").values_list("store", flat=True).first()
    return int(last) if last else None


def _arrived(
    row: ReceivedLine, balance: Balance, looked: datetime | None, was_dipped: bool
) -> Arrived | None:
    """Return what is still to be done about the wood of a lot in one place; None where it is one's own wood by now."""
    from ortet.decisions.incoming import Arrived

    place, parcel = balance.place, row.received
    assert parcel.finished_at
    is_bare = place.kind == Kind.BENCH
    is_apart = row.apart_id is not None and (is_bare or _stands_in(place) == row.apart_id)
    then = next((line.get("then", "") for line in parcel.said["lines"] if line["line"] == row.position), "")
    wants = is_bare or is_apart or (row.dip and not was_dipped)
    if not wants:
        return None
    return Arrived(
        lot=row.lot.code,
        name=row.lot.mark or codes.show(row.lot.code),
        variety=row.lot.variety.name,
        parcel=parcel.number,
        place=place.name,
        bag=place.name if place.kind == Kind.BAG else "",
        count=balance.count,
        then=then,
        soaks_until=hours(row.soaks_until) if row.soaks_until else None,
        dip="" if was_dipped else row.dip,
        minutes=row.dip_minutes,
        store=row.apart.name if row.apart and is_apart else "",
        looked=hours(max(looked or parcel.opened_at, parcel.finished_at)),
        is_bare=is_bare,
        is_held=row.is_held and is_apart,
    )
