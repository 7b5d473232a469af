"""A block of bags carried to now in three cases, tight, likely and leaky, after weighing in."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ortet.decisions import carry as carrying
from ortet.decisions.clocks import Breath
from ortet.decisions.course import Courses, Key
from ortet.decisions.laying import Lying, Reads, lay
from ortet.evidence import water as evidence
from ortet.science import bag
from ortet.science.film import film_factor
from ortet.science.oxygen import FREE_AIR_OXYGEN, oxygen_needed

__all__ = ["CASES", "Block", "carry_block"]

Array = NDArray[np.float64]

CARBON_PER_CO2 = 12.011 / 44.0095  # what breathing takes off the scale: CO2 out, O2 in, water stays
CASES = (0.05, 0.5, 0.95)  # from tight to leaky


@dataclass(slots=True)
class Block:
    """Up to `TOGETHER` bags and their holdings, carried to now in three cases: tight, likely, leaky."""

    lying: list[Lying]
    column: NDArray[np.int64]  # (holdings,)
    number: list[int]  # (holdings,): position in the list of holdings
    columns: carrying.Columns
    history: carrying.History
    smooth: Array  # (cases, bags, nodes): makes the cases' losses out of the nodes', on a log scale
    straight: Array  # (cases, bags, nodes): makes anything else of the cases
    heavier: Array  # (cases, bags): wood now over wood as reckoned
    leak: Array  # (cases, bags): leak as a factor of the usual
    water: bag.Water  # now, (cases, bags)
    wood: bag.Flows  # onward, (cases, bags)
    packing: bag.Flows
    oxygen: Array  # (cases, bags): worst, likely, best
    oxygen_days: list[NDArray[np.float32]]
    oxygen_steady: Array  # (cases, bags), below 0 where it runs out
    oxygen_pace: Array  # (cases, bags) [h-1]

    def lost_so_far(self, column: int) -> Array:
        """Return the share of its wood that a column had lost at the end of each day, shape (cases, days)."""
        lost = evidence.blend(self.smooth[:, column], self.history.lost[:, :, column].T)
        wood = np.maximum(self.history.wood_by_day[:, column], 1e-9)
        return np.asarray(lost / (wood * self.heavier[:, column, np.newaxis]))

    def lost_by(self, hours: Array) -> Array:
        """Return the share of wood lost some hours from now, shape (times, cases, bags)."""
        later = bag.advance(self.water, self.wood, self.packing, hours[:, np.newaxis, np.newaxis])
        return np.asarray(later.lost / self.scale)

    @property
    def scale(self) -> Array:
        """Wood that a loss is a share of. [g]"""
        return np.asarray(self.history.wood_g * self.heavier)


def carry_block(
    lying: list[Lying],
    courses: Courses,
    course_of: dict[tuple[Key, bool], int],
    breaths: Mapping[float, Breath],
    now: float,
) -> Block:
    """Carry a block of bags to now at all nodes, weigh in, and keep the three cases."""
    columns, reads = lay(lying, courses, course_of, now)
    film = columns.film * film_factor(courses.pattern_air_c).mean(0)[columns.course]
    line = {
        "bark_spread": columns.bark_spread,
        "film_spread": columns.film_spread,
        "closure_spread": columns.closure_spread,
    }
    weighed = np.zeros(columns.size, dtype=np.bool_)
    weighed[reads.column] = True
    places, live = evidence.places(weighed, CASES)
    nodes = evidence.leak_line(columns.bark, film, columns.closure, **line, z=places)
    history = carrying.carry(columns, courses, nodes, now, len(reads.at), live)
    breathed = _breathed(lying, courses, breaths, columns, reads)
    belief = evidence.weigh_in(
        columns.size,
        reads.column,
        reads.net_g,
        reads.wood_g,
        history.loss_g,
        reads.tare_spread,
        breathed,
        reads.wiped,
        reads.wiped_spread,
    )
    z = np.stack([belief.quantile(share) for share in CASES])
    smooth, straight = evidence.between(z), evidence.between(z, straight=True)
    for weights in (smooth, straight):
        weights[:, ~weighed] = np.eye(len(CASES), len(live))[:, np.newaxis]
    cases = evidence.leak_line(columns.bark, film, columns.closure, **line, z=z)
    water = bag.Water(
        evidence.blend(smooth, history.water.lost),
        *(
            np.einsum("cbn,nb->cb", straight, getattr(history.water, name))
            for name in ("free", "held", "spell", "dry")
        ),
    )
    wood, packing = carrying.future_flows(columns, courses, cases, history)
    usual = film + columns.closure
    leak = (cases[1] * film + cases[2] * columns.closure) / usual
    leak = np.where(columns.film > 0, leak, cases[0])
    oxygen = _oxygen(lying, courses, breaths, columns, history.wood_g, (z, film, line), now)
    heavier = 1.0 + np.stack([belief.heavier_at(case) for case in z])
    number = [position for one in lying for position in one.held]
    column = np.array([at for at, one in enumerate(lying) for _ in one.held], dtype=np.int64)
    return Block(
        lying,
        column,
        number,
        columns,
        history,
        smooth,
        straight,
        heavier,
        leak,
        water,
        wood,
        packing,
        *oxygen,
    )


def _breathed(
    lying: Sequence[Lying],
    courses: Courses,
    breaths: Mapping[float, Breath],
    columns: carrying.Columns,
    reads: Reads,
) -> Array:
    """Return what breathing took off the scale before each weighing. [g]"""
    out = np.zeros(len(reads.at))
    for n, (column, at) in enumerate(zip(reads.column, reads.at, strict=True)):
        one = lying[column]
        rows = breaths[one.main.q10].so_far[:, columns.course[column]]
        factor = rows[courses.index(at)] - rows[courses.index(one.start)]
        out[n] = CARBON_PER_CO2 * one.respiration * factor * one.wood_g * 1e-6
    return out


def _oxygen(
    lying: Sequence[Lying],
    courses: Courses,
    breaths: Mapping[float, Breath],
    columns: carrying.Columns,
    wood_g: Array,
    where: tuple[Array, Array, dict[str, Array]],
    now: float,
) -> tuple[Array, list[NDArray[np.float32]], Array, Array]:
    """Carry oxygen in three cases: worst, likely, best.

    Breathing and leak are unsure independently; their bands are joined as roots of summed squares, by moving each a
    part of its way.
    """
    z, film, line = where
    less, more = (
        np.array([getattr(one.main, f"respiration_{side}") for one in lying]) for side in ("less", "more")
    )
    edges = evidence.leak_line(columns.bark, film, columns.closure, **line, z=z)
    gas = np.log(edges[1] * columns.film_o2 + edges[2] * columns.closure_o2)
    tight, loose = gas[1] - gas[0], gas[2] - gas[1]
    worse = np.hypot(more, tight) / np.maximum(more + tight, 1e-9)
    better = np.hypot(less, loose) / np.maximum(less + loose, 1e-9)
    z_cases = np.stack([z[1] - worse * (z[1] - z[0]), z[1], z[1] + better * (z[2] - z[1])])
    breath = np.stack([np.exp(worse * more), np.ones_like(more), np.exp(-better * less)])
    factors = evidence.leak_line(columns.bark, film, columns.closure, **line, z=z_cases)
    rate = oxygen_needed(np.array([one.respiration for one in lying]), wood_g / 1000.0) * breath
    days = max(len(breath.by_day) for breath in breaths.values())
    by_day, onward = np.empty((days, columns.size)), np.empty(columns.size)
    q10s = np.array([one.main.q10 for one in lying])
    for q10 in np.unique(q10s):
        mine = q10s == q10
        by_day[:, mine] = breaths[q10].by_day[:, columns.course[mine]]
        onward[mine] = breaths[q10].onward[columns.course[mine]]
    share, recorded, conductance, air = carrying.carry_oxygen(
        columns, courses, factors, rate * by_day[:, np.newaxis, :], wood_g, now
    )
    steady = FREE_AIR_OXYGEN - rate * onward / conductance
    return share, recorded, steady, conductance / air
