"""What a buyer is told of cuttings: how they were kept, how they are and will arrive, until when to set them and how.

It says what was reckoned and from what, and what is not known; nothing is promised.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from math import exp
from statistics import NormalDist

import numpy as np

from ortet.decisions.dispatch import Trip
from ortet.decisions.outlook import Band, LotForecast, percent
from ortet.decisions.racing import HALF_SAFE, Raced, in_words
from ortet.science.species import species
from ortet.science.thermal_time import share_done
from ortet.wood.speech import counted, say, to_say
from ortet.wood.units import show_temperature

__all__ = ["ON_ARRIVAL", "BuyerAdvice", "Going", "advise", "callus_progress"]

_normal = NormalDist()
SOME, MANY = 0.10, 0.50  # shares of callused cuttings from which they are handled with more care [our choice]
GRAFT = to_say(
    "Keep it dormant and cold until the stock’s buds swell; graft while the scion’s own buds are still closed."
)
PLANT = to_say(
    "Unpack on the day it comes, water, and keep it from frost, sun and wind for some days before it stands outside."
)
NOT_RECKONED = to_say("Not reckoned for this wood.")
MOST_DAYS = 200.0  # beyond which days to root mean never

# What holds for all dormant wood. [common practice]
ON_ARRIVAL = (
    to_say(
        "Open the parcel on the day it comes and count. Scratch one cutting of each bundle with a nail: green and moist is alive."
    ),
    to_say(
        "What cannot be set the same day goes back into its bag, closed, at 1 to 4 °C, never frozen, away from ripening fruit. "
        "Look weekly: wipe off drops, air ten minutes, take out what moulds."
    ),
    to_say(
        "Where the bark wrinkles, stand the lower ends in clean cool water for some hours, then set them at once."
    ),
    to_say(
        "The thick end is the base and goes down. A fresh cut below the lowest bud heals best; keep the label with its bundle."
    ),
    to_say(
        "Cut away from your hand. Keep the electrics of heated benches out of the wet. On powders and dips the label is the law."
    ),
)


@dataclass(frozen=True, slots=True)
class Going:
    """Cuttings of one lot that go to a buyer, as far as they are known."""

    kind: str  # a key of science.species
    use: str  # rooting or grafting
    posted: date
    taken: date
    kept_days: float  # from the day they were taken to the packing, or to now [d]
    wrapped_days: float | None = None  # of them in their bag [d]
    store: str = ""  # in words
    state: LotForecast | None = None  # when they left the store
    trip: Trip | None = None
    no_trip: str = ""  # why the way is not known
    raced: Raced | None = None  # struck on the day of arrival
    base_c: float = 0.0
    air_c: float = 0.0
    looked: str = ""  # the last look at them, in words
    treated: tuple[str, ...] = ()
    units: str = "metric"
    is_growing: bool = False  # rooted plants, not dormant wood


@dataclass(frozen=True, slots=True)
class BuyerAdvice:
    """What stands in a buyer's advice for cuttings of one lot."""

    set_by: date | None  # None: not known
    set_why: str
    said: tuple[tuple[str, str], ...]  # heading and sentence
    unknown: tuple[str, ...] = field(default=())


def callus_progress(share: float, spread: float) -> float:
    """Return the thermal time at which so many have callused: the inverse of `science.thermal_time.share_done`."""
    held = min(max(share, 1e-4), 0.999)
    return exp(spread * _normal.inv_cdf(held)) if share > 0 else 0.0


def advise(
    going: Going,
    *,
    say_day: Callable[[date], str],
    day_of: Callable[[float], date],
    brief: bool = False,
) -> BuyerAdvice:
    """Return what a buyer is told of cuttings.

    Parameters
    ----------
    going
        The cuttings.
    say_day
        How a day is written.
    day_of
        The day of an hour since 1970, where the nursery is.
    brief
        Whether it is told in fewer words, where many lots share a page.
    """
    if going.is_growing:
        kept = say("Cut on {day}, rooted and grown on since.", day=say_day(going.taken))
        grown = (say("Kept"), kept), (say("Plant"), say(PLANT))
        return BuyerAdvice(None, say("as soon as it comes: it is a plant in growth."), grown, ())
    kind = species(going.kind)
    day, why = _set_by(going, say_day, day_of)
    if brief:
        return BuyerAdvice(day, why, _in_brief(going, say_day), tuple(_unknown(going)))
    said = [(say("Kept"), _kept(going, say_day))]
    if going.state:
        said.append((say("State"), _state(going.state, kind.value("dry_limit"))))
    said.append((say("Callus"), _callus(going, say_day)))
    said.append((say("Graft"), say(GRAFT)) if going.use == "grafting" else (say("Root"), _root(going)))
    said.append((say("Look for"), _look_for(going)))
    return BuyerAdvice(day, why, tuple(said), tuple(_unknown(going)))


