"""What a parcel and the wood in it go through on the way: air, box, wood, water, callus, chill."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from statistics import NormalDist
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from ortet.science.air import saturation_vapour_pressure
from ortet.science.bag import ACTIVITY, Flows, Water, advance, flows
from ortet.science.bag import bark_conductance as conductance_of
from ortet.science.chill import chill_portions
from ortet.science.film import closure_leak, film_permeance
from ortet.science.response import temperature_response
from ortet.science.species import species
from ortet.wood.speech import to_say

__all__ = [
    "LIMITS",
    "NO_PACK",
    "STATES",
    "Journeys",
    "Limits",
    "Pack",
    "Parcel",
    "Ride",
    "Wood",
    "follow",
    "journeys",
    "ride",
    "rides",
]

Array = NDArray[np.float64]
STATES = ("dormant", "callused", "waxed")
TOGETHER = 10_000  # rides whose water is computed at once: some 10 MB an array
_normal = NormalDist()


@dataclass(frozen=True, slots=True)
class Limits:
    """What wood bears: below `frost_c` for so many hours on end it is harmed, and above `heat_c` likewise."""

    frost_c: float
    frost_hours: int
    heat_c: float
    heat_hours: int
    mark: str
    source: str

    def __post_init__(self) -> None:
        if not (self.frost_c < self.heat_c and self.frost_hours >= 1 and self.heat_hours >= 1):
            raise ValueError(
                f"Frost at {self.frost_c:g} °C, heat at {self.heat_c:g} °C: the first must be lower, and hours 1 or more."
            )


_ALARM = "30 °C for a day as alarm, below the 37 °C for 3 days that killed grape buds (Weaver & Iwasaki 1977)"
# by state, then whether the wood is of a warm climate
LIMITS: Mapping[tuple[str, bool], Limits] = MappingProxyType(
    {
        ("dormant", False): Limits(
            -4.0, 6, 30.0, 24, "common practice",
            f"Hardy dormant trees kept months at -2 to -4 °C (Englert, Fuchigami & Chen 1993, J. Arboric. 19:106-112); {_ALARM}",
        ),
        ("dormant", True): Limits(-1.0, 4, 30.0, 24, "common practice", f"Fig, pomegranate: above -1 °C; {_ALARM}"),
        ("callused", False): Limits(
            -1.0, 2, 25.0, 24, "common practice", "Callus is soft and hardens no more; warmth for a day starts roots and buds"
        ),
        ("callused", True): Limits(0.0, 2, 28.0, 24, "common practice", "As callused hardy wood, a little warmer at both ends"),
        ("waxed", False): Limits(-4.0, 6, 30.0, 12, "common practice", "As dormant wood; soft waxes run in a warm van"),
        ("waxed", True): Limits(-1.0, 4, 30.0, 12, "common practice", "As dormant wood; soft waxes run in a warm van"),
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wood:
    """The wood in the parcel."""

    species: str  # a key of science.species
    state: str = "dormant"  # one of STATES
    mass_g: float = 500.0
    bark_m2: float = 0.25
    callus: float = 0.0  # progress so far; 1: half have callused
    lost: float = 0.0  # share of fresh mass lost before posting
    limits: Limits | None = None  # the grower's own; None: by species and state

    def __post_init__(self) -> None:
        if self.state not in STATES:
            raise ValueError(f"State {self.state!r}. Use {', '.join(STATES)}.")
        if not (self.mass_g > 0 and self.bark_m2 > 0):
            raise ValueError(f"{self.mass_g:g} g with {self.bark_m2:g} m2 of bark: both must be above 0.")

    @property
    def bears(self) -> Limits:
        """Its limits: the grower's own, or those of its species and state."""
        return self.limits or LIMITS[self.state, species(self.species).group == "warm"]


