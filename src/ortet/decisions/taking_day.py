"""The day to take wood: dormant, out of the frost, with time enough in store before it is wanted.

Wood keeps best when it is taken leafless and at rest, in the cold but not while frozen, and before the buds have had their
chill and only wait for warmth. Those are the trade's rules; where a limit below is a choice, it says so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.chill import chill_portions, chilling_hours
from ortet.science.climate import hourly
from ortet.science.heat import growing_degree_hours
from ortet.science.species import Species
from ortet.wood.speech import say, say_day

__all__ = ["VERDICTS", "Reason", "TakingDay", "Verdict", "leaf_fall", "taking_days"]

Verdict = Literal["good", "wait", "late", "hold"]
VERDICTS: tuple[Verdict, ...] = ("good", "late", "wait", "hold")  # the best first
MARK = "common practice"

# Common practice, no measurement: our choices.
LEAVES_DOWN_C, LEAVES_DOWN_DAYS = (
    7.0,
    10,
)  # leaves are taken to be down after so many days in all with a mean below
FROZEN_C = 0.0  # wood is not cut while it is frozen: it is brittle, and the cut tears
HARD_FROST_C = -8.0  # harm shows a few days later, so wood just after it is looked at first
SETTLE_DAYS = 3
BEFORE_FROST_DAYS = 2
REST_SHARE = 0.25  # of the chill need: by then the wood has hardened
SWELL_SHARE = 0.25  # of the heat from full chill to leaf: by then the buds swell


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a day is better or worse, by how much, and what that rests on."""

    text: str
    points: float  # above 0 speaks for the day
    mark: str = MARK


@dataclass(frozen=True, slots=True)
class TakingDay:
    """A day, what it is good for, and why."""

    day: date
    verdict: (
        Verdict  # good: take; wait: not at rest yet; hold: frozen; late: buds moving, or past the day wanted
    )
    points: float
    chill_share: float  # of the species' need that has been met, in portions [0-1 and above]
    portions: float
    hours: float  # chilling hours
    heat_share: float  # of the heat to leaf, since the chill need was met [0-1 and above]
    low_c: float  # of that day; NaN where unknown
    reasons: tuple[Reason, ...]


def leaf_fall(first: date, air_c: ArrayLike) -> date | None:
    """Return the day by which leaves are taken to be down, from temperature alone; None if the record does not come to it.

    Parameters
    ----------
    first : date
        The record's first day, in late summer or autumn.
    air_c : array_like, shape (days * 24,)
        Hourly temperature. [°C]

    Notes
    -----
    Ten days in all with a mean below 7 °C. A rule of thumb of ours: leaves fall by day length too, and differ by variety. A
    date noted by the grower is better. [common practice]
    """
    means = _by_day(air_c, "mean")
    cold = np.cumsum(np.nan_to_num(means, nan=99.0) < LEAVES_DOWN_C)
    found = np.flatnonzero(cold >= LEAVES_DOWN_DAYS)
    return first + timedelta(days=int(found[0])) if found.size else None


def taking_days(
    kind: Species,
    first: date,
    air_c: ArrayLike,
    days: Sequence[date],
    *,
    leaves_down: date | None = None,
    wanted: date | None = None,
) -> list[TakingDay]:
    """Return the days asked about, the best first, each with its reasons.

    Parameters
    ----------
    kind : Species
        What is grown: its chill need and how long it keeps.
    first : date
        The record's first day, in autumn before the first cold: chill is counted from it.
    air_c : array_like, shape (days * 24,)
        Hourly temperature at the mother plants: recorded, then forecast or a typical year's. NaN where unknown. [°C]
    days : sequence of date
        Days on which wood might be taken, within the record.
    leaves_down : date, optional
        When the leaves were seen to be down; without it the day is guessed from temperature, and marked so.
    wanted : date, optional
        When the wood is to be struck, grafted or posted.

    Raises
    ------
    ValueError
        If the record has no whole days, or a day lies outside it.
    """
    air = _whole_days(air_c)
    size = air.size // 24
    for day in days:
        if not 0 <= (day - first).days < size:
            raise ValueError(
                say(
                    "{day} lies outside the temperatures, {first} to {last}. Ask about days inside, or give a longer record.",
                    day=day,
                    first=first,
                    last=first + timedelta(days=size - 1),
                )
            )
    down = leaves_down if leaves_down is not None else leaf_fall(first, air)
    winter = _winter(kind, air)
    found = [_weighed(kind, winter, first, day, down, leaves_down is not None, wanted) for day in days]
    return sorted(found, key=lambda one: (VERDICTS.index(one.verdict), -one.points, one.day))