def _in_brief(going: Going, say_day: Callable[[date], str]) -> tuple[tuple[str, str], ...]:
    words = say("Cut {day}, kept {days}", day=say_day(going.taken), days=_some_days(going.kept_days))
    if going.state:
        shown = going.state.state
        words += say("; water lost {lost}", lost=percent(shown["water_lost"].median, 1))
        if "reserve_left" in shown:
            words += say(", reserve left {left}", left=percent(shown["reserve_left"].median))
        if "callus" in shown:
            words += say("; callus on {share}", share=percent(shown["callus"].median))
            words += say(", on arrival {share}", share=percent(_callus_then(going))) if going.trip else ""
    root = (
        (say("Graft"), say("dormant, before its buds open."))
        if going.use == "grafting"
        else (say("Root"), _bench(going))
    )
    return ((say("Kept"), f"{words}."), root)


def _band(band: Band, digits: int = 0) -> str:
    low, middle, high = (percent(value, digits) for value in (band.low, band.median, band.high))
    return middle if low == high else say("{median} ({low} to {high})", median=middle, low=low, high=high)


def _some_days(days: float) -> str:
    return counted(max(round(days), 0), "day")


def _kept(going: Going, say_day: Callable[[date], str]) -> str:
    words = say("Cut on {day} and kept {days}", day=say_day(going.taken), days=_some_days(going.kept_days))
    if going.wrapped_days is not None:
        bare = going.kept_days - going.wrapped_days
        words += (
            say(", closed in a bag")
            if bare < 1.5
            else say(", {days} of them closed in its last bag", days=_some_days(going.wrapped_days))
        )
    words += f" {going.store}." if going.store else "."
    if going.treated:
        words += say(" Treated: {deeds}.", deeds=", ".join(going.treated))
    return words + (f" {going.looked}" if going.looked else "")


def _state(state: LotForecast, dry_limit: float) -> str:
    words = say(
        "Water lost since the cut: {lost} of its weight; harm starts near {limit}.",
        lost=_band(state.state["water_lost"], 1),
        limit=percent(dry_limit),
    )
    if "reserve_left" in state.state:
        words += say(
            " Reserve left: {left}; below {limit} it grows poorly.",
            left=_band(state.state["reserve_left"]),
            limit=percent(state.limits["reserve_left"].value),
        )
    return words


def _callus_then(going: Going) -> float:
    """Return the share of cuttings that have callused on arrival; when packed, where the way is not known."""
    before = going.state.state["callus"].median if going.state and "callus" in going.state.state else 0.0
    if going.trip is None:
        return before
    return max(before, float(share_done(going.trip.callus, species(going.kind).value("callus_spread"))))


def _callus(going: Going, say_day: Callable[[date], str]) -> str:
    if going.state is None or "callus" not in going.state.state:
        return say(NOT_RECKONED)
    words = say("When packed, on {share} of the cuttings.", share=_band(going.state.state["callus"]))
    if going.trip is None:
        return f"{words} {say('On arrival: not known.')}"
    lost = max(going.trip.lost_share - going.state.state["water_lost"].median, 0.0)
    water = say("hardly any water") if lost < 0.0005 else say("{lost} of water", lost=percent(lost, 1))
    return say(
        "{when_packed} On arrival, likeliest {day}, on about {share}. The way costs {water} and as much reserve as {days} in "
        "the store.",
        when_packed=words,
        day=say_day(going.trip.arrives),
        share=percent(_callus_then(going)),
        water=water,
        days=_some_days(max(going.trip.store_days, 1.0)),
    )


def _bench(going: Going) -> str:
    """Return the bench to root on, and how long it takes."""
    if going.raced is None:
        return say(NOT_RECKONED)
    base, air = (
        show_temperature(value, going.units).replace(".0 ", " ") for value in (going.base_c, going.air_c)
    )
    _, half, high = going.raced.roots
    if not np.isfinite(half) or half > MOST_DAYS:
        return going.raced.verdict
    last = say(", nine in ten of them within {days:.0f}", days=high) if np.isfinite(high) else ""
    leaf = going.raced.leaves[1]
    leaves = say("; half are in leaf after about {days}", days=_some_days(leaf)) if np.isfinite(leaf) else ""
    return say(
        "Base at {base}, air at {air}: half of those that can root show roots in about {days}{last}{leaves}.",
        base=base,
        air=air,
        days=_some_days(half),
        last=last,
        leaves=leaves,
    )


