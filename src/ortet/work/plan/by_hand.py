"""Choices made by hand in the plan: who gets which wood, and what stands on which bench. The rest is planned around them.

Plans are added and never changed: each deed makes a new plan, which carries the hand's choices over.
"""

from __future__ import annotations

from datetime import date, datetime

from django.contrib.auth.models import User

from ortet.ledger.booking import Refused, Unknown
from ortet.ledger.models import Balance, Kind, Nursery, OrderLine, Pick, Plan, PlanKind, Slot, Target
from ortet.wood.speech import say
from ortet.work import find

from .allotting import lot_key, picked_key, to_take_key, wish_key
from .benching import plan_benches
from .desk import Desk, latest, made, monday
from .taking import CONFIDENCE
from .whole import Season, plan_season

__all__ = ["find_pick", "find_slot", "find_wish", "free_batch", "free_pick", "give", "set_batch", "sure"]


def find_wish(text: str) -> OrderLine | Target:
    """Return a line of an order (3/2, order 3/2) or a target (target 4) that is still wanted.

    Raises
    ------
    Unknown
        If there is none, or it was cancelled.
    """
    words = text.casefold().removeprefix("order").strip()
    found: OrderLine | Target | None = None
    if words.startswith("target"):
        number = words.removeprefix("target").strip()
        if number.isdecimal():
            found = Target.objects.filter(number=int(number), ended_at=None).first()
    else:
        number, _, position = words.partition("/")
        if number.isdecimal() and position.isdecimal():
            lines = OrderLine.objects.filter(order__number=int(number), position=int(position), ended_at=None)
            found = lines.select_related("order").first()
    if found is None:
        raise Unknown(
            say(
                "{text!r}: nothing of that name is still wanted. Write 3/2 for the second line of order 3, or target 4. "
                "Nothing was planned.",
                text=text,
            )
        )
    return found


def find_pick(id: int) -> Pick:
    """Return a pick of any plan.

    Raises
    ------
    Unknown
        If there is none.
    """
    rows = Pick.objects.select_related("lot__variety", "place", "mother", "line__order", "target")
    if found := rows.filter(pk=id).first():
        return found
    raise Unknown(say("The plan holds no such pick. Load the plan anew. Nothing was planned."))


def find_slot(id: int) -> Slot:
    """Return a batch on a bench of any plan.

    Raises
    ------
    Unknown
        If there is none.
    """
    rows = Slot.objects.select_related("lot__variety", "place", "bench")
    if found := rows.filter(pk=id).first():
        return found
    raise Unknown(say("The plan holds no such batch. Load the plan anew. Nothing was planned."))


def _week(day: date, first: date, today: date) -> int:
    if day < monday(today):
        raise Refused(say("{day} is past. Choose this week or a later one. Nothing was planned.", day=day))
    return (day - first).days // 7


def sure() -> float:
    """Return how sure the plan that counts was asked to be."""
    before = latest(PlanKind.TAKE)
    return float(before.said.get("confidence", CONFIDENCE)) if before else CONFIDENCE


def _in_store(lot: str, count: int, from_place: str | None) -> str:
    """Return what a plan calls the wood of a lot in a place; refuse more than lies there."""
    wood = find.lot(lot)
    place = find.where_lot_is(wood, from_place)
    there = Balance.objects.filter(lot=wood, place=place).values_list("count", flat=True).first() or 0
    if not 1 <= count <= there:
        raise Refused(
            say(
                "{count} of lot {lot} asked, {there} lie in {place}. Enter from 1 to {there}. Nothing was planned.",
                count=count,
                lot=wood,
                there=there,
                place=place,
            )
            if there
            else say(
                "Nothing of lot {lot} lies in {place}. Choose a place that holds some. Nothing was planned.",
                lot=wood,
                place=place,
            )
        )
    return lot_key(wood, place.name)


def _still_to_take(accession: str, use: str, count: int) -> str:
    """Return what a plan calls the wood still to be taken from a mother plant; refuse more than the plan takes."""
    mother, before = find.mother(accession), latest(PlanKind.TAKE)
    rows = before.to_take.filter(mother=mother, use=use) if before else ()
    there = sum(row.count for row in rows)
    if not 1 <= count <= there:
        raise Refused(
            say(
                "{count} from {mother} for {use} asked, {there} are to be taken. Enter from 1 to {there}. Nothing was planned.",
                count=count,
                mother=mother,
                use=say(use),
                there=there,
            )
            if there
            else say(
                "The plan takes nothing from {mother} for {use}. Choose other wood. Nothing was planned.",
                mother=mother,
                use=say(use),
            )
        )
    return to_take_key(mother, use)


