"""The air of the demo season, hour by hour: outdoors, and in two fridges with what goes wrong in life."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from ortet.science.air import saturation_vapour_pressure

from .plants import ZONE

__all__ = ["BARN", "CELLAR", "NOW", "Record", "barn_fridge", "cellar_fridge", "hour_of", "local", "weather"]

CELLAR, BARN = "Cellar fridge", "Barn fridge"
WINTER_H = 1  # the zone's winter offset from UTC [h]
KNOCKED_H = 15 * 24 + 5  # so long the thermostat stood wrong [h]


def local(text: str) -> datetime:
    """Return the moment at which the nursery's clock showed this."""
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(ZONE))


def hour_of(text: str) -> int:
    """Return the hour since 1970 UTC in which the nursery's clock showed this."""
    return int(local(text).timestamp() // 3600)


NOW = local("2027-02-12 08:00").astimezone(UTC)  # the demo stands still here
NOW_HOUR = int(NOW.timestamp() // 3600)


@dataclass(frozen=True, slots=True)
class Record:
    """What was so, in even steps; `seen` says where a logger recorded it."""

    first_s: int  # Unix time of the first value [s]
    step_s: int
    air_c: np.ndarray  # [°C]
    humidity: np.ndarray  # [0-1]
    seen: np.ndarray

    def at(self, index: int) -> datetime:
        """Return the moment of a value, UTC."""
        return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=self.first_s + index * self.step_s)

    def hourly(self) -> tuple[np.ndarray, np.ndarray]:
        """Return hourly means of temperature and humidity, gaps of the logger included."""
        each = 3600 // self.step_s
        whole = len(self.air_c) // each * each
        air, damp = (values[:whole].reshape(-1, each).mean(axis=1) for values in (self.air_c, self.humidity))
        return air, damp


def _drift(rng: np.random.Generator, steps: int, memory: float, spread: float) -> np.ndarray:
    """Return noise that forgets itself over `memory` steps."""
    keep = np.exp(-1.0 / memory)
    pushes = rng.standard_normal(steps) * spread * np.sqrt(1 - keep**2)
    out, last = np.empty(steps), rng.standard_normal() * spread
    for i, push in enumerate(pushes):
        last = keep * last + push
        out[i] = last
    return out


def _since(hours: np.ndarray, start: str) -> np.ndarray:
    return hours - local(start).timestamp() / 3600


def _bump(hours: np.ndarray, start: str, lasts: float, rise: float, back: float) -> np.ndarray:
    """Return a warming that climbs towards `rise` while it lasts and falls back with a time constant. [K]"""
    after = _since(hours, start)
    climb = rise * (1 - np.exp(-np.clip(after, 0, lasts) / 1.0))
    fall = np.exp(-np.clip(after - lasts, 0, None) / back)
    return np.where(after > 0, climb * fall, 0.0)


def weather(seed: int) -> Record:
    """Return a cool temperate autumn and winter from 1 September to now: hourly, invented."""
    rng = np.random.default_rng([seed, 1])
    first = hour_of("2026-09-01 01:00")
    hours = np.arange(first, NOW_HOUR)
    day = (hours / 24 - datetime(2026, 1, 1, tzinfo=UTC).timestamp() / 86_400) % 365.25
    clock = (hours + WINTER_H) % 24
    season = np.cos(2 * np.pi * (day - 201) / 365.25)
    swing = (3.2 + 2.0 * season) * np.cos(2 * np.pi * (clock - 14.5) / 24)
    air = 8.6 + 9.4 * season + swing + _drift(rng, len(hours), 60, 3.0)
    damp = 0.86 - 0.05 * season - 0.028 * swing + _drift(rng, len(hours), 20, 0.05)
    return Record(first * 3600, 3600, air, np.clip(damp, 0.32, 1.0), np.ones(len(hours), bool))


def cellar_fridge(seed: int) -> Record:
    """Return an old fridge without a fan: even, damp, knocked warm over the holidays, once left ajar. Hourly."""
    rng = np.random.default_rng([seed, 2])
    first = hour_of("2026-10-26 08:00")
    hours = np.arange(first, NOW_HOUR)
    air = 2.6 + _drift(rng, len(hours), 30, 0.18) + 0.12 * np.sin(2 * np.pi * (hours % 24) / 24)
    after = _since(hours + 0.5, "2026-12-19 12:00")
    knocked = (after > 0) & (after < KNOCKED_H)  # the thermostat was pushed when the shelf was filled
    air += np.where(knocked, 8.2 * (1 - np.exp(-np.clip(after, 0, None) / 5)), 0.0)
    air += np.where(after >= KNOCKED_H, 8.2 * np.exp(-np.clip(after - KNOCKED_H, 0, None) / 4), 0.0)
    air += _bump(hours + 0.5, "2027-02-09 18:00", 4.0, 5.6, 1.2)  # the door, one evening
    damp = 0.86 - 0.012 * (air - 2.6) + _drift(rng, len(hours), 12, 0.02)
    return Record(first * 3600, 3600, air, np.clip(damp, 0.5, 0.98), np.ones(len(hours), bool))


def barn_fridge(seed: int) -> Record:
    """Return a frost-free fridge: drier, warmed every night to melt its ice; its logger's battery ran flat. 10 min."""
    rng = np.random.default_rng([seed, 3])
    first = hour_of("2026-10-26 08:00")
    steps = np.arange((NOW_HOUR - first) * 6)
    hours = first + (steps + 0.5) / 6
    air = 3.2 + _drift(rng, len(steps), 60, 0.15) + 0.35 * np.sin(2 * np.pi * steps / 5)  # the compressor
    since_melt = (hours + WINTER_H - 2.5) % 24  # half past two each night
    air += np.where(
        since_melt < 0.5, 7.0 * since_melt, 3.5 * np.exp(-np.clip(since_melt - 0.5, 0, None) / 0.5)
    )
    damp = 0.66 + 0.1 * (since_melt < 0.7) + _drift(rng, len(steps), 40, 0.03)
    flat = (hours > local("2027-01-30 21:40").timestamp() / 3600) & (
        hours < local("2027-02-03 16:20").timestamp() / 3600
    )
    return Record(first * 3600, 600, air, np.clip(damp, 0.35, 0.98), ~flat)


def vapour_pa(air_c: np.ndarray, humidity: np.ndarray) -> np.ndarray:
    """Return the vapour pressure of air. [Pa]"""
    return np.asarray(humidity * saturation_vapour_pressure(air_c))