def _root(going: Going) -> str:
    said = _bench(going)
    if going.raced is None or said == going.raced.verdict:
        return said
    risk = going.raced.too_early[1]
    return say(
        "{bench} Leaves come too early on {risk} so; warmer air brings leaves before roots.",
        bench=said,
        risk=in_words(risk),
    )


def _look_for(going: Going) -> str:
    said = []
    state = going.state
    callus = _callus_then(going)
    if callus >= MANY:
        said.append(
            say(
                "Most have a pale rim of callus at the base: it breaks off easily, so lay them in, never push."
            )
        )
    elif callus >= SOME:
        said.append(say("Some have a pale rim of callus at the base: do not rub it off."))
    if going.trip is not None and going.trip.wet_h >= 1.0:
        said.append(say("Drops in the bag: wipe them off."))
    if state and state.state["water_lost"].high >= 0.7 * state.limits["water_lost"].value:
        said.append(say("Wrinkled bark: it may have dried; stand the lower ends in water first."))
    if state and state.keep_until < state.now:
        said.append(say("Brown under the bark: it was kept past the usual time, so scratch several."))
    said.append(
        say("Swelling buds: set at once and keep the air cool.")
        if going.use == "rooting"
        else say("Swelling buds: graft at once.")
    )
    return " ".join(said)


def _set_by(
    going: Going, say_day: Callable[[date], str], day_of: Callable[[float], date]
) -> tuple[date | None, str]:
    """Return the day by which to set cuttings, and why."""
    came = going.trip.arrives if going.trip else going.posted
    limits: list[tuple[date, str, str]] = []  # the day, why by then, and why at once where that is past
    if going.state:
        crossing = going.state.crossings.get("reserve_left")
        if crossing and crossing.median is not None:
            lasts = say("until then its reserve is likely to last, where it is kept as cold as here")
            limits.append((day_of(crossing.median), lasts, say("its reserve is likely running out")))
        kind = say(species(going.kind).name)
        ends = say("the usual keeping time of {kind} ends then", kind=kind)
        over = say("the usual keeping time of {kind} is over", kind=kind)
        limits.append((day_of(going.state.keep_until), ends, over))
    if going.raced is not None and going.use == "rooting":
        late = _leaves_win(going.raced, came)
        if late is not None:
            share = percent(HALF_SAFE)
            wins = say("leaves come before roots on more than {share}", share=share)
            later = say(
                "later, leaves come before roots on more than {share}, even on such a bench", share=share
            )
            limits.append((late, later, wins))
    if not limits:
        return None, say("as soon as it comes: nothing is known that says until when.")
    day, why, past = min(limits)
    if day <= came + timedelta(days=1):
        return came, say("at once: {why}.", why=past)
    return day, say("by {day}: {why}.", day=say_day(day), why=why)


def _leaves_win(raced: Raced, came: date) -> date | None:
    """Return the last day of striking before leaves win too often; None: not within the weeks looked at."""
    risk: Sequence[float] = [float(value) for value in raced.risk[1]]
    over = [n for n, value in enumerate(risk) if value > HALF_SAFE]
    if not over:
        return None
    return came + timedelta(days=float(raced.waits[over[0] - 1])) if over[0] else came


def _unknown(going: Going) -> list[str]:
    """Return what is not known, in words."""
    out = []
    if going.state is None:
        out.append(say("How it was kept is not in the book, so its state was not reckoned."))
    else:
        if going.state.bag and not going.state.weighed:
            out.append(say("Its bag was never weighed: the water lost is what such a bag usually loses."))
        if not going.state.is_recorded:
            out.append(say("The store’s temperature was not recorded; what is usual was assumed."))
        crossing = going.state.crossings.get("reserve_left")
        if crossing and crossing.early is not None and crossing.early <= going.state.now:
            out.append(
                say(
                    "How fast this wood breathes was not measured: its reserve may be lower than said, so sooner is safer."
                )
            )
        if not going.state.learnt:
            out.append(
                say("Callus and roots of this very lot were not watched: days are those usual for its kind.")
            )
    if going.trip is None and going.no_trip:
        out.append(say("The way was not reckoned. {why}", why=going.no_trip))
    elif going.trip is not None:
        out.append(say("How warm the parcel travels is reckoned from weather, not measured."))
    if not going.looked:
        out.append(say("No look at it was noted: scratch and see for yourself."))
    return out
