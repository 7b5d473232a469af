"""From holdings and bags as values to columns of arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import floor, log

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.carry import SEEN_G_M2, Columns, lay_column
from ortet.decisions.course import Courses, Key, course_key
from ortet.evidence import water as evidence
from ortet.science.bag import CHANGED, LOOKED, WEIGHED, WIPED
from ortet.science.species import species
from ortet.wood.holding import Bag, Holding

__all__ = ["BAND_Z", "Lying", "Reads", "Traits", "deeds_of", "lay", "lying_together", "traits"]

Array = NDArray[np.float64]

BAND_Z = 1.645  # a band holds nine in ten: 5 % below, 5 % above
FILM_G_M3 = 920_000.0  # density of LDPE [memory]
UNKNOWN_TARE_G, KNOWN_TARE_G = 20.0, 1.0  # sd of the weight of the empty bag [common practice]


@dataclass(frozen=True, slots=True)
class Traits:
    """The numbers of one species that a forecast needs."""

    name: str
    bark: float  # [mmol m-2 s-1]
    bark_spread: float  # sd of ln
    density: float  # [kg m-3]
    respiration: float  # at 5 °C [mg CO2 kg-1 h-1]
    respiration_less: float  # ln of usual over low
    respiration_more: float  # ln of high over usual
    q10: float
    dry_share: float
    reserve: float  # share of dry mass
    reserve_less: float
    reserve_more: float
    keep_h: float


@cache
def traits(key: str) -> Traits:
    """Return the numbers of a species."""
    kind = species(key)

    def logs(name: str) -> tuple[float, float]:
        low, high = kind.range(name)
        return log(kind.value(name) / low), log(high / kind.value(name))

    low, high = kind.range("bark_conductance")
    less, more = logs("respiration_ref")
    fewer, greater = logs("reserve_share")
    return Traits(
        kind.name,
        kind.value("bark_conductance"),
        log(high / low) / (2 * BAND_Z),
        kind.value("density"),
        kind.value("respiration_ref"),
        less,
        more,
        kind.value("q10"),
        1.0 - kind.value("water_content"),
        kind.value("reserve_share"),
        fewer,
        greater,
        kind.value("keep_weeks") * 168.0,
    )


@dataclass(frozen=True, slots=True)
class Lying:
    """A bag, or bare wood of one lot, and which holdings lie in it."""

    bag: Bag | None
    held: tuple[int, ...]  # positions in the list of holdings
    key: Key
    start: float  # [h since 1970]
    wood_g: float
    bark_m2: float
    conductance: float  # of its bark, by area [mmol m-2 s-1]
    bark_spread: float
    respiration: float  # by mass [mg CO2 kg-1 h-1 at 5 °C]
    main: Traits  # of the lot with the most wood


def lying_together(holdings: Sequence[Holding], bags: Sequence[Bag], now: float) -> list[Lying]:
    """Return the bags that hold something, and the bare wood lot by lot."""
    by_code = {value.code: value for value in bags}
    held: dict[str, list[int]] = {}
    out: list[Lying] = []
    for number, holding in enumerate(holdings):
        if holding.bag is None:
            key: Key = ((holding.place, 0),)
            out.append(_lying(None, (number,), holdings, key, min(holding.since, now - 1e-6)))
        elif holding.bag in by_code:
            held.setdefault(holding.bag, []).append(number)
        else:
            raise ValueError(
                f"Lot {holding.lot} is said to lie in bag {holding.bag}, which is not among the {len(bags)} bags given. "
                "Give every bag that a holding names. Nothing was computed."
            )
    for code, numbers in held.items():
        value = by_code[code]
        start = min(value.closed_at, now - 1e-6)
        stays = [stay for stay in value.stays if stay.since <= now]
        key = course_key(stays or value.stays[:1], start) or ((value.name, 0),)
        out.append(_lying(value, tuple(numbers), holdings, key, start))
    return out


def _lying(
    bag: Bag | None, held: tuple[int, ...], holdings: Sequence[Holding], key: Key, start: float
) -> Lying:
    mine = [(holdings[n], traits(holdings[n].species)) for n in held]
    mass = [h.count * h.cutting.mass_g(t.density) for h, t in mine]
    area = [h.count * h.cutting.bark_m2 for h, _ in mine]
    wood, bark = sum(mass), sum(area)
    if bag and bag.contents:
        first = [c for c in bag.contents if c.since <= start + 1e-6] or [bag.contents[0]]
        if first[-1].wood_g > 0:
            wood, bark = first[-1].wood_g, first[-1].bark_m2
    return Lying(
        bag,
        held,
        key,
        start,
        wood,
        bark,
        sum(t.bark * a for (_, t), a in zip(mine, area, strict=True)) / sum(area),
        sum(t.bark_spread * a for (_, t), a in zip(mine, area, strict=True)) / sum(area),
        sum(t.respiration * m for (_, t), m in zip(mine, mass, strict=True)) / sum(mass),
        mine[mass.index(max(mass))][1],
    )


@dataclass(slots=True)
class Reads:
    """The weighings of all columns, in order of their number."""

    column: list[int]
    at: list[float]  # [h since 1970]
    net_g: list[float]  # what the scale said, less the empty bag
    wood_g: list[float]  # in it then, as reckoned when it was taken
    tare_spread: Array  # (columns,)
    wiped: list[int]  # how often the bag had been wiped by then
    wiped_spread: Array  # (columns,)


def lay(
    lying: Sequence[Lying], courses: Courses, course_of: dict[tuple[Key, bool], int], now: float
) -> tuple[Columns, Reads]:
    """Return the columns of bags and bare wood, and their weighings."""
    numbers = np.array(
        [
            lay_column(
                one.bag,
                wood_g=one.wood_g,
                bark_m2=one.bark_m2,
                conductance=one.conductance,
                bark_spread=one.bark_spread,
            )
            for one in lying
        ]
    ).T
    course = np.array([course_of[one.key, one.bag is None] for one in lying], dtype=np.int64)
    columns = Columns(course, np.array([one.start for one in lying]), *numbers)
    reads = Reads(
        [], [], [], [], np.full(len(lying), KNOWN_TARE_G), [], np.full(len(lying), evidence.WIPED_SPREAD_G)
    )
    for column, one in enumerate(lying):
        if one.bag:
            deeds_of(one, column, columns, reads, courses, now)
    return columns, reads


def deeds_of(one: Lying, column: int, columns: Columns, reads: Reads, courses: Courses, now: float) -> None:
    """Add to the columns what was done to a bag, and to the reads what it weighed."""
    value = one.bag
    assert value is not None

    def row(at: float) -> int:
        return floor(at) - courses.first

    steps = [
        (c.since, c.wood_g, c.bark_m2)
        for c in value.contents
        if one.start + 1e-6 < c.since <= now and c.wood_g > 0
    ]
    for at, wood, bark in steps:
        share = bark / one.bark_m2 if one.bark_m2 else 1.0
        columns.deeds.append((column, row(at), CHANGED, 0, wood, share))
    tare = value.tare_g
    if tare is None:
        wrap = value.wrap
        tare = wrap.film_m2 * wrap.layers * wrap.thickness_um * 1e-6 * FILM_G_M3 + wrap.packing_water_g
        reads.tare_spread[column] = UNKNOWN_TARE_G + 0.5 * wrap.packing_water_g
    reads.wiped_spread[column] += 0.5 * value.wrap.packing_water_g
    for weighing in value.weighings:
        if one.start - 1.0 <= weighing.at <= now:
            wood = next((w for at, w, _ in reversed(steps) if at <= weighing.at), one.wood_g)
            columns.deeds.append((column, row(max(weighing.at, one.start)), WEIGHED, len(reads.at), 0.0, 0.0))
            reads.column.append(column)
            reads.at.append(weighing.at)
            reads.net_g.append(weighing.gross_g - tare)
            reads.wood_g.append(wood)
            reads.wiped.append(sum(one.start <= at <= weighing.at for at in value.wiped))
    for look in value.inspections:
        if look.free_water and one.start <= look.at <= now:
            seen = SEEN_G_M2[look.free_water] * value.wrap.film_m2
            columns.deeds.append((column, row(look.at), LOOKED, 0, seen, 0.0))
    columns.deeds.extend(
        (column, row(at), WIPED, 0, 0.0, 0.0) for at in value.wiped if one.start <= at <= now
    )
    columns.opened.extend((column, at) for at in value.opened if one.start <= at <= now)
