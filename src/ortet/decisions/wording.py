"""Tasks in words: the act, then the reason in numbers."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from ortet.decisions.outlook import UNCERTAIN, Band, LotForecast, hours_or_days, percent, when
from ortet.science.species import species
from ortet.wood.code import is_code, show
from ortet.wood.holding import Bag
from ortet.wood.units import show_mass

__all__ = ["Told", "Wording", "gather"]

MANY = 4  # so many names are written out


@dataclass(frozen=True, slots=True)
class Told:
    """A task's words."""

    act: str
    reason: str
    deed: str
    limit: str
    command: str


def gather(names: Iterable[str]) -> tuple[str, ...]:
    """Return names once each, in order."""
    return tuple(dict.fromkeys(names))


def _listed(one: str, several: str, names: Sequence[str]) -> str:
    """Write `bag B1`, or `bags B1, B2 and B3`, or the first few and how many more."""
    if len(names) == 1:
        return f"{one} {names[0]}"
    if len(names) <= MANY:
        return f"{several} {', '.join(names[:-1])} and {names[-1]}"
    return f"{len(names)} {several}: {', '.join(names[:MANY])} and {len(names) - MANY} more"


def _share(band: Band, digits: int = 0) -> str:
    low, median, high = (f"{value * 100:.{digits}f}" for value in (band.low, band.median, band.high))
    return f"{median} %" if low == high else f"{median} % ({low} to {high})"


