"""The pace of callus and roots: usual for the species, or learnt from what was seen of the grower's own lots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.course import place_air
from ortet.evidence.levels import range_doubt
from ortet.evidence.pace import Learnt, Look, Prior, Told, learn_pace
from ortet.evidence.rooting import usual_rooting
from ortet.science.species import species
from ortet.science.thermal_time import thermal_progress
from ortet.wood import speech
from ortet.wood.holding import Climate, Seen, Stay

__all__ = ["CALLUS", "ROOTS", "Paces", "Step", "Warmth", "learn", "prior", "say", "step"]

Array = NDArray[np.float64]

CALLUS, ROOTS = "callus", "roots"
NEVER_CALLUS, NEVER_CALLUS_CUTTINGS = 0.05, 20.0  # a twentieth of sound wood never calluses [our choice]
LEAST_RECORDED = 0.9  # a look counts where so much of its time was recorded [our choice]


@dataclass(frozen=True, slots=True)
class Step:
    """One of the two things that a cutting does in thermal time, for one species."""

    t_min: float
    t_opt: float
    t_max: float
    days: float
    spread: float

    def progress(self, air_c: Array, *, running: bool = False) -> Array:
        """Return the share of the usual median need that temperatures give, shape (..., hours) or (...)."""
        return thermal_progress(
            air_c,
            t_min=self.t_min,
            t_opt=self.t_opt,
            t_max=self.t_max,
            days_at_optimum=self.days,
            running=running,
        )


@cache
def step(kind: str, what: str) -> Step:
    """Return the usual numbers of callus or roots."""
    wood = species(kind)
    return Step(*(wood.value(f"{what}_{name}") for name in ("t_min", "t_opt", "t_max", "days", "spread")))


@cache
def prior(kind: str, what: str) -> Prior:
    """Return what is held of callus or roots of a species before any look."""
    if what == ROOTS:
        return usual_rooting(species(kind))
    doubt = range_doubt(*species(kind).range("callus_days"))
    return Prior(step(kind, what).spread, doubt, NEVER_CALLUS, NEVER_CALLUS_CUTTINGS)


class Warmth:
    """Thermal time that places had to give: each place's record is walked once for each species and step."""

    def __init__(self, climates: Mapping[str, Climate], first: float, now: float) -> None:
        self._climates = climates
        self._first = int(first // 24 * 24)
        self._hours = max(int(np.ceil(now)) - self._first, 1)
        self._air: dict[str, tuple[Array, Array]] = {}
        self._run: dict[tuple[str, str, str], Array] = {}

    def progress(self, kind: str, what: str, stays: Sequence[Stay], since: float, until: float) -> float:
        """Return how far wood came from one hour to another, as a share of the usual median need."""
        return sum(
            self._between(self._so_far(place, kind, what), begin, end)
            for place, begin, end in _legs(stays, since, until)
        )

    def recorded(self, stays: Sequence[Stay], since: float, until: float) -> float:
        """Return the share of that time in which a temperature was recorded."""
        known = sum(
            self._between(self._at(place)[1], begin, end) for place, begin, end in _legs(stays, since, until)
        )
        return known / max(until - since, 1e-9)

    def _between(self, so_far: Array, begin: float, end: float) -> float:
        low, high = np.interp([begin - self._first, end - self._first], np.arange(so_far.size), so_far)
        return float(high - low)

    def _at(self, place: str) -> tuple[Array, Array]:
        """Return a place's temperature and the hours recorded so far."""
        if place not in self._air:
            air = place_air(self._climates.get(place), place, self._first, self._hours)
            self._air[place] = air.air_c, np.append(0.0, np.cumsum(~air.was_gap))
        return self._air[place]

    def _so_far(self, place: str, kind: str, what: str) -> Array:
        key = place, kind, what
        if key not in self._run:
            run = step(kind, what).progress(self._at(place)[0], running=True)
            self._run[key] = np.append(0.0, run)
        return self._run[key]


def _legs(stays: Sequence[Stay], since: float, until: float) -> Iterable[tuple[str, float, float]]:
    """Yield where the time from one hour to another was spent; before the first stay, where that was."""
    edges = [since, *(min(max(stay.since, since), until) for stay in stays[1:]), until]
    for stay, (begin, end) in zip(stays, pairwise(edges), strict=True):
        if end > begin:
            yield stay.place, begin, end


@dataclass(frozen=True, slots=True)
class Paces:
    """What was learnt, by species and step; where nothing was seen the usual values stand."""

    learnt: Mapping[tuple[str, str], Learnt]

    def of(self, kind: str, what: str, lot: str, variety: str) -> Told | None:
        """Return what is known of a lot; None where nothing of its species was seen."""
        found = self.learnt.get((kind, what))
        return found.of(lot, variety) if found else None


def learn(
    seen: Iterable[Seen], climates: Mapping[str, Climate], now: float, warmth: Warmth | None = None
) -> Paces:
    """Return what looks at callus and roots teach.

    Parameters
    ----------
    seen : iterable of Seen
        What was seen; looks in whose time too little was recorded are left out.
    climates : mapping of str to Climate
        Hourly records by name of place.
    now : float
        [h since 1970]
    warmth : Warmth, optional
        Of these climates, where it was walked for something else too.
    """
    looked = sorted({one for one in seen if one.at <= now and one.stays}, key=lambda one: (one.at, one.lot))
    if not looked:
        return Paces({})
    warmth = warmth or Warmth(climates, min(one.taken for one in looked), now)
    looks: dict[tuple[str, str], list[Look]] = defaultdict(list)
    for one in looked:
        if warmth.recorded(one.stays, one.taken, one.at) < LEAST_RECORDED:
            continue
        for what, done, of, score in (
            (CALLUS, one.callused, one.callused_of, one.callus),
            (ROOTS, one.rooted, one.rooted_of, None),
        ):
            if of is None and score is None:
                continue
            went = warmth.progress(one.species, what, one.stays, one.taken, one.at)
            # a count says more than a score of the same look, and the two must not count twice
            look = Look(one.lot, one.variety, went, done, of, score if of is None else None)
            looks[one.species, what].append(look)
    return Paces({key: learn_pace(mine, prior(*key)) for key, mine in looks.items()})


HALF = {
    CALLUS: speech.to_say("Callus of {variety}: half in {days:.0f} days at their best warmth"),
    ROOTS: speech.to_say("Roots of {variety}: half in {days:.0f} days at their best warmth"),
}


def say(told: Told, kind: str, what: str, variety: str) -> str:
    """Return in a sentence what was learnt and how much of it is the usual value."""
    low, middle, high = told.days
    usual = species(kind).value(f"{what}_days")
    counted = told.cuttings + told.others
    seen = []
    if counted and told.others:
        seen.append(
            speech.say(
                "{count} cuttings, {mine} of them {variety}",
                count=counted,
                mine=told.cuttings,
                variety=variety,
            )
        )
    elif counted:
        seen.append(speech.say("{count} cuttings of {variety}", count=counted, variety=variety))
    if told.scores:
        seen.append(speech.say_many("{count} score of callus", "{count} scores of callus", told.scores))
    like = (
        speech.say(" The usual value counts like {cuttings:.0f} cuttings.", cuttings=told.prior_cuttings)
        if counted and not told.scores and told.weight > 0.02
        else ""
    )
    return speech.say(
        "{half} ({low:.0f} to {high:.0f}; usual for {kind} {usual:.0f}), learnt from {seen} that you looked at; "
        "it rests on what you saw by {by_looks:.0f} %, on the usual value by {by_usual:.0f} %.{like}",
        half=speech.say(HALF[what], variety=variety, days=usual * middle),
        low=usual * low,
        high=usual * high,
        kind=speech.say(species(kind).name),
        usual=usual,
        seen=speech.say(" and ").join(seen),
        by_looks=told.weight * 100,
        by_usual=100 - told.weight * 100,
        like=like,
    )
