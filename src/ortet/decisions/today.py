"""What to do now, in order of what waiting costs.

Waiting costs, in cuttings a week: cuttings x share harmed where a limit is passed x chance that it is passed within the
week. The shares (`HARM`) are our choice and common practice: they put tasks in order and predict nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ortet.decisions.forecast import Forecasts, LotForecast
from ortet.decisions.laying import traits
from ortet.decisions.task import Task
from ortet.decisions.wording import Wording, gather
from ortet.wood.holding import Bag, Holding

__all__ = ["HARM", "KINDS", "Task", "in_order", "tasks"]

WEEK = 168.0
HARM = {
    "water_lost": 0.25,
    "free_wet_hours": 0.15,
    "oxygen": 0.25,
    "reserve_left": 0.05,
    "keep": 0.02,
    "mould": 0.5,
}
DRY_AHEAD, USE_AHEAD, KEEP_AHEAD = 4 * WEEK, 4 * WEEK, 2 * WEEK
WET_H, FREE_G = 4.0, 0.05  # free water that is worth opening a bag for
LOOK_EVERY, WEIGH_FIRST, WEIGH_AGAIN = (
    4 * WEEK,
    3 * WEEK,
    3 * WEEK,
)  # [common practice: look every 3 to 4 weeks]
RECORD_STOPS, RECORD_GAP = 48.0, 12
NEWS = 2 * WEEK

# kind: whether a grower does it in one go for all bags of a store
KINDS = {
    "sort": False,
    "wet": True,
    "airless": False,
    "dry": False,
    "bare": False,
    "use": True,
    "weigh": True,
    "inspect": True,
    "record": False,
    "strike": True,
    "set": False,
    "post": False,
    "pack": False,
    "send": False,
    "complaint": False,
    "cut": False,
    "alike": False,
    "count": False,
    "pot": False,
    "parcel": False,
    "held": False,
    "soak": False,
    "dip": False,
    "fresh": False,
    "apart": False,
}


@dataclass(slots=True)
class _Found:
    """A reason to act on one bag (or on bare wood): all its lots together."""

    kind: str
    lots: list[LotForecast]
    waiting: float
    due: float | None
    bag: Bag | None


def tasks(
    forecasts: Forecasts,
    holdings: Sequence[Holding],
    bags: Sequence[Bag],
    *,
    now: float,
    zone_offset: float | None = None,
    units: str = "metric",
) -> list[Task]:
    """Return what to do now, dearest to put off first.

    Parameters
    ----------
    forecasts : Forecasts
        Of these holdings and bags.
    now : float
        [h since 1970]
    zone_offset : float, optional
        The grower's clock ahead of UTC, for naming days. [h]
    units : str
        metric or US.
    """
    words = Wording(now, zone_offset or 0.0, units)
    by_code = {bag.code: bag for bag in bags}
    lying: dict[str, list[LotForecast]] = defaultdict(list)
    for number, lot in enumerate(forecasts):
        lying[lot.bag or f"bare {number}"].append(lot)
    grams = {held.lot: held.cutting.mass_g(traits(held.species).density) for held in holdings}
    found: list[_Found] = []
    for lots in lying.values():
        in_bag = lots[0].bag
        found.extend(_of_bag(lots, by_code[in_bag], now, grams) if in_bag else _of_bare(lots, now))
    told = [_task(group, words) for group in _together(found)]
    told += [
        _record(place, forecasts, words)
        for place in sorted(forecasts.stores)
        if _record_wanting(place, forecasts)
    ]
    return in_order(told)


def in_order(todo: Iterable[Task]) -> list[Task]:
    """Return tasks in order of what waiting costs, dearest first."""
    order = list(KINDS)
    return sorted(
        todo, key=lambda task: (-round(task.waiting, 2), order.index(task.kind), task.due or 1e12, task.act)
    )


def _cost(lots: Sequence[LotForecast], what: str, within: float = WEEK) -> float:
    """Return the cuttings that pass a limit within so many hours and are harmed, a week."""
    return sum(
        lot.count * HARM[what] * lot.crossings[what].chance_by(lot.now + within)
        for lot in lots
        if what in lot.crossings
    ) * (WEEK / within)


def _due(lots: Sequence[LotForecast], what: str, early: bool = False) -> float | None:
    hours = [
        lot.crossings[what].early if early else lot.crossings[what].median
        for lot in lots
        if what in lot.crossings
    ]
    return min((hour for hour in hours if hour is not None), default=None)


def _of_bag(lots: list[LotForecast], bag: Bag, now: float, grams: Mapping[str, float]) -> list[_Found]:
    found = []
    first = lots[0]
    wet = _due(lots, "free_wet_hours")
    lies_wet = first.free_g.median >= FREE_G and first.state["free_wet_hours"].median >= WET_H
    if lies_wet or (_by(wet, now + WEEK) and first.free_g.high >= FREE_G):
        found.append(_Found("wet", lots, max(_cost(lots, "free_wet_hours"), 0.01), wet, bag))
    airless = _due(lots, "oxygen")
    if airless is not None and airless <= now + WEEK:
        found.append(_Found("airless", lots, _cost(lots, "oxygen"), airless, bag))
    drying = [lot for lot in lots if _by(lot.crossings["water_lost"].median, now + DRY_AHEAD)]
    if drying:
        found.append(_Found("dry", drying, _cost(drying, "water_lost"), _due(drying, "water_lost"), bag))
    found.extend(_use(lots, bag, now))
    found.extend(_looks(lots, bag, now, drying, grams))
    found.extend(_ready(lots, bag, now))
    return found


def _by(hour: float | None, limit: float) -> bool:
    return hour is not None and hour <= limit


def _use(lots: list[LotForecast], bag: Bag | None, now: float) -> list[_Found]:
    """Return the lots whose reserve or usual keeping time runs out; each may go alone."""
    out = []
    for lot in lots:
        ends = lot.crossings["reserve_left"].median
        if _by(ends, now + USE_AHEAD) or lot.keep_until <= now + KEEP_AHEAD:
            past = 1.0 if lot.keep_until <= now else 0.5
            cost = _cost([lot], "reserve_left") + lot.count * HARM["keep"] * past * (
                lot.keep_until <= now + KEEP_AHEAD
            )
            due = min(lot.keep_until, ends) if ends is not None else lot.keep_until
            out.append(_Found("use", [lot], cost, due, bag))
    return out


def _ready(lots: list[LotForecast], bag: Bag | None, now: float) -> list[_Found]:
    """Return the lots that have callused, or whose chill has just been completed."""
    out = []
    for lot in lots:
        chilled = lot.crossings["chill_portions"].median
        callused = lot.crossings["callus"].median
        if _by(callused, now) or (_by(chilled, now) and chilled is not None and chilled > now - NEWS):
            out.append(_Found("strike", [lot], 0.0, callused if _by(callused, now) else chilled, bag))
    return out


def _taken_out(bag: Bag, since: float) -> float:
    """Return the wood taken out of a bag from an hour on, as it weighed when it was cut. [g]"""
    first = max([n for n, content in enumerate(bag.contents) if content.since <= since], default=0)
    held = [content.wood_g for content in bag.contents[first:]]
    return sum(max(before - after, 0.0) for before, after in pairwise(held))


def _looks(
    lots: list[LotForecast], bag: Bag, now: float, drying: Sequence[LotForecast], grams: Mapping[str, float]
) -> list[_Found]:
    """Return whether a bag should be sorted out, looked at or weighed; `grams` is what one cutting of a lot weighs."""
    out = []
    seen = sorted((look for look in bag.inspections if look.at <= now), key=lambda look: look.at)
    for lot in lots:
        mine = [look for look in seen if look.lot == lot.lot and look.mouldy is not None]
        mouldy = float(mine[-1].mouldy or 0) if mine else 0.0
        if mouldy and _taken_out(bag, mine[-1].at) < (mouldy - 0.5) * grams[lot.lot]:
            out.append(
                _Found("sort", [lot], min(mouldy * HARM["mould"] * 2, float(lot.count)), mine[-1].at, bag)
            )
    last = max([bag.closed_at, *(look.at for look in seen)])
    if now - last >= LOOK_EVERY:
        spoils = (
            _cost(lots, "free_wet_hours") + 0.002 * sum(lot.count for lot in lots) * (now - last) / LOOK_EVERY
        )
        out.append(_Found("inspect", lots, spoils, None, bag))
    weighed = [w.at for w in bag.weighings if w.at <= now]
    early, median = (_due(lots, "water_lost", early=is_early) for is_early in (True, False))
    unsure = _by(early, now + DRY_AHEAD) and not _by(median, now + 2 * DRY_AHEAD) and not drying
    stale = not weighed or now - weighed[-1] >= WEIGH_AGAIN
    if (not weighed and now - bag.closed_at >= WEIGH_FIRST) or (unsure and stale):
        out.append(
            _Found("weigh", lots, _cost(lots, "water_lost", 4 * WEEK) if not drying else 0.0, early, bag)
        )
    return out


def _of_bare(lots: list[LotForecast], now: float) -> list[_Found]:
    found = [_Found("bare", lots, _cost(lots, "water_lost"), _due(lots, "water_lost"), None)]
    return found + _use(lots, None, now)


def _together(found: Sequence[_Found]) -> list[list[_Found]]:
    """Put together what a grower does in one go: the same act on several bags of one store (and of one kind of wood)."""
    groups: dict[tuple[str, ...], list[_Found]] = defaultdict(list)
    for number, one in enumerate(found):
        first = one.lots[0]
        if not KINDS[one.kind]:
            groups[one.kind, str(number)].append(one)
        elif one.kind in ("use", "strike"):
            groups[one.kind, first.store, first.species].append(one)
        else:
            wet_packing = "packing" if one.kind == "wet" and first.packing_g > 0 else ""
            groups[one.kind, first.store, wet_packing].append(one)
    return list(groups.values())


def _task(group: list[_Found], words: Wording) -> Task:
    group = sorted(group, key=lambda one: (-one.waiting, one.due or 1e12))
    lots = [lot for one in group for lot in one.lots]
    bags = list(dict.fromkeys(one.bag.name for one in group if one.bag))
    kind = group[0].kind
    told = words.told(kind, lots, bags, [one.bag for one in group])
    dues = [one.due for one in group if one.due is not None]
    return Task(
        told.act,
        told.reason,
        kind,
        gather(lot.lot for lot in lots),
        tuple(bags),
        lots[0].place if len({lot.place for lot in lots}) == 1 else lots[0].store,
        sum(lot.count for lot in lots),
        sum(one.waiting for one in group),
        min(dues, default=None),
        told.deed,
        told.limit,
        told.command,
    )


def _record_wanting(place: str, forecasts: Forecasts) -> bool:
    last = forecasts.stores[place]
    return last is None or last < forecasts.now - RECORD_STOPS or forecasts.gaps.get(place, 0) >= RECORD_GAP


def _record(place: str, forecasts: Forecasts, words: Wording) -> Task:
    lots = [lot for lot in forecasts if lot.store == place]
    told = words.record(place, forecasts.stores[place], forecasts.gaps.get(place, 0))
    return Task(
        told.act,
        told.reason,
        "record",
        gather(lot.lot for lot in lots),
        (),
        place,
        sum(lot.count for lot in lots),
        0.0,
        None,
        told.deed,
        "",
        told.command,
    )
