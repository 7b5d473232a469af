"""When the batches in the book will show their roots: their counts and warmth, learnt from all of a species together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from django.utils import timezone

from ortet.ledger import stock
from ortet.ledger.booking import how_far
from ortet.ledger.models import BenchSetup, Craft, Kind, Place, Why
from ortet.wood.holding import Stay
from ortet.wood.speech import say, to_say

from .batches import Counted, Left, Struck, batches_struck

if TYPE_CHECKING:
    from datetime import date

    from ortet.decisions.counting import ToCount
    from ortet.evidence.rooting import Ahead, Batch, Count, Gone, Rooting

__all__ = ["Foretold", "foretold", "to_count"]

AHEAD_DAYS = 90
AS_SET = to_say("at {warm:g} °C at the base, as its mat is set")
AS_THE_AIR = to_say("at {warm:g} °C, the usual air over {bench}")
AS_RECORDED = to_say("from the record of {bench}, the days to come like its last fourteen")
RECORDED = 0.9  # of its days, so many must be recorded for a bench's own record to count [our choice]


@dataclass(frozen=True, slots=True, eq=False)
class Foretold:
    """What is to be expected of a batch, and at what warmth that is reckoned."""

    batch: Struck
    ahead: Ahead
    warmth: str

    @property
    def says(self) -> str:
        """Say it in a few sentences."""
        return say("{ahead} Reckoned {warmth}.", ahead=self.ahead.say(), warmth=self.warmth)


@dataclass(frozen=True, slots=True)
class _Warm:
    """How warm the base of a batch was and will be: so far at each hour asked for, then the same each day."""

    words: str  # to be said with their values, in whatever language is asked for
    values: Mapping[str, object]
    a_day: float  # progress, share of the usual median need
    went: dict[datetime, float]  # progress from striking to the moments of its events and now


def _day(at: datetime) -> date:
    return timezone.localtime(at).date()


class _Warmth:
    """The warmth of batches of one craft: the mat, else the bench's record, else the usual air over the bench."""

    def __init__(self, batches: list[Struck], now: datetime) -> None:
        from ortet.decisions.pacing import Warmth

        self.now = now
        setups = BenchSetup.objects.select_related("place").order_by("at", "id")
        self.air = {setup.place.name: setup.air_c for setup in setups}
        benches = {bench for one in batches if one.base_c is None for bench, _ in one.stood}
        first = min((one.struck_at for one in batches), default=now)
        places = Place.objects.filter(kind=Kind.BENCH, name__in=benches).values_list("pk", flat=True)
        climates = stock.climates(places, int(stock.hours(first))) if benches else {}
        self.recorded = Warmth(climates, stock.hours(first), stock.hours(now)) if climates else None
        self.climates = climates

    def of(self, batch: Struck) -> _Warm | None:
        """Return how warm a batch is; None where nobody knows."""
        moments = sorted({one.at for one in _events(batch)} | {self.now})
        moments = [at for at in moments if batch.struck_at < at <= self.now]
        if batch.base_c is not None:
            return self._steady(batch, batch.base_c, AS_SET, moments)
        if (warm := self._as_recorded(batch, moments)) is not None:
            return warm
        air = self.air.get(batch.bench)
        if air is None:
            return None
        return self._steady(batch, air, AS_THE_AIR, moments)

    def _steady(self, batch: Struck, base_c: float, words: str, moments: list[datetime]) -> _Warm:
        from ortet.decisions.pacing import ROOTS, step

        a_day = 24.0 * float(step(batch.species, ROOTS).progress(np.array([base_c])))
        values = {"warm": base_c, "bench": batch.bench}
        went = {at: a_day * ((at - batch.struck_at) / timedelta(days=1)) for at in moments}
        return _Warm(words, values, a_day, went)

    def _as_recorded(self, batch: Struck, moments: list[datetime]) -> _Warm | None:
        from ortet.decisions.pacing import ROOTS

        if (
            self.recorded is None
            or not moments
            or any(bench not in self.climates for bench, _ in batch.stood)
        ):
            return None
        stays = tuple(Stay(bench, stock.hours(since)) for bench, since in batch.stood)
        since, until = stock.hours(batch.struck_at), stock.hours(self.now)
        if self.recorded.recorded(stays, since, until) < RECORDED:
            return None

        def went(begin: float, end: float) -> float:
            assert self.recorded is not None
            return self.recorded.progress(batch.species, ROOTS, stays, begin, end)

        lately = max(since, until - 14 * 24.0)
        days = max((until - lately) / 24.0, 1e-9)
        return _Warm(
            AS_RECORDED,
            {"bench": batch.bench},
            went(lately, until) / days,
            {at: went(since, stock.hours(at)) for at in moments},
        )