def give(
    wish: str,
    lot: str | None,
    count: int,
    day: date,
    *,
    by: User,
    mother: str | None = None,
    from_place: str | None = None,
    instead: int | None = None,
    now: datetime | None = None,
) -> Season:
    """Give wood to a wish by hand and plan the rest around it; return the new plans.

    Parameters
    ----------
    wish : str
        A line of an order (3/2) or a target (target 4).
    lot, mother : str, optional
        One of them: wood on hand, by code or mark; or what the plan still takes from a mother plant, by accession.
    count : int
        Cuttings.
    day : date
        Any day of the week in which they are picked.
    from_place : str, optional
        Where the wood lies; its only place where it lies in one.
    instead : int, optional
        The pick that this takes the place of: had a hand chosen it, it is chosen no more.

    Raises
    ------
    Refused
        If there is no such wood or wish, less of it lies there, or choices made by hand cannot stand together.
    """
    from ortet.decisions.allot import Fixed

    nursery = Nursery.get()
    at = now or nursery.now()
    today = at.astimezone(nursery.tz).date()
    wanted = find_wish(wish)
    wood = _still_to_take(mother, wanted.use, count) if mother else _in_store(lot or "", count, from_place)
    week = _week(day, monday(today), today)
    chosen = Fixed(wood, wish_key(wanted), count, week)
    freed = frozenset([picked_key(find_pick(instead))] if instead else ())
    return plan_season(by=by, now=at, confidence=sure(), also=(chosen,), freed=freed)


def free_pick(id: int, *, by: User, now: datetime | None = None) -> Season:
    """Let the plan choose again where a hand had chosen who gets wood; return the new plans.

    Raises
    ------
    Refused
        If there is no such pick, no hand chose it, or the rest cannot be planned.
    """
    pick = find_pick(id)
    if not pick.by_hand:
        raise Refused(say("The plan itself chose that, no hand. Nothing was planned."))
    return plan_season(by=by, now=now, confidence=sure(), freed=frozenset([picked_key(pick)]))


def set_batch(
    lot: str,
    bench: str,
    base_c: float | None,
    start: date,
    *,
    by: User,
    from_place: str | None = None,
    count: int | None = None,
    now: datetime | None = None,
) -> Plan:
    """Choose bench, heat and week for a batch by hand and plan the other batches around it; return the new plan.

    Parameters
    ----------
    lot : str
        What is set, by code or mark; it must be allotted to own plants.
    base_c : float, optional
        What the mat is set to; None where the bench has none. [°C]
    start : date
        Any day of the week in which it is set.
    count : int, optional
        Cuttings, in whole trays; None: all that are allotted.

    Raises
    ------
    Refused
        If there is no such wood or bench, the mat has no such heat, or the choice cannot be.
    """
    from ortet.decisions.bench import Choice

    at = now or Nursery.get().now()
    desk = Desk(at)
    wood, there = find.lot(lot), find.place(bench, Kind.BENCH)
    place = find.where_lot_is(wood, from_place)
    setup = desk.setups.get(there.pk)
    if setup is None:
        raise Refused(
            say(
                "Nobody said what {there} can do. Say its cells and heats first. Nothing was planned.",
                there=there,
            )
        )
    heats: list[float | None] = list(setup.heats) or [None]
    if base_c not in heats:
        can = ", ".join(say("without heat") if heat is None else f"{heat:g} °C" for heat in heats)
        asked = say("no heat") if base_c is None else f"{base_c:g} °C"
        raise Refused(
            say(
                "{there} cannot be set to {asked}, only to: {can}. Nothing was planned.",
                there=there,
                asked=asked,
                can=can,
            )
        )
    key, week = lot_key(wood, place.name), _week(start, monday(desk.today), desk.today)
    before = latest(PlanKind.ALLOT)
    if before is None or not before.picks.filter(lot=wood, place=place, target__purpose="plants").exists():
        raise Refused(
            say(
                "Nothing of lot {lot} in {place} is allotted to own plants. Give it to a target first. Nothing was planned.",
                lot=wood,
                place=place,
            )
        )
    chosen = Choice(key, there.name, base_c, week, count)
    _, plans = made(lambda desk: plan_benches(desk, by=by, also=(chosen,)), at)
    return plans[PlanKind.BENCH]


def free_batch(id: int, *, by: User, now: datetime | None = None) -> Plan:
    """Let the plan choose again where a hand had chosen bench, heat and week; return the new plan.

    Raises
    ------
    Refused
        If there is no such batch, or no hand chose it.
    """
    slot = find_slot(id)
    if not slot.by_hand:
        raise Refused(say("The plan itself chose that, no hand. Nothing was planned."))
    freed = frozenset([lot_key(slot.lot, slot.place.name)])
    _, plans = made(lambda desk: plan_benches(desk, by=by, freed=freed), now)
    return plans[PlanKind.BENCH]
