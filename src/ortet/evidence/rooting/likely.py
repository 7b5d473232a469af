"""How well a pace, a spread and a share that never roots agree with what was counted of a batch."""

from __future__ import annotations

from math import inf

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.evidence.rooting.counts import Course, Sample
from ortet.science.thermal_time import share_done

__all__ = ["DIED", "came_by", "log_likely"]

Array = NDArray[np.float64]

STRAY = 0.005  # so many go astray: a label misread, a root that was bark [our choice]
STRAY_SPREAD = 1.0  # they come at any time about the usual, this far apart on the log scale [our choice]
LEAST = 1e-9
# how many of those that never root have died by now: nothing is known of it beforehand, so 0 to 1 alike [our choice]
DIED = (np.arange(128) + 0.5) / 128.0


def came_by(progress: ArrayLike, spread: ArrayLike, log_days: ArrayLike) -> Array:
    """Return the share, of those that ever root, that has rooted.

    Parameters
    ----------
    progress : array_like
        Thermal time over the usual median need. [-]
    spread : array_like, broadcasts with progress
        Standard deviation of the natural log of a cutting's time. [-]
    log_days : array_like, broadcasts with progress
        Natural log of the days over the usual days. [-]

    Returns
    -------
    ndarray, the broadcast shape
        ``F = (1 - STRAY) Phi((ln x - b) / spread) + STRAY Phi(ln x / STRAY_SPREAD)``. [0-1]
    """
    at = np.asarray(progress, dtype=np.float64)
    own = share_done(at * np.exp(-np.asarray(log_days)), spread)
    return np.asarray((1.0 - STRAY) * own + STRAY * share_done(at, STRAY_SPREAD))


def log_likely(course: Course, spread: Array, log_days: Array, never: Array) -> Array:
    """Return the log likelihood of a batch's counts.

    Parameters
    ----------
    course : Course
        What the counts say.
    spread : ndarray, shape (spreads,)
        As in `came_by`. [-]
    log_days : ndarray, shape (days,)
        As in `came_by`. [-]
    never : ndarray, shape (shares,)
        Share that never roots. [0-1, ends left out]

    Returns
    -------
    ndarray, shape (spreads, days, shares)

    Notes
    -----
    Of those that rooted between two counts each gives ``(1 - q) (F_by - F_after)``; who had not when last seen,
    ``1 - (1 - q) F``; who died without roots, ``q D``, D the share of those that never root that has died by now. Where
    any died, D is summed out and who waits gives ``q (1 - D) + (1 - q)(1 - F)``; else D is 0. Timing of deaths does not
    enter. A part lifted gives a binomial, given the counts of the whole before and after it.
    """
    marks = sorted(
        {one.after for one in course.intervals}
        | {one.by for one in course.intervals if one.by < inf}
        | {course.seen}
        | {at for one in course.samples for at in (one.progress, one.after, one.by) if at < inf}
    )
    at = np.array(marks)[:, np.newaxis, np.newaxis]
    done = dict(zip(marks, came_by(at, spread[:, np.newaxis], log_days), strict=True))
    first = np.zeros((spread.size, log_days.size))
    out = np.zeros((spread.size, log_days.size, never.size))
    for one in course.intervals:
        if one.by < inf:
            first += one.cuttings * np.log(np.maximum(done[one.by] - done[one.after], LEAST))
        else:
            out += one.cuttings * _still(done[one.after], never)
    out += first[..., np.newaxis] + course.rooted * np.log1p(-never)
    if course.dead:
        out += _died(course, done[course.seen], never)
    elif course.waiting:
        out += course.waiting * _still(done[course.seen], never)
    for sample in course.samples:
        share = _lifted(sample, done, never)
        out += sample.rooted * np.log(share) + (sample.of - sample.rooted) * np.log1p(-share)
    return out


def _still(done: Array, never: Array) -> Array:
    """Return the log of the share that has not rooted."""
    return np.asarray(np.log1p(-done[..., np.newaxis] * (1.0 - never)))


def _died(course: Course, done: Array, never: Array) -> Array:
    """Return the log likelihood of those that died and those that wait, over all shares that may have died by now.

    With A = 1 - (1 - q) F the sum over D of ``(q D)^dead (A - q D)^waiting`` is ``q^dead A^waiting g(q / A)``, and g
    is reckoned at a few hundred places only.
    """
    still = _still(done, never)
    ratio = np.log(never) - still  # of a logarithm: q / A
    places = np.linspace(ratio.min(), 0.0, 400)
    inner = course.dead * np.log(DIED) + course.waiting * np.log1p(-np.exp(places)[:, np.newaxis] * DIED)
    top = inner.max(axis=1)
    log_g = top + np.log(np.exp(inner - top[:, np.newaxis]).mean(axis=1))
    return np.asarray(course.dead * np.log(never) + course.waiting * still + np.interp(ratio, places, log_g))


def _lifted(sample: Sample, done: dict[float, Array], never: Array) -> Array:
    """Return the chance that a cutting lifted shows a root."""
    now, before = done[sample.progress], done[sample.after]
    if sample.by < inf:
        between = np.maximum(done[sample.by] - before, LEAST)
        share = sample.known + sample.came * np.minimum((now - before + LEAST) / between, 1.0)
        share = np.broadcast_to(share[..., np.newaxis], (*share.shape, never.size))
    else:
        fresh = (1.0 - never) * (now - before)[..., np.newaxis]
        share = sample.known + sample.waiting * fresh / (1.0 - (1.0 - never) * before[..., np.newaxis])
    return np.asarray(np.clip(share, LEAST, 1.0 - LEAST))