@dataclass(frozen=True, slots=True)
class Pack:
    """Something warm or cold in the box. [common practice, to be measured: what a pack does to one's own box]"""

    name: str
    degree_hours: float = 0.0  # area by which it lifts the box's air in all; below 0 it cools [K h]
    hours: float = 24.0  # over which it works
    cost: float = 0.0

    def __post_init__(self) -> None:
        if self.hours <= 0 or self.cost < 0:
            raise ValueError(
                f"{self.name}: works for {self.hours:g} h, costs {self.cost:g}. Enter more, and not below 0."
            )


NO_PACK = Pack(to_say("no pack"))


@dataclass(frozen=True, slots=True)
class Parcel:
    """Box and bag. Time constants and packs are assumptions until measured with a logger in the box."""

    lag_h: float = 6.0  # time constant of the box; a foam box 8 to 12, a bare carton 2 to 4 [common practice]
    wood_lag_h: float = 2.0  # of the bundle behind the box's air [common practice, 0.5 to 3]
    store_c: float = 3.0  # box and wood when handed over [°C]
    polymer: str = "LDPE"
    thickness_um: float = 50.0
    layers: int = 1
    film_m2: float = 0.24
    closure: str = "fold"
    humidity: float = 0.6  # of the air in the box [0-1]

    def __post_init__(self) -> None:
        if not (self.lag_h > 0 and self.wood_lag_h > 0 and 0.0 <= self.humidity <= 1.0):
            raise ValueError("The lags of box and wood must be above 0, the humidity from 0 to 1.")


@dataclass(frozen=True, slots=True)
class Ride:
    """One journey, of given length and with a given pack."""

    wood_c: Array  # hourly, at the end of each hour, as forecast [°C]
    frost: float  # P(the wood is harmed by frost)
    heat: float  # P(the wood is harmed by heat)
    frost_margin_k: float  # how much colder than forecast the way may be before frost harms
    heat_margin_k: float
    callus: float  # progress gained
    store_days: float  # days in the store that would have cost as much reserve
    chill: float  # portions gained
    coldest_c: float  # of the wood as forecast
    warmest_c: float
    lost_g: float  # water
    wet_h: float  # hours with free water in the bag


@dataclass(frozen=True, slots=True)
class Journeys:
    """Journeys with one box, side by side: what it and the wood in it go through, whatever wood that is.

    Arrays of shape (journeys, hours); what lies beyond a journey's own length is not looked at.
    """

    parcel: Parcel
    length: NDArray[np.int64]  # of each journey [h]
    box_c: Array  # at the end of each hour, as forecast [°C]
    wood_c: Array
    sd_k: Array  # of the error of the wood's temperature
    chill: Array  # gained on each journey, shape (journeys,) [portions]

    @property
    def is_over(self) -> NDArray[np.bool_]:
        """Whether a journey has ended before an hour."""
        return np.arange(self.wood_c.shape[1]) >= self.length[:, None]


def follow(air_c: Array, start_c: float | Array, lag_h: float) -> Array:
    """Return what follows the air with a lag, at the end of each hour.

    Parameters
    ----------
    air_c : ndarray, shape (..., hours)
        Hourly means. [°C]
    start_c : float or ndarray, shape (...)
        At the beginning. [°C]
    lag_h : float
        Time constant. [h]

    Returns
    -------
    ndarray, shape (..., hours)
        ``T + (air - T) (1 - exp(-1 / lag))`` from hour to hour: exact for air that is steady within the hour. [°C]
    """
    step = 1.0 - float(np.exp(-1.0 / lag_h))
    out = np.empty_like(air_c)
    now = np.broadcast_to(np.asarray(start_c, dtype=np.float64), air_c.shape[:-1])
    for hour in range(air_c.shape[-1]):
        now = now + (air_c[..., hour] - now) * step
        out[..., hour] = now
    return out


def _within(end_c: Array, start_c: float) -> Array:
    """Return the means of the hours from what stood at their ends, shape (..., hours). [°C]"""
    before = np.concatenate((np.full((*end_c.shape[:-1], 1), start_c), end_c[..., :-1]), axis=-1)
    return np.asarray((before + end_c) / 2.0)


