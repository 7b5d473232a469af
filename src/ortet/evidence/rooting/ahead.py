"""When a batch will show its roots: the share by each day with its band, the day to count again, the day to stop waiting."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.evidence.levels import ENDS, Told, three
from ortet.evidence.rooting.counts import Batch, Count, Course, Gone
from ortet.evidence.rooting.likely import DIED, came_by
from ortet.science.checked import number
from ortet.wood.speech import counted, say, say_day

__all__ = ["Ahead", "Belief", "Recount", "look_ahead"]

Array = NDArray[np.float64]

HARDLY = (
    0.05  # in a small batch less than one more is still worth the wait, down to this share of it [our choice]
)
REST = 0.7  # count again when so much of what is still to root should show [our choice]
PLACES, LEAST_PLACES = (
    1000,
    100,
)  # so many places of the grid stand for all, in each course of the weather at least so many
GOLDEN = (5.0**0.5 - 1.0) / 2.0  # multiples of it fill 0 to 1 evenly
CHANCES = np.sin(np.linspace(0.0, np.pi / 2.0, 161)) ** 2  # chances to root, dense at both ends


@dataclass(frozen=True, slots=True, eq=False)
class Belief:
    """Weights that sum to 1, shape (spreads, days, shares), over what is sought of a batch."""

    spread: Array
    log_days: Array
    never: Array
    weight: Array


@dataclass(frozen=True, slots=True)
class Recount:
    """The day to count again, and what should show then."""

    on: date
    share: tuple[float, float, float]  # 5, 50 and 95 in 100 [0-1]

    @property
    def says(self) -> str:
        """Say it in a sentence."""
        low, middle, high = self.share
        return say(
            "Count again on {day}: {middle} % should show roots ({low} to {high} %).",
            day=say_day(self.on),
            middle=_percent(middle),
            low=_percent(low),
            high=_percent(high),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Ahead:
    """What is to be expected of a batch; three numbers are 5, 50 and 95 in 100."""

    batch: Batch
    told: Told
    first: date
    of: int  # cuttings spoken of: those struck, but for those that left alive without roots
    below: Array  # (days, waiting + 1), chance that at most so many of those waiting root by then
    expected: Array  # (days,), mean number rooted by each day, those known included
    further: Array  # (days,), mean number that root after each day, whenever that is
    never: tuple[float, float, float]  # share that never roots [0-1]

    @property
    def rooted_now(self) -> int:
        """Cuttings known to have rooted."""
        return self.batch.rooted

    @property
    def share(self) -> Array:
        """Share that will have shown roots by each day, shape (3, days)."""
        more = np.array([(self.below < end).sum(axis=1) for end in ENDS])
        return np.asarray((self.rooted_now + more) / self.of)

    def chance(self, on: date, at_least: int) -> float:
        """Return the chance that so many will have shown roots by a day. [0-1]"""
        return float(self._so_many(at_least)[self._place(on)])

    def day_of(self, share: float) -> tuple[date | None, date | None, date | None]:
        """Return the soonest, the middle and the latest day by which a share shows; None where none of the days given does.

        Parameters
        ----------
        share : float
            Of the cuttings of the batch. [0-1]
        """
        if not 0.0 <= share <= 1.0:
            raise ValueError(f"The share must lie in 0 to 1, not {share:g}.")
        chance = self._so_many(ceil(share * self.of - 1e-9))
        soonest, middle, latest = (self._first(chance >= end) for end in ENDS)
        return soonest, middle, latest

    @property
    def enough(self) -> date | None:
        """The first day after which less than one more cutting, in a batch under twenty a twentieth of it, is to be expected.

        None where none of the days given is.
        """
        return self._first(self.further < self._worth)

    def count_again(self, rest: float = REST) -> Recount | None:
        """Return the day by which a share of what is still to root should show.

        None where waiting is not worth it any more (`enough`), or where the days given do not reach so far.
        """
        if not 0.0 < rest < 1.0:
            raise ValueError(f"The rest must lie between 0 and 1, not {rest:g}.")
        more = self.expected - self.rooted_now
        in_all = more[-1] + self.further[-1]
        day = self._first(more >= rest * in_all) if in_all >= self._worth else None
        return Recount(day, three(self.share[:, self._place(day)])) if day else None

    def say(self) -> str:
        """Say it in a few sentences."""
        again, enough = self.count_again(), self.enough
        low, middle, high = self.never
        told = [self._so_far()]
        if again:
            told.append(again.says)
        elif enough is None:
            last = self._day(self.expected.size - 1)
            told.append(say("Too little warmth is ahead until {day}.", day=say_day(last)))
        if enough == self.first:
            told.append(say("Waiting longer adds {what}.", what=self._hardly()))
        elif enough:
            told.append(say("After {day} waiting adds {what}.", day=say_day(enough), what=self._hardly()))
        told.append(
            say(
                "{middle} % never root ({low} to {high} %).",
                middle=_percent(middle),
                low=_percent(low),
                high=_percent(high),
            )
        )
        return " ".join([*told, self._rests_on()])

    @property
    def _worth(self) -> float:
        return min(1.0, HARDLY * self.of)

    def _hardly(self) -> str:
        if HARDLY * self.of >= 1.0:
            return say("less than one of {count}", count=self.of)
        return say("hardly any of {count}", count=self.of)

    def _so_far(self) -> str:
        counts = [event for event in self.batch.events if isinstance(event, Count)]
        left = sum(event.rooted for event in self.batch.events if isinstance(event, Gone))
        more = say("{count} left with roots.", count=left) if left else ""
        if not counts:
            return more or say("Not counted yet.")
        last = counts[-1]
        had = say(
            "{rooted} of {of} looked at on {day} had roots.",
            rooted=last.rooted,
            of=last.of,
            day=say_day(last.on),
        )
        return f"{had} {more}".rstrip()

    def _rests_on(self) -> str:
        many = self.told.cuttings + self.told.others
        if not many:
            return say("This rests on the usual values of the species alone.")
        from_what = counted(many, "cutting")
        if self.told.others:
            from_what = say(
                "{cuttings}, {count} of them ‘{variety}’",
                cuttings=from_what,
                count=self.told.cuttings,
                variety=self.batch.variety,
            )
        return say(
            "Learnt from {what}; it rests on your counts by {own:.0f} %, on the usual days by {usual:.0f} %.",
            what=from_what,
            own=self.told.weight * 100,
            usual=100 - self.told.weight * 100,
        )

    def _so_many(self, at_least: int) -> Array:
        """Return the chance of so many by each day, shape (days,)."""
        more = at_least - self.rooted_now
        if more <= 0:
            return np.ones(self.expected.size)
        if more >= self.below.shape[1]:
            return np.zeros(self.expected.size)
        return np.asarray(1.0 - self.below[:, more - 1])

    def _first(self, reached: NDArray[np.bool_]) -> date | None:
        return self._day(int(np.argmax(reached))) if reached.any() else None

    def _day(self, place: int) -> date:
        return self.first + timedelta(days=place)

    def _place(self, on: date) -> int:
        place = (on - self.first).days
        if not 0 <= place < self.expected.size:
            last = say_day(self._day(self.expected.size - 1))
            raise ValueError(
                f"{say_day(on)} is not among the days ahead, {say_day(self.first)} to {last}. Ask for a day between."
            )
        return place


def look_ahead(batch: Batch, belief: Belief, told: Told, first: date, progress: ArrayLike) -> Ahead:
    """Return what is to be expected of a batch; see `Rooting.ahead`.

    Notes
    -----
    Who waits roots by a day with ``h = (1 - q)(F_day - F_seen) / (q (1 - D) + (1 - q)(1 - F_seen))``; how many, with a
    binomial mixed over all that is believed and over the courses of the weather.
    """
    courses = _courses(batch, progress)
    waiting, of = batch.waiting, batch.struck - batch.course.bare
    if not of:
        raise ValueError(
            f"Batch {batch.name}: all {batch.struck} left without roots; nothing is ahead of them."
        )
    chance = _chances(batch, belief, courses)
    mean = chance.mean(axis=1)
    below = np.cumsum(_spread_out(chance) @ _binomials(waiting), axis=1)
    below /= below[:, -1:]
    low, middle, high = ((below[-1] < end).sum() for end in ENDS)
    return Ahead(
        batch,
        told,
        first,
        of,
        below[:-1],
        batch.rooted + waiting * mean[:-1],
        np.maximum(waiting * (mean[-1] - mean[:-1]), 0.0),
        three(1.0 - (batch.rooted + np.array([high, middle, low])) / of),
    )


def _courses(batch: Batch, progress: ArrayLike) -> Array:
    """Return progress as (courses, days), looked over."""
    given = np.atleast_2d(number(progress, "Progress", 0.0))
    where = f"Batch {batch.name}: progress"
    if given.ndim != 2 or not given.size:
        raise ValueError(
            f"{where} must be (days,) or (courses, days), at least one day, not {np.shape(progress)}."
        )
    if np.isnan(given).any() or np.any(np.diff(given, axis=1) < 0.0):
        raise ValueError(f"{where} must be known for every day and never fall: it counts from striking on.")
    if np.any(given[:, 0] < batch.course.progress - 1e-9):
        raise ValueError(
            f"{where} begins at {given[:, 0].min():g}, but {batch.course.progress:g} was reached at the last count. "
            "Give it from striking on, not from the count."
        )
    return given


def _chances(batch: Batch, belief: Belief, courses: Array) -> Array:
    """Return the chance of one that waits to root by each day and, last, ever; shape (days + 1, places).

    Places go round the courses of the weather, so that each course meets the whole of what is believed.
    """
    seen, lifted, count = batch.course, batch.course.lifted, len(courses)
    many = count * max(PLACES // count, LEAST_PLACES)
    spreads, days, shares = np.unravel_index(_evenly(belief.weight.ravel(), many), belief.weight.shape)
    spread, log_days, never = belief.spread[spreads], belief.log_days[days], belief.never[shares]
    at = came_by(courses[np.arange(many) % count].T, spread, log_days)
    at = np.concatenate((at, np.ones((1, many))))
    before = came_by(seen.seen, spread, log_days)
    rate = (1.0 - never) / (1.0 - (1.0 - never) * before)
    if seen.dead:
        rate = _rate_of_the_living(seen, never, before)
    chance = rate * (at - before)
    if lifted and batch.waiting:  # those lifted without roots were seen later than the others
        part, later = lifted.bare / batch.waiting, came_by(lifted.progress, spread, log_days)
        since = (at - later) * (1.0 - never) / (1.0 - (1.0 - never) * later)
        chance = part * since + (1.0 - part) * chance
    return np.asarray(np.clip(chance, 0.0, 1.0))


def _rate_of_the_living(seen: Course, never: Array, before: Array) -> Array:
    """Return (1 - q) over the chance to be alive without roots, for one of the shares that may have died at each place.

    The shares that may have died are gone through evenly by weight, in an order that has nothing to do with the places'.
    """
    died = DIED[:, np.newaxis]
    waits = never * (1.0 - died) + (1.0 - never) * (1.0 - before)
    log_weight = seen.dead * np.log(died) + seen.waiting * np.log(waits)
    below = np.cumsum(np.exp(log_weight - log_weight.max(axis=0)), axis=0)
    step = (np.arange(never.size) * GOLDEN) % 1.0
    chosen = (below < step * below[-1]).sum(axis=0)
    return np.asarray((1.0 - never) / waits[chosen, np.arange(never.size)])


def _evenly(weight: Array, many: int) -> NDArray[np.int64]:
    """Return so many places, each as often as it weighs."""
    so_far = np.cumsum(weight)
    return np.asarray(np.searchsorted(so_far, (np.arange(many) + 0.5) / many * so_far[-1]))


def _spread_out(chance: Array) -> Array:
    """Return how much weighs on each of `CHANCES`, each chance shared between its two neighbours so that the mean stays."""
    above = np.clip(np.searchsorted(CHANCES, chance), 1, CHANCES.size - 1)
    part = ((chance - CHANCES[above - 1]) / (CHANCES[above] - CHANCES[above - 1])).ravel()
    at = (above + CHANCES.size * np.arange(chance.shape[0])[:, np.newaxis]).ravel()
    whole = chance.shape[0] * CHANCES.size
    weight = np.bincount(at - 1, 1.0 - part, whole) + np.bincount(at, part, whole)
    return np.asarray(weight.reshape(chance.shape[0], -1) / chance.shape[1])


def _binomials(n: int) -> Array:
    """Return the chance of 0 to n out of n, for each of `CHANCES`: shape (chances, n + 1)."""
    k = np.arange(n + 1)
    log_factorial = np.append(0.0, np.cumsum(np.log(np.arange(1, n + 1))))
    log_ways = log_factorial[n] - log_factorial - log_factorial[::-1]
    inner = CHANCES[1:-1, np.newaxis]
    middle = np.exp(log_ways + k * np.log(inner) + (n - k) * np.log1p(-inner))
    return np.asarray(np.vstack((k == 0, middle, k == n)).astype(np.float64))


def _percent(share: float) -> str:
    """Return a share in hundredths."""
    return f"{100.0 * share:.0f}"
