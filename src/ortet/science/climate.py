"""Hourly records: means by the hour, gaps filled in the open, hours made from a day's lowest and highest.

Time is Unix seconds in UTC; hour number n covers seconds 3600 n to 3600 n + 3599.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ortet.science.checked import number

__all__ = [
    "add_up",
    "day_length",
    "fill_gaps",
    "hourly",
    "hourly_means",
    "hours_from_daily",
    "looks_fahrenheit",
]

LOWEST_C, HIGHEST_C = -90.0, 70.0  # air has been -89.2 and 56.7 °C; a logger in the sun reads more
STRAIGHT_HOURS = 3


def hourly(air_c: ArrayLike) -> NDArray[np.float64]:
    """Return temperatures as floats whose last axis is hours; refuse what cannot be a temperature in °C.

    Parameters
    ----------
    air_c : array_like, shape (..., hours), or a scalar for one hour
        Temperature, NaN for a gap. [°C]

    Returns
    -------
    ndarray, shape (..., hours)

    Raises
    ------
    ValueError
        If a temperature is below -90 or above 70, or infinite. So a record in °F is refused once it passes 70 °F;
        `looks_fahrenheit` notices milder ones.
    """
    t = np.atleast_1d(number(air_c, "Temperature", endless=True, unit="°C"))
    outside = (t < LOWEST_C) | (t > HIGHEST_C)
    if np.any(outside):
        where = np.argwhere(outside)[0]
        raise ValueError(
            f"Hour {where[-1]}: {t[tuple(where)]:g} is no air temperature in °C. Check the record's unit: was °F meant?"
        )
    return t


def add_up(per_hour: NDArray[np.float64] | NDArray[np.bool_], running: bool) -> NDArray[np.float64]:
    """Return the total over hours, or with `running` the total after each hour."""
    if running:
        return np.asarray(np.cumsum(per_hour, axis=-1, dtype=np.float64))
    return np.asarray(np.sum(per_hour, axis=-1, dtype=np.float64))


def hourly_means(at_s: ArrayLike, values: ArrayLike, first_hour: int, hours: int) -> NDArray[np.float64]:
    """Return the mean of a record's values in each hour.

    Parameters
    ----------
    at_s : array_like, shape (n,)
        When each value was taken, in any order: Unix time, UTC. [s]
    values : array_like, shape (n,)
        What was recorded; NaN is passed over. [any unit]
    first_hour : int
        Number of the first hour wanted: Unix seconds divided by 3,600, rounded down.
    hours : int
        How many hours are wanted.

    Returns
    -------
    ndarray, shape (hours,)
        Mean of the values that fell in each hour, NaN where none did. Values outside the hours wanted are left out.

    Raises
    ------
    ValueError
        If the two arrays differ in length, a time is no number, a value is infinite, or `hours` is negative.
    """
    when, value = number(at_s, "Time", unit="s").ravel(), number(values, "Value").ravel()
    if np.isnan(when).any():
        raise ValueError(
            f"Time at place {int(np.argmax(np.isnan(when)))} is missing: each value needs its time."
        )
    at = np.floor(when).astype(np.int64)
    if at.shape != value.shape:
        raise ValueError(f"{at.size} times but {value.size} values: each value needs its time.")
    if hours < 0:
        raise ValueError(f"Cannot make {hours} hours.")
    hour = at // 3600 - first_hour
    wanted = (hour >= 0) & (hour < hours) & np.isfinite(value)
    count = np.bincount(hour[wanted], minlength=hours)
    total = np.bincount(hour[wanted], weights=value[wanted], minlength=hours)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def fill_gaps(
    values: ArrayLike, *, straight: int = STRAIGHT_HOURS, longest: int | None = None
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Return an hourly record with its gaps filled, and which hours those were.

    A gap of up to `straight` hours between two recorded hours becomes a straight line. In a longer one each hour
    takes its value from the same hour of the day on the nearest recorded days: between the day before and the
    day after in proportion to how near they are, so midway it is their mean; at an end of the record the nearest
    day alone. Where that hour of the day was never recorded, the straight line serves.

    Parameters
    ----------
    values : array_like, shape (hours,)
        Hourly record, NaN in its gaps.
    straight : int
        Longest gap that a straight line may bridge. [h]
    longest : int, optional
        Leave a gap longer than this as NaN (it is still marked); by default every gap is filled. [h]

    Returns
    -------
    filled : ndarray, shape (hours,)
    was_gap : ndarray of bool, shape (hours,)
        True where nothing was recorded: say so wherever the filled record is used.

    Raises
    ------
    ValueError
        If the record is not one row of hours, holds no value at all, or holds an infinite one.
    """
    record = number(values, "Value")
    if record.ndim != 1:
        raise ValueError(f"fill_gaps takes one record at a time, shape (hours,), not {record.shape}.")
    was_gap = np.isnan(record)
    if not was_gap.any():
        return record.copy(), was_gap
    if was_gap.all():
        raise ValueError(f"None of the {record.size} hours has a value: there is nothing to fill them from.")
    hour = np.arange(record.size)
    line = np.interp(hour, hour[~was_gap], record[~was_gap])
    length, inner = _gap_lengths(was_gap)
    short = was_gap & inner & (length <= straight)
    filled = np.where(was_gap & ~short, _same_hour_of_day(record, line), line)
    if longest is not None:
        filled[length > longest] = np.nan
    return filled, was_gap