def ride(wood: Wood, parcel: Parcel, pack: Pack, air_c: Array, sd_c: Array) -> Ride:
    """Play one journey with one wood, as `rides` plays many."""
    ((played,),) = rides(journeys(parcel, [(pack, air_c, sd_c)]), [(wood, [0])])
    return played


def journeys(parcel: Parcel, ways: Sequence[tuple[Pack, Array, Array]]) -> Journeys:
    """Play what is the same for any wood of journeys with one box, side by side.

    Parameters
    ----------
    parcel
        In what it goes.
    ways : sequence of (Pack, ndarray, ndarray), each array of shape (hours,)
        For each journey what is in the box, the air around it hour by hour from handing over to arrival as forecast
        [°C], and the standard deviation of its error, 0 and up, one draw for the whole way [K].

    Returns
    -------
    Journeys

    Notes
    -----
    Box and wood are lags in a row, so they are linear in the air and a Gaussian error stays one. A pack adds its degree-hours
    evenly over its hours, before the lags.
    """
    length = np.array([len(air) for _, air, _ in ways])
    hour = np.arange(length.max())
    # shorter journeys stand still at their last hour, which is not looked at
    air, sd_air = (
        np.stack([one[np.minimum(hour, len(one) - 1)] for one in each])
        for each in ([air for _, air, _ in ways], [sd for _, _, sd in ways])
    )
    lasts, warms = (np.array([[getattr(way[0], name)] for way in ways]) for name in ("hours", "degree_hours"))
    box = follow(air + np.clip(lasts - hour, 0.0, 1.0) * (warms / lasts), parcel.store_c, parcel.lag_h)
    inside = follow(_within(box, parcel.store_c), parcel.store_c, parcel.wood_lag_h)
    sd = follow(_within(follow(sd_air, 0.0, parcel.lag_h), 0.0), 0.0, parcel.wood_lag_h)
    chill = chill_portions(inside, running=True)[np.arange(len(ways)), length - 1]
    return Journeys(parcel, length, box, inside, sd, chill)


def rides(air: Journeys, loads: Sequence[tuple[Wood, Sequence[int]]]) -> Iterator[list[Ride]]:
    """Play the journeys of each of some woods.

    Parameters
    ----------
    air
        What box and wood go through.
    loads : sequence of (Wood, sequence of int)
        Each wood, and which of the journeys it is to go on, by their numbers.

    Yields
    ------
    list of Ride
        Those of each wood, in the order of its journeys.

    Notes
    -----
    With T the wood as forecast and s the sd of the air passed through the same lags, all of k hours on end lie below the limit F
    if the draw z is below the least ``(F - T) / s`` among them; P(frost) is Phi of the greatest of those over all spells, and
    heat likewise.
    """
    borne = {limits: _harm(air, limits) for limits in {wood.bears for wood, _ in loads}}
    lived = {kind: _life(air, kind) for kind in {wood.species for wood, _ in loads}}
    coldest, warmest = (np.where(air.is_over, edge, air.wood_c) for edge in (inf, -inf))
    ends = coldest.min(axis=1), warmest.max(axis=1)
    for (wood, numbers), water in zip(loads, _water(air, loads), strict=True):
        rows = np.asarray(numbers, dtype=np.intp)
        columns = [
            column[rows].tolist() for column in (*borne[wood.bears], *lived[wood.species], air.chill, *ends)
        ]
        yield [
            Ride(air.wood_c[n, : air.length[n]], *values)
            for n, *values in zip(numbers, *columns, *water, strict=True)
        ]


def _harm(air: Journeys, bears: Limits) -> tuple[Array, Array, Array, Array]:
    """Return the probabilities that frost and heat harm, and by how much the worst spell of each is short of harm, of each journey."""
    frost = _worst_spells(
        np.where(air.is_over, -inf, bears.frost_c - air.wood_c), air.sd_k, bears.frost_hours
    )
    heat = _worst_spells(np.where(air.is_over, -inf, air.wood_c - bears.heat_c), air.sd_k, bears.heat_hours)
    return frost[0], heat[0], -frost[1], -heat[1]


