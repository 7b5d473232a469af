"""Many hours of a bag at once: what bag.advance gives hour by hour, in a few operations on whole days.

Arithmetic and units are those of bag.py; docs/science/bag.md tells it equation by equation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ortet.science.bag import DRY_HOURS, Water, advance, flows, in_series

__all__ = ["Packing", "Reads", "Span", "advance_hours"]

Array = NDArray[np.float64]
Which = NDArray[np.int64]


@dataclass(slots=True)
class Span:
    """Hours of air that bags went through, hours first, then courses. [Pa]"""

    over_wood: Array  # vapour pressure over the wood: activity times saturation
    at_film: Array  # saturation at the film's temperature
    outside: Array
    over_water: Array  # saturation at the wood's temperature: over wet packing
    lasts: Array | None = None  # how much of each hour counts; all of it unless given [h]


@dataclass(frozen=True, slots=True)
class Packing:
    """What gives water in the wood's place, while it holds any; arrays of shape (bags,)."""

    conductance: Array  # [g h-1 Pa-1]
    soaked: NDArray[np.bool_]  # gives like open water; else it is as humid as the wood


@dataclass(frozen=True, slots=True)
class Reads:
    """Hours at the beginning of which bags were weighed; arrays of shape (weighings,)."""

    bag: Which
    hour: Which


@dataclass(slots=True)
class _Run:
    """Bags at the end of a span: the water their wood or packing gave, and when they were wet."""

    free: Array
    drawn: Array
    share: Array  # (hours, bags) of each hour in which the film was wet


def advance_hours(
    water: Water,
    bark: Array,
    leak: Array,
    span: Span,
    course: Which,
    which: Which,
    packing: Packing | None = None,
    reads: Reads | None = None,
) -> Array:
    """Carry some bags through many hours, in place: what `advance` gives hour by hour, at once.

    Parameters
    ----------
    water : Water
        Arrays of shape (bags,), changed in place. Dry hours come out whole, and beyond four not counted on.
    bark, leak : ndarray, shape (bags,)
        Conductance of bark, and of film and closure; above 0. [g h-1 Pa-1]
    span : Span
        Arrays of shape (hours, courses).
    course : ndarray of int, shape (bags,)
        Which course each bag went through.
    which : ndarray of int
        The bags to carry, in order.
    packing : Packing, optional
        Needed where a bag's packing holds water.
    reads : Reads, optional
        When bags were weighed.

    Returns
    -------
    ndarray, shape (weighings,)
        Water that had left the bag from the beginning until it was weighed. [g]

    Notes
    -----
    Where the film is dry and no hour can wet it, wood loses by the sum of the pressures. Elsewhere the film holds
    ``f(t) = max(f(t-1) + onto, 0)`` after each hour and was wet for the share ``(f(t) - f(t-1)) / onto`` of it; the rest
    are sums over the hours. Hours are taken one by one only where packing runs out in them, or where a film that
    was wet from the start would give wood more than it lost.
    """
    left = np.zeros(0 if reads is None else len(reads.bag))
    lift, pull = span.over_wood - span.at_film, span.at_film - span.outside
    with np.errstate(divide="ignore", invalid="ignore"):  # source over leak from which a dry film becomes wet
        wets = np.where(pull <= 0, 0.0, np.where(lift > 0, pull / lift, np.inf)).min(0)
    going_out = (lift + pull).min(0) >= 0
    wets = np.where(going_out, wets, 0.0)
    rise = span.over_water - span.at_film
    if span.lasts is not None:
        lift, pull, rise = (pressure * span.lasts for pressure in (lift, pull, rise))
    dry = (bark < wets[course] * leak) & (water.free == 0)
    moist = water.held > 0 if packing is not None else np.zeros(len(dry), dtype=np.bool_)
    quiet = which[(dry & ~moist)[which]]
    if quiet.size:
        hours = np.full(lift.shape[1], float(len(lift))) if span.lasts is None else span.lasts.sum(0)
        met = course[quiet]
        if reads is not None:
            here = np.flatnonzero((dry & ~moist)[reads.bag])
            bag = reads.bag[here]
            so_far = np.concatenate([np.zeros((1, lift.shape[1])), np.cumsum(lift + pull, axis=0)])
            left[here] = in_series(bark[bag], leak[bag]) * so_far[reads.hour[here], course[bag]]
        water.lost[quiet] += in_series(bark[quiet], leak[quiet]) * (lift + pull).sum(0)[met]
        water.dry[quiet] += hours[met]
        water.spell[quiet] *= water.dry[quiet] < DRY_HOURS
    kinds = [(which[(~(dry | moist))[which]], lift, bark, False)]
    if packing is not None:
        for soaked, over in ((True, rise), (False, lift)):
            mine = which[(moist & (packing.soaked == soaked))[which]]
            kinds.append((mine, over, packing.conductance, True))
    slow = []
    for at, over, source, packed in kinds:
        if at.size:
            gives, passes, met = source[at], leak[at], course[at]
            run = _run(water.free[at], gives, passes, over, pull, met)
            _read(left, reads, at, run.share, over, pull, gives, passes, met)
            lost, free = water.lost[at], water.free[at]
            if packed:
                sure = _lowest(run, water.held[at], -1.0, gives, passes, over, pull, met) > 0
            else:  # what lies free came from the wood, or wood may be offered more than it lost
                sure = (lost - free >= -1e-12) & going_out[met]
                if not sure.all():
                    sure |= _lowest(run, lost, 1.0, gives, passes, over, pull, met) >= 0
            if not sure.all():
                slow.append((at[~sure], _taken(water, at[~sure])))
            if packed:
                water.held[at] -= run.drawn
            else:
                water.lost[at] = np.maximum(lost + run.drawn, 0.0)
            water.free[at] = run.free
            water.spell[at], water.dry[at] = _spells(
                run.share, span.lasts, met, water.spell[at], water.dry[at]
            )
    for at, was in slow:
        _hour_by_hour(water, was, left, at, bark, leak, span, course, packing, reads)
    return left


