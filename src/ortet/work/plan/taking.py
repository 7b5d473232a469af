"""How much wood is still to be taken, from which mother plants, on which day; drafted as a plan."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np
from django.contrib.auth.models import User

from ortet.ledger import stock
from ortet.ledger.booking import Refused
from ortet.ledger.models import MotherPlant, PlanKind, Purpose, ToTake, Use, Variety
from ortet.wood.speech import say

from .allotting import Taken, wish_key
from .desk import Desk

if TYPE_CHECKING:
    from ortet.decisions.take import Ask, TakePlan, Target
    from ortet.decisions.taking_day import TakingDay

__all__ = ["CONFIDENCE", "Need", "plan_taking"]

CONFIDENCE = 0.9
UNKNOWN = 2000  # cuttings a mother plant may give where nobody noted a limit
AHEAD_DAYS = 28  # days looked at to take wood on
KINDS = {Purpose.PLANTS: "own", Purpose.GRAFTS: "graft", Purpose.RESERVE: "reserve", Purpose.BACKUP: "backup"}
POSTED = "posted for "  # what a stream of wood that is posted is called, before its use


@dataclass(frozen=True)
class Need:
    """What the plan of taking says to the plans after it."""

    taken: list[Taken]  # still to be taken
    cuttings: Mapping[str, int]  # that each target needs, by its key


def _stream(use: str, is_posted: bool) -> str:
    return f"{POSTED}{use}" if is_posted else use


def _use(stream: str) -> str:
    return stream.removeprefix(POSTED)


def _targets(desk: Desk, confidence: float) -> list[Target]:
    from ortet.decisions.take import Target

    of_orders = [
        Target(
            key=wish_key(line),
            kind="order",
            variety=line.variety.name,
            use=_stream(line.use, True),
            count=line.count,
            priority=line.priority,
            worth=max(float(line.price or 1), 0.01),
            least=line.least,
            confidence=confidence,
        )
        for line in desk.lines
    ]
    own = [
        Target(
            key=wish_key(target),
            kind=KINDS[Purpose(target.purpose)],
            variety=target.variety.name,
            use=_stream(target.use, target.purpose in (Purpose.RESERVE, Purpose.BACKUP)),
            count=target.count,
            priority=target.priority,
            worth=max(float(target.worth or 1), 0.01),
            confidence=confidence,
        )
        for target in desk.targets
    ]
    return of_orders + own


def _left_of(desk: Desk, mother: MotherPlant) -> int:
    """Return how many more cuttings a mother plant may give this winter."""
    most = desk.limits.get(mother.pk, UNKNOWN)
    return max(0, most - desk.taken.get(mother.pk, 0))


def _on_hand(desk: Desk) -> Counter[tuple[str, str]]:
    """Return the cuttings on hand by variety and use, those in batches included."""
    from ortet.ledger.models import Lot

    lots = Lot.objects.in_bulk([one.lot for one in desk.forecasts], field_name="code")
    there: Counter[tuple[str, str]] = Counter()
    for one in desk.forecasts:
        there[one.variety, lots[one.lot].use] += one.count
    for _, variety, count in desk.struck:
        there[variety, Use.ROOTING] += count
    return there


def _ask(desk: Desk, targets: list[Target], stored: Mapping[str, int], confidence: float) -> Ask:
    """Return the question: what is in store counts as wood that is given already."""
    from ortet.decisions.take import Ask, Mother, usual_steps

    wanted = {target.variety for target in targets}
    kinds = dict(Variety.objects.filter(name__in=wanted).values_list("name", "species"))
    mothers = [
        Mother(mother.accession, mother.variety.name, _left_of(desk, mother))
        for mother in desk.mothers
        if mother.variety.name in wanted
    ]
    mothers += [Mother(f"in store: {name}", name, count) for name, count in stored.items() if name in wanted]
    steps = {
        (variety, use): usual_steps(
            kinds[variety], "cuttings" if use.startswith(POSTED) else use, desk.learnt[variety]
        )
        for variety, use in {(target.variety, target.use): None for target in targets}
    }
    return Ask(tuple(targets), tuple(mothers), steps, confidence)


def plan_taking(desk: Desk, *, by: User, confidence: float = CONFIDENCE) -> Need:
    """Plan how much more wood to take; draft the plan and return what follows from it.

    Raises
    ------
    Refused
        If the wishes contradict one another.
    """
    from ortet.decisions.take import Contradiction, cuttings_by_stream
    from ortet.decisions.take import plan_taking as decide

    targets, there = _targets(desk, confidence), _on_hand(desk)
    if not targets:
        said = {"assumed": [say("Nothing is wanted: note orders and targets first.")]}
        desk.draft(PlanKind.TAKE, by, said)
        return Need([], {})
    try:
        everything = dict.fromkeys({target.variety for target in targets}, UNKNOWN * 10)
        wanted: Counter[tuple[str, str]] = Counter()
        for (variety, use), count in cuttings_by_stream(_ask(desk, targets, everything, confidence)).items():
            wanted[variety, _use(use)] += count
        stored: Counter[str] = Counter()
        for (variety, use), count in there.items():
            stored[variety] += min(count, wanted[variety, use])
        decided = decide(_ask(desk, targets, stored, confidence))
    except Contradiction as error:
        raise Refused(str(error)) from error
    cuts = _cuts(desk, decided, there)
    needs = {line.target.key: line for line in decided.targets}
    _draft(desk, decided, cuts, by, confidence)
    return Need(cuts, _cuttings(desk, decided, needs, confidence))


def _cuts(desk: Desk, decided: TakePlan, there: Mapping[tuple[str, str], int]) -> list[Taken]:
    """Return what is still to be taken, shared among the mother plants of each variety."""
    need: Counter[tuple[str, str]] = Counter()
    for one in decided.takings:
        need[one.variety, _use(one.use)] += one.cuttings
    plants: dict[str, list[MotherPlant]] = defaultdict(list)
    for mother in desk.mothers:
        plants[mother.variety.name].append(mother)
    left = {mother.pk: _left_of(desk, mother) for mother in desk.mothers}
    cuts = []
    for (variety, use), count in sorted(need.items()):
        more = count - there.get((variety, use), 0)
        if more <= 0:
            continue
        shares = _shared(more, [left[mother.pk] for mother in plants[variety]])
        for mother, share in zip(plants[variety], shares, strict=True):
            if share:
                left[mother.pk] -= share
                cuts.append(Taken(mother, use, share))
    return cuts


def _shared(count: int, most: list[int]) -> list[int]:
    """Share whole cuttings in proportion to what each may give; no more than all of it."""
    total = sum(most)
    count = min(count, total)
    if not count:
        return [0] * len(most)
    exact = [count * one / total for one in most]
    shares = [int(part) for part in exact]
    by_rest = sorted(range(len(most)), key=lambda at: (shares[at] - exact[at], at))
    for at in by_rest[: count - sum(shares)]:
        shares[at] += 1
    return shares


def _cuttings(
    desk: Desk, decided: TakePlan, needs: Mapping[str, object], confidence: float
) -> dict[str, int]:
    """Return how many cuttings each of the nursery's own targets is to get: its part of what its stream takes."""
    planned: Counter[tuple[str, str]] = Counter()
    for line in decided.targets:
        planned[line.target.variety, line.target.use] += line.target.count
    taken = {(one.variety, one.use): one for one in decided.takings}
    out = {}
    for target in desk.targets:
        stream = target.variety.name, _stream(target.use, target.purpose in (Purpose.RESERVE, Purpose.BACKUP))
        one = taken[stream]
        whole = one.wanted if one.wanted is not None else max(one.cuttings, planned[stream])
        out[wish_key(target)] = max(target.count, round(whole * target.count / planned[stream]))
    return out


