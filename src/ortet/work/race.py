"""Roots or leaves first: the race of a lot, or of a kind of wood, on a bench. Books nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from ortet.ledger.booking import Refused, Unknown
from ortet.ledger.models import Lot, Nursery
from ortet.wood.speech import say

from . import find

if TYPE_CHECKING:
    from ortet.decisions.forecast import Forecasts
    from ortet.decisions.racing import Raced, Start
    from ortet.ledger.stock import Season

__all__ = ["RaceCard", "Racing", "race", "refuse_no_chill", "start_of"]

SOONEST_C, LATEST_C = -5.0, 45.0
FAR = timedelta(days=366)
MOST_CHILL = (
    400  # portions; a year of hours at the best temperature gives no more (a portion takes a day or so)
)


@dataclass(frozen=True, slots=True)
class Racing:
    """What is asked; None is taken from the lot and its kind."""

    lot: str = ""
    kind: str = ""  # a species, where no lot is named
    base_c: float | None = None
    air_c: float | None = None
    on: date | None = None  # the day of striking
    chill: float | None = None  # portions on that day


@dataclass(frozen=True, slots=True)
class RaceCard:
    """The race as asked, and what was taken where nothing was said."""

    lot: Lot | None
    kind: str
    base_c: float
    air_c: float
    on: date
    raced: Raced
    assumed: tuple[str, ...]
    struck_at: float  # noon of the day of striking [h since 1970]


def refuse_no_chill(chill: float) -> None:
    """Raise where so many chill portions cannot be."""
    if not 0 <= chill <= MOST_CHILL:
        raise Refused(
            say(
                "Chill {chill:g}: give 0 to {most} portions. Nothing was reckoned.",
                chill=chill,
                most=MOST_CHILL,
            )
        )


def race(asked: Racing, now: datetime | None = None) -> RaceCard:
    """Say when roots and leaves come, the risk that leaves come first, and what moves it.

    Raises
    ------
    Refused
        If neither a lot nor a kind is named, the day has passed, or a temperature is none of a bench.
    """
    from ortet.decisions.racing import AIR_C, Start, run
    from ortet.science.species import known_species, species

    nursery = Nursery.get()
    now = now or nursery.now()
    today = now.astimezone(nursery.tz).date()
    on = asked.on or today
    if not today <= on <= today + FAR:
        raise Refused(
            say("{on}: give a day of striking from today to a year ahead. Nothing was reckoned.", on=on)
        )
    try:
        lot = find.lot(asked.lot) if asked.lot else None
    except Unknown as error:
        raise Unknown(
            say(
                "{error} Kinds of wood that may be named instead: {known}.",
                error=error,
                known=", ".join(known_species()),
            )
        ) from None
    kind = lot.variety.species if lot else asked.kind
    if not kind:
        raise Refused(say("Name a lot or a kind of wood, such as grape. Nothing was reckoned."))
    if kind not in known_species():
        raise Refused(
            say(
                "{kind!r} is no kind of wood that Ortet knows: {known}.",
                kind=kind,
                known=", ".join(known_species()),
            )
        )
    wood = species(kind)
    base_c = wood.value("roots_t_opt") if asked.base_c is None else asked.base_c
    air_c = AIR_C if asked.air_c is None else asked.air_c
    for value, what in ((base_c, say("base")), (air_c, say("air"))):
        if not SOONEST_C <= value <= LATEST_C:
            raise Refused(
                say(
                    "{value:.0f} °C for the {what}: give what a bench can have. Nothing was reckoned.",
                    value=value,
                    what=what,
                )
            )
    days = float((on - today).days)
    if lot:
        start, assumed = _of_lot(lot, now)
    else:
        start = Start(wood, wood.value("chill_portions"), 0.0, 0.0)
        assumed = [
            say(
                "Chill is taken as what {wood} needs, {chill:.0f} portions: name a lot to reckon with its own, or give it. "
                "Days to root are the usual ones.",
                wood=wood.name,
                chill=start.chill,
            )
        ]
    if asked.chill is not None:
        refuse_no_chill(asked.chill)
        start = Start(
            wood, asked.chill - start.chill_a_day * days, start.chill_a_day, start.heat, start.roots
        )
        assumed[0] = say(
            "Chill on the day of striking: {chill:g} portions, as you gave it.", chill=asked.chill
        )
    if asked.base_c is None:
        assumed.append(
            say(
                "The base is taken at {base_c:g} °C, where {wood} roots fastest.",
                base_c=base_c,
                wood=wood.name,
            )
        )
    if asked.air_c is None:
        assumed.append(
            say(
                "The air is taken at {air_c:g} °C: warm bases and cool tops are common practice.", air_c=air_c
            )
        )
    noon = datetime(on.year, on.month, on.day, 12, tzinfo=nursery.tz).timestamp() / 3600
    raced = run(start, base_c, air_c, wait=days, units=nursery.units)
    return RaceCard(lot, kind, base_c, air_c, on, raced, tuple(assumed), noon)


def _of_lot(lot: Lot, now: datetime) -> tuple[Start, list[str]]:
    """Return what a lot brings along now, and what was taken where it is not known."""
    from .today import season_forecast

    season, forecasts = season_forecast(now, lot)
    if not len(forecasts):
        raise Refused(say("Nothing of lot {lot} is on hand. Nothing was reckoned.", lot=lot))
    return start_of(lot, season, forecasts)


def start_of(lot: Lot, season: Season, forecasts: Forecasts) -> tuple[Start, list[str]]:
    """Return what the first wood of a forecast brings along, all of it of one lot, and what was taken where it is not known."""
    import numpy as np

    from ortet.decisions import pacing
    from ortet.decisions.racing import Start
    from ortet.science.species import species

    wood = species(lot.variety.species)
    first = forecasts[0]
    curve = forecasts.curve(first.lot, "chill_portions", first.place)
    ahead = np.interp(first.now + np.array([0.0, 28.0 * 24.0]), curve.at, curve.median)
    heat, said = _heat_before(lot, season.climates)
    assumed = [
        say(
            "Chill so far {so_far:.0f} portions, {more:.1f} more each week while {store} goes on so.",
            so_far=ahead[0],
            more=(ahead[1] - ahead[0]) / 4,
            store=first.store,
        ),
        said,
    ]
    assumed += [first.chill_gap] if first.chill_gap else []
    told = first.learnt.get(pacing.ROOTS)
    assumed.append(
        pacing.say(told, lot.variety.species, pacing.ROOTS, lot.variety.name)
        if told
        else say(
            "No roots were counted on {wood} this season: the usual days to root are used.", wood=wood.name
        )
    )
    return Start(wood, float(ahead[0]), float(ahead[1] - ahead[0]) / 28.0, heat, told), assumed


def _heat_before(lot: Lot, climates: object) -> tuple[float, str]:
    """Return the heat that the buds had on the mother plant once her chill was met, and how that is known. [°C h]"""
    from ortet.decisions.clocks import season_start
    from ortet.decisions.course import place_air
    from ortet.ledger.stock import hours
    from ortet.science.leaves import winter_so_far
    from ortet.science.species import species

    site = lot.mother.site.name if lot.mother and lot.mother.site else None
    record = climates.get(site) if site and isinstance(climates, dict) else None
    if record is None:
        return (
            0.0,
            say(
                "Heat: the weather where the mother plant stands is not recorded, so none is counted before the cut."
            ),
        )
    wood = species(lot.variety.species)
    taken = hours(lot.taken_at)
    begin = season_start(taken)
    air = place_air(record, site or "", begin, max(int(taken) - begin, 1)).air_c
    _, heat = winter_so_far(
        air,
        chill_needed=wood.value("chill_portions"),
        t_base=wood.value("heat_t_base"),
        t_opt=wood.value("heat_t_opt"),
        t_crit=wood.value("heat_t_crit"),
    )
    got = float(heat[-1])
    if got < 1.0:
        return 0.0, say(
            "Heat: none counted on the mother plant, since her chill was not met when it was cut."
        )
    return got, say("Heat: {heat:,.0f} °C h on the mother plant after her chill was met.", heat=got)