def _events(batch: Struck) -> list[Counted | Left]:
    """Return what was counted and what left, in order of time; what was counted the moment it left, first."""
    both: list[Counted | Left] = [*batch.counts, *batch.left]
    return sorted(both, key=lambda one: (one.at, isinstance(one, Left)))


def _as_counted(batch: Struck, warm: _Warm) -> Batch | None:
    """Return a batch as it is learnt from; None where its counts contradict what left it."""
    from ortet.evidence.rooting import Batch

    events = [
        made
        for one in _events(batch)
        if one.at in warm.went and (made := _event(one, warm.went[one.at])) is not None
    ]
    try:
        return Batch(batch.code, batch.variety, batch.struck, _day(batch.struck_at), tuple(events))
    except ValueError:
        return None


def _event(one: Counted | Left, went: float) -> Count | Gone | None:
    from ortet.evidence.rooting import Count, Gone

    if isinstance(one, Counted):
        if one.rooted is None or not one.of:
            return None
        return Count(_day(one.at), went, one.rooted, one.of, one.dead or 0)
    rooted = one.count if one.why in (Why.POTTED, Why.SOLD) else 0
    dead = one.count if one.why == Why.GIVEN_UP else 0
    return Gone(_day(one.at), went, rooted, dead, one.count - rooted - dead)


@dataclass(frozen=True, slots=True, eq=False)
class _All:
    """Every batch struck, as it was counted, with its warmth and what its species' counts teach."""

    struck: dict[str, tuple[Struck, Batch, _Warm]]
    learnt: dict[str, Rooting]


@lru_cache(maxsize=2)
def _every(far: str, now: datetime) -> _All:
    from ortet.evidence.rooting import learn_rooting, usual_rooting
    from ortet.science.species import species

    batches = [one for one in batches_struck() if one.craft == Craft.STRIKE and one.struck_at <= now]
    warmth = _Warmth(batches, now)
    known = {}
    of: dict[str, list[Batch]] = defaultdict(list)
    for one in batches:
        warm = warmth.of(one)
        counted = _as_counted(one, warm) if warm else None
        if warm and counted:
            known[one.code] = one, counted, warm
            of[one.species].append(counted)
    open_kinds = {one.species for one, _, _ in known.values() if one.here and not one.is_finished}
    return _All(
        known, {kind: learn_rooting(of[kind], usual_rooting(species(kind))) for kind in sorted(open_kinds)}
    )


def foretold(code: str, now: datetime) -> Foretold | None:
    """Return what is to be expected of a batch that is still waited for.

    None where it is finished, a batch of grafts, or nobody noted how warm it is: the mat's set point, a record of the bench, or
    what the bench can do.
    """
    every = _every(how_far(), now)
    if code not in every.struck:
        return None
    batch, counted, warm = every.struck[code]
    if not batch.here or batch.is_finished:
        return None
    local = timezone.localtime(now)
    rest_of_today = 1.0 - (local - local.replace(hour=0, minute=0, second=0, microsecond=0)) / timedelta(
        days=1
    )
    progress = warm.went.get(now, 0.0) + warm.a_day * (rest_of_today + np.arange(AHEAD_DAYS))
    ahead = every.learnt[batch.species].ahead(counted, local.date(), progress)
    return Foretold(batch, ahead, say(warm.words, **warm.values))


def to_count(now: datetime) -> list[ToCount]:
    """Return the batches that are still waited for, with the day to count each and the day from which waiting adds nothing."""
    from ortet.decisions.counting import ToCount

    found = []
    for code, (batch, _, _) in _every(how_far(), now).struck.items():
        told = foretold(code, now)
        if told is None:
            continue
        again = told.ahead.count_again()
        found.append(
            ToCount(
                batch=batch.name,
                code=code,
                lot=batch.lot,
                variety=batch.variety,
                bench=batch.bench,
                here=batch.here,
                rooted=told.ahead.rooted_now,
                day=again.on if again else None,
                share=again.share if again else None,
                enough=told.ahead.enough,
                counted=_day(batch.counts[-1].at) if batch.counts else None,
            )
        )
    return found
