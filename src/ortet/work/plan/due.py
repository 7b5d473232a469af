"""What the latest plans want done, as plain values for Today."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from django.db.models import Sum

from ortet.decisions.planned import ToCut, ToPost, ToSet
from ortet.ledger.models import Kind, Movement, Plan, PlanKind, Why

from .desk import latest

__all__ = ["to_cut", "to_post", "to_set"]


def to_cut() -> Iterator[ToCut]:
    """Yield the wood still to be taken."""
    plan = latest(PlanKind.TAKE)
    if plan is None:
        return
    for row in plan.to_take.select_related("mother__variety"):
        best = plan.said.get("days", {}).get(row.mother.variety.species)
        good = best if best and best["verdict"] in ("good", "late") else None
        yield ToCut(
            mother=row.mother.accession,
            variety=row.mother.variety.name,
            use=row.use,
            count=row.count,
            done=_taken_since(plan, row.mother_id, row.use),
            day=date.fromisoformat(good["day"]) if good else None,
            why=" ".join([row.why, *(best["why"] if best else ())]),
        )


def _taken_since(plan: Plan, mother: int, use: str) -> int:
    taken = Movement.objects.filter(
        why=Why.TAKEN, lot__mother=mother, lot__use=use, at__gt=plan.at, reversed_by=None
    )
    return taken.aggregate(sum=Sum("count"))["sum"] or 0


def to_set() -> Iterator[ToSet]:
    """Yield the wood to be set on benches."""
    plan = latest(PlanKind.BENCH)
    if plan is None:
        return
    for slot in plan.slots.select_related("lot__variety", "place", "bench"):
        moved = Movement.objects.filter(lot=slot.lot, to_place=slot.bench, at__gt=plan.at, reversed_by=None)
        yield ToSet(
            lot=slot.lot.code,
            mark=slot.lot.mark or "",
            variety=slot.lot.variety.name,
            place=slot.place.name,
            bag=slot.place.kind == Kind.BAG,
            bench=slot.bench.name,
            base_c=slot.base_c,
            count=slot.count,
            done=moved.aggregate(sum=Sum("count"))["sum"] or 0,
            start=slot.start,
            risk=slot.risk,
            risk_later=slot.risk_later,
            ready=slot.ready,
        )


def to_post() -> Iterator[ToPost]:
    """Yield the orders to be posted, or held."""
    plan, allotted = latest(PlanKind.POST), latest(PlanKind.ALLOT)
    if plan is None or allotted is None:
        return
    for row in plan.postings.select_related("order__buyer"):
        picks = list(
            allotted.picks.filter(
                line__order=row.order, line__ended_at=None, lot__isnull=False
            ).select_related("lot", "place", "line")
        )
        if not picks:
            continue
        yield ToPost(
            order=row.order.number,
            buyer=row.order.buyer.name,
            count=row.count,
            lots=tuple(dict.fromkeys(pick.lot.code for pick in picks if pick.lot)),
            bags=tuple(
                dict.fromkeys(pick.place.name for pick in picks if pick.place and pick.place.kind == Kind.BAG)
            ),
            day=row.day,
            pack=row.get_pack_display() if row.pack != "none" else "",
            risk=row.risk,
            last_day=min(pick.line.last_day for pick in picks if pick.line),
            why=row.why,
        )
