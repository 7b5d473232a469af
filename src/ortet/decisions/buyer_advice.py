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
from ortet.wood.units import show_temperature

__all__ = ["ON_ARRIVAL", "BuyerAdvice", "Going", "advise", "callus_progress"]

_normal = NormalDist()
SOME, MANY = 0.10, 0.50  # shares of callused cuttings from which they are handled with more care [our choice]
GRAFT = "Keep it dormant and cold until the stock’s buds swell; graft while the scion’s own buds are still closed."
PLANT = "Unpack on the day it comes, water, and keep it from frost, sun and wind for some days before it stands outside."
MOST_DAYS = 200.0  # beyond which days to root mean never

# What holds for all dormant wood. [common practice]
ON_ARRIVAL = (
    "Open the parcel on the day it comes and count. Scratch one cutting of each bundle with a nail: green and moist is alive.",
    "What cannot be set the same day goes back into its bag, closed, at 1 to 4 °C, never frozen, away from ripening fruit. "
    "Look weekly: wipe off drops, air ten minutes, take out what moulds.",
    "Where the bark wrinkles, stand the lower ends in clean cool water for some hours, then set them at once.",
    "The thick end is the base and goes down. A fresh cut below the lowest bud heals best; keep the label with its bundle.",
    "Cut away from your hand. Keep the electrics of heated benches out of the wet. On powders and dips the label is the law.",
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
    now_at_once: bool
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
        grown = ("Kept", f"Cut on {say_day(going.taken)}, rooted and grown on since."), ("Plant", PLANT)
        return BuyerAdvice(None, "as soon as it comes: it is a plant in growth.", True, grown, ())
    kind = species(going.kind)
    day, why, urgent = _set_by(going, say_day, day_of)
    if brief:
        return BuyerAdvice(day, why, urgent, _in_brief(going, say_day), tuple(_unknown(going)))
    said = [("Kept", _kept(going, say_day))]
    if going.state:
        said.append(("State", _state(going.state, kind.value("dry_limit"))))
    said.append(("Callus", _callus(going, say_day)))
    said.append(("Graft", GRAFT) if going.use == "grafting" else ("Root", _root(going)))
    said.append(("Look for", _look_for(going)))
    return BuyerAdvice(day, why, urgent, tuple(said), tuple(_unknown(going)))


def _in_brief(going: Going, say_day: Callable[[date], str]) -> tuple[tuple[str, str], ...]:
    words = f"Cut {say_day(going.taken)}, kept {_some_days(going.kept_days)}"
    if going.state:
        shown = going.state.state
        words += f"; water lost {percent(shown['water_lost'].median, 1)}"
        words += f", reserve left {percent(shown['reserve_left'].median)}" if "reserve_left" in shown else ""
        if "callus" in shown:
            words += f"; callus on {percent(shown['callus'].median)}"
            words += f", on arrival {percent(_callus_then(going))}" if going.trip else ""
    root = ("Graft", "dormant, before its buds open.") if going.use == "grafting" else ("Root", _bench(going))
    return (("Kept", f"{words}."), root)


def _band(band: Band, digits: int = 0) -> str:
    low, middle, high = (percent(value, digits) for value in (band.low, band.median, band.high))
    return middle if low == high else f"{middle} ({low} to {high})"


def _some_days(days: float) -> str:
    whole = max(round(days), 0)
    return "1 day" if whole == 1 else f"{whole} days"


def _kept(going: Going, say_day: Callable[[date], str]) -> str:
    words = f"Cut on {say_day(going.taken)} and kept {_some_days(going.kept_days)}"
    if going.wrapped_days is not None:
        bare = going.kept_days - going.wrapped_days
        words += (
            ", closed in a bag"
            if bare < 1.5
            else f", {_some_days(going.wrapped_days)} of them closed in its last bag"
        )
    words += f" {going.store}." if going.store else "."
    if going.treated:
        words += f" Treated: {', '.join(going.treated)}."
    return words + (f" {going.looked}" if going.looked else "")


def _state(state: LotForecast, dry_limit: float) -> str:
    words = f"Water lost since the cut: {_band(state.state['water_lost'], 1)} of its weight; harm starts near {percent(dry_limit)}."
    if "reserve_left" in state.state:
        limit = state.limits["reserve_left"].value
        words += (
            f" Reserve left: {_band(state.state['reserve_left'])}; below {percent(limit)} it grows poorly."
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
        return "Not reckoned for this wood."
    words = f"When packed, on {_band(going.state.state['callus'])} of the cuttings."
    if going.trip is None:
        return f"{words} On arrival: not known."
    lost = max(going.trip.lost_share - going.state.state["water_lost"].median, 0.0)
    water = "hardly any water" if lost < 0.0005 else f"{percent(lost, 1)} of water"
    return (
        f"{words} On arrival, likeliest {say_day(going.trip.arrives)}, on about {percent(_callus_then(going))}. The way costs "
        f"{water} and as much reserve as {_some_days(max(going.trip.store_days, 1.0))} in the store."
    )


def _bench(going: Going) -> str:
    """Return the bench to root on, and how long it takes."""
    if going.raced is None:
        return "Not reckoned for this wood."
    base, air = (
        show_temperature(value, going.units).replace(".0 ", " ") for value in (going.base_c, going.air_c)
    )
    _, half, high = going.raced.roots
    if not np.isfinite(half) or half > MOST_DAYS:
        return going.raced.verdict
    last = f", nine in ten of them within {high:.0f}" if np.isfinite(high) else ""
    leaf = going.raced.leaves[1]
    leaves = f"; half are in leaf after about {_some_days(leaf)}" if np.isfinite(leaf) else ""
    return f"Base at {base}, air at {air}: half of those that can root show roots in about {_some_days(half)}{last}{leaves}."


def _root(going: Going) -> str:
    said = _bench(going)
    if going.raced is None or said == going.raced.verdict:
        return said
    risk = going.raced.too_early[1]
    return f"{said} Leaves come too early on {in_words(risk)} so; warmer air brings leaves before roots."


def _look_for(going: Going) -> str:
    said = []
    state = going.state
    callus = _callus_then(going)
    if callus >= MANY:
        said.append(
            "Most have a pale rim of callus at the base: it breaks off easily, so lay them in, never push."
        )
    elif callus >= SOME:
        said.append("Some have a pale rim of callus at the base: do not rub it off.")
    if going.trip is not None and going.trip.wet_h >= 1.0:
        said.append("Drops in the bag: wipe them off.")
    if state and state.state["water_lost"].high >= 0.7 * state.limits["water_lost"].value:
        said.append("Wrinkled bark: it may have dried; stand the lower ends in water first.")
    if state and state.keep_until < state.now:
        said.append("Brown under the bark: it was kept past the usual time, so scratch several.")
    said.append(
        "Swelling buds: set at once and keep the air cool."
        if going.use == "rooting"
        else "Swelling buds: graft at once."
    )
    return " ".join(said)


def _set_by(
    going: Going, say_day: Callable[[date], str], day_of: Callable[[float], date]
) -> tuple[date | None, str, bool]:
    """Return the day by which to set cuttings, why, and whether that is no later than they come."""
    came = going.trip.arrives if going.trip else going.posted
    limits: list[tuple[date, str, str]] = []  # the day, why by then, and why at once where that is past
    if going.state:
        crossing = going.state.crossings.get("reserve_left")
        if crossing and crossing.median is not None:
            lasts = "until then its reserve is likely to last, where it is kept as cold as here"
            limits.append((day_of(crossing.median), lasts, "its reserve is likely running out"))
        kind = species(going.kind).name
        ends = f"the usual keeping time of {kind} ends then"
        limits.append((day_of(going.state.keep_until), ends, f"the usual keeping time of {kind} is over"))
    if going.raced is not None and going.use == "rooting":
        late = _leaves_win(going.raced, came)
        if late is not None:
            wins = f"leaves come before roots on more than {percent(HALF_SAFE)}"
            limits.append((late, f"later, {wins}, even on such a bench", wins))
    if not limits:
        return None, "as soon as it comes: nothing is known that says until when.", True
    day, why, past = min(limits)
    if day <= came + timedelta(days=1):
        return came, f"at once: {past}.", True
    return day, f"by {say_day(day)}: {why}.", False


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
        out.append("How it was kept is not in the book, so its state was not reckoned.")
    else:
        if going.state.bag and not going.state.weighed:
            out.append("Its bag was never weighed: the water lost is what such a bag usually loses.")
        if any("is recorded" in words and words.startswith("No ") for words in going.state.rests_on):
            out.append("The store’s temperature was not recorded; what is usual was assumed.")
        crossing = going.state.crossings.get("reserve_left")
        if crossing and crossing.early is not None and crossing.early <= going.state.now:
            out.append(
                "How fast this wood breathes was not measured: its reserve may be lower than said, so sooner is safer."
            )
        if not going.state.learnt:
            out.append(
                "Callus and roots of this very lot were not watched: days are those usual for its kind."
            )
    if going.trip is None and going.no_trip:
        out.append(f"The way was not reckoned. {going.no_trip}")
    elif going.trip is not None:
        out.append("How warm the parcel travels is reckoned from weather, not measured.")
    if not going.looked:
        out.append("No look at it was noted: scratch and see for yourself.")
    return out
