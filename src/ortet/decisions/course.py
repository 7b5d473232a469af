"""The temperatures that wood met and will meet: one course for each distinct sequence of places.

Bags that stood in the same places at the same hours share a course; nothing is copied per bag.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, floor

import numpy as np
from numpy.typing import NDArray

from ortet.science import bag, climate, rot
from ortet.science.air import saturation_vapour_pressure
from ortet.wood.holding import Climate, Stay
from ortet.wood.speech import say

__all__ = ["PATTERN_H", "Air", "Courses", "course_key", "lay_courses", "place_air"]

Array = NDArray[np.float64]

PATTERN_H = 14 * 24  # the store goes on like its last fourteen recorded days [h]
STORE_C, STORE_HUMIDITY = 3.0, 0.80  # a store without a record: 2 to 4 °C, 80 % [common practice]
BENCH_C, BENCH_HUMIDITY = 8.0, 0.65  # bare wood without a record: a cool shed [common practice]

Key = tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Air:
    """The air of one place over the hours asked, and the fourteen days that the future repeats."""

    air_c: Array  # (hours,) [°C]
    humidity: Array  # (hours,) [0-1]
    was_gap: NDArray[np.bool_]  # (hours,)
    pattern_c: Array  # (PATTERN_H,)
    pattern_humidity: Array  # (PATTERN_H,)
    last_recorded: int | None  # hour after the last recorded temperature [h since 1970]
    missing: int = 0  # hours without a temperature in the fourteen days before that [h]
    assumed: str = ""  # what was assumed for want of a record


def _no_record(place: str, *, bare: bool = False) -> str:
    """Say what is assumed of a place of which no temperature is recorded."""
    if bare:
        return say(
            "No temperature of {place} is recorded: {usual_c:g} °C is assumed, as in a cool shed, at {humidity:.0f} % humidity.",
            place=place,
            usual_c=BENCH_C,
            humidity=BENCH_HUMIDITY * 100,
        )
    return say(
        "No temperature of {place} is recorded: 2 to 4 °C is assumed, at {humidity:.0f} % humidity.",
        place=place,
        humidity=STORE_HUMIDITY * 100,
    )


def place_air(found: Climate | None, place: str, first: int, hours: int, *, bare: bool = False) -> Air:
    """Return the air of a place from an hour on, gaps filled and counted; assumed where nothing was recorded."""
    usual_c, usual_h = (BENCH_C, BENCH_HUMIDITY) if bare else (STORE_C, STORE_HUMIDITY)
    known = np.flatnonzero(np.isfinite(found.air_c)) if found is not None else np.empty(0, dtype=np.int64)
    if found is None or not known.size:
        return Air(
            np.full(hours, usual_c),
            np.full(hours, usual_h),
            np.ones(hours, dtype=np.bool_),
            np.full(PATTERN_H, usual_c),
            np.full(PATTERN_H, usual_h),
            None,
            0,
            _no_record(place, bare=bare),
        )
    end = found.first_hour + int(known[-1]) + 1
    start = min(first, max(end - PATTERN_H, found.first_hour + int(known[0])))
    stop = max(first + hours, end)
    air_c, was_gap = climate.fill_gaps(_laid(found.air_c, found.first_hour, start, stop))
    recorded = _laid(found.humidity, found.first_hour, start, stop)
    assumed = ""
    if np.isfinite(recorded).any():
        humidity = np.clip(climate.fill_gaps(recorded)[0], 0.0, 1.0)
    else:
        humidity = np.full(stop - start, usual_h)
        assumed = say(
            "No humidity of {place} is recorded: {humidity:.0f} % is assumed.",
            place=place,
            humidity=usual_h * 100,
        )
    asked = slice(first - start, first - start + hours)
    days = min(PATTERN_H, end - start) // 24 * 24 or min(24, end - start)
    last = slice(end - start - days, end - start)
    return Air(
        air_c[asked],
        humidity[asked],
        was_gap[asked],
        np.resize(air_c[last], PATTERN_H),
        np.resize(humidity[last], PATTERN_H),
        end,
        int(was_gap[last].sum()),
        assumed,
    )


def _laid(values: Array, first: int, start: int, stop: int) -> Array:
    """Return a record laid on the hours from start to stop, NaN where it has none."""
    out = np.full(stop - start, np.nan)
    low, high = max(first, start), min(first + len(values), stop)
    if low < high:
        out[low - start : high - start] = values[low - first : high - first]
    return out


def course_key(stays: Sequence[Stay], closed_at: float) -> Key:
    """Return the places of a bag since it was closed, each with its first hour; 0 for the place it was closed in."""
    key: list[tuple[str, int]] = []
    for stay in stays:
        if stay.since <= closed_at or not key:
            key = [(stay.place, 0)]
        elif stay.place != key[-1][0]:
            key.append((stay.place, floor(stay.since)))
    return tuple(key)


@dataclass(slots=True)
class Courses:
    """All courses side by side; hours first, then courses."""

    keys: list[Key]
    first: int  # [h since 1970]
    air_c: Array  # (hours, courses)
    wood_c: Array
    outside_pa: Array
    filled: NDArray[np.int64]  # (hours + 1, courses): hours filled so far
    strange: NDArray[np.int64]  # (hours + 1, courses): hours so far in which the bag's model does not hold
    wet_spell: (
        Array  # (hours, courses): hours in which dew can fall where wood touches film, since four dry hours
    )
    pattern_air_c: Array  # (PATTERN_H, courses)
    pattern_wood_c: Array
    pattern_outside_pa: Array
    assumed: list[str] = field(default_factory=list)
    last_recorded: list[int | None] = field(default_factory=list)
    missing: list[int] = field(default_factory=list)  # hours of each one's last fourteen recorded days

    @property
    def hours(self) -> int:
        """Hours from first to now."""
        return len(self.air_c)

    def index(self, hour: float) -> int:
        """Return the row of an hour, held to the ends."""
        return min(max(floor(hour) - self.first, 0), self.hours)

    def limit_hours(self) -> Array:
        """Return for each course the hours of wetness in which grey mould germinates at its store's mean."""
        return rot.germination_hours(np.clip(self.pattern_air_c.mean(0), 0.0, 6.0))


