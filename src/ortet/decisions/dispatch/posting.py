"""Which day to post: hold, go, or go with something warm or cold in the box, with the risk in numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import isfinite

from ortet.decisions.dispatch.box import NO_PACK, Array, Pack, Parcel, Ride, Wood, journeys, rides
from ortet.decisions.dispatch.way import Carrier, Weather
from ortet.wood.speech import say, say_day, say_short_day, short_weekday, to_say

__all__ = ["ASSUMPTIONS", "Day", "Errand", "Posting", "Trip", "posting_day", "posting_days", "trip"]

ASSUMPTIONS = (
    to_say(
        "An error of the forecast is one and the same over the whole way of a parcel, normally distributed."
    ),
    to_say("Transit days do not depend on the weather."),
    to_say(
        "Box and wood follow the air with the lags given; a pack gives its degree-hours evenly over its hours."
    ),
    to_say(
        "Where the carrier stands still the box stands in a depot: as warm as the air on the way, unless a depot is given."
    ),
    to_say(
        "Water, callus and chill are those of the weather as forecast; chill is counted from an empty product."
    ),
)


@dataclass(frozen=True, slots=True)
class Errand:
    """What is to be posted, and when."""

    wood: Wood
    parcel: Parcel
    carrier: Carrier
    weather: Weather
    first: date  # days on which it may be posted
    last: date
    arrive_by: date | None = None  # the buyer wants it by then; None: any day
    packs: tuple[Pack, ...] = ()  # that could go in, besides none
    worth: float = 100.0  # of the wood, in the money of the packs
    late_share: float = 0.3  # of its worth, lost if it comes after `arrive_by`
    wait_share: float = 0.002  # of its worth, lost for each day it waits
    weekend_share: float = 0.01  # of its worth, lost if it sits over days on which nothing moves
    most_risk: float = 0.05  # at which one still posts

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(
                say(
                    "The window ends on {last}, before it begins on {first}. Enter an end on or after the beginning.",
                    last=say_day(self.last),
                    first=say_day(self.first),
                )
            )
        if not self.worth > 0 or not 0.0 <= self.most_risk <= 1.0:
            raise ValueError("The worth must be above 0 and the risk from 0 to 1.")
        soonest, why = self.soonest
        if self.arrive_by and (soonest is None or soonest > self.arrive_by):
            came = (
                say("arrives on {day} at the soonest", day=say_day(soonest))
                if soonest
                else say("cannot be posted on any of its days")
            )
            raise ValueError(
                say(
                    "Wanted by {arrive_by}, but a parcel of {first} or later {came}{why}. Post earlier, let it arrive later, "
                    "or choose a quicker carrier.",
                    arrive_by=say_day(self.arrive_by),
                    first=say_day(self.first),
                    came=came,
                    why=why,
                )
            )

    @property
    def window(self) -> list[date]:
        """The days on which it may be posted."""
        return [self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1)]

    @property
    def soonest(self) -> tuple[date | None, str]:
        """The first day on which it can arrive, and why not earlier."""
        carrier, quick = self.carrier, min(self.carrier.transit)
        for n in range((self.last - self.first).days + 1):
            if carrier.moves(self.first + timedelta(days=n)):
                return carrier.arrival(self.first + timedelta(days=n), quick), self._still if n else ""
        return None, self._still

    @property
    def _still(self) -> str:
        return say("; {why} on {day}", why=self.carrier.why_still(self.first), day=say_day(self.first))


@dataclass(frozen=True, slots=True)
class Trip:
    """What comes of posting on a day with a pack, over all transit times."""

    posted: date
    pack: Pack
    frost: float  # P(harmed by frost)
    heat: float
    late: float  # P(arrives after the day wanted)
    weekend: float  # P(sits over days on which nothing moves)
    arrivals: tuple[tuple[date, float], ...]
    lost_g: float  # water, mean
    lost_share: float  # of fresh mass, with what was lost before
    wet_h: float  # hours with free water in the bag, mean
    callus: float  # progress on arrival, mean; 1: half have callused
    chill: float  # portions gained, mean
    store_days: float  # in the store, that would cost as much reserve, mean
    coldest_c: float  # of the wood as forecast, over all transit times
    warmest_c: float
    frost_margin_k: float  # how much colder than forecast the likeliest way may be
    heat_margin_k: float
    cost: float

    @property
    def harm(self) -> float:
        """P(harmed on the way); frost and heat hardly meet on one journey."""
        return min(1.0, self.frost + self.heat)

    @property
    def arrives(self) -> date:
        """The likeliest day of arrival."""
        return max(self.arrivals, key=lambda one: one[1])[0]


@dataclass(frozen=True, slots=True)
class Day:
    """What to do on one day of the window."""

    day: date
    act: str  # hold, go, or go with and the pack's name
    reason: str
    trips: tuple[Trip, ...]  # with each pack, the cheapest first; none where nothing is collected
    told: Trip | None = None  # the one that act and reason tell of


@dataclass(frozen=True, slots=True)
class Posting:
    """The answer: what to do each day, and which is best."""

    errand: Errand
    days: tuple[Day, ...]
    ranked: tuple[Trip, ...]  # those that may go, the cheapest first; none: hold
    advice: str
    changes: tuple[str, ...]  # what would change it
    assumptions: tuple[str, ...]

    @property
    def best(self) -> Trip | None:
        """The trip advised; None: hold, nothing in the window is safe enough."""
        return self.ranked[0] if self.ranked else None


def posting_day(errand: Errand) -> Posting:
    """Say for each day of the window whether to post, and which day is best.

    Raises
    ------
    ValueError
        If the weather does not reach over the journeys, with the day it would have to reach.
    """
    (told,) = posting_days([errand])
    if isinstance(told, ValueError):
        raise told
    return told


def posting_days(errands: Sequence[Errand]) -> Iterator[Posting | ValueError]:
    """Yield the answer to each of many errands, or the error that `posting_day` raises.

    Errands that share one object for parcel, carrier and weather are reckoned together, which is many times as fast.
    """
    going = [
        [
            (day, pack)
            for day in errand.window
            if errand.carrier.moves(day)
            for pack in (NO_PACK, *errand.packs)
        ]
        for errand in errands
    ]
    for errand, trips in zip(errands, _trips(errands, going), strict=True):
        yield trips if isinstance(trips, ValueError) else _told(errand, trips)


def _told(errand: Errand, trips: Sequence[Trip]) -> Posting:
    made, days = iter(trips), []
    for day in errand.window:
        if still := errand.carrier.why_still(day):
            days.append(Day(day, "hold", say("Nothing is collected: {still}.", still=still), ()))
            continue
        ways = [next(made) for _ in (NO_PACK, *errand.packs)]
        days.append(_judged(errand, day, tuple(sorted(ways, key=lambda one: (one.cost, one.pack.cost)))))
    good = [one for day in days for one in day.trips if one.harm <= errand.most_risk]
    ranked = tuple(sorted(good, key=lambda one: (one.cost, one.posted)))
    return Posting(
        errand,
        tuple(days),
        ranked,
        _advice(errand, ranked, days),
        _changes(errand, ranked, days),
        tuple(say(one) for one in ASSUMPTIONS),
    )


def trip(errand: Errand, day: date, pack: Pack = NO_PACK) -> Trip:
    """Return what comes of posting on a day, each transit time in its probability.

    Raises
    ------
    ValueError
        If the weather does not reach over the journey.
    """
    (trips,) = _trips([errand], [[(day, pack)]])
    if isinstance(trips, ValueError):
        raise trips
    return trips[0]


def _trips(
    errands: Sequence[Errand], asked: Sequence[Sequence[tuple[date, Pack]]]
) -> list[list[Trip] | ValueError]:
    """Return what comes of posting each errand on days with packs, all ways of one road played side by side."""
    of: dict[tuple[int, int, int], list[int]] = {}
    for number, one in enumerate(errands):
        of.setdefault((id(one.parcel), id(one.carrier), id(one.weather)), []).append(number)
    found: dict[int, list[Trip] | ValueError] = {}
    for numbers in of.values():
        road = _Road(errands[numbers[0]])
        loads = {}
        for number in numbers:
            try:
                loads[number] = errands[number].wood, [n for one in asked[number] for n in road.on(*one)]
            except ValueError as error:
                found[number] = error
        if road.ways:
            played = rides(journeys(road.parcel, road.ways), list(loads.values()))
            for (number, (_, ways)), done in zip(loads.items(), played, strict=True):
                found[number] = _each(
                    errands[number], asked[number], road, list(zip(ways, done, strict=True))
                )
        else:
            found |= {key: [] for key in loads}
    return [found[number] for number in range(len(errands))]


@dataclass(frozen=True, slots=True)
class _Leg:
    """One length of the way."""

    share: float  # its probability
    arrival: date
    sits: bool  # over days on which nothing moves


class _Road:
    """All ways of one parcel with one carrier, each laid once."""

    def __init__(self, errand: Errand) -> None:
        self.parcel, self.carrier, self.weather = errand.parcel, errand.carrier, errand.weather
        self.ways: list[tuple[Pack, Array, Array]] = []
        self.legs: list[_Leg] = []
        self._known: dict[tuple[date, Pack], list[int]] = {}

    def on(self, day: date, pack: Pack) -> list[int]:
        """Return the numbers of the ways of a day with a pack, one for each transit time."""
        if (day, pack) not in self._known:
            legs, ways = [], []
            for transit, share in sorted(self.carrier.transit.items()):
                arrival = self.carrier.arrival(day, transit)
                ways.append((pack, *self.weather.on_the_way(self.carrier, day, arrival)))
                legs.append(_Leg(share, arrival, self.carrier.sits(day, arrival)))
            self._known[day, pack] = list(range(len(self.ways), len(self.ways) + len(ways)))
            self.ways += ways
            self.legs += legs
        return self._known[day, pack]


def _each(
    errand: Errand, asked: Sequence[tuple[date, Pack]], road: _Road, played: Sequence[tuple[int, Ride]]
) -> list[Trip]:
    """Return a trip for each day and pack out of its rides, one for each transit time."""
    each, legs = len(errand.carrier.transit), [(road.legs[n], one) for n, one in played]
    return [
        _summed(errand, day, pack, legs[n * each : (n + 1) * each]) for n, (day, pack) in enumerate(asked)
    ]


def _summed(errand: Errand, day: date, pack: Pack, played: Sequence[tuple[_Leg, Ride]]) -> Trip:
    """Return the mean over all transit times."""
    wood, wanted = errand.wood, errand.arrive_by

    def mean(name: str) -> float:
        return sum(leg.share * float(getattr(one, name)) for leg, one in played)

    arrivals: dict[date, float] = {}
    for leg, _ in played:
        arrivals[leg.arrival] = arrivals.get(leg.arrival, 0.0) + leg.share
    late = sum(leg.share for leg, _ in played if wanted and leg.arrival > wanted)
    weekend = sum(leg.share for leg, _ in played if leg.sits)
    likeliest = max(played, key=lambda one: one[0].share)[1]
    frost, heat, lost = mean("frost"), mean("heat"), mean("lost_g")
    harm = min(1.0, frost + heat)
    waited = errand.wait_share * (day - errand.first).days
    shares = harm + (1.0 - harm) * min(
        1.0, errand.late_share * late + errand.weekend_share * weekend + waited
    )
    return Trip(
        day,
        pack,
        frost,
        heat,
        late,
        weekend,
        tuple(sorted(arrivals.items())),
        lost,
        wood.lost + (1.0 - wood.lost) * lost / wood.mass_g,
        mean("wet_h"),
        wood.callus + mean("callus"),
        mean("chill"),
        mean("store_days"),
        min(one.coldest_c for _, one in played),
        max(one.warmest_c for _, one in played),
        likeliest.frost_margin_k,
        likeliest.heat_margin_k,
        errand.worth * shares + pack.cost,
    )


def _judged(errand: Errand, day: date, trips: tuple[Trip, ...]) -> Day:
    """Say whether to go on a day, with what in the box, and why."""
    safe = [one for one in trips if one.harm <= errand.most_risk]
    if not safe:
        least = min(trips, key=lambda one: one.harm)
        return Day(
            day,
            "hold",
            say(
                "{risk} even {with_pack}; up to {most_risk:.0%} is taken.",
                risk=_risk(least),
                with_pack=_with(least.pack),
                most_risk=errand.most_risk,
            ),
            trips,
            least,
        )
    best = safe[0]
    act = "go" if best.pack == NO_PACK else f"go with {best.pack.name}"
    bare = next(one for one in trips if one.pack == NO_PACK)
    risk = f"{_risk(bare)[0].lower()}{_risk(bare)[1:]}"
    without = say(" Without it {risk}.", risk=risk) if bare is not best else ""
    return Day(day, act, f"{_risk(best)}; {_arrives(best)}.{without}", trips, best)


def _with(pack: Pack) -> str:
    return say("without a pack") if pack == NO_PACK else say("with {pack}", pack=pack.name)


def _risk(one: Trip) -> str:
    return say("Frost harms {frost:.1%}, heat {heat:.1%}", frost=one.frost, heat=one.heat)


def _arrives(one: Trip) -> str:
    days = ", ".join(
        say(
            "{share:.0%} on {weekday} {day}",
            share=share,
            weekday=short_weekday(day),
            day=say_short_day(day),
        )
        for day, share in one.arrivals
    )
    late = say(", {late:.0%} too late", late=one.late) if one.late else ""
    sits = say(", {sits:.0%} sits over days without transport", sits=one.weekend) if one.weekend else ""
    return say("arrives {days}{late}{sits}", days=days, late=late, sits=sits)


def _on(day: date) -> str:
    return f"{short_weekday(day)} {say_day(day)}"


def _advice(errand: Errand, ranked: Sequence[Trip], days: Sequence[Day]) -> str:
    """Return the answer in words."""
    if not ranked:
        trips = [one for day in days for one in day.trips]
        if not trips:
            return say("Hold: nothing is collected on any day of the window.")
        least = min(trips, key=lambda one: one.harm)
        return say(
            "Hold: the safest, {day} {with_pack}, still has: {risk}. Wait for a milder spell, use a better box, or take more "
            "than {most_risk:.0%}.",
            day=_on(least.posted),
            with_pack=_with(least.pack),
            risk=_risk(least),
            most_risk=errand.most_risk,
        )
    best = ranked[0]
    return say(
        "Post on {day} {with_pack}: {risk}; {arrives}. On the way it loses {lost_g:.1f} g of water and {store_days:.1f} store "
        "days of reserve.",
        day=_on(best.posted),
        with_pack=_with(best.pack),
        risk=_risk(best),
        arrives=_arrives(best),
        lost_g=best.lost_g,
        store_days=best.store_days,
    )


def _changes(errand: Errand, ranked: Sequence[Trip], days: Sequence[Day]) -> tuple[str, ...]:
    """Say what would change the answer."""
    if not ranked:
        return ()
    best = ranked[0]
    out = []
    for words, margin in (
        (to_say("{margin:.1f} K colder than forecast, all the way, would harm it."), best.frost_margin_k),
        (to_say("{margin:.1f} K warmer than forecast, all the way, would harm it."), best.heat_margin_k),
    ):
        if isfinite(margin) and margin < 15.0:
            out.append(say(words, margin=margin))
    second = next((one for one in ranked if (one.posted, one.pack) != (best.posted, best.pack)), None)
    if second:
        out.append(
            say(
                "Next best: {day} {with_pack}, {dearer:.2f} dearer.",
                day=_on(second.posted),
                with_pack=_with(second.pack),
                dearer=second.cost - best.cost,
            )
        )
    out += [
        say("Not on {day}: {reason}", day=_on(day.day), reason=day.reason)
        for day in days
        if day.trips and day.act == "hold"
    ]
    return tuple(out)
