"""One quantity of one lot day by day, for a chart."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.block import Block
from ortet.decisions.clocks import Clocks
from ortet.decisions.laying import traits
from ortet.decisions.telling import reserve_cases, share_before
from ortet.science import bag
from ortet.science.oxygen import FREE_AIR_OXYGEN

if TYPE_CHECKING:
    from ortet.decisions.forecast import Forecasts

__all__ = ["draw"]

Array = NDArray[np.float64]


def draw(of: Forecasts, block: Block, clocks: Clocks, at: int, what: str) -> tuple[Array, Array]:
    """Return the days of one holding of a block and its values in three cases.

    Returns
    -------
    at : ndarray, shape (n,)
        End of each past day, now, and each day to the horizon. [h since 1970]
    values : ndarray, shape (3, n)
    """
    ahead = np.arange(1.0, of.horizon_days + 1.0) * 24.0
    if what in ("water_lost", "free_wet_hours", "oxygen"):
        return _in_bag(of, block, clocks, at, what, ahead)
    position = block.number[at]
    held = of._holdings[position]
    kind, course = traits(held.species), int(clocks.course[position])
    began = clocks.courses.first + int(clocks.taken[position])
    past = np.arange(began, of.now, 24.0)
    rows = np.array([clocks.courses.index(hour) for hour in past] + [clocks.courses.hours])
    days = np.concatenate([past, [of.now], of.now + ahead])
    if what == "chill_portions":
        chill = clocks.chill
        column = np.clip(np.append(past, of.now).astype(np.int64) - chill.first, 0, chill.so_far.shape[1] - 1)
        have = chill.so_far[chill.row[position], column].astype(np.float64)
        onward = have[-1] + chill.a_day[chill.row[position]] * ahead / 24.0
        return days, np.tile(np.concatenate([have, onward]), (3, 1))
    if what == "reserve_left":
        breath = clocks.breaths[kind.q10]
        so_far = breath.so_far[rows, course] - breath.so_far[clocks.taken[position], course]
        run = np.concatenate([so_far, so_far[-1] + breath.onward[course] * ahead])
        return days, np.clip(1.0 - reserve_cases(kind)[:, np.newaxis] * run, 0.0, 1.0)
    growth = clocks.callus if what == "callus" else clocks.roots
    keep = rows >= growth.came[position]  # what went before that lies elsewhere, and is a sum only
    days, rows = days[np.append(keep, np.ones(ahead.size, dtype=np.bool_))], rows[keep]
    progress = growth.run(position, rows)
    onward = progress[-1] + growth.a_day[growth.pair[position]] * ahead / 24.0
    return days, growth.share(np.concatenate([progress, onward]), position)


def _in_bag(
    of: Forecasts, block: Block, clocks: Clocks, at: int, what: str, ahead: Array
) -> tuple[Array, Array]:
    """Return what is computed bag by bag: the recorded days, now, and the days ahead."""
    column = int(block.column[at])
    held = of._holdings[block.number[at]]
    since = max(held.since, block.lying[column].start)
    days = np.array(block.history.at)
    past = np.flatnonzero((days > since) & (days < of.now))
    cases, one = len(block.smooth), slice(column, column + 1)
    now = bag.Water(
        *(getattr(block.water, name)[:, one] for name in ("lost", "free", "held", "spell", "dry"))
    )
    wood, packing = (
        bag.Flows(*(getattr(part, name)[:, one] for name in ("dry", "wet", "onto")))
        for part in (block.wood, block.packing)
    )
    if what == "oxygen":
        before = np.array([block.oxygen_days[day][:, column] for day in past]).reshape(-1, cases).T
        steady, pace = block.oxygen_steady[:, one], block.oxygen_pace[:, one]
        left = np.exp(-pace * np.concatenate([[0.0], ahead]))
        after = np.clip(steady + (block.oxygen[:, one] - steady) * left, 0.0, FREE_AIR_OXYGEN)
    else:
        if what == "water_lost":
            before = block.lost_so_far(column)[:, past]
        else:
            weights, spells = block.straight[:, column], block.history.spell
            before = np.array([weights @ spells[day][:, column] for day in past]).reshape(-1, cases).T
        later = bag.advance(now, wood, packing, np.concatenate([[0.0], ahead])[:, np.newaxis, np.newaxis])
        if what == "water_lost":
            earlier = share_before(block, [of._holdings[number] for number in block.number])[
                :, at, np.newaxis
            ]
            before = np.maximum(before - earlier, 0.0)
            after = np.maximum(later.lost[:, :, 0].T / block.scale[:, one] - earlier, 0.0)
        else:
            before, after = np.maximum(before, 0.0), later.spell[:, :, 0].T
            after[:, 0] = sorted(_spell_now(of, block, at))
    return np.concatenate([days[past], [of.now], of.now + ahead]), np.concatenate([before, after], axis=1)


def _spell_now(of: Forecasts, block: Block, at: int) -> tuple[float, float, float]:
    band = of.lots[block.number[at]].state["free_wet_hours"]
    return band.low, band.median, band.high