def _days(desk: Desk, cuts: list[Taken]) -> dict[str, TakingDay]:
    """Return the best day within four weeks for each kind of wood whose site has a record."""
    from ortet.decisions.taking_day import taking_days
    from ortet.science.species import species

    found = {}
    for kind in sorted({one.mother.variety.species for one in cuts}):
        sites = [
            one.mother.site_id for one in cuts if one.mother.variety.species == kind and one.mother.site_id
        ]
        record = _record(desk, max(sites, key=sites.count)) if sites else None
        if record is None:
            continue
        first, air = record
        size = len(air) // 24
        days = [desk.today + timedelta(days=n) for n in range(AHEAD_DAYS)]
        inside = [day for day in days if 0 <= (day - first).days < size]
        if inside:
            found[kind] = taking_days(species(kind), first, air, inside)[0]
    return found


def _late_summer(day: date) -> date:
    """Return the day from which chill is counted: 1 August, or 1 February where wood is taken from mid April to July."""
    if date(day.year, 4, 15) <= day < date(day.year, 8, 1):
        return date(day.year, 2, 1)
    return date(day.year - (day.month < 8), 8, 1)


def _record(desk: Desk, site: int) -> tuple[date, np.ndarray] | None:
    """Return a site's hourly air from autumn on, days to come like the last fourteen; None where it has none."""
    since = _late_summer(desk.today)
    midnight = datetime.combine(since, time(), desk.nursery.tz)
    begin = int(stock.hours(midnight))
    found = list(stock.climates([site], begin).values())
    if not found:
        return None
    climate = found[0]
    skip = -(-(climate.first_hour - begin) // 24)  # whole days before the record begins
    first_hour = begin + skip * 24
    air = climate.air_c[first_hour - climate.first_hour :]
    air = air[: len(air) // 24 * 24]
    if len(air) < 14 * 24:
        return None
    last = air[-14 * 24 :].reshape(14, 24)
    with np.errstate(all="ignore"):
        usual = np.nanmean(last, axis=0)
    if not np.isfinite(usual).all():
        return None
    return since + timedelta(days=skip), np.concatenate([air, np.tile(usual, AHEAD_DAYS + 7)])


def _draft(desk: Desk, decided: TakePlan, cuts: list[Taken], by: User, confidence: float) -> None:
    days = _days(desk, cuts)
    whose = {wish_key(line): line.order.buyer.name for line in desk.lines}
    whose |= {wish_key(target): target.get_purpose_display() for target in desk.targets}
    lines = [
        {
            "wish": line.target.key,
            "who": whose[line.target.key],
            "variety": line.target.variety,
            "asked": line.target.count,
            "planned": line.planned,
            "chance": line.chance,
            "why": line.reason,
        }
        for line in decided.targets
    ]
    lines += [
        {
            "wish": wish_key(line),
            "who": line.order.buyer.name,
            "variety": line.variety.name,
            "asked": line.count,
            "planned": 0,
            "chance": None,
            "why": desk.stopped[line.variety_id],
        }
        for line in desk.left_out
    ]
    unlimited = sorted({cut.mother.accession for cut in cuts if cut.mother.pk not in desk.limits})
    assumed = list(decided.assumed)
    if unlimited:
        assumed.append(
            say("No limit is noted for {plants}: note one with ortet limit.", plants=", ".join(unlimited))
        )
    said = {
        "confidence": confidence,
        "lines": lines,
        "takings": [
            {
                "variety": one.variety,
                "use": one.use,
                "cuttings": one.cuttings,
                "wanted": one.wanted,
                "come": [one.low, one.middle, one.high],
                "rests_on": one.rests_on,
                "strike": _reckoned(desk, one.variety) if one.use == Use.ROOTING else None,
            }
            for one in decided.takings
        ],
        "binds": list(decided.binds),
        "would_change": list(decided.would_change),
        "assumed": assumed,
        "gap": decided.gap,
        "days": {
            kind: {
                "day": day.day.isoformat(),
                "verdict": day.verdict,
                "why": _reasons(day),
            }
            for kind, day in days.items()
        },
    }
    parts = [
        ToTake(mother=cut.mother, use=Use(cut.use), count=cut.count, why=_why(cut, decided)) for cut in cuts
    ]
    desk.draft(PlanKind.TAKE, by, said, parts)


def _reckoned(desk: Desk, variety: str) -> list[float]:
    """Return the share of a variety that is reckoned to strike: its mean, and between what 90 in 100 batches lie."""
    share = desk.strike(variety)
    logit = np.linspace(-12.0, 12.0, 2401)
    at = 1.0 / (1.0 + np.exp(-logit))
    density = share.a * np.log(at) + share.b * np.log1p(-at)
    weight = np.exp(density - density.max())
    below = np.cumsum(weight) / weight.sum()
    return [round(float(x), 4) for x in (share.mean, *np.interp([0.05, 0.95], below, at))]


def _reasons(day: TakingDay) -> list[str]:
    """Return why a day is good or not; what all of it rests on is said once, at the end."""
    marks = {reason.mark for reason in day.reasons}
    if len(marks) == 1:
        return [*(reason.text for reason in day.reasons), f"({marks.pop()})"]
    return [f"{reason.text} ({reason.mark})" for reason in day.reasons]


def _why(cut: Taken, decided: TakePlan) -> str:
    wishes = [
        say("{count} for {wish}", count=line.target.count, wish=line.target.key)
        for line in decided.targets
        if line.target.variety == cut.mother.variety.name and _use(line.target.use) == cut.use
    ]
    return say(
        "{variety} is wanted: {wishes}; the wood in store is not enough.",
        variety=cut.mother.variety,
        wishes=", ".join(wishes),
    )
