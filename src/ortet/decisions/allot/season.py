"""Who gets what: the wood there is and will be, to orders, own grafts and benches over the weeks.

The goals, in this order, each reached as well as can be before the next is looked at:

1. promises, one priority after another, by worth; what is short is shared so that lines of like worth are filled to
   like shares;
2. the variety asked for before its substitutes;
3. wood that runs out first goes first;
4. the fewest moves: picks, bags opened, lots split.

Goals 1 and 2 settle who gets how many of which variety; 3 and 4 from which bag. A choice made by hand is kept and the
rest is planned around it. The same input gives the same plan, whatever order it comes in; where two plans are equally
good, what stood in the plan before stays.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from ortet.decisions.solver import Solved, Watch

from .conflicts import broken, doubled, out_of_reach
from .picks import Picking, days_to_pick, pick_out
from .plan import AllotPlan, Contradiction, Goal, Pick
from .shares import Arcs, Shares, arcs_of, one_delivery_days, share_out, value
from .whys import binding, changes, portions, shortfalls
from .wishes import Ask, Fixed, Pool, Span, Supply, Wish

__all__ = ["allot"]


def allot(
    supplies: Sequence[Supply],
    wishes: Sequence[Wish],
    *,
    first: date,
    weeks: int,
    backup: Mapping[str, int] | None = None,
    fixed: Sequence[Fixed] = (),
    previous: Mapping[tuple[str, str], int] | None = None,
    seconds: float = 10.0,
    tell: Callable[[float], None] | None = None,
) -> AllotPlan:
    """Allot wood to wishes over some weeks.

    Parameters
    ----------
    supplies, wishes : sequences
        What there is and will be, and what is asked for.
    first : date
        The first day of the plan.
    weeks : int
        How many weeks it covers. [weeks]
    backup : mapping, optional
        Cuttings of each variety that go to nobody.
    fixed : sequence, optional
        Choices made by hand, which are kept.
    previous : mapping, optional
        Cuttings of each supply for each wish in the plan before; where two plans are equally good, these stay.
    seconds : float
        How long it may search; what is not proven by then is told by its gap. [s]
    tell : function, optional
        Told how far it is. [0-1]

    Raises
    ------
    Contradiction
        If hand-made choices cannot be kept, or two supplies or two wishes have one key. It names them and says what
        to relax.
    """
    found = doubled(supplies, wishes)
    if found:
        raise Contradiction(found)
    ordered = sorted(supplies, key=lambda one: one.key), sorted(wishes, key=lambda one: one.key)
    ask = Ask(tuple(ordered[0]), tuple(ordered[1]), first, weeks, dict(backup or {}), tuple(fixed))
    if found := broken(ask):
        raise Contradiction(found)
    told = tell or (lambda share: None)
    pool = Pool(ask)
    arcs = arcs_of(ask, pool)
    watch = Watch(
        0.8 * seconds
    )  # a search looks at the clock only now and then, and the reasons take a moment too
    before, of_wish = previous or {}, Counter[tuple[str, str]]()
    variety = {one.key: one.variety for one in supplies}
    for (supply, wish), count in before.items():
        if supply in variety:
            of_wish[wish, variety[supply]] += count
    shares = share_out(ask, pool, arcs, watch, of_wish, lambda share: told(0.5 * share))
    picking = pick_out(ask, pool, arcs, shares, watch, before, lambda share: told(0.5 + 0.5 * share))
    picks = _picks(ask, arcs, shares, picking)
    told(1.0)
    return _told(ask, arcs, picks, _goals(ask, shares, picking))


def _told(ask: Ask, arcs: Arcs, picks: tuple[Pick, ...], goals: tuple[Goal, ...]) -> AllotPlan:
    short = shortfalls(ask, picks)
    left = {one.key: one.count for one in ask.supplies}
    for pick in picks:
        left[pick.supply] -= pick.count
    return AllotPlan(
        picks=picks,
        short=short,
        portions=portions(ask, picks, short),
        left=left,
        binds=binding(ask, picks, short),
        changes=changes(ask, picks, short),
        conflicts=tuple(out_of_reach(ask)),
        goals=goals,
    )


def _picks(ask: Ask, arcs: Arcs, shares: Shares, picking: Picking) -> tuple[Pick, ...]:
    """Give every pick its day, so that each wish goes in as few deliveries as can be."""
    spans: dict[str, dict[str, Span]] = {}
    for supply, wish in picking.counts:
        spans.setdefault(wish, {})[supply] = arcs[supply, wish]
    held = one_delivery_days(ask)
    counts: dict[tuple[str, str, bool, int | None], int] = {
        (supply, wish, False, None): count for (supply, wish), count in picking.counts.items()
    }
    for choice in ask.fixed:
        key = (choice.supply, choice.wish, True, choice.week)
        counts[key] = counts.get(key, 0) + choice.count
        span = ask.days(ask.supply[choice.supply], ask.wish[choice.wish])
        week = span and (held.get(choice.wish) or span.meet(ask.week_span(choice.week)))
        if week:
            spans.setdefault(choice.wish, {})[f"{choice.supply} fixed {choice.week}"] = week
    days = {wish: days_to_pick(of) for wish, of in spans.items()}
    picks = []
    for (supply_key, wish_key, by_hand, week_no), count in counts.items():
        wood, asking = ask.supply[supply_key], ask.wish[wish_key]
        day = days[wish_key][f"{supply_key} fixed {week_no}" if by_hand else supply_key]
        picks.append(
            Pick(
                supply=wood.key,
                lot=wood.lot,
                place=wood.place,
                variety=wood.variety,
                wish=asking.key,
                count=count,
                day=day,
                week=ask.week_of(day),
                substitute=wood.variety != asking.variety,
                fixed=by_hand,
            )
        )
    return tuple(sorted(picks, key=lambda one: (one.wish, one.day, one.supply, not one.fixed)))


def _goals(ask: Ask, shares: Shares, picking: Picking) -> tuple[Goal, ...]:
    """Add up the groups; what was fixed by hand counts in the promises."""
    by_hand: Counter[str] = Counter()
    for choice in ask.fixed:
        by_hand[choice.wish] += choice.count
    goals = []
    for priority in sorted({wish.priority for wish in ask.wishes}):
        ours = [wish for wish in ask.wishes if wish.priority == priority]
        kept = sum(value(wish, by_hand[wish.key]) for wish in ours)
        goals.append(_sum(f"promises, priority {priority}", shares.promised.get(priority, []), "worth", kept))
    goals.append(_sum("substitutes", shares.substituted, "cuttings by rank"))
    goals.append(_sum("pressing wood used", picking.pressing, "cuttings by weeks", 0.0))
    goals.append(_sum("moves", picking.moves, "moves"))
    return tuple(goals)


def _sum(name: str, parts: Sequence[Solved], unit: str, base: float | None = None) -> Goal:
    """Return one goal over all groups; with a base, more is better and the parts were sought as negative sums."""
    found, bound = sum(part.value for part in parts), sum(part.bound for part in parts)
    if base is None:
        return Goal(name, found, bound, unit, more=False)
    return Goal(name, base - found, base - bound, unit, more=True)
