"""Roots or leaves first, for one lot and one bench: when each comes, the risk, and what would move it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.decisions.outlook import percent
from ortet.evidence.pace import Told
from ortet.science.race import Pace, Race, race
from ortet.science.reserve import reserve_days, respiration
from ortet.science.species import RESPIRATION_AT_C, Species
from ortet.wood.speech import say, to_say
from ortet.wood.units import show_temperature

__all__ = ["AIR_C", "Raced", "Row", "Start", "in_words", "run", "safe_air"]

Array = NDArray[np.float64]

AIR_C = 12.0  # warm bases, cool tops: a cool room where nothing is said [common practice]
SHARES = (0.1, 0.5, 0.9)
STEPS_K = (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0)
LEAST_C, MOST_C = 0.0, 38.0
WEEKS = 16  # days of striking looked at
WORTH = 0.02  # a change is worth naming that spares so many [our choice]
SAFE, HALF_SAFE = 0.05, 0.20  # shares of cuttings that leaves take by surprise [our choice]
IN_THE_AIR = to_say("With {temperature} in the air it would be {risk}.")
AT_THE_BASE = to_say("With {temperature} at the base it would be {risk}.")


@dataclass(frozen=True, slots=True)
class Start:
    """What wood brings to the bench on a day, and how fast its kind roots."""

    kind: Species
    chill: float  # on the first day asked about [portions]
    chill_a_day: float  # that the store adds while the wood waits [portions/d]
    heat: float  # that its buds had on the mother plant [°C h]
    roots: Told | None = None  # what looks taught

    def chill_after(self, days: ArrayLike) -> Array:
        """Return the chill after so many days more in the store. [portions]"""
        return self.chill + self.chill_a_day * np.asarray(days, dtype=np.float64)

    def paces(self) -> tuple[Pace, Pace, Pace]:
        """Return the pace if the kind roots quickly, as is likely, and slowly."""
        usual = Pace.of(self.kind)
        if self.roots:
            factors = self.roots.days
        else:
            low, high = self.kind.range("roots_days")
            factors = (low / usual.roots_days, 1.0, high / usual.roots_days)
        quick, likely, slow = (replace(usual, roots_days=usual.roots_days * factor) for factor in factors)
        return quick, likely, slow

    @property
    def strike(self) -> float:
        """Share that ever roots. [0-1]"""
        return 1.0 - self.roots.never[1] if self.roots else self.kind.value("strike")


@dataclass(frozen=True, slots=True)
class Row:
    """One way the bench could be: its value, the days to half rooted and half in leaf, and the risk."""

    value: float  # °C, or days of waiting
    root_days: float
    leaf_days: float
    too_early: float  # [0-1]
    is_asked: bool


@dataclass(frozen=True, slots=True)
class Raced:
    """How the race goes."""

    roots: tuple[float, float, float]  # days until 10, 50 and 90 in 100 of those that can have rooted
    leaves: tuple[float, float, float]  # days until 10, 50 and 90 in 100 are in leaf
    too_early: tuple[
        float, float, float
    ]  # share whose leaves come too early: if roots are quick, likely, slow
    carry_days: float
    strike: float
    chill: float
    by_base: list[Row]
    by_air: list[Row]
    by_day: list[Row]  # weeks of waiting, as days
    days: Array  # (steps,) from the striking
    rooted: Array  # (3, steps) of those that can: roots slow, likely, quick
    leafed: Array  # (steps,)
    waits: Array  # (n,) days of waiting
    risk: Array  # (3, n): roots quick, likely, slow
    verdict: str
    reasons: tuple[str, ...]


def run(start: Start, base_c: float, air_c: float, *, wait: float = 0.0, units: str = "metric") -> Raced:
    """Play the race for wood struck after some days of waiting, and for what could be done otherwise.

    Parameters
    ----------
    start : Start
        The wood on the first day that it could be struck.
    base_c, air_c : float
        Medium at the base, air at the buds, both held steady. [°C]
    wait : float
        Days until it is struck, during which the store goes on adding chill. [d]
    units : str
        metric or US, for the sentences.
    """
    quick, pace, slow = start.paces()
    chill = float(start.chill_after(wait))

    def play(base: ArrayLike, air: ArrayLike, of: Pace, days: ArrayLike = wait) -> Race:
        return race(base, air, chill=start.chill_after(days), heat=start.heat, pace=of)

    asked, *others = (play(base_c, air_c, one) for one in (pace, quick, slow))
    bases, airs = (_around(value) for value in (base_c, air_c))
    waits = np.arange(0.0, WEEKS * 7.0 + 1.0, 7.0)
    risk = np.stack([play(base_c, air_c, one, waits).too_early for one in (quick, pace, slow)])
    by_base = _rows(play(bases, air_c, pace), bases, base_c)
    by_air = _rows(play(base_c, airs, pace), airs, air_c)
    days = np.unique(np.append(waits[::2], wait))
    by_day = _rows(play(base_c, air_c, pace, days), days, wait)
    roots = _three([float(asked.root_days(share)) for share in SHARES])
    leaves = _three([float(asked.leaf_days(share)) for share in SHARES])
    risks = _three([float(others[0].too_early), float(asked.too_early), float(others[1].too_early)])
    return Raced(
        roots,
        leaves,
        risks,
        pace.carry_days,
        start.strike,
        chill,
        by_base,
        by_air,
        by_day,
        asked.days,
        np.stack([others[1].rooted, asked.rooted, others[0].rooted]),
        np.asarray(asked.leafed),
        waits,
        risk,
        _verdict(risks[1], roots, by_base, by_air, units),
        _reasons(start, pace, air_c, units),
    )


def safe_air(raced: Raced) -> float:
    """Return the warmest air, no warmer than asked, at which leaves seldom come too early; else the one that is safest. [°C]"""
    asked = next(row.value for row in raced.by_air if row.is_asked)
    cooler = [row for row in raced.by_air if row.value <= asked]
    safe = [row.value for row in cooler if row.too_early < SAFE]
    return max(safe) if safe else min(cooler, key=lambda row: row.too_early).value


def _around(value: float) -> Array:
    steps = np.array([value + step for step in STEPS_K])
    return np.asarray(steps[(steps >= LEAST_C) & (steps <= MOST_C)])


def _rows(run: Race, values: Array, asked: float) -> list[Row]:
    columns = np.broadcast_arrays(values, run.root_days(), run.leaf_days(), run.too_early)
    return [
        Row(value, roots, leaves, risk, abs(value - asked) < 1e-9)
        for value, roots, leaves, risk in zip(*(column.tolist() for column in columns), strict=True)
    ]


def _verdict(
    risk: float, roots: tuple[float, float, float], by_base: list[Row], by_air: list[Row], units: str
) -> str:
    """Return the act in a sentence, and what would serve better."""
    if not np.isfinite(roots[1]):
        said = say("The base is too cold or too hot to root at: half would not have rooted in 180 days.")
    elif risk < SAFE:
        return say("Roots come first: leaves come too early in {risk} of the cuttings.", risk=in_words(risk))
    elif risk < HALF_SAFE:
        said = say(
            "Mostly roots first: leaves come too early in {risk} of the cuttings.", risk=in_words(risk)
        )
    else:
        said = say("Leaves come first too often: too early in {risk} of the cuttings.", risk=in_words(risk))
    ways = [
        (abs(row.value - asked), row, where)
        for rows, where in ((by_air, IN_THE_AIR), (by_base, AT_THE_BASE))
        for asked in [row.value for row in rows if row.is_asked]
        for row in rows
        if row.too_early < risk - WORTH and np.isfinite(row.root_days)
    ]
    if not ways:
        return f"{said} {say('Nothing within nine degrees is much better.')}"
    # the smallest change that makes it safe, or else the one that does most
    safe = [way for way in ways if way[1].too_early < SAFE]
    pick = min(safe, key=lambda way: way[0]) if safe else min(ways, key=lambda way: way[1].too_early)
    _, row, where = pick
    better = say(where, temperature=show_temperature(row.value, units), risk=in_words(row.too_early))
    return f"{said} {better}"


def _reasons(start: Start, pace: Pace, air_c: float, units: str) -> tuple[str, ...]:
    kind = start.kind
    breath = respiration(
        air_c, rate_ref=kind.value("respiration_ref"), t_ref=RESPIRATION_AT_C, q10=kind.value("q10")
    )
    lasts = float(
        reserve_days(
            breath,
            water_content=kind.value("water_content"),
            reserve_share=kind.value("reserve_share"),
            usable_share=kind.value("usable_share"),
        )
    )
    usual: Mapping[str, str] = {
        name: kind.why(name) for name in ("roots_days", "leaf_heat", "carry_days", "strike")
    }
    return (
        say(
            "Roots feel the base, buds the air. Half of the cuttings that can root take {days:.0f} days at {temperature}, the "
            "best for {kind}.",
            days=pace.roots_days,
            temperature=show_temperature(pace.roots_t_opt, units),
            kind=say(kind.name),
        ),
        say(
            "Leaves count as too early when they come more than {days:.0f} days before the roots: so long the reserve is "
            "taken to carry them. {why}.",
            days=pace.carry_days,
            why=usual["carry_days"],
        ),
        say(
            "Without leaves, breathing alone would use up what the reserve can spare in {days:.0f} days at {temperature} in "
            "the air.",
            days=lasts,
            temperature=show_temperature(air_c, units),
        ),
        say(
            "{share} are taken never to root; they come on top of those whose leaves come too early.",
            share=percent(1.0 - start.strike),
        ),
        say("Days to root: {why}.", why=usual["roots_days"])
        if not start.roots
        else say("Days to root were learnt from your looks."),
        say("Heat to leaf out: {why}.", why=usual["leaf_heat"]),
        say(
            "Base and air are taken to stay as asked, and roots and leaves of one cutting to go their own ways. "
            "Light, hormone and rot are left out."
        ),
    )


def in_words(share: float) -> str:
    """Write a risk: one too small to tell from nothing is not called nothing."""
    return say("under 1 %") if share < 0.01 else percent(share)


def _three(values: list[float]) -> tuple[float, float, float]:
    low, middle, high = values
    return low, middle, high
