"""Tasks in words: the act, then the reason in numbers."""

from __future__ import annotations

import shlex
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from ortet.decisions.outlook import Band, LotForecast, hours_or_days, percent, reached, when
from ortet.science.species import species
from ortet.wood.code import is_code, show
from ortet.wood.holding import Bag
from ortet.wood.speech import counted, say, say_many, say_short_day, to_say, weekday
from ortet.wood.units import show_mass

__all__ = ["Told", "Wording", "gather"]

MANY = 4  # so many names are written out
LISTED = {  # one, a few, many
    "bag": (
        to_say("bag {name}"),
        to_say("bags {names} and {last}"),
        to_say("{count} bags: {names} and {more} more"),
    ),
    "lot": (
        to_say("lot {name}"),
        to_say("lots {names} and {last}"),
        to_say("{count} lots: {names} and {more} more"),
    ),
}


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


def _listed(what: str, names: Sequence[str]) -> str:
    """Write `bag B1`, or `bags B1, B2 and B3`, or the first few and how many more."""
    one, few, many = LISTED[what]
    if len(names) == 1:
        return say(one, name=names[0])
    if len(names) <= MANY:
        return say(few, names=", ".join(names[:-1]), last=names[-1])
    return say(many, count=len(names), names=", ".join(names[:MANY]), more=len(names) - MANY)


