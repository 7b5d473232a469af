"""The book's values as answers carry them. Nothing is computed here."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from django.db.models import QuerySet

from ortet.decisions.task import Task
from ortet.ledger.models import Batch, Lot, MotherPlant, Movement, Order, OrderLine, Standing, Target
from ortet.work.lists import Found

__all__ = [
    "batch_of",
    "evidence_of",
    "line_of",
    "lot_of",
    "lots_of",
    "mother_of",
    "moved_of",
    "order_of",
    "part_of",
    "place_of",
    "reading_of",
    "standing_of",
    "target_of",
    "today_of",
]


def part_of(rows: "Found[Any] | Sequence[Any]", first: int, most: int) -> dict[str, Any]:
    """Return the part of a list that was asked for, and how long it is."""
    total = rows.count() if isinstance(rows, QuerySet) else len(rows)
    return {"total": total, "rows": list(rows[first : first + most])}


def _row_of_lot(lot: Lot) -> dict[str, Any]:
    sizes = {name: getattr(lot, name) for name in ("length_mm", "base_mm", "tip_mm", "nodes")}
    return {
        "code": lot.code,
        "mark": lot.mark or "",
        "variety": lot.variety.name,
        "species": lot.variety.species,
        "accession": lot.mother.accession if lot.mother else "",
        "use": lot.use,
        "grade": lot.grade,
        "taken_at": lot.taken_at,
        **sizes,
    }


def today_of(day: Any) -> dict[str, Any]:
    """Return Today."""

    def task(one: Task) -> dict[str, Any]:
        names = ("act", "reason", "kind", "lots", "bags", "place", "count", "waiting", "deed")
        due = None if one.due is None else datetime.fromtimestamp(one.due * 3600, UTC)
        return {name: getattr(one, name) for name in names} | {"due": due}

    return {"now": day.now, "lots": day.lots, "cuttings": day.cuttings, "tasks": list(map(task, day.tasks))}


def lot_of(view: Any) -> dict[str, Any]:
    """Return a lot whole."""
    lying = [
        {"place": row.place.name, "code": row.place.code, "kind": row.place.kind, "count": row.count}
        for row in view.where
    ]
    return _row_of_lot(view.lot) | {"on_hand": view.on_hand, "where": lying, "events": view.events}


def lots_of(part: dict[str, Any]) -> dict[str, Any]:
    """Return part of the list of lots."""
    return part | {"rows": [_row_of_lot(lot) | {"on_hand": lot.on_hand} for lot in part["rows"]]}


def place_of(view: Any) -> dict[str, Any]:
    """Return a place whole."""
    place = view.place
    holds = [
        {"lot": row.lot.code, "mark": row.lot.mark or "", "variety": row.lot.variety.name, "count": row.count}
        for row in view.contents
    ]
    return {
        "code": place.code,
        "name": place.name,
        "kind": place.kind,
        "on_hand": view.on_hand,
        "stands_in": view.stands_in.store.name if view.stands_in else "",
        "holds": holds,
        "weighings": view.weighings,
    }


def mother_of(mother: MotherPlant, taken: int) -> dict[str, Any]:
    """Return a mother plant."""
    return {
        "accession": mother.accession,
        "variety": mother.variety.name,
        "species": mother.variety.species,
        "site": mother.site.name if mother.site else "",
        "source": mother.source,
        "health": mother.health,
        "taken": taken,
    }


def batch_of(batch: Batch) -> dict[str, Any]:
    """Return a batch."""
    bench = batch.place.standings.select_related("store").latest("since").store
    same = ("tray", "medium", "treatment", "base_c", "struck_at", "craft")
    return {name: getattr(batch, name) for name in same} | {
        "name": batch.place.name,
        "code": batch.place.code,
        "lot": batch.lot.code,
        "variety": batch.lot.variety.name,
        "bench": bench.name,
    }


def moved_of(moved: Movement) -> dict[str, Any]:
    """Return a movement; a buyer is not named."""
    return {
        "id": moved.pk,
        "number": moved.number,
        "lot": moved.lot.code,
        "count": moved.count,
        "from_place": moved.from_place.name,
        "to_place": moved.to_place.name,
        "why": moved.why,
        "at": moved.at,
        "by": moved.by.username,
        "note": moved.words,
    }


def reading_of(reading: Any) -> dict[str, Any]:
    """Return a reading."""
    lot, place = getattr(reading, "lot", None), getattr(reading, "place", None)
    return {
        "id": reading.pk,
        "kind": reading._meta.model_name,
        "lot": lot.code if lot else "",
        "place": place.name if place else "",
        "at": reading.at,
        "by": reading.by.username,
        "note": reading.note,
    }


def standing_of(standing: Standing) -> dict[str, Any]:
    """Return where a bag or a batch stands from now on."""
    return {
        "id": standing.pk,
        "bag": standing.bag.name,
        "store": standing.store.name,
        "since": standing.since,
        "by": standing.by.username,
    }


def line_of(line: OrderLine) -> dict[str, Any]:
    """Return a line of an order."""
    same = ("use", "count", "least", "price", "priority", "first_day", "last_day", "note", "tax_percent")
    return {name: getattr(line, name) for name in same} | {
        "line": f"{line.order.number}/{line.position}",
        "variety": line.variety.name,
        "grades": [grade for grade in line.grades.split(",") if grade],
        "instead": [other.variety.name for other in line.substitutes.all()],
        "is_wanted": line.ended_at is None,
    }


def order_of(order: Order, lines: Sequence[OrderLine]) -> dict[str, Any]:
    """Return an order whole."""
    return {
        "number": order.number,
        "buyer": order.buyer.name,
        "country": order.country,
        "at": order.at,
        "carriage": order.carriage,
        "is_swap": order.is_swap,
        "in_return": order.in_return,
        "note": order.note,
        "lines": list(map(line_of, lines)),
    }


def target_of(target: Target) -> dict[str, Any]:
    """Return what the nursery itself wants."""
    same = ("number", "purpose", "count", "priority", "worth", "wanted_by")
    return {name: getattr(target, name) for name in same} | {
        "variety": target.variety.name,
        "is_wanted": target.ended_at is None,
    }


def evidence_of(row: Any) -> dict[str, Any]:
    """Return what the counts say of a variety."""
    same = ("batches", "struck", "rooted", "low", "median", "high")
    return {name: getattr(row.rate, name) for name in same} | {
        "variety": row.variety,
        "species": row.species,
        "usual": row.usual,
    }
