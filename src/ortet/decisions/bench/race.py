"""How a batch fares on a bench, at a set-point, struck on a day: for one choice, or for all of a season at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, inf
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.bench.wishes import Batch, Bench, Season
from ortet.science.race import Pace, race
from ortet.science.response import temperature_response
from ortet.wood.speech import say, say_day

__all__ = ["LONGEST", "Outcome", "Outcomes", "outcome", "outcomes"]

Array = NDArray[np.float64]

LONGEST = 120  # days: a batch whose median cutting takes longer to root is not struck there
_normal = NormalDist()
_phi = np.frompyfunc(_normal.cdf, 1, 1)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What comes of one choice. Shares are of 0 to 1, costs in the season's money."""

    batch: str
    bench: str
    base_c: float | None
    start: date
    count: int
    base_mean_c: float  # while the median cutting roots
    air_mean_c: float
    risk: float  # share whose leaves come too long before their roots; 1 where none root
    roots: date | None  # half of those that can root have done so; None: not within LONGEST days
    root_days: float
    root_spread: float  # sd of ln days, from cutting to cutting
    leaves: date | None  # half are in leaf, if before nearly all have rooted
    off: date | None  # it leaves the bench
    ready: tuple[date, date, date] | None  # one in ten, half and nine in ten of the plants are ready
    late: float  # share of the plants ready after they are wanted
    late_weeks: float  # of the mean plant
    early_weeks: float
    plants: float  # expected
    loss: float  # plants lost to leaves before roots
    lateness: float  # cost of being late or early
    energy: float  # its cells' share of the mat's use
    against: tuple[str, ...] = ()  # what speaks against it, whatever else stands there

    @property
    def cost(self) -> float:
        """Loss, lateness and energy together."""
        return self.loss + self.lateness + self.energy


@dataclass(frozen=True, slots=True)
class Outcomes:
    """Outcomes of many choices on one bench as arrays of shape (batches, levels, starts); inf where nothing roots."""

    base: Array
    air: Array
    risk: Array
    roots: Array  # median days to root
    leaves: Array
    off: Array  # days until it leaves the bench
    late: Array
    late_weeks: Array
    early_weeks: Array

    def loss(self, batches: Sequence[Batch]) -> Array:
        """Return the worth of what is lost to leaves before roots, for a whole batch."""
        return np.asarray(_value(batches) * self.risk)

    def lateness(self, batches: Sequence[Batch], season: Season) -> Array:
        """Return the cost of being late or early, for a whole batch; never more than what is left of it is worth."""
        living = 1.0 - self.risk
        late = np.minimum(season.late_share * self.late_weeks, 1.0) * _value(batches)
        early = season.early_cost * self.early_weeks * _each(b.count * b.strike for b in batches)
        return np.asarray(np.where(np.isfinite(self.roots), living * (late + early), 0.0))


def outcomes(
    batches: Sequence[Batch],
    bench: Bench,
    levels: Sequence[float | None],
    starts: Sequence[int],
    season: Season,
) -> Outcomes:
    """Play the race for every batch, set-point and day of striking on one bench.

    Parameters
    ----------
    batches : sequence of Batch
        What is struck.
    bench : Bench
        Where.
    levels : sequence of float or None
        Set-points. [°C]
    starts : sequence of int
        Days from the plan's first. [d]
    season : Season
        The rest of what counts.

    Returns
    -------
    Outcomes
        Arrays of shape (batches, levels, starts).

    Notes
    -----
    The race is played at the mean base and air over the days in which the median cutting roots, found from the
    courses by thermal time. With K the days left after growing on, M the median and s the spread of the time to
    root, a plant is late with ``1 - Phi(ln(K / M) / s)``, and the mean plant by
    ``M exp(s^2 / 2) Phi(d + s) - K Phi(d)`` days, ``d = ln(M / K) / s``: the stop-loss of a log-normal.
    """
    shape = len(batches), len(levels), len(starts)
    out = {name: np.full(shape, inf) for name in ("roots", "leaves", "off")}
    out |= {name: np.ones(shape) for name in ("base", "air", "risk")}
    spread = _each(batch.speed.roots_spread for batch in batches)
    for pace in dict.fromkeys(batch.speed for batch in batches):
        rows = [row for row, batch in enumerate(batches) if batch.speed == pace]
        base, air = _means(bench, levels, starts, pace)
        some = _play([batches[row] for row in rows], base, air, starts, pace, season.clear)
        for name, values in (*some.items(), ("base", base), ("air", air)):
            out[name][rows] = values
    left = np.full((len(batches), 1, len(starts)), np.nan)
    for row, batch in enumerate(batches):
        if wanted := season.wanted(batch):
            left[row] = (wanted - season.first).days - batch.grow_days - np.asarray(starts)
    late, late_days, mean = _lateness(out["roots"], spread, left)
    early_days = np.where(np.isnan(left), 0.0, late_days - (mean - left))
    return Outcomes(
        **out, late=late, late_weeks=late_days / 7.0, early_weeks=np.maximum(early_days, 0.0) / 7.0
    )