@dataclass(frozen=True, slots=True)
class _Winter:
    """One figure a day, shape (days,): what has been banked by its end, and its lowest and highest temperature."""

    portions: NDArray[np.float64]
    hours: NDArray[np.float64]
    heat: NDArray[np.float64]  # since the chill need was met, as a share of the heat to leaf
    low: NDArray[np.float64]
    high: NDArray[np.float64]


def _winter(kind: Species, air: NDArray[np.float64]) -> _Winter:
    portions = chill_portions(air, running=True)
    after = np.where(portions >= kind.value("chill_portions"), air, np.nan)
    heat = growing_degree_hours(
        after,
        t_base=kind.value("heat_t_base"),
        t_opt=kind.value("heat_t_opt"),
        t_crit=kind.value("heat_t_crit"),
        running=True,
    )
    return _Winter(
        portions[23::24],
        chilling_hours(air, running=True)[23::24],
        heat[23::24] / kind.value("leaf_heat"),
        _by_day(air, "low"),
        _by_day(air, "high"),
    )


def _weighed(
    kind: Species, winter: _Winter, first: date, day: date, down: date | None, seen: bool, wanted: date | None
) -> TakingDay:
    at = (day - first).days
    share, heat = float(winter.portions[at]) / kind.value("chill_portions"), float(winter.heat[at])
    reasons = [
        _leaves(day, down, seen),
        _rest(share, heat, kind),
        *_frost(at, winter.low, winter.high),
        *_keeping(day, wanted, kind),
    ]
    points = sum(reason.points for reason in reasons)
    verdict: Verdict = "good"
    if winter.high[at] <= FROZEN_C:
        verdict = "hold"
    elif down is None or day < down or share < REST_SHARE:
        verdict = "wait"
    elif heat >= SWELL_SHARE or (wanted is not None and day > wanted):
        verdict = "late"
    return TakingDay(
        day,
        verdict,
        points,
        share,
        float(winter.portions[at]),
        float(winter.hours[at]),
        heat,
        float(winter.low[at]),
        tuple(sorted(reasons, key=lambda reason: reason.points)),
    )