def _share(band: Band, digits: int = 0) -> str:
    low, median, high = (f"{value * 100:.{digits}f}" for value in (band.low, band.median, band.high))
    if low == high:
        return f"{median} %"
    return say("{median} % ({low} to {high})", median=median, low=low, high=high)


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
            return say("yesterday") if ago else say("today")
        return weekday(at) if 1 < ago < 7 else say_short_day(at)

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
        since = say(" since {day}", day=self.day(first.wet_since)) if first.wet_since is not None else ""
        mass = show_mass(first.free_g.median, self.units)
        grams = say(", about {mass}", mass=mass) if first.free_g.median >= 0.05 else ""
        which = say("In bag {bag} ", bag=bags[0]) if len(bags) > 1 else ""
        packing = say(values[0].wrap.packing) if values[0] and first.packing_g > 0 else ""
        cause = (
            say(
                "its {packing} still holds about {mass} and gives it off",
                packing=packing,
                mass=show_mass(first.packing_g, self.units),
            )
            if packing
            else say(
                "{store} swung {difference} in a week",
                store=first.store,
                difference=self.difference(first.swing_c),
            )
        )
        reason = say(
            "{which}{hours} of free water{since}{grams}; {cause}. "
            "Grey mould germinates after {limit:.0f} h: {when}.",
            which=which,
            hours=hours_or_days(hours),
            since=since,
            grams=grams,
            cause=cause,
            limit=limit.value,
            when=when(first.crossings["free_wet_hours"], self.now),
        )
        if packing:
            reason += say(" Packing that is barely moist at most is common practice.")
        wet = say("the wet packing") if len(bags) > 1 else say("the {packing}", packing=packing)
        first_of_all = say("take out {wet} or change it for barely moist, ", wet=wet) if packing else ""
        act = say(
            "Open {bags}{where}: {first_of_all}wipe, air ten minutes, close.",
            bags=_listed("bag", bags),
            where=_where(first, bags),
            first_of_all=first_of_all,
        )
        command = self._for_each(f"treat {shlex.quote(bags[0])} wipe", bags)
        return Told(act, reason, "wipe", "free_wet_hours", command)

    def _airless(
        self, lots: Sequence[LotForecast], bags: Sequence[str], values: Sequence[Bag | None]
    ) -> Told:
        first, bag = lots[0], values[0]
        grams = bag.contents[-1].wood_g if bag and bag.contents else 0.0
        film = (
            f"{bag.wrap.layers} × {bag.wrap.thickness_um:g} µm {bag.wrap.polymer}, {say(bag.wrap.closure)}"
            if bag
            else ""
        )
        crossing = first.crossings["oxygen"]
        if crossing.median is not None and crossing.median <= self.now:
            sure = crossing.late is not None and crossing.late <= self.now
            day = self.day(crossing.median)
            fell = (
                say("below 5 % since about {day}", day=day)
                if sure
                else say("likely below 5 % since about {day}", day=day)
            )
        else:
            fell = f"5 % {when(crossing, self.now)}"
        reason = say(
            "Oxygen {oxygen}, {fell}: {mass} of wood in {film}. Without oxygen wood ferments.",
            oxygen=_share(first.state["oxygen"]),
            fell=fell,
            mass=show_mass(grams, self.units),
            film=film,
        )
        act = say(
            "Open bag {bag}, smell it, air ten minutes; put less wood in it or close it less tightly.",
            bag=bags[0],
        )
        return Told(act, reason, "air", "oxygen", f"ortet treat {shlex.quote(bags[0])} air")

    def _dry(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        lost, limit, crossing = (
            first.state["water_lost"],
            first.limits["water_lost"],
            first.crossings["water_lost"],
        )
        name = _listed("bag", bags)
        over = lost.median >= limit.value
        act = (
            say(
                "Open {bags}: scratch-test, soak what is green 12 to 24 hours, use it first, close the rest tighter.",
                bags=name,
            )
            if over
            else say("Close {bags} tighter or put it in a second bag, or use it first.", bags=name)
        )
        reason = say(
            "Lost {lost} of its weight as water, {a_week} more each week. ",
            lost=_share(lost, 1),
            a_week=_share(first.loss_a_week, 1),
        ) + (
            say("Past its limit of {limit}.", limit=percent(limit.value))
            if over
            else say(
                "Its limit of {limit} is {reached}.",
                limit=percent(limit.value),
                reached=reached(crossing, self.now),
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
        reason = say(
            "{count} cuttings lie bare ({place}) and lose {lost} of their weight a day; the limit of {limit} is {reached}.",
            count=first.count,
            place=first.place,
            lost=_share(Band(band.low / 7, band.median / 7, band.high / 7), 1),
            limit=percent(first.limits["water_lost"].value),
            reached=reached(first.crossings["water_lost"], self.now),
        )
        command = f"ortet bag {_code(first)} --store STORE"
        act = say("Bag lot {lot}, {variety}.", lot=first.name, variety=first.variety)
        return Told(act, reason, "bag", "water_lost", command)

    def _use(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        kind = say(species(first.species).name)
        names = _names(lots)
        left = (first.keep_until - self.now) / 24
        days = counted(round(abs(left)), "day")
        keep = (
            say("usual keeping time of {kind} ends in {days}", kind=kind, days=days)
            if left >= 1
            else say(
                "{kind} is usually kept {weeks} weeks: over by {days}",
                kind=kind,
                weeks=_weeks(first),
                days=days,
            )
        )
        limit, crossing = first.limits["reserve_left"], first.crossings["reserve_left"]
        reason = say(
            "Lot {lot}: {keep}; reserve left {reserve}; its limit of {limit} is {reached}.",
            lot=first.name,
            keep=keep,
            reserve=_share(first.state["reserve_left"]),
            limit=percent(limit.value),
            reached=reached(crossing, self.now),
        )
        act = say(
            "Use first {lots} ({kind}, {store}).", lots=_listed("lot", names), kind=kind, store=first.store
        )
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
        reason = say_many(
            "{count} of {looked} cuttings was mouldy {day}; mould spreads along touching wood.",
            "{count} of {looked} cuttings were mouldy {day}; mould spreads along touching wood.",
            look.mouldy or 0,
            looked=looked,
            day=self.day(look.at),
        )
        act = say(
            "Sort out lot {lot} in bag {bag}: take out every mouldy cutting, wipe the bag, air it.",
            lot=first.name,
            bag=bags[0],
        )
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
        act = say(
            "Look into {bags}{where}: mould, free water, dry bark, callus.",
            bags=_listed("bag", bags),
            where=_where(lots[0], bags),
        )
        reason = say(
            "Not looked at for up to {weeks:.0f} weeks; every three to four weeks is common practice.",
            weeks=weeks,
        )
        return Told(
            act, reason, "inspect", "", self._for_each(f"inspect {shlex.quote(bags[0])} --sound COUNT", bags)
        )

    def _weigh(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        lost, crossing = first.state["water_lost"], first.crossings["water_lost"]
        times = (
            say_many("Weighed once", "Weighed {count} times", first.weighed)
            if first.weighed
            else say("Never weighed")
        )
        which = say(" (bag {bag})", bag=bags[0]) if len(bags) > 1 else ""
        reason = say(
            "{times}: it may have lost {low:.1f} to {high:.1f} %{which}; the limit of {limit} is {reached}. "
            "A weighing narrows this.",
            times=times,
            low=lost.low * 100,
            high=lost.high * 100,
            which=which,
            limit=percent(first.limits["water_lost"].value),
            reached=reached(crossing, self.now),
        )
        act = say("Weigh {bags}{where}.", bags=_listed("bag", bags), where=_where(first, bags))
        return Told(
            act, reason, "weigh", "water_lost", self._for_each(f"weigh {shlex.quote(bags[0])} WEIGHT", bags)
        )

    def _strike(self, lots: Sequence[LotForecast], bags: Sequence[str], _: Sequence[Bag | None]) -> Told:
        first = lots[0]
        names = _names(lots)
        kind = say(species(first.species).name)
        callused = (
            first.crossings["callus"].median is not None and first.crossings["callus"].median <= self.now
        )
        if callused:
            reason = say(
                "Lot {lot}: about {share} of the cuttings should have callused. {learnt}Look before you rely on it.",
                lot=first.name,
                share=_share(first.state["callus"]),
                learnt=_learnt(first),
            )
            act = say(
                "Ready to strike: {lots} ({kind}, {store}).",
                lots=_listed("lot", names),
                kind=kind,
                store=first.store,
            )
        else:
            need = first.limits["chill_portions"]
            reason = say(
                "Lot {lot} has {portions:.0f} chill portions, the need is set at {need:.0f} ({mark}). Its buds grow once it is warm.",
                lot=first.name,
                portions=first.state["chill_portions"].median,
                need=need.value,
                mark=say(need.mark),
            )
            act = say(
                "Chill is complete: {lots} ({kind}, {store}).",
                lots=_listed("lot", names),
                kind=kind,
                store=first.store,
            )
        return Told(act, reason, "", "callus" if callused else "chill_portions", _look_at(lots))

    def record(self, place: str, last: float | None, gap: int) -> Told:
        """Return the words of a task about a store's record."""
        if last is None:
            act = say("Put a logger into {place} and load its record.", place=place)
            reason = say(
                "No temperature of {place} is recorded; its forecasts rest on an assumption.", place=place
            )
            return Told(act, reason, "load", "", "ortet load FILE")
        if last < self.now - 24.0:
            act = say("Read the logger of {place} and load its record.", place=place)
            reason = say(
                "The record of {place} stops {day}, {days:.0f} days ago; since then it is filled from the days before.",
                place=place,
                day=self.day(last),
                days=(self.now - last) / 24,
            )
            return Told(act, reason, "load", "", "ortet load FILE")
        act = say(
            "Check the logger of {place}: its battery, and whether it kept the missing hours.", place=place
        )
        reason = say(
            "{hours} h of the last 14 days are missing and were filled from the days around.", hours=gap
        )
        return Told(act, reason, "load", "", "ortet load FILE")

    def _for_each(self, command: str, bags: Sequence[str]) -> str:
        each = say("   (and so for each of the {count} bags)", count=len(bags)) if len(bags) > 1 else ""
        return f"ortet {command}{each}"


def _where(first: LotForecast, bags: Sequence[str]) -> str:
    return say(" in {store}", store=first.store) if len(bags) > 1 else ""


def _learnt(lot: LotForecast) -> str:
    """Return how much of the pace of callus was learnt from looks; nothing where it is the usual one."""
    told = lot.learnt.get("callus")
    if told is None:
        return ""
    return say(
        "Its pace rests on your looks by {looks}, on the usual value by {usual}. ",
        looks=percent(told.weight),
        usual=percent(1.0 - told.weight),
    )


def _code(lot: LotForecast) -> str:
    return show(lot.lot) if is_code(lot.lot) else shlex.quote(lot.lot)


def _names(lots: Sequence[LotForecast]) -> tuple[str, ...]:
    """Return what lots are called: by mark and code, by one of the two where there are several."""
    names = gather(lot.name for lot in lots)
    return names if len(names) == 1 else gather(lot.short_name for lot in lots)


def _look_at(lots: Sequence[LotForecast]) -> str:
    number = len(gather(lot.lot for lot in lots))
    each = say("   (and so for each of the {count} lots)", count=number) if number > 1 else ""
    return f"ortet lot {_code(lots[0])}{each}"


def _weeks(lot: LotForecast) -> str:
    return f"{species(lot.species).value('keep_weeks'):.0f}"