def outcome(
    batch: Batch, bench: Bench, base_c: float | None, start: date, season: Season, count: int | None = None
) -> Outcome:
    """Return what comes of striking a batch, or so many of it, on a bench at a set-point on a day; any day will do."""
    day = (start - season.first).days
    return tell(
        batch,
        bench,
        base_c,
        start,
        outcomes([batch], bench, [base_c], [day], season),
        (0, 0, 0),
        season,
        count,
    )


def tell(
    batch: Batch,
    bench: Bench,
    base_c: float | None,
    start: date,
    found: Outcomes,
    at: tuple[int, int, int],
    season: Season,
    count: int | None = None,
) -> Outcome:
    """Return one choice out of many as an outcome in days and money."""
    n = batch.count if count is None else count
    part = n / batch.count
    row = slice(at[0], at[0] + 1), slice(at[1], at[1] + 1), slice(at[2], at[2] + 1)
    one = Outcomes(*(getattr(found, name)[row] for name in Outcomes.__slots__))
    risk, roots, off = (float(x.item()) for x in (one.risk, one.roots, one.off))
    alive = roots < inf
    grown = [
        _later(start, roots * np.exp(batch.speed.roots_spread * z) + batch.grow_days)
        for z in (-1.2816, 0.0, 1.2816)
    ]
    weeks = range(season.week_of(start), season.week_of(start) + (max(1, ceil(off / 7.0)) if alive else 1))
    energy = sum(bench.kwh(base_c, week) for week in weeks) * season.price_kwh
    return Outcome(
        batch.key,
        bench.key,
        base_c,
        start,
        n,
        float(one.base.item()),
        float(one.air.item()),
        risk,
        _later(start, roots),
        roots,
        batch.speed.roots_spread,
        _later(start, float(one.leaves.item())),
        _later(start, off),
        (grown[0], grown[1], grown[2]) if grown[0] and grown[1] and grown[2] else None,
        float(one.late.item()),
        float(one.late_weeks.item()),
        float(one.early_weeks.item()),
        n * batch.strike * (1.0 - risk) if alive else 0.0,
        float(one.loss([batch]).item()) * part,
        float(one.lateness([batch], season).item()) * part,
        energy * min(1.0, n * batch.cells / bench.cells),
        _against(batch, bench, start, risk, alive, weeks, season),
    )