def _whole_days(air_c: ArrayLike) -> NDArray[np.float64]:
    air = hourly(air_c)
    if air.ndim != 1 or air.size < 24:
        raise ValueError(
            say("Temperatures of {size} hours: give one record of whole days, 24 hours each.", size=air.size)
        )
    return air[: air.size // 24 * 24]


def _by_day(air_c: ArrayLike, which: Literal["low", "mean", "high"]) -> NDArray[np.float64]:
    """Return one figure a day; NaN where nothing is known."""
    table = _whole_days(air_c).reshape(-1, 24)
    out = np.full(len(table), np.nan)
    known = ~np.isnan(table).all(axis=1)
    if which == "low":
        out[known] = np.nanmin(table[known], axis=1)
    elif which == "high":
        out[known] = np.nanmax(table[known], axis=1)
    else:
        out[known] = np.nanmean(table[known], axis=1)
    return out


def _leaves(day: date, down: date | None, seen: bool) -> Reason:
    how = say("seen") if seen else say("guessed from temperature; note the day you see it")
    if down is None:
        return Reason(say("The leaves are not down yet ({how}).", how=how), -3.0)
    if day < down:
        return Reason(say("The leaves come down about {day} ({how}).", day=say_day(down), how=how), -3.0)
    return Reason(say("Leafless since {day} ({how}).", day=say_day(down), how=how), 1.0)


def _rest(share: float, heat: float, kind: Species) -> Reason:
    need, mark = (
        say(
            "the {portions:g} chill portions that {kind} needs",
            portions=kind.value("chill_portions"),
            kind=say(kind.name),
        ),
        kind.known("chill_portions").mark,
    )
    if share < REST_SHARE:
        return Reason(
            say("Only {share:.0%} of {need} so far: the wood is still hardening.", share=share, need=need),
            -1.0,
            mark,
        )
    if share < 1.0:
        return Reason(say("At rest: {share:.0%} of {need} are met.", share=share, need=need), 1.0, mark)
    if heat < SWELL_SHARE:
        return Reason(
            say(
                "It has had {need} and waits only for warmth, {heat:.0%} of which has come.",
                need=need,
                heat=heat,
            ),
            0.5 - 2.0 * heat,
            mark,
        )
    return Reason(
        say("The buds begin to move: {heat:.0%} of the warmth from full chill to leaf has come.", heat=heat),
        -3.0,
        kind.known("leaf_heat").mark,
    )


def _frost(at: int, lows: NDArray[np.float64], highs: NDArray[np.float64]) -> list[Reason]:
    out = []
    low, high = lows[at], highs[at]
    if np.isnan(low):
        out.append(Reason(say("No temperature is known for the day."), -0.5))
    elif high <= FROZEN_C:
        out.append(
            Reason(say("Frost all day, at most {high:.0f} °C: do not cut frozen wood.", high=high), -4.0)
        )
    elif low < FROZEN_C:
        out.append(
            Reason(say("Frost in the night, {low:.0f} °C: cut once the wood has thawed.", low=low), -0.5)
        )
    past = lows[max(0, at - SETTLE_DAYS) : at]
    if past.size and np.nanmin(past, initial=np.inf) <= HARD_FROST_C:
        out.append(
            Reason(
                say(
                    "Hard frost, {low:.0f} °C, in the {days} days before: cut one open and look for brown wood first.",
                    low=np.nanmin(past),
                    days=SETTLE_DAYS,
                ),
                -2.0,
            )
        )
    coming = lows[at + 1 : at + 1 + BEFORE_FROST_DAYS]
    if coming.size and np.nanmin(coming, initial=np.inf) <= HARD_FROST_C:
        out.append(
            Reason(
                say(
                    "Hard frost, {low:.0f} °C, comes within {days} days: take it before.",
                    low=np.nanmin(coming),
                    days=BEFORE_FROST_DAYS,
                ),
                1.5,
            )
        )
    return out


def _keeping(day: date, wanted: date | None, kind: Species) -> list[Reason]:
    if wanted is None:
        return []
    weeks, keeps = (wanted - day).days / 7.0, kind.value("keep_weeks")
    if weeks < 0:
        return [Reason(say("After {wanted}, when it is wanted.", wanted=say_day(wanted)), -6.0)]
    if weeks > keeps:
        return [
            Reason(
                say(
                    "{weeks:.0f} weeks in store; {kind} keeps about {keeps:.0f}.",
                    weeks=weeks,
                    kind=say(kind.name),
                    keeps=keeps,
                ),
                -min(4.0, (weeks - keeps) / 2.0),
                kind.known("keep_weeks").mark,
            )
        ]
    return [
        Reason(
            say(
                "{weeks:.0f} weeks in store of the {keeps:.0f} that {kind} keeps.",
                weeks=weeks,
                keeps=keeps,
                kind=say(kind.name),
            ),
            1.0 - weeks / keeps / 2.0,
            kind.known("keep_weeks").mark,
        )
    ]