def lay_courses(
    keys: Sequence[Key], bare: Sequence[bool], climates: Mapping[str, Climate], first: float, now: float
) -> Courses:
    """Lay the places' records along each course, from an hour on until now."""
    start = floor(first)
    hours = max(ceil(now) - start, 1)
    places = {
        (place, is_bare): place_air(climates.get(place), place, start, hours, bare=is_bare)
        for key, is_bare in zip(keys, bare, strict=True)
        for place, _ in key
    }
    shape = (hours, len(keys))
    air_c, humidity, gaps = np.empty(shape), np.empty(shape), np.empty(shape, dtype=np.bool_)
    for column, (key, is_bare) in enumerate(zip(keys, bare, strict=True)):
        for place, since in key:
            rows = slice(min(max(since - start, 0), hours), None)
            air = places[place, is_bare]
            air_c[rows, column], humidity[rows, column] = air.air_c[rows], air.humidity[rows]
            gaps[rows, column] = air.was_gap[rows]
    last = [places[key[-1][0], is_bare] for key, is_bare in zip(keys, bare, strict=True)]
    pattern_c = np.stack([air.pattern_c for air in last], axis=1)
    pattern_humidity = np.stack([air.pattern_humidity for air in last], axis=1)
    # the pattern repeats, so its wood starts as it ends
    pattern_wood = bag.wood_temperature(np.concatenate([pattern_c, pattern_c]))[PATTERN_H:]
    wood_c = bag.wood_temperature(air_c)
    dew = bag.ACTIVITY * saturation_vapour_pressure(wood_c) > saturation_vapour_pressure(air_c)
    return Courses(
        list(keys),
        start,
        air_c,
        wood_c,
        humidity * saturation_vapour_pressure(air_c),
        _so_far(gaps),
        _so_far(~bag.applies(wood_c)),
        _spells(dew),
        pattern_c,
        pattern_wood,
        pattern_humidity * saturation_vapour_pressure(pattern_c),
        [
            " ".join(
                dict.fromkeys(
                    places[place, is_bare].assumed for place, _ in key if places[place, is_bare].assumed
                )
            )
            for key, is_bare in zip(keys, bare, strict=True)
        ],
        [air.last_recorded for air in last],
        [air.missing for air in last],
    )


def _so_far(flags: NDArray[np.bool_]) -> NDArray[np.int64]:
    return np.concatenate([np.zeros((1, flags.shape[1]), dtype=np.int64), np.cumsum(flags, axis=0)])


def _spells(wet: NDArray[np.bool_]) -> Array:
    """Return for each hour the wet hours since the last four dry hours on end."""
    hour = np.arange(len(wet))[:, np.newaxis]
    total = np.cumsum(wet, axis=0, dtype=np.float64)
    last_wet = np.maximum.accumulate(np.where(wet, hour, -int(bag.DRY_HOURS)), axis=0)
    forgotten = np.maximum.accumulate(np.where(hour - last_wet >= bag.DRY_HOURS, total, 0.0), axis=0)
    return np.asarray(total - forgotten)