def _life(air: Journeys, kind: str) -> tuple[Array, Array]:
    """Return the progress of callus, and the days in the store that cost as much reserve, of each journey."""
    of, last = species(kind), (np.arange(len(air.length)), air.length - 1)
    warmth = temperature_response(
        air.wood_c, *(of.value(f"callus_t_{name}") for name in ("min", "opt", "max"))
    )
    callus = np.cumsum(warmth, axis=1)[last] / (24.0 * of.value("callus_days"))
    spent = np.cumsum(of.value("q10") ** ((air.wood_c - air.parcel.store_c) / 10.0), axis=1)[last] / 24.0
    return callus, spent


def _worst_spells(beyond: Array, sd: Array, hours: int) -> tuple[Array, Array]:
    """Return the probability of a spell beyond the limit, and by how much the worst spell is beyond it as forecast, of each ride.

    The wood is `beyond` the limit by so much at each hour, and so much more with each sd of error; -inf once the ride is over.
    """
    if beyond.shape[1] < hours:
        return np.zeros(len(beyond)), np.full(len(beyond), -inf)
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(sd > 0, beyond / np.where(sd > 0, sd, 1.0), np.where(beyond > 0, inf, -inf))
    worst, depth = (
        np.lib.stride_tricks.sliding_window_view(one, hours, axis=1).min(-1).max(-1) for one in (z, beyond)
    )
    return np.array([_normal.cdf(one) if abs(one) < inf else float(one > 0) for one in worst.tolist()]), depth


def _water(
    air: Journeys, loads: Sequence[tuple[Wood, Sequence[int]]]
) -> Iterator[tuple[list[float], list[float]]]:
    """Yield the water that each wood loses on its journeys, as forecast, and the hours with free water in the bag. [g, h]"""
    parcel = air.parcel
    film_c = np.clip(air.box_c, 0.0, 40.0)
    leak = film_permeance(parcel.polymer, parcel.thickness_um, parcel.layers, film_c) * parcel.film_m2 / 24.0
    leak += closure_leak(parcel.closure)[0]
    film_pa, wood_pa = (
        saturation_vapour_pressure(air.box_c),
        ACTIVITY * saturation_vapour_pressure(air.wood_c),
    )
    hours = np.arange(film_pa.shape[1])
    for some in _few(loads):
        rows = np.concatenate([np.asarray(numbers, dtype=np.intp) for _, numbers in some])
        bark = np.repeat(
            [
                conductance_of(species(wood.species).value("bark_conductance"), wood.bark_m2)
                for wood, _ in some
            ],
            [len(numbers) for _, numbers in some],
        )
        source = np.broadcast_to(bark[:, None], (len(rows), len(hours)))
        through = flows(source, leak[rows], wood_pa[rows], film_pa[rows], parcel.humidity * film_pa[rows])
        state, wet = Water(*(np.zeros(len(rows)) for _ in range(5))), np.zeros(len(rows))
        for hour in hours:
            on_the_way = (hour < air.length[rows]).astype(np.float64)
            now = Flows(through.dry[:, hour], through.wet[:, hour], through.onto[:, hour])
            state = advance(state, now, None, on_the_way)
            wet += on_the_way * (state.free > 1e-6)
        begin = 0
        for _, numbers in some:
            end = begin + len(numbers)
            yield state.lost[begin:end].tolist(), wet[begin:end].tolist()
            begin = end


def _few(loads: Sequence[tuple[Wood, Sequence[int]]]) -> Iterator[list[tuple[Wood, Sequence[int]]]]:
    """Yield woods so many at a time that what is computed of them together stays small."""
    some: list[tuple[Wood, Sequence[int]]] = []
    for load in loads:
        if some and sum(len(numbers) for _, numbers in (*some, load)) > TOGETHER:
            yield some
            some = []
        some.append(load)
    if some:
        yield some