def _play(
    batches: Sequence[Batch], base: Array, air: Array, starts: Sequence[int], pace: Pace, clear: float
) -> dict[str, Array]:
    """Return risk, median roots and leaves, and time on the bench, for batches of one pace."""
    weeks = [day // 7 for day in starts]
    chill = np.array([[[batch.brings(week)[0] for week in weeks]] for batch in batches])
    heat = np.array([[[batch.brings(week)[1] for week in weeks]] for batch in batches])
    shape = len(batches), *base.shape
    median = _root_days(base, pace)
    grows = median <= LONGEST
    if not grows.any():
        return {"risk": np.ones(shape), **{name: np.full(shape, inf) for name in ("roots", "leaves", "off")}}
    nearly_all = float(median[grows].max()) * np.exp(2.6 * pace.roots_spread)  # 995 in 1,000 have rooted
    run = race(base[None], air[None], chill=chill, heat=heat, pace=pace, days=ceil(nearly_all) + 1)
    roots = np.where(grows, run.root_days(), inf)
    return {
        "risk": np.where(roots < inf, run.too_early, 1.0),
        "roots": np.broadcast_to(roots, shape),
        "leaves": np.where(roots < inf, run.leaf_days(), inf),
        "off": np.broadcast_to(np.where(grows, run.root_days(clear), inf), shape),
    }


def _means(
    bench: Bench, levels: Sequence[float | None], starts: Sequence[int], pace: Pace
) -> tuple[Array, Array]:
    """Return the mean base and air while the median cutting roots, each of shape (levels, starts), to 0.1 °C."""
    first, days = min(starts), max(starts) - min(starts) + LONGEST + 1
    weeks = [(first + day) // 7 for day in range(days)]
    air = np.array([bench.air(week) for week in weeks])
    mean_base, mean_air = np.empty((2, len(levels), len(starts)))
    air_sum = np.concatenate(([0.0], np.cumsum(air)))
    for row, level in enumerate(levels):
        base = np.array([bench.base(level, week) for week in weeks])
        rate = (
            temperature_response(base, pace.roots_t_min, pace.roots_t_opt, pace.roots_t_max) / pace.roots_days
        )
        way, base_sum = (np.concatenate(([0.0], np.cumsum(x))) for x in (rate, base))
        begin = np.asarray(starts) - first
        end = np.searchsorted(way, way[begin] + 1.0)
        end = np.minimum(np.maximum(end, begin + 1), begin + LONGEST)
        mean_base[row] = (base_sum[end] - base_sum[begin]) / (end - begin)
        mean_air[row] = (air_sum[end] - air_sum[begin]) / (end - begin)
    return np.round(mean_base, 1), np.round(mean_air, 1)


def _root_days(base_c: Array, pace: Pace) -> Array:
    """Return the median days to root at steady bases; inf where it is too cold or too warm."""
    rate = temperature_response(base_c, pace.roots_t_min, pace.roots_t_opt, pace.roots_t_max)
    with np.errstate(divide="ignore"):
        return np.asarray(pace.roots_days / rate)


def _lateness(median: Array, spread: Array, left: Array) -> tuple[Array, Array, Array]:
    """Return the share late, the mean days late and the mean days to root, for so many days left; NaN: none asked."""
    asked = ~np.isnan(left) & np.isfinite(median)
    m, s, k = np.broadcast_arrays(np.where(np.isfinite(median), median, 1.0), spread, np.nan_to_num(left))
    mean = m * np.exp(s * s / 2.0)
    short = k <= 0.0
    d = np.log(m / np.where(short, 1.0, k)) / s
    phi, phi_up = _phi(d).astype(np.float64), _phi(d + s).astype(np.float64)
    late = np.where(short, 1.0, phi)
    days = np.where(short, mean - k, mean * phi_up - k * phi)
    return np.where(asked, late, 0.0), np.where(asked, days, 0.0), mean


def _against(
    batch: Batch, bench: Bench, start: date, risk: float, alive: bool, weeks: range, season: Season
) -> tuple[str, ...]:
    """Return what speaks against a choice, whatever else stands there."""
    found = []
    if start < batch.ready:
        found.append(say("enough is callused only on {day}", day=say_day(batch.ready)))
    if batch.use_by and start > batch.use_by:
        found.append(say("the wood is good for striking until {day}", day=say_day(batch.use_by)))
    if not alive:
        found.append(say("half of it would not root within {days} days", days=LONGEST))
    elif risk > season.most_risk:
        found.append(
            say(
                "{risk:.0%} would leaf out too early, above the {most_risk:.0%} allowed",
                risk=risk,
                most_risk=season.most_risk,
            )
        )
    if shut := sorted(set(weeks) & bench.closed):
        found.append(
            say(
                "{bench} is closed in the week of {day}",
                bench=bench.title,
                day=say_day(season.monday(shut[0])),
            )
        )
    return tuple(found)


def _later(start: date, days: float) -> date | None:
    return start + timedelta(days=ceil(days)) if days < 3000 else None


def _each(values: object) -> Array:
    """Return one value for each batch, shape (batches, 1, 1)."""
    return np.array(list(values), dtype=np.float64)[:, None, None]  # type: ignore[call-overload]


def _value(batches: Sequence[Batch]) -> Array:
    return _each(batch.count * batch.strike * batch.worth for batch in batches)