def _gap_lengths(was_gap: NDArray[np.bool_]) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Return for each hour the length of the gap it lies in (0 outside) and whether both sides were recorded."""
    edges = np.diff(np.concatenate(([False], was_gap, [False])).astype(np.int8))
    length, inner = np.zeros(was_gap.size, dtype=np.int64), np.zeros(was_gap.size, dtype=bool)
    for start, stop in zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1), strict=True):
        length[start:stop] = stop - start
        inner[start:stop] = start > 0 and stop < was_gap.size
    return length, inner


def _same_hour_of_day(record: NDArray[np.float64], otherwise: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return for each hour what the same hour of the day suggests on the nearest recorded days."""
    out = otherwise.copy()
    for start in range(min(24, record.size)):
        column = record[start::24]
        known = np.flatnonzero(~np.isnan(column))
        if known.size:
            out[start::24] = np.interp(np.arange(column.size), known, column[known])
    return out


def day_length(day_of_year: ArrayLike, latitude: float) -> NDArray[np.float64]:
    """Return the hours from sunrise to sunset.

    Parameters
    ----------
    day_of_year : array_like
        1 on 1 January. [d]
    latitude : float
        North positive. [degrees]

    Returns
    -------
    ndarray, same shape
        Day length; 0 in the polar night, 24 in the polar day. [h]

    Raises
    ------
    ValueError
        If the latitude lies outside -90 to 90 or is NaN, or a day outside 1 to 367 (to its end, in a leap year).

    References
    ----------
    Declination: Spencer 1971, Search 2:172; sun's upper edge at the horizon, with refraction, -0.8333 degrees, as in
    Almorox, Hontoria & Benito 2005. [published]
    """
    if not -90.0 <= latitude <= 90.0:
        raise ValueError(f"Latitude {latitude:g} is outside -90 to 90 degrees. South is negative.")
    year = 2.0 * np.pi * (number(day_of_year, "Day of the year", 1.0, 367.0) - 1.0) / 365.0
    declination = (
        0.006918
        - 0.399912 * np.cos(year)
        + 0.070257 * np.sin(year)
        - 0.006758 * np.cos(2 * year)
        + 0.000907 * np.sin(2 * year)
        - 0.002697 * np.cos(3 * year)
        + 0.00148 * np.sin(3 * year)
    )
    phi = np.radians(np.clip(latitude, -89.99, 89.99))
    rise = (np.sin(np.radians(-0.8333)) - np.sin(phi) * np.sin(declination)) / (
        np.cos(phi) * np.cos(declination)
    )
    return np.asarray(np.degrees(np.arccos(np.clip(rise, -1.0, 1.0))) * 2.0 / 15.0)


