"""A parcel whole: its lines with what was found and what to do, the mix for those to be dipped, and what is missing yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Any

from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery, Photo, Received, ReceivedLine
from ortet.science.species import species
from ortet.wood.speech import say
from ortet.work.learnt import learnt
from ortet.work.mix import Card, Mixing, mix
from ortet.work.taking import USUAL

from .drafting import find_parcel, found_of

if TYPE_CHECKING:
    from ortet.decisions.receiving import Advice, Found
    from ortet.decisions.take import Beta

__all__ = ["STEPS", "LineTold", "ParcelTold", "parcel_told"]

STEPS = ("count", "look", "scratch")
COVER = 3.0  # times the wood's own volume, so that a dip covers it [our choice]
LEAST_L = 2  # of a dip: less cannot be measured well [our choice]


@dataclass(frozen=True, slots=True)
class LineTold:
    """One line of the slip, what was found of it and what to do."""

    line: int
    row: Mapping[str, Any]
    found: Found
    advice: Advice
    lot: ReceivedLine | None  # once the parcel is finished

    @property
    def name(self) -> str:
        """The variety, in quotation marks."""
        return f"‘{self.row['variety']}’"

    @property
    def kind(self) -> str:
        """The species, by its common name."""
        return say(species(self.row["species"]).name)

    @property
    def done(self) -> tuple[str, ...]:
        """The steps that were taken."""
        found = self.row["found"]
        taken = {
            "count": "counted" in found,
            "look": "mouldy" in found and "dead" in found,
            "scratch": "scratch_of" in found or found.get("counted") == 0,
        }
        return tuple(step for step in STEPS if taken[step])

    @property
    def next_step(self) -> str:
        """The first step not taken, or nothing."""
        return next((step for step in STEPS if step not in self.done), "")

    @property
    def then(self) -> str:
        """What was decided, else what is advised."""
        return str(self.row.get("then") or self.advice.then)


@dataclass(frozen=True, slots=True)
class ParcelTold:
    """A parcel and all that is known of it."""

    parcel: Received
    lines: tuple[LineTold, ...]
    mixing: Card | None
    litres: int  # of dip wanted; 0: none
    not_mixed: str  # why there is no mix, though one is wanted
    claims: tuple[str, ...]
    photos: tuple[Photo, ...]

    @property
    def not_looked_at(self) -> int:
        """Lines that were not counted or not looked at."""
        return sum(not one.found.is_looked_at for one in self.lines)

    @property
    def may_finish(self) -> bool:
        """Whether every line was counted and looked at."""
        return bool(self.lines) and not self.not_looked_at and not self.parcel.finished_at

    @property
    def next_step(self) -> tuple[int, str] | None:
        """The line and step to go on with; None where nothing is left but to decide."""
        for one in self.lines:
            if step := one.next_step:
                return one.line, step
        return None


def parcel_told(number: int) -> ParcelTold:
    """Return a parcel with what to do about each line, and why."""
    parcel = find_parcel(number)
    lots = {one.position: one for one in parcel.lots.select_related("lot__variety", "apart")}
    lines = tuple(_told(parcel, row, lots.get(row["line"])) for row in parcel.said["lines"])
    litres = _litres(lines)
    card, why = _mixed(parcel, litres)
    return ParcelTold(parcel, lines, card, litres, why, _claims(lines), _photos(parcel))


def _told(parcel: Received, row: Mapping[str, Any], lot: ReceivedLine | None) -> LineTold:
    from ortet.decisions.receiving import advise

    found = found_of(parcel, row)
    share, rests_on = _strike(row["species"], row["variety"])
    return LineTold(int(row["line"]), row, found, advise(found, share, rests_on), lot)


def _strike(kind: str, variety: str) -> tuple[Beta, str]:
    """Return the share of sound cuttings that strikes: as learnt of the variety or its species, else as is usual."""
    from ortet.decisions.take import Beta

    if rate := learnt().of(kind, variety):
        return Beta(rate.next_batch.a, rate.next_batch.b), rate.words
    known = species(kind)
    share, many = known.value("strike"), known.value("strike_cuttings")
    return Beta(share * many, (1 - share) * many), say(
        "Usual for {kind}: {why}.", kind=say(known.name), why=known.why("strike")
    )


def _claims(lines: tuple[LineTold, ...]) -> tuple[str, ...]:
    from ortet.decisions.receiving import grounds

    return tuple(said for one in lines for said in grounds(one.found, one.name))


def _photos(parcel: Received) -> tuple[Photo, ...]:
    return tuple(Photo.objects.filter(pk__in=parcel.said.get("photos", [])))


def _litres(lines: tuple[LineTold, ...]) -> int:
    """Return how much dip covers all that is to be dipped, in whole litres."""
    ml = 0.0
    for one in lines:
        if one.advice.dip:
            grams = one.found.usable * USUAL.mass_g(species(one.row["species"]).value("density"))
            ml += one.found.came_g or grams  # wood weighs about as much as water
    return max(LEAST_L, ceil(COVER * ml / 1000)) if ml else 0


def _mixed(parcel: Received, litres: int) -> tuple[Card | None, str]:
    """Return the card for the dip, or why there is none."""
    if not litres:
        return None, ""
    stock = parcel.said["found"].get("stock", "")
    if not stock:
        return None, say("Say what the bleach bottle's label says, and the mix is reckoned here.")
    try:
        units = Nursery.get().units
        return mix(
            Mixing("bleach", "0.5 % by mass", f"{litres} L", stock, minutes=8, water_c=None, units=units)
        ), ""
    except Refused as error:
        return None, str(error)
