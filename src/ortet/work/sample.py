"""A sample of a lot: how many to look at, which ones, and what was found means. Books nothing."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from ortet.evidence.sampling import Allowed, Pull, allowed, bad_ones, chance_unseen, pull, sample_size
from ortet.ledger import stock
from ortet.ledger.booking import Refused
from ortet.ledger.models import Kind, Lot, Nursery
from ortet.wood.speech import say, say_many

from . import find

__all__ = ["Sample", "Sampling", "Words", "in_words", "sample"]

SEEDS = 10_000


@dataclass(frozen=True, slots=True)
class Sampling:
    """What is asked."""

    lot: str
    share: float = 0.05  # of bad ones that should show
    confidence: float = 0.95
    sees: float = 1.0  # share of bad ones that are seen for what they are
    seed: int | None = None  # the draw's number; None: one that follows from the lot and the day
    looked: int | None = None  # how many were looked at; None: as many as are asked for
    found: int | None = None  # bad ones among them; None: not looked yet


@dataclass(frozen=True, slots=True)
class Sample:
    """How many to look at, which, and what the answer leaves possible."""

    lot: Lot
    on_hand: int
    asked: Sampling
    size: int
    bad: int  # how many cuttings the share means
    shows: float  # chance that one at least shows where so many are bad
    seed: int
    pulls: tuple[Pull, ...]
    kinds: dict[str, str]  # of the places, by name
    clean: Allowed  # what none found in so many leaves possible
    told: Allowed | None  # what was found leaves possible

    @property
    def is_all(self) -> bool:
        """Whether every cutting is to be looked at."""
        return self.size == self.on_hand


def sample(asked: Sampling, today: date | None = None) -> Sample:
    """Say how many cuttings of a lot to look at, which ones, and what the answer leaves possible.

    Raises
    ------
    Refused
        If nothing of the lot is on hand, a share is none, or more were found than looked at.
    """
    lot = find.lot(asked.lot)
    lying = {str(row.place): row.count for row in stock.balances().filter(lot=lot)}
    on_hand = sum(lying.values())
    if not on_hand:
        raise Refused(
            say("Nothing of lot {lot} is on hand, so there is nothing to pull. Nothing was booked.", lot=lot)
        )
    day = today or Nursery.get().today()
    seed = _seed(lot, day) if asked.seed is None else asked.seed
    try:
        size = sample_size(on_hand, asked.share, asked.confidence, asked.sees)
        looked = size if asked.looked is None else asked.looked
        told = allowed(on_hand, looked, asked.found or 0, asked.confidence, asked.sees)
        bad = bad_ones(on_hand, asked.share)
    except ValueError as error:
        raise Refused(say("{error}. Nothing was reckoned.", error=error)) from None
    return Sample(
        lot=lot,
        on_hand=on_hand,
        asked=asked,
        size=size,
        bad=bad,
        shows=1.0 - chance_unseen(on_hand, max(bad, 1), size, asked.sees),
        seed=seed,
        pulls=tuple(pull(list(lying.items()), size, seed)),
        kinds={str(row.place): str(Kind(row.place.kind).label) for row in stock.balances().filter(lot=lot)},
        clean=allowed(on_hand, looked, 0, asked.confidence, asked.sees),
        told=told if asked.found is not None else None,
    )


def _seed(lot: Lot, day: date) -> int:
    """Return a draw's number that is the same all day, so that a page loaded anew asks for the same cuttings."""
    return int.from_bytes(sha256(f"{lot.code} {day}".encode()).digest()[:8]) % SEEDS


@dataclass(frozen=True, slots=True)
class Words:
    """A sample in a grower's words."""

    how_many: str
    means: tuple[str, ...]


def in_words(card: Sample) -> Words:
    """Return what a sample asks for and what its answer means."""
    asked, sure = card.asked, f"{100 * card.asked.confidence:g} %"
    share = f"{100 * asked.share:g} %"
    if not card.bad:
        how_many = say(
            "{share} of {on_hand} is less than one cutting, and no sample shows that: look at all {on_hand}.",
            share=share,
            on_hand=card.on_hand,
        )
    elif card.is_all:
        how_many = say(
            "Look at all {on_hand}: if {bad} of them ({share}) are bad, one shows with {shows:.0f} %.",
            on_hand=card.on_hand,
            bad=card.bad,
            share=share,
            shows=100 * card.shows,
        )
    else:
        how_many = say(
            "Look at {size} of {on_hand}: if {bad} of them ({share}) are bad, at least one shows with {shows:.1f} %.",
            size=card.size,
            on_hand=card.on_hand,
            bad=card.bad,
            share=share,
            shows=100 * card.shows,
        )
    return Words(how_many, (_means(card, sure),))


def _means(card: Sample, sure: str) -> str:
    told = card.told
    if told is None:
        return say("If none is bad, {clean}, {sure} sure.", clean=_clean(card.clean), sure=sure)
    if not told.found:
        return say(
            "None of {looked} was bad: {clean}, {sure} sure.",
            looked=told.looked,
            clean=_clean(told),
            sure=sure,
        )
    between = say("between {low} and {high}", low=told.low, high=told.high)
    return say_many(
        "{count} of {looked} was bad: of the whole lot of {lot} about {likely}, {between}, {sure} sure.",
        "{count} of {looked} were bad: of the whole lot of {lot} about {likely}, {between}, {sure} sure.",
        told.found,
        looked=told.looked,
        lot=told.lot,
        likely=round(told.lot * told.found / told.looked),
        between=between if told.high > told.low else say("just so many"),
        sure=sure,
    )


def _clean(told: Allowed) -> str:
    if not told.most:
        return say("none in the lot is")
    return say(
        "the lot may still hold up to {most} bad ones ({share:.1f} %)",
        most=told.most,
        share=100 * told.most_share,
    )