def hours_from_daily(
    low_c: ArrayLike, high_c: ArrayLike, day_of_year: ArrayLike, latitude: float
) -> NDArray[np.float64]:
    """Return hourly temperatures made from each day's lowest and highest.

    Parameters
    ----------
    low_c, high_c : array_like, shape (days,)
        Lowest and highest of each day, on consecutive days. [°C]
    day_of_year : array_like, shape (days,)
        1 on 1 January. [d]
    latitude : float
        North positive. [degrees]

    Returns
    -------
    ndarray, shape (days * 24,)
        Temperature at the middle of each hour of local solar time; NaN on a day whose low or high is missing, and in
        the half nights that border on it. [°C]

    Raises
    ------
    ValueError
        If the three differ in length, a low lies above its high, a temperature is none, or day or latitude is impossible.

    Notes
    -----
    From sunrise on ``T = low + (high - low) sin(pi t / (day + 4))``, t hours after sunrise; through the night
    ``T = Ts - (Ts - next low) ln(t) / ln(24 - day)``, t hours after sunset and 1 in the first of them, Ts the
    temperature at sunset. In the polar night and day the day is taken as 1 and 23 h long.

    References
    ----------
    Linvill 1990, HortScience 25:14-16; sine for the day with the peak 2 h after noon, logarithm for the night.
    [published]
    """
    low, high, day = (
        hourly(low_c).ravel(),
        hourly(high_c).ravel(),
        np.asarray(day_of_year, dtype=np.float64).ravel(),
    )
    if not low.size == high.size == day.size:
        raise ValueError(f"{low.size} lows, {high.size} highs and {day.size} days: they must be as many.")
    wrong = np.flatnonzero(low > high)
    if wrong.size:
        first = wrong[0]
        raise ValueError(f"Day {first + 1}: the low {low[first]:g} °C is above the high {high[first]:g} °C.")
    if not low.size:
        return np.empty(0)
    light = np.clip(day_length(day, latitude), 1.0, 23.0)
    sunset_c = low + (high - low) * np.sin(np.pi * light / (light + 4.0))
    # the night before the first day and after the last one borrow that day's own values
    before, after = np.r_[0, np.arange(low.size - 1)], np.r_[np.arange(1, low.size), low.size - 1]

    clock = (np.arange(24) + 0.5)[np.newaxis, :]
    rise, fall = 12.0 - light[:, np.newaxis] / 2, 12.0 + light[:, np.newaxis] / 2
    by_day = low[:, np.newaxis] + (high - low)[:, np.newaxis] * np.sin(
        np.pi * (clock - rise) / (light[:, np.newaxis] + 4.0)
    )
    evening = _night(clock - fall, sunset_c, low[after], light)
    morning = _night(clock + 24.0 - fall[before], sunset_c[before], low, light[before])
    return np.where(clock < rise, morning, np.where(clock > fall, evening, by_day)).ravel()


def _night(
    since_sunset: NDArray[np.float64],
    sunset_c: NDArray[np.float64],
    low_c: NDArray[np.float64],
    light: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return the logarithmic fall from sunset to the next low."""
    night = np.maximum(24.0 - light, 1.5)[:, np.newaxis]
    fallen = np.log(np.clip(since_sunset, 1.0, night)) / np.log(night)
    return np.asarray(sunset_c[:, np.newaxis] - (sunset_c - low_c)[:, np.newaxis] * fallen)


def looks_fahrenheit(values: ArrayLike) -> bool:
    """Tell whether a record said to be in °C reads more like °F; meant for a warning, never for a decision.

    Parameters
    ----------
    values : array_like
        A record. [°C, or so it says]

    Returns
    -------
    bool
        True if the median is 30 or above, or a tenth of the values exceed 45: a fridge at 2 °C reads 36 °F, and no
        store or winter stands at a median of 30 °C. A frosty record in °F, median below 30, is not noticed. [common
        practice]
    """
    known = np.asarray(values, dtype=np.float64)
    known = known[np.isfinite(known)]
    return bool(known.size) and bool(np.median(known) >= 30.0 or np.quantile(known, 0.9) > 45.0)