@dataclass(frozen=True, slots=True)
class Wording:
    """How this grower reads times and units."""

    now: float
    zone_offset: float
    units: str

    def day(self, hour: float) -> str:
        """Name a day: today, yesterday, a weekday within the week, else a date."""
        at, here = self._date(hour), self._date(self.now)
        ago = (here.date() - at.date()).days
        if ago in (0, 1):
            return ("today", "yesterday")[ago]
        return f"{at:%A}" if 1 < ago < 7 else f"{at.day} {at:%b}"

    def _date(self, hour: float) -> datetime:
        return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(hours=hour + self.zone_offset)

    def difference(self, kelvin: float) -> str:
        """Write a difference of temperatures."""
        return f"{kelvin * 1.8:.0f} °F" if self.units == "US" else f"{kelvin:.1f} °C"

    def told(
        self, kind: str, lots: Sequence[LotForecast], bags: Sequence[str], values: Sequence[Bag | None]
    ) -> Told:
        """Return the words of a task about some lots, the pressing first."""
        name = f"_{kind}"
        told: Told = getattr(self, name)(lots, bags, values)
        return told

    def _wet(self, lots: Sequence[LotForecast], bags: Sequence[str], values: Sequence[Bag | None]) -> Told:
        first = lots[0]
        hours, limit = first.state["free_wet_hours"].median, first.limits["free_wet_hours"]
        since = f" since {self.day(first.wet_since)}" if first.wet_since is not None else ""
        grams = f", about {show_mass(first.free_g.median, self.units)}" if first.free_g.median >= 0.05 else ""
        which = f"In bag {bags[0]} " if len(bags) > 1 else ""
        packing = values[0].wrap.packing if values[0] and first.packing_g > 0 else ""
        cause = (
            f"its {packing} still holds about {show_mass(first.packing_g, self.units)} and gives it off"
            if packing
            else f"{first.store} swung {self.difference(first.swing_c)} in a week"
        )
        reason = (
            f"{which}{hours_or_days(hours)} of free water{since}{grams}; {cause}. "
            f"Grey mould germinates after {limit.value:.0f} h: {when(first.crossings['free_wet_hours'], self.now)}."
        )
        if packing:
            reason += " Packing that is barely moist at most is common practice."
        where = f" in {first.store}" if len(bags) > 1 else ""
        wet = "the wet packing" if len(bags) > 1 else f"the {packing}"
        first_of_all = f"take out {wet} or change it for barely moist, " if packing else ""
        act = f"Open {_listed('bag', 'bags', bags)}{where}: {first_of_all}wipe, air ten minutes, close."
        command = self._for_each(f"treat {shlex.quote(bags[0])} wipe", bags)
        return Told(act, reason, "wipe", "free_wet_hours", command)

    def _airless(
        self, lots: Sequence[LotForecast], bags: Sequence[str], values: Sequence[Bag | None]
    ) -> Told:
        first, bag = lots[0], values[0]
        grams = bag.contents[-1].wood_g if bag and bag.contents else 0.0
        film = (
            f"{bag.wrap.layers} × {bag.wrap.thickness_um:g} µm {bag.wrap.polymer}, {bag.wrap.closure}"
            if bag
            else ""
        )
        crossing = first.crossings["oxygen"]
        if crossing.median is not None and crossing.median <= self.now:
            sure = crossing.late is not None and crossing.late <= self.now
            fell = f"{'' if sure else 'likely '}below 5 % since about {self.day(crossing.median)}"
        else:
            fell = f"5 % {when(crossing, self.now)}"
        reason = f"Oxygen {_share(first.state['oxygen'])}, {fell}: {show_mass(grams, self.units)} of wood in {film}. Without oxygen wood ferments."
        act = f"Open bag {bags[0]}, smell it, air ten minutes; put less wood in it or close it less tightly."
        return Told(act, reason, "air", "oxygen", f"ortet treat {shlex.quote(bags[0])} air")

    def _dry(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        lost, limit, crossing = (
            first.state["water_lost"],
            first.limits["water_lost"],
            first.crossings["water_lost"],
        )
        name = _listed("bag", "bags", bags)
        over = lost.median >= limit.value
        act = (
            f"Open {name}: scratch-test, soak what is green 12 to 24 hours, use it first, close the rest tighter."
            if over
            else f"Close {name} tighter or put it in a second bag, or use it first."
        )
        reason = (
            f"Lost {_share(lost, 1)} of its weight as water, {_share(first.loss_a_week, 1)} more each week. "
            + (
                f"Past its limit of {percent(limit.value)}."
                if over
                else f"Its limit of {percent(limit.value)} is {_reached(when(crossing, self.now))}."
            )
        )
        bag = shlex.quote(bags[0])
        if over:
            return Told(
                act, reason, "inspect", "water_lost", f"ortet inspect {bag} --scratch GREEN/SCRATCHED"
            )
        codes = " ".join(show(lot.lot) for lot in lots)
        again = f"ortet bag {codes} --from {bag} --store {shlex.quote(first.store)}"
        return Told(act, reason, "bag", "water_lost", again)

    def _bare(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        band = first.loss_a_week
        reason = (
            f"{first.count} cuttings lie bare ({first.place}) and lose {_share(Band(band.low / 7, band.median / 7, band.high / 7), 1)} "
            f"of their weight a day; the limit of {percent(first.limits['water_lost'].value)} is "
            f"{_reached(when(first.crossings['water_lost'], self.now))}."
        )
        command = f"ortet bag {_code(first)} --store STORE"
        return Told(f"Bag lot {first.name}, {first.variety}.", reason, "bag", "water_lost", command)

    def _use(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        kind = species(first.species).name
        names = _names(lots)
        left = (first.keep_until - self.now) / 24
        days = f"{abs(left):.0f} day{'' if round(abs(left)) == 1 else 's'}"
        keep = (
            f"usual keeping time of {kind} ends in {days}"
            if left >= 1
            else f"{kind} is usually kept {_weeks(first)} weeks: over by {days}"
        )
        limit, crossing = first.limits["reserve_left"], first.crossings["reserve_left"]
        reserve = (
            f"reserve left {_share(first.state['reserve_left'])}; its limit of {percent(limit.value)} "
            f"is {_reached(when(crossing, self.now))}"
        )
        reason = f"Lot {first.name}: {keep}; {reserve}."
        act = f"Use first {_listed('lot', 'lots', names)} ({kind}, {first.store})."
        return Told(act, reason, "", "reserve_left", _look_at(lots))

    def _sort(self, lots: Sequence[LotForecast], bags: Sequence[str], values: Sequence[Bag | None]) -> Told:
        first, bag = lots[0], values[0]
        looks = (
            [look for look in bag.inspections if look.lot == first.lot and look.mouldy is not None]
            if bag
            else []
        )
        look = max(looks, key=lambda one: one.at)
        looked = sum(number or 0 for number in (look.sound, look.mouldy, look.dry))
        reason = f"{look.mouldy} of {looked} cuttings were mouldy {self.day(look.at)}; mould spreads along touching wood."
        act = f"Sort out lot {first.name} in bag {bags[0]}: take out every mouldy cutting, wipe the bag, air it."
        command = f"ortet give-up {_code(first)} COUNT --from {shlex.quote(bags[0])}"
        return Told(act, reason, "give_up", "", command)

    def _inspect(
        self, lots: Sequence[LotForecast], bags: Sequence[str], values: Sequence[Bag | None]
    ) -> Told:
        oldest = min(
            max([bag.closed_at, *(look.at for look in bag.inspections if look.at <= self.now)])
            for bag in values
            if bag
        )
        weeks = (self.now - oldest) / 168.0
        where = f" in {lots[0].store}" if len(bags) > 1 else ""
        act = f"Look into {_listed('bag', 'bags', bags)}{where}: mould, free water, dry bark, callus."
        reason = f"Not looked at for up to {weeks:.0f} weeks; every three to four weeks is common practice."
        return Told(
            act, reason, "inspect", "", self._for_each(f"inspect {shlex.quote(bags[0])} --sound COUNT", bags)
        )

    def _weigh(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        lost, crossing = first.state["water_lost"], first.crossings["water_lost"]
        where = f" in {first.store}" if len(bags) > 1 else ""
        times = {0: "Never weighed", 1: "Weighed once"}.get(first.weighed, f"Weighed {first.weighed} times")
        which = f" (bag {bags[0]})" if len(bags) > 1 else ""
        reason = (
            f"{times}: it may have lost {lost.low * 100:.1f} to {lost.high * 100:.1f} %{which}; "
            f"the limit of {percent(first.limits['water_lost'].value)} is {_reached(when(crossing, self.now))}. A weighing narrows this."
        )
        act = f"Weigh {_listed('bag', 'bags', bags)}{where}."
        return Told(
            act, reason, "weigh", "water_lost", self._for_each(f"weigh {shlex.quote(bags[0])} WEIGHT", bags)
        )

    def _strike(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        names = _names(lots)
        kind = species(first.species).name
        callused = (
            first.crossings["callus"].median is not None and first.crossings["callus"].median <= self.now
        )
        if callused:
            reason = f"Lot {first.name}: about {_share(first.state['callus'])} of the cuttings should have callused. {_learnt(first)}Look before you rely on it."
            act = f"Ready to strike: {_listed('lot', 'lots', names)} ({kind}, {first.store})."
        else:
            need = first.limits["chill_portions"]
            reason = (
                f"Lot {first.name} has {first.state['chill_portions'].median:.0f} chill portions, the need is set at {need.value:.0f} "
                f"({need.mark}). Its buds grow once it is warm."
            )
            act = f"Chill is complete: {_listed('lot', 'lots', names)} ({kind}, {first.store})."
        return Told(act, reason, "", "callus" if callused else "chill_portions", _look_at(lots))

    def record(self, place: str, last: float | None, gap: int) -> Told:
        """Return the words of a task about a store's record."""
        if last is None:
            act = f"Put a logger into {place} and load its record."
            return Told(
                act,
                f"No temperature of {place} is recorded; its forecasts rest on an assumption.",
                "load",
                "",
                "ortet load FILE",
            )
        if last < self.now - 24.0:
            act = f"Read the logger of {place} and load its record."
            reason = f"The record of {place} stops {self.day(last)}, {(self.now - last) / 24:.0f} days ago; since then it is filled from the days before."
            return Told(act, reason, "load", "", "ortet load FILE")
        act = f"Check the logger of {place}: its battery, and whether it kept the missing hours."
        return Told(
            act,
            f"{gap} h of the last 14 days are missing and were filled from the days around.",
            "load",
            "",
            "ortet load FILE",
        )

    def _for_each(self, command: str, bags: Sequence[str]) -> str:
        return f"ortet {command}" + (f"   (and so for each of the {len(bags)} bags)" if len(bags) > 1 else "")


def _reached(words: str) -> str:
    return words if words in ("crossed", "likely crossed", "not in sight", UNCERTAIN) else f"reached {words}"


def _learnt(lot: LotForecast) -> str:
    """Return how much of the pace of callus was learnt from looks; nothing where it is the usual one."""
    told = lot.learnt.get("callus")
    if told is None:
        return ""
    return f"Its pace rests on your looks by {percent(told.weight)}, on the usual value by {percent(1.0 - told.weight)}. "


def _code(lot: LotForecast) -> str:
    return show(lot.lot) if is_code(lot.lot) else shlex.quote(lot.lot)


def _names(lots: Sequence[LotForecast]) -> tuple[str, ...]:
    """Return what lots are called: by mark and code, by one of the two where there are several."""
    names = gather(lot.name for lot in lots)
    return names if len(names) == 1 else gather(lot.short_name for lot in lots)


def _look_at(lots: Sequence[LotForecast]) -> str:
    number = len(gather(lot.lot for lot in lots))
    return f"ortet lot {_code(lots[0])}" + (
        f"   (and so for each of the {number} lots)" if number > 1 else ""
    )


def _weeks(lot: LotForecast) -> str:
    return f"{species(lot.species).value('keep_weeks'):.0f}"
