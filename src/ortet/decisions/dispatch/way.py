"""The way of a parcel: on which days the carrier moves, when it arrives, and the air around it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache
from math import isclose

import numpy as np
from numpy.typing import NDArray

from ortet.wood.speech import say, say_day, weekday

__all__ = ["Carrier", "Weather"]

Array = NDArray[np.float64]

SUNDAY = 6


@cache
def _holidays(country: str, subdivision: str, year: int) -> Mapping[date, str]:
    """Return the public holidays of a year with their names in English where there are such."""
    import holidays

    if country == "XI":  # Northern Ireland, by the letters under which it trades with the Union
        country, subdivision = "GB", "NIR"
    try:
        found = holidays.country_holidays(country, subdiv=subdivision or None, years=year)
    except NotImplementedError:
        where = f"{country} {subdivision}".strip()
        raise ValueError(
            say(
                "No calendar of public holidays for {where!r}. Give a country by its two letters (ISO 3166-1), and a "
                "subdivision by the end of its ISO 3166-2 code, or none.",
                where=where,
            )
        ) from None
    return dict(found)


@dataclass(frozen=True)
class Carrier:
    """How parcels go. Nothing moves on Sundays and on public holidays of either end."""

    transit: Mapping[int, float]  # working days from posting to arrival: probability
    country: str = ""  # of the sender, ISO 3166-1; nothing: no holidays
    subdivision: str = ""  # end of its ISO 3166-2 code
    to_country: str = ""  # of the receiver; nothing: as the sender
    to_subdivision: str = ""
    saturdays: bool = False  # whether it moves and delivers on Saturdays
    handed_over: int = 16  # hour of the day
    delivered: int = 12
    depot_c: float | None = (
        None  # where it stands on days without transport; None: as the air on the way [°C]
    )
    still: frozenset[date] = frozenset()  # further days on which nothing moves

    def __post_init__(self) -> None:
        if not self.transit or min(self.transit) < 1 or min(self.transit.values()) < 0:
            raise ValueError(f"Transit {dict(self.transit)}: days from 1 up, with probabilities.")
        if not isclose(sum(self.transit.values()), 1.0, abs_tol=1e-6):
            raise ValueError(
                f"The probabilities of the transit days add up to {sum(self.transit.values()):g}. Make it 1."
            )
        if not (0 <= self.handed_over <= 23 and 0 <= self.delivered <= 23):
            raise ValueError("Hours of handing over and delivery lie from 0 to 23.")

    def why_still(self, day: date) -> str:
        """Say why nothing moves on a day; nothing where it does."""
        if self._rests(day):
            return say("it is a {weekday}", weekday=weekday(day))
        if name := self._holiday(day):
            return say("it is a public holiday, {name}", name=name)
        return say("the carrier does not work") if day in self.still else ""

    def moves(self, day: date) -> bool:
        """Tell whether parcels are collected, moved and delivered on a day."""
        return not (self._rests(day) or self._holiday(day) or day in self.still)

    def _rests(self, day: date) -> bool:
        return day.weekday() == SUNDAY or (day.weekday() == SUNDAY - 1 and not self.saturdays)

    def _holiday(self, day: date) -> str:
        """Return the name of the public holiday that a day is, at either end; nothing where it is none."""
        ends = {(self.country, self.subdivision)}
        if self.to_country:
            ends.add((self.to_country, self.to_subdivision))
        names = (
            _holidays(country, subdivision, day.year).get(day)
            for country, subdivision in sorted(ends)
            if country
        )
        return next(filter(None, names), "")

    def arrival(self, posted: date, working_days: int) -> date:
        """Return the day of arrival: so many working days after the day of posting."""
        day = posted
        for _ in range(366):
            if working_days == 0:
                return day
            day += timedelta(days=1)
            working_days -= self.moves(day)
        raise ValueError(
            say("From {posted} on the carrier does not move for a year.", posted=say_day(posted))
        )

    def sits(self, posted: date, arrival: date) -> bool:
        """Tell whether a day without transport lies between."""
        return any(not self.moves(posted + timedelta(days=n)) for n in range(1, (arrival - posted).days))


@dataclass(frozen=True)
class Weather:
    """Air by the hour of local time from midnight of `first` on, and how sure it is.

    From a forecast, the error grows with its age; for a climate file give the spread of days about their normal as
    `sd_c` and no growth. The usual 1.5 K and 0.4 K a day are assumptions in the order of medium-range forecasts.
    """

    first: date
    origin_c: Array  # (hours,) [°C]
    way_c: Array
    destination_c: Array
    sd_c: float = 1.5  # of the error on the day of issue [K]
    sd_growth: float = 0.4  # for each day of lead [K d-1]
    sd_most: float = 5.0  # no less sure than the climate [K]
    issued: date | None = None  # None: `first`
    hours: int = field(init=False, repr=False, default=0)

    def __post_init__(self) -> None:
        lengths = {len(x) for x in (self.origin_c, self.way_c, self.destination_c)}
        if len(lengths) != 1 or not all(
            np.isfinite(x).all() for x in (self.origin_c, self.way_c, self.destination_c)
        ):
            raise ValueError(
                "Origin, way and destination need as many hours of air, without gaps. Fill gaps before."
            )
        if min(self.sd_c, self.sd_growth, self.sd_most) < 0:
            raise ValueError("The spread of the weather cannot be below 0.")
        object.__setattr__(self, "hours", lengths.pop())

    def on_the_way(self, carrier: Carrier, posted: date, arrival: date) -> tuple[Array, Array]:
        """Return air around the box from handing over to delivery, and the sd of its error, hour by hour.

        On the day of posting the air is that of the origin, on the day of arrival that of the destination.
        """
        begin = (posted - self.first).days * 24 + carrier.handed_over
        end = (arrival - self.first).days * 24 + carrier.delivered
        if begin < 0 or end > self.hours:
            reaches = say_day(self.first + timedelta(hours=self.hours - 1))
            raise ValueError(
                say(
                    "The weather reaches from {first} to {reaches}; a parcel of {posted} may be on its way "
                    "until {arrival}. Give weather up to then, or end the window earlier.",
                    first=say_day(self.first),
                    reaches=reaches,
                    posted=say_day(posted),
                    arrival=say_day(arrival),
                )
            )
        hour = np.arange(begin, end)
        day = hour // 24
        posted_at, arrives_at = begin // 24, (arrival - self.first).days
        air = np.asarray(self.way_c, dtype=np.float64)[begin:end].copy()
        if carrier.depot_c is not None:
            still = [
                not carrier.moves(self.first + timedelta(days=int(d)))
                for d in range(posted_at, arrives_at + 1)
            ]
            air[np.array(still)[day - posted_at]] = carrier.depot_c
        air = np.where(day == posted_at, np.asarray(self.origin_c)[begin:end], air)
        air = np.where(day == arrives_at, np.asarray(self.destination_c)[begin:end], air)
        lead = np.maximum(0.0, hour / 24.0 - ((self.issued or self.first) - self.first).days)
        return air, np.minimum(self.sd_c + self.sd_growth * lead, self.sd_most)
