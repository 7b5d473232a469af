"""Which day to post: each order's parcel through the weather to come; drafted as a plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from django.contrib.auth.models import User

from ortet.ledger import stock
from ortet.ledger.models import Nursery, Order, Pack, Pick, PlanKind, Posting
from ortet.wood.speech import say

from .desk import Desk

if TYPE_CHECKING:
    from ortet.decisions.dispatch import Carrier, Errand, Parcel, Weather, Wood
    from ortet.decisions.dispatch import Pack as InTheBox
    from ortet.decisions.dispatch import Posting as Advice

__all__ = ["CALLUSED", "Box", "Sky", "boxes", "carrier_of", "errand", "plan_posting"]

LONGEST_DAYS = 42  # of a window looked at: later days are decided by later plans
BEYOND_DAYS = 21  # of weather behind the last day of posting
PATTERN_DAYS = 14  # recorded days that stand for the weather to come
CALLUSED = 0.5  # share of callused cuttings from which wood travels as callused
LEAST_SD = 3.0  # of days about their mean, where few are recorded [K]


@dataclass
class Box:
    """What goes to one buyer together."""

    order: Order
    picks: list[Pick] = field(default_factory=list)
    first: date = date.min
    last: date = date.max

    def takes(self, pick: Pick) -> bool:
        """Whether a pick's window meets that of what is in the box."""
        assert pick.line is not None
        return pick.line.last_day >= self.first and pick.day <= self.last

    def add(self, pick: Pick) -> None:
        """Put a pick in; the window narrows."""
        assert pick.line is not None
        self.picks.append(pick)
        self.first, self.last = max(self.first, pick.day), min(self.last, pick.line.last_day)

    @property
    def count(self) -> int:
        """Cuttings."""
        return sum(pick.count for pick in self.picks)

    @property
    def worth(self) -> float:
        """What the buyer pays for it; 1 for each cutting without a price."""
        return sum(pick.count * float(pick.line.price or 1) for pick in self.picks if pick.line)


def boxes(picks: Iterable[Pick], today: date) -> list[Box]:
    """Return what goes together: of each order the picks whose windows meet."""
    of_order: dict[object, list[Box]] = {}
    of_line = [(pick.line, pick) for pick in picks if pick.line]
    for line, pick in sorted(
        of_line, key=lambda one: (one[0].order.number, one[0].last_day, one[0].position)
    ):
        made = of_order.setdefault(line.order_id, [])
        box = next((box for box in made if box.takes(pick)), None)
        if box is None:
            made.append(box := Box(line.order, first=today))
        box.add(pick)
    return [box for made in of_order.values() for box in made]


@dataclass
class Sky:
    """The weather to come, as far as can be told: what is forecast in the record, then days like the last ones."""

    desk: Desk

    @cached_property
    def site(self) -> int | None:
        """The growing site with the most mother plants."""
        sites = [mother.site_id for mother in self.desk.mothers if mother.site_id]
        return max(sorted(set(sites)), key=sites.count) if sites else None

    @cached_property
    def weather(self) -> Weather | None:
        """Hourly air from today's midnight on; None where the site has no record."""
        from ortet.decisions.dispatch import Weather

        if self.site is None:
            return None
        midnight = datetime.combine(self.desk.today, time(), self.desk.nursery.tz)
        begin = int(stock.hours(midnight))
        found = list(stock.climates([self.site], begin - PATTERN_DAYS * 24).values())
        if not found:
            return None
        past = _cut(found[0].air_c, found[0].first_hour, begin - PATTERN_DAYS * 24, begin)
        if np.isfinite(past).sum() < 72:
            return None
        days = past.reshape(PATTERN_DAYS, 24)
        usual = np.nanmean(np.where(np.isfinite(days).any(0), days, np.nanmean(past)), axis=0)
        hours = (LONGEST_DAYS + BEYOND_DAYS) * 24
        air = np.tile(usual, LONGEST_DAYS + BEYOND_DAYS)
        known = _cut(found[0].air_c, found[0].first_hour, begin, begin + hours)
        air = np.where(np.isfinite(known), known, air)
        ahead = int(np.isfinite(known).sum()) // 24
        with np.errstate(all="ignore"):
            spread = max(LEAST_SD, float(np.nanstd(np.nanmean(days, axis=1))))
        self.forecast_days = ahead
        if ahead >= 3:
            return Weather(self.desk.today, air, air, air, sd_most=max(spread, 1.5))
        return Weather(self.desk.today, air, air, air, sd_c=spread, sd_growth=0.0, sd_most=spread)

    forecast_days = 0

    @property
    def said(self) -> str:
        """What the weather to come is taken from."""
        rest = say(
            "the last {days} recorded days at the growing site, here, on the way and at the buyer's",
            days=PATTERN_DAYS,
        )
        if self.forecast_days >= 3:
            return say(
                "Weather: the record holds a forecast of {days} days; beyond it, {rest}.",
                days=self.forecast_days,
                rest=rest,
            )
        return say(
            "Weather: no forecast is loaded, so every day is taken to be like {rest}, give or take their spread.",
            rest=rest,
        )


def _cut(values: np.ndarray, first: int, begin: int, end: int) -> np.ndarray:
    """Return the hours from begin to end of a record; NaN where it has none."""
    out = np.full(end - begin, np.nan)
    low, high = max(begin, first), min(end, first + len(values))
    if low < high:
        out[low - begin : high - begin] = values[low - first : high - first]
    return out