def _taken(water: Water, at: Which) -> Water:
    return Water(water.lost[at], water.free[at], water.held[at], water.spell[at], water.dry[at])


def _run(free: Array, source: Array, leak: Array, lift: Array, pull: Array, course: Which) -> _Run:
    """Carry bags whose film is wet in some of the hours; flows are reckoned for a source of 1 g h-1 Pa-1."""
    ratio, joint = leak / source, in_series(source, leak)
    rises = lift[:, course]
    onto = pull[:, course]
    np.multiply(onto, ratio, out=onto)
    np.subtract(rises, onto, out=onto)
    film = np.empty((len(lift) + 1, len(free)))
    before = film[0]
    np.divide(free, source, out=before)
    for gain, after in zip(onto, film[1:], strict=True):
        np.add(before, gain, out=after)
        np.maximum(after, 0.0, out=after)
        before = after
    share = film[1:] - film[:-1]
    with np.errstate(divide="ignore", invalid="ignore"):
        np.divide(share, onto, out=share)
    lifted = np.einsum("tn,tn->n", share, rises)
    if (void := np.flatnonzero(np.isnan(lifted))).size:  # hours that do not count: nothing over nothing
        whole = share[:, void]
        whole[np.isnan(whole)] = 0.0
        share[:, void] = whole
        lifted[void] = np.einsum("tn,tn->n", whole, rises[:, void])
    pulled = (lifted - (before - film[0])) / ratio  # what the film gained is what was lifted less what leaked
    drive = (lift.sum(0) + pull.sum(0))[course]
    drawn = joint * (drive - lifted - pulled) + source * lifted
    return _Run(before * source, drawn, share)


def _lowest(
    run: _Run, start: Array, sign: float, source: Array, leak: Array, lift: Array, pull: Array, course: Which
) -> Array:
    """Return the least that the wood has lost, or its packing held, after any of the hours."""
    up = lift[:, course]
    each = in_series(source, leak) * (1.0 - run.share) * (up + pull[:, course]) + source * run.share * up
    return np.asarray((start + sign * np.cumsum(each, axis=0)).min(0))


