"""Who gets what: the wood on hand and still to be taken, to orders, own grafts and benches; drafted as a plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.contrib.auth.models import User

from ortet.ledger.booking import Refused
from ortet.ledger.models import Lot, MotherPlant, OrderLine, Pick, Place, Plan, PlanKind, Purpose, Target
from ortet.ledger.places import WOOD
from ortet.ledger.slices import in_slices
from ortet.wood import code as codes
from ortet.wood.speech import say

from .desk import Desk, day_of, latest, monday
from .due import picked_since

if TYPE_CHECKING:
    from ortet.decisions.allot import AllotPlan, Fixed, Supply, Wish
    from ortet.decisions.forecast import LotForecast

__all__ = ["Taken", "allot_wood", "lot_key", "picked_key", "to_take_key", "use_by", "wish_key"]

MOST_WEEKS = 30
TO_TAKE = timedelta(days=7)  # wood still to be taken is there a week from now
ENDS = ("water_lost", "reserve_left")  # limits after which wood is not sold or struck


@dataclass(frozen=True, slots=True)
class Taken:
    """Cuttings that the plan of taking has yet to bring in."""

    mother: MotherPlant
    use: str
    count: int


def wish_key(wish: OrderLine | Target) -> str:
    """Return what a plan calls a wish: order 3/2, target 4."""
    return str(wish)


def lot_key(lot: Lot | LotForecast, place: str) -> str:
    """Return what a plan calls the wood of a lot in a place."""
    return f"lot {lot_name(lot)} in {place}"


def lot_name(lot: Lot | LotForecast) -> str:
    """Return what the grower calls a lot: the mark, else the code."""
    return lot.mark or codes.show(lot.code if isinstance(lot, Lot) else lot.lot)


def to_take_key(mother: MotherPlant, use: str) -> str:
    """Return what a plan calls the wood that is still to be taken from a mother plant."""
    return f"to take from {mother.accession} for {use}"


def picked_key(pick: Pick) -> tuple[str, str]:
    """Return what a plan calls the wood of a pick, and the wish that gets it."""
    wish = pick.line or pick.target
    assert wish
    if pick.lot and pick.place:
        return lot_key(pick.lot, pick.place.name), wish_key(wish)
    assert pick.mother
    return to_take_key(pick.mother, wish.use), wish_key(wish)


def use_by(fore: LotForecast) -> date | None:
    """Return the last day on which wood is good for its use, as far as can be told."""
    ends = [fore.crossings[what].median for what in ENDS if what in fore.crossings]
    hours = [hour for hour in (*ends, fore.keep_until) if hour is not None]
    return day_of(min(hours)) if hours else None


def _supplies(desk: Desk, taken: list[Taken]) -> list[Supply]:
    from ortet.decisions.allot import Supply

    lots = Lot.objects.in_bulk([one.lot for one in desk.forecasts], field_name="code")
    there = [
        Supply(
            key=lot_key(one, one.place),
            lot=lot_name(one),
            variety=one.variety,
            grade=lots[one.lot].grade,
            use=lots[one.lot].use,
            place=one.place,
            count=one.count,
            ready=desk.today,
            use_by=use_by(one),
        )
        for one in desk.forecasts
        if one.place not in desk.set_already
    ]
    coming = [
        Supply(
            key=to_take_key(one.mother, one.use),
            lot="",
            variety=one.mother.variety.name,
            grade="",
            use=one.use,
            place=str(one.mother.accession),
            count=one.count,
            ready=desk.today + TO_TAKE,
        )
        for one in taken
    ]
    return there + coming


def _of_order(line: OrderLine, desk: Desk) -> Wish:
    from ortet.decisions.allot import Wish

    return Wish(
        key=wish_key(line),
        kind="order",
        variety=line.variety.name,
        count=line.count,
        use=line.use,
        first=max(line.first_day, desk.today),
        last=line.last_day,
        grades=tuple(grade for grade in line.grades.split(",") if grade),
        substitutes=tuple(
            other.variety.name for other in line.substitutes.all() if other.variety_id not in desk.stopped
        ),
        worth=float(line.price or 1),
        priority=line.priority,
        least=line.least,
    )


KIND_OF = {Purpose.PLANTS: "bench", Purpose.GRAFTS: "graft", Purpose.RESERVE: "backup"}


def _of_target(target: Target, cuttings: int, desk: Desk, last: date) -> Wish:
    from ortet.decisions.allot import Wish

    return Wish(
        key=wish_key(target),
        kind=KIND_OF[Purpose(target.purpose)],
        variety=target.variety.name,
        count=cuttings,
        use=target.use,
        first=desk.today,
        last=max(last, desk.today),
        # of one cutting: a plant is worth less by the cuttings that are lost on the way
        worth=max(float(target.worth or 1) * target.count / cuttings, 0.01),
        priority=target.priority,
    )


def _fixed(
    before: Plan | None,
    supplies: list[Supply],
    wishes: list[Wish],
    first: date,
    also: Sequence[Fixed],
    freed: Collection[tuple[str, str]],
) -> list[Fixed]:
    """Return the choices made by hand: the new ones, and those in the plan before that can still be kept."""
    from ortet.decisions.allot import Fixed

    fixed = list(also)
    if before is None:
        return fixed
    keys, wanted = {one.key: one.count for one in supplies}, {one.key: one.count for one in wishes}
    for one in also:
        keys[one.supply] = keys.get(one.supply, 0) - one.count
        wanted[one.wish] = wanted.get(one.wish, 0) - one.count
    anew = {(one.supply, one.wish) for one in also}.union(freed)
    done = picked_since(before)
    for pick in before.picks.filter(by_hand=True).select_related(
        "lot", "place", "mother", "line__order", "target"
    ):
        supply, wish = picked_key(pick)
        already = done[
            pick.lot_id or 0, pick.place_id or 0, pick.line_id or 0
        ]  # what a hand chose and packed since
        count = min(pick.count - already, keys.get(supply, 0), wanted.get(wish, 0))
        if count > 0 and (supply, wish) not in anew:
            keys[supply] -= count
            wanted[wish] -= count
            fixed.append(Fixed(supply, wish, count, max(0, (pick.day - first).days // 7)))
    return fixed


def _stood(before: Plan | None) -> Counter[tuple[str, str]]:
    """Return what the plan before gave to whom, so that nothing changes without a reason."""
    stood: Counter[tuple[str, str]] = Counter()
    rows = before.picks.select_related("lot", "place", "mother", "line__order", "target") if before else ()
    for pick in rows:
        stood[picked_key(pick)] += pick.count
    return stood


def allot_wood(
    desk: Desk,
    *,
    by: User,
    taken: list[Taken],
    cuttings: Mapping[str, int],
    also: Sequence[Fixed] = (),
    freed: Collection[tuple[str, str]] = (),
    tell: Callable[[float], None] | None = None,
) -> None:
    """Allot wood to what is wanted; draft the plan.

    Parameters
    ----------
    taken : list of Taken
        What is still to be taken.
    cuttings : mapping of str to int
        Cuttings that each target needs, by its key.
    also : sequence of Fixed
        Choices made by hand since the plan before, whose own are kept.
    freed : collection of (str, str)
        Wood and wish, by their keys, of choices that are kept no more.

    Raises
    ------
    Refused
        If choices made by hand contradict one another or the wood there is.
    """
    from ortet.decisions.allot import Contradiction, allot

    first = monday(desk.today)
    supplies = _supplies(desk, taken)
    backup: dict[str, int] = {}
    asked: list[tuple[Target, int]] = []
    standing: Counter[str] = Counter()
    on_benches: dict[str, int] = {}
    for there in desk.set_already.values():
        standing.update(there)
    for bench, variety, count in desk.struck:
        if bench not in desk.set_already:
            standing[variety] += count
    for target in desk.targets:
        if target.purpose == Purpose.BACKUP:
            backup[target.variety.name] = backup.get(target.variety.name, 0) + target.count
            continue
        need = cuttings.get(wish_key(target), target.count)
        if target.purpose == Purpose.PLANTS:  # what stands on a bench already is on its way
            set_already = min(need, standing[target.variety.name])
            standing[target.variety.name] -= set_already
            need -= set_already
            on_benches[wish_key(target)] = set_already
        if need:
            asked.append((target, need))
    ends = [line.last_day for line in desk.lines] + [t.wanted_by for t, _ in asked if t.wanted_by]
    weeks = min(MOST_WEEKS, max(8, 1 + (max(ends, default=desk.today) - first).days // 7))
    last = first + timedelta(days=7 * weeks - 1)
    wishes = [_of_order(line, desk) for line in desk.lines]
    wishes += [_of_target(target, need, desk, target.wanted_by or last) for target, need in asked]
    before = latest(PlanKind.ALLOT)
    fixed = _fixed(before, supplies, wishes, first, also, freed)
    stood = _stood(before)
    try:
        plan = allot(
            supplies, wishes, first=first, weeks=weeks, backup=backup, fixed=fixed, previous=stood, tell=tell
        )
    except Contradiction as error:
        raise Refused(say("{error} Nothing was planned.", error=error)) from error
    _draft(desk, plan, taken, on_benches, by)


def _draft(desk: Desk, plan: AllotPlan, taken: list[Taken], on_benches: Mapping[str, int], by: User) -> None:
    said = {
        "short": [
            {
                "wish": one.wish,
                "asked": one.asked,
                "given": one.given,
                "why": [why.text for why in one.whys],
            }
            for one in plan.short
        ]
        + [
            {
                "wish": wish_key(line),
                "asked": line.count,
                "given": 0,
                "why": [desk.stopped[line.variety_id]],
            }
            for line in desk.left_out
        ],
        "binds": [
            say(
                "{variety} for {use}: {there} there, {short} short; one more cutting is worth {worth:.2f}.",
                variety=one.variety,
                use=say(one.use),
                there=one.there,
                short=one.short,
                worth=one.worth,
            )
            for one in plan.binds
        ],
        "would_change": [one.text for one in plan.changes],
        "conflicts": [str(one) for one in plan.conflicts],
        "assumed": [
            say(
                "Wood is good until its forecast says it is too dry or spent, or its usual time in the cold ends."
            ),
            say("Wood still to be taken is there a week from now, ungraded."),
        ],
        "on_benches": dict(on_benches),
        "proven": plan.proven,
        "gap": plan.gap,
    }
    lines = {wish_key(line): line for line in desk.lines}
    targets = {wish_key(target): target for target in desk.targets}
    lots = Lot.objects.in_bulk([one.lot for one in desk.forecasts], field_name="code")
    wood = {lot_key(one, one.place): lots[one.lot] for one in desk.forecasts}
    lying = in_slices(Place.objects.filter(kind__in=WOOD), "name", {pick.place for pick in plan.picks})
    places = {place.name: place for place in lying}
    coming = {to_take_key(one.mother, one.use): one.mother for one in taken}
    parts = [
        Pick(
            lot=wood.get(pick.supply),
            place=places[pick.place] if pick.supply in wood else None,
            mother=coming.get(pick.supply),
            line=lines.get(pick.wish),
            target=targets.get(pick.wish),
            count=pick.count,
            day=pick.day,
            by_hand=pick.fixed,
            why=say("in place of {variety}", variety=lines[pick.wish].variety) if pick.substitute else "",
        )
        for pick in plan.picks
    ]
    desk.draft(PlanKind.ALLOT, by, said, parts)