def carrier_of(nursery: Nursery, to: str) -> Carrier:
    """Return how parcels go from a nursery to a country; nothing: its own."""
    from ortet.decisions.dispatch import Carrier

    return Carrier(
        {int(days): share for days, share in nursery.transit.items()},
        nursery.country,
        nursery.region,
        to_country=to if to != nursery.country else "",
    )


def _wood(desk: Desk, box: Box) -> Wood | None:
    """Return the wood of a box: its whole mass, as tender as its most tender part."""
    from ortet.decisions.dispatch import Wood
    from ortet.science.species import species

    of = {held.lot: held for held in desk.season.holdings}
    fore = {(one.lot, one.place): one for one in desk.forecasts}
    mass = bark = lost = 0.0
    parts = []
    for pick in box.picks:
        if not (pick.lot and pick.place) or pick.lot.code not in of:
            continue
        held, one = of[pick.lot.code], fore.get((pick.lot.code, pick.place.name))
        grams = pick.count * held.cutting.mass_g(species(held.species).value("density"))
        mass += grams
        bark += pick.count * held.cutting.bark_m2
        callus = one.state["callus"].median if one and "callus" in one.state else 0.0
        lost += grams * (one.state["water_lost"].median if one and "water_lost" in one.state else 0.0)
        parts.append(Wood(held.species, "callused" if callus >= CALLUSED else "dormant"))
    if not parts:
        return None
    tender = max(parts, key=lambda wood: (wood.bears.frost_c, -wood.bears.heat_c))
    return Wood(tender.species, tender.state, mass, bark, lost=min(lost / mass, 0.99))


def packs() -> dict[Pack, InTheBox]:
    """Return what may go into a box. [common practice, to be measured in one's own box]"""
    from ortet.decisions.dispatch import Pack as InTheBox

    return {
        Pack.WARM: InTheBox(say("a warm pack"), degree_hours=240.0, hours=40.0, cost=1.5),
        Pack.COLD: InTheBox(say("a cold pack"), degree_hours=-120.0, hours=24.0, cost=1.0),
    }


def errand(desk: Desk, box: Box, sky: Sky, parcel: Parcel, carrier: Carrier) -> Errand | str:
    """Return what is asked about a box, or why nothing can be."""
    from ortet.decisions.dispatch import Errand

    if sky.weather is None:
        return say(
            "No weather is recorded at the growing site. Load a record or a forecast: ortet load FILE."
        )
    wood = _wood(desk, box)
    if wood is None:
        return say("All of it is still to be taken.")
    end = min(box.last, desk.today + timedelta(days=LONGEST_DAYS))
    if box.first > end:
        return say("Its window begins on {day}, too far ahead to say.", day=box.first)
    return Errand(
        wood,
        parcel,
        carrier,
        sky.weather,
        box.first,
        end,
        packs=tuple(packs().values()),
        worth=max(box.worth, 1.0),
    )


def plan_posting(desk: Desk, *, by: User, tell: Callable[[float], None] = lambda share: None) -> None:
    """Say for each order's parcel which day is best; draft the plan."""
    from ortet.decisions.dispatch import ASSUMPTIONS, Parcel, posting_days

    sky = Sky(desk)
    rows: list[Posting] = []
    told = []
    made = boxes(desk.picks, desk.today)
    parcel = Parcel()
    carriers = {to: carrier_of(desk.nursery, to) for to in {box.order.goes_to for box in made}}
    asked = [errand(desk, box, sky, parcel, carriers[box.order.goes_to]) for box in made]
    answers = posting_days([one for one in asked if not isinstance(one, str)])
    for number, (box, one) in enumerate(zip(made, asked, strict=True)):
        tell(number / len(made))
        answer = one if isinstance(one, str) else next(answers)
        if isinstance(answer, str):
            rows.append(Posting(order=box.order, count=box.count, day=None, risk=0.0, why=answer))
        elif isinstance(answer, ValueError):
            rows.append(Posting(order=box.order, count=box.count, day=None, risk=1.0, why=str(answer)))
        else:
            rows.append(_row(box, answer))
            told.append({"row": len(rows) - 1, "changes": list(answer.changes), "days": _days(answer)})
    said = {"orders": told, "assumed": [sky.said, *map(say, ASSUMPTIONS)]}
    desk.draft(PlanKind.POST, by, said, rows)


def _row(box: Box, advice: Advice) -> Posting:
    best = advice.best
    if best is None:
        worst = min((trip.harm for day in advice.days for trip in day.trips), default=1.0)
        return Posting(order=box.order, count=box.count, day=None, risk=worst, why=advice.advice)
    names = {pack.name: kind for kind, pack in packs().items()}
    return Posting(
        order=box.order,
        count=box.count,
        day=best.posted,
        pack=names.get(best.pack.name, Pack.NONE),
        risk=best.harm,
        why=advice.advice,
    )


def _days(advice: Advice) -> list[dict[str, object]]:
    """Return each day's act and its risk, for a table."""
    return [
        {
            "day": day.day.isoformat(),
            "act": day.act,
            "risk": day.told.harm if day.told else None,
            "reason": day.reason,
        }
        for day in advice.days
    ]