def _read(
    left: Array,
    reads: Reads | None,
    at: Which,
    share: Array,
    lift: Array,
    pull: Array,
    source: Array,
    leak: Array,
    course: Which,
) -> None:
    """Write what had left those of the bags that were weighed, until they were."""
    if reads is None:
        return
    place = np.minimum(np.searchsorted(at, reads.bag), len(at) - 1)
    here = np.flatnonzero(at[place] == reads.bag)
    n = place[here]
    wet, out = share[:, n], pull[:, course[n]]
    dry = in_series(source[n], leak[n]) * (lift[:, course[n]] + out)
    before = np.arange(len(lift))[:, np.newaxis] < reads.hour[here]
    left[here] = (before * ((1.0 - wet) * dry + wet * leak[n] * out)).sum(0)


def _spells(
    share: Array, lasts: Array | None, course: Which, spell: Array, dry: Array
) -> tuple[Array, Array]:
    """Return spells and whole dry hours on end, after hours that were wet for a share."""
    hours, four = len(share), int(DRY_HOURS)
    before = np.minimum(dry, four - 1).astype(np.int64)
    bits = np.left_shift(1, np.arange(hours)[::-1]).astype(np.float64)
    today = np.einsum("t,tn->n", bits, (share <= 0).astype(np.float64)).astype(np.int64)
    still = (np.left_shift(1, before) - 1 << hours) | today  # one bit an hour, the last hour lowest: all dry
    ends = still & still >> 1 & still >> 2 & still >> 3  # four dry hours up to here: there a spell has ended
    since = np.minimum(_lowest_bit(~still), four).astype(np.float64)
    out = np.where(ends == 0, spell + share.sum(0), 0.0)
    at = np.flatnonzero((ends != 0) & (ends & 1 == 0))
    if at.size:
        after = np.arange(hours)[:, np.newaxis] >= hours - _lowest_bit(ends[at])
        out[at] = (share[:, at] * after).sum(0)
    if lasts is not None and (cut := np.flatnonzero((lasts.min(0) < 1.0)[course])).size:
        out[cut], since[cut] = _cut_spells(share[:, cut], lasts[:, course[cut]], spell[cut], dry[cut])
    return out, since


def _lowest_bit(bits: Which) -> Which:
    """Return the place of the lowest bit that is set."""
    return np.asarray(np.frexp((bits & -bits).astype(np.float64))[1] - 1, dtype=np.int64)


def _cut_spells(share: Array, lasts: Array, spell: Array, dry: Array) -> tuple[Array, Array]:
    """Return spells and dry hours where hours count in part only."""
    wet = share * lasts
    so_far = dry + np.cumsum(lasts - wet, axis=0)
    earlier = np.concatenate([dry[np.newaxis], so_far[:-1]])
    so_far -= np.maximum.accumulate(np.where(wet > 0, earlier, 0.0), axis=0)
    total = spell + np.cumsum(wet, axis=0)
    return total[-1] - np.where(so_far >= DRY_HOURS, total, 0.0).max(0), np.maximum(so_far[-1], 0.0)


def _hour_by_hour(
    water: Water,
    now: Water,
    left: Array,
    at: Which,
    bark: Array,
    leak: Array,
    span: Span,
    course: Which,
    packing: Packing | None,
    reads: Reads | None,
) -> None:
    """Take the hours of a few bags one by one from what they are now."""
    there = now.lost - now.free - now.held
    mine = course[at]
    place = {int(bag): n for n, bag in enumerate(at)}
    weighed = [] if reads is None else [n for n, bag in enumerate(reads.bag) if int(bag) in place]
    for hour in range(len(span.outside)):
        for n in weighed:
            if reads is not None and reads.hour[n] == hour:
                m = place[int(reads.bag[n])]
                left[n] = now.lost[m] - now.free[m] - now.held[m] - there[m]
        over_wood, at_film, outside, over_water = (
            a[hour][mine] for a in (span.over_wood, span.at_film, span.outside, span.over_water)
        )
        packed = None
        if packing is not None and now.held.any():
            over = np.where(packing.soaked[at], over_water, over_wood)
            packed = flows(packing.conductance[at], leak[at], over, at_film, outside)
        step = 1.0 if span.lasts is None else span.lasts[hour][mine]
        now = advance(now, flows(bark[at], leak[at], over_wood, at_film, outside), packed, step)
    water.lost[at], water.free[at], water.held[at] = now.lost, now.free, now.held
    water.spell[at], water.dry[at] = now.spell, now.dry
