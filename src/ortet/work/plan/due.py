"""What the latest plans want done, as plain values for Today."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date

from django.db.models import OuterRef, Subquery, Sum

from ortet.decisions.planned import ToCut, ToPost, ToSet
from ortet.ledger.models import Kind, Movement, Pick, Plan, PlanKind, Standing, Why

from .desk import latest

__all__ = ["picked_since", "to_cut", "to_post", "to_set"]


def to_cut() -> Iterator[ToCut]:
    """Yield the wood still to be taken."""
    plan = latest(PlanKind.TAKE)
    if plan is None:
        return
    done = _since(plan, "lot__mother", "lot__use", why=Why.TAKEN)
    for row in plan.to_take.select_related("mother__variety"):
        best = plan.said.get("days", {}).get(row.mother.variety.species)
        good = best if best and best["verdict"] in ("good", "late") else None
        yield ToCut(
            mother=row.mother.accession,
            variety=row.mother.variety.name,
            use=row.use,
            count=row.count,
            done=done.get((row.mother_id, row.use), 0),
            day=date.fromisoformat(good["day"]) if good else None,
            why=" ".join([row.why, *(best["why"] if best else ())]),
        )


def _since(plan: Plan, *by: str, **only: object) -> dict[tuple[object, ...], int]:
    """Return the cuttings that moved since a plan was made and were not taken back, summed by what is named."""
    moved = Movement.objects.filter(number__gt=plan.movements, reversed_by=None, **only).order_by()
    return {tuple(row[:-1]): row[-1] for row in moved.values_list(*by).annotate(sum=Sum("count"))}


def picked_since(plan: Plan) -> Counter[tuple[int, int, int]]:
    """Return what was packed, or sold from where it lay, for order lines since a plan was made, by lot, place and line."""
    done: Counter[tuple[int, int, int]] = Counter()
    moved = Movement.objects.filter(number__gt=plan.movements, reversed_by=None).order_by()
    for why, line in ((Why.PACKED, "packing__line"), (Why.SOLD, "sale__line")):
        rows = moved.filter(why=why).values_list("lot", "from_place", line).annotate(sum=Sum("count"))
        done.update({(lot, place, of): count for lot, place, of, count in rows if of is not None})
    return done


def to_set() -> Iterator[ToSet]:
    """Yield the wood to be set on benches."""
    plan = latest(PlanKind.BENCH)
    if plan is None:
        return
    done = _set_since(plan)
    for slot in plan.slots.select_related("lot__variety", "place", "bench"):
        yield ToSet(
            lot=slot.lot.code,
            mark=slot.lot.mark or "",
            variety=slot.lot.variety.name,
            place=slot.place.name,
            bag=slot.place.kind == Kind.BAG,
            bench=slot.bench.name,
            base_c=slot.base_c,
            count=slot.count,
            done=done.get((slot.lot_id, slot.bench_id), 0),
            start=slot.start,
            risk=slot.risk,
            risk_later=slot.risk_later,
            ready=slot.ready,
        )


def _set_since(plan: Plan) -> dict[tuple[object, ...], int]:
    """Return what was set on benches since a plan was made, by lot and bench: struck there, or laid there to be struck.

    What was laid on a bench and struck from it counts once.
    """
    laid = _since(plan, "lot", "to_place", to_place__kind=Kind.BENCH)
    first = Standing.objects.filter(bag=OuterRef("to_place")).order_by("since").values("store")[:1]
    struck: dict[tuple[object, ...], int] = defaultdict(int)
    from_it: dict[tuple[object, ...], int] = defaultdict(int)
    moved = Movement.objects.filter(number__gt=plan.movements, reversed_by=None, why=Why.STRUCK)
    for lot, there, bench, count in moved.annotate(bench=Subquery(first)).values_list(
        "lot", "from_place", "bench", "count"
    ):
        (from_it if there == bench else struck)[lot, bench] += count
    return {
        key: struck[key] + max(laid.get(key, 0), from_it[key])
        for key in laid.keys() | struck.keys() | from_it.keys()
    }


def _gone_since(plan: Plan) -> Counter[object]:
    """Return what was packed, or sold out of no parcel, since a plan was made, by order."""
    gone: Counter[object] = Counter()
    packed = _since(plan, "packing__line__order", why=Why.PACKED)
    handed = _since(plan, "sale__line__order", "from_place__kind", why=Why.SOLD)
    for (order,), count in packed.items():
        gone[order] += count
    for (order, kind), count in handed.items():
        gone[order] += count if kind != Kind.PARCEL else 0
    return gone


def to_post() -> Iterator[ToPost]:
    """Yield the orders to be posted, or held."""
    plan, allotted = latest(PlanKind.POST), latest(PlanKind.ALLOT)
    if plan is None or allotted is None:
        return
    of: dict[object, list[Pick]] = defaultdict(list)
    still = allotted.picks.filter(line__isnull=False, line__ended_at=None, lot__isnull=False)
    for pick in still.select_related("lot", "place", "line"):
        if pick.line:
            of[pick.line.order_id].append(pick)
    done = _gone_since(allotted)
    for row in plan.postings.select_related("order__buyer").order_by("day", "pk"):
        picks = of[row.order_id]
        if not picks:
            continue
        packed = min(done[row.order_id], row.count)
        done[row.order_id] -= packed
        yield ToPost(
            order=row.order.number,
            buyer=row.order.buyer.name,
            count=row.count,
            lots=tuple(dict.fromkeys(pick.lot.code for pick in picks if pick.lot)),
            bags=tuple(
                dict.fromkeys(pick.place.name for pick in picks if pick.place and pick.place.kind == Kind.BAG)
            ),
            packed=packed,
            day=row.day,
            pack=row.get_pack_display() if row.pack != "none" else "",
            risk=row.risk,
            last_day=min(pick.line.last_day for pick in picks if pick.line),
            why=row.why,
        )
