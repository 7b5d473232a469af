"""Carry every lot in store forward: its state now, the days it crosses its limits, and how sure that is.

All bags go through one vectorised computation. History runs on the hourly record from the day a bag was closed; the
future goes on like the store's last fourteen recorded days. docs/science/forecast.md tells it equation by equation.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from ortet.decisions.block import Block, carry_block
from ortet.decisions.clocks import Clocks, run_clocks
from ortet.decisions.course import lay_courses
from ortet.decisions.drawing import draw
from ortet.decisions.laying import lying_together
from ortet.decisions.outlook import QUANTITIES, Band, Crossing, Curve, Limit, LotForecast
from ortet.decisions.telling import tell
from ortet.wood.holding import Bag, Climate, Holding
from ortet.wood.speech import say

__all__ = ["QUANTITIES", "Band", "Crossing", "Curve", "Forecasts", "Limit", "LotForecast", "forecast"]

TOGETHER = 1000  # bags in one block: keeps 10,000 bags under 1 GB


@dataclass(slots=True)
class Forecasts(Sequence[LotForecast]):
    """The forecasts of all holdings, in the order they were given; `curve` draws one."""

    lots: tuple[LotForecast, ...]
    now: float  # [h since 1970]
    horizon_days: int
    stores: Mapping[str, int | None]  # hour after each store's last recorded temperature; None: no record
    gaps: Mapping[
        str, int
    ]  # hours of each store's last fourteen days, up to its last reading, that are missing
    _holdings: Sequence[Holding] = field(repr=False, default=())
    _blocks: list[Block] = field(repr=False, default_factory=list)
    _clocks: Clocks | None = field(repr=False, default=None)

    def __iter__(self) -> Iterator[LotForecast]:
        return iter(self.lots)

    def __len__(self) -> int:
        return len(self.lots)

    def __getitem__(self, at):  # type: ignore[no-untyped-def]
        return self.lots[at]

    def of(self, lot: str, place: str | None = None) -> LotForecast:
        """Return the forecast of a lot, in a place if it lies in several; KeyError if there is none."""
        return self.lots[self._position(lot, place)]

    def _position(self, lot: str, place: str | None) -> int:
        for position, one in enumerate(self.lots):
            if one.lot == lot and place in (None, one.place):
                return position
        raise KeyError(f"no forecast of lot {lot}" + (f" in {place}" if place else ""))

    def curve(self, lot: str, what: str, place: str | None = None) -> Curve:
        """Return one quantity of one lot day by day, from when it came to its place to the horizon.

        Raises
        ------
        KeyError
            If there is no such lot, or the quantity is not forecast for it (bare wood has no oxygen to run short of).
        """
        position = self._position(lot, place)
        one = self.lots[position]
        if what not in one.state:
            raise KeyError(f"{what} is not forecast for lot {lot}. Forecast are: {', '.join(one.state)}")
        for block in self._blocks:
            if position in block.number:
                assert self._clocks is not None
                at, values = draw(self, block, self._clocks, block.number.index(position), what)
                title, unit = (say(words) for words in QUANTITIES[what][:2])
                low, median, high = np.sort(values, axis=0)
                return Curve(
                    what, title, unit, at, low, median, high, self.now, one.limits[what], one.crossings[what]
                )
        raise KeyError(f"no forecast of lot {lot}")


def forecast(
    holdings: Sequence[Holding],
    bags: Sequence[Bag],
    climates: Mapping[str, Climate],
    *,
    now: float,
    horizon_days: int = 365,
) -> Forecasts:
    """Carry all holdings forward.

    Parameters
    ----------
    holdings : sequence of Holding
        What lies where, now.
    bags : sequence of Bag
        Every bag that a holding names.
    climates : mapping of str to Climate
        Hourly records by name of place, stores and sites alike; a place without one is assumed, and it is said.
    now : float
        [h since 1970]
    horizon_days : int
        How far to look. [d]

    Returns
    -------
    Forecasts

    Raises
    ------
    ValueError
        If a holding names a bag that is not given.
    """
    if not holdings:
        return Forecasts((), now, horizon_days, {}, {})
    lying = lying_together(holdings, bags, now)
    course_of = {
        pair: at for at, pair in enumerate(dict.fromkeys((one.key, one.bag is None) for one in lying))
    }
    keys, bare = zip(*course_of, strict=True)
    first = min(min(one.start for one in lying), min(h.taken for h in holdings)) // 24 * 24
    courses = lay_courses(keys, bare, climates, first, now)
    course = np.zeros(len(holdings), dtype=np.int64)
    for one in lying:
        course[list(one.held)] = course_of[one.key, one.bag is None]
    clocks = run_clocks(holdings, course, courses, climates)
    lots: list[LotForecast | None] = [None] * len(holdings)
    blocks = []
    for begin in range(0, len(lying), TOGETHER):
        block = carry_block(lying[begin : begin + TOGETHER], courses, course_of, clocks.breaths, now)
        for position, told in tell(block, holdings, clocks, now, horizon_days):
            lots[position] = told
        blocks.append(block)
    stores = {
        key[-1][0]: courses.last_recorded[at] for (key, is_bare), at in course_of.items() if not is_bare
    }
    gaps = {key[-1][0]: courses.missing[at] for (key, is_bare), at in course_of.items() if not is_bare}
    return Forecasts(
        tuple(one for one in lots if one is not None),
        now,
        horizon_days,
        stores,
        gaps,
        holdings,
        blocks,
        clocks,
    )
