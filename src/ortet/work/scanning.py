"""A second scan: do the labels in the hand match what the book says lies there. And what is open at once today. Books nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from ortet.decisions.alike import Open
from ortet.ledger import stock
from ortet.ledger.booking import Refused
from ortet.ledger.handling import acts_between
from ortet.ledger.models import Balance, Kind, Lot, Nursery, Place
from ortet.ledger.places import ON_HAND
from ortet.ledger.slices import in_slices
from ortet.wood import code as codes
from ortet.wood.speech import say

from . import find

__all__ = ["Label", "Scan", "opened_today", "scan"]


@dataclass(frozen=True, slots=True)
class Label:
    """One label as it was scanned or typed, and what the book says of it."""

    text: str
    fits: bool
    says: str
    lot: Lot | None = None


@dataclass(frozen=True, slots=True)
class Scan:
    """All labels of a second scan."""

    place: Place | None
    labels: tuple[Label, ...]
    says: str  # of the labels together

    @property
    def fits(self) -> bool:
        """Whether every label matches."""
        return all(label.fits for label in self.labels)


def scan(labels: Sequence[str], place: str = "") -> Scan:
    """Say of each label whether it matches what the book says lies there.

    Parameters
    ----------
    labels
        Codes, marks or bags' names, as scanned or typed; an empty one is passed over.
    place
        Where they were read: a bench, a cold place, a bag; nothing where that does not matter.

    Raises
    ------
    Refused, Unknown
        If no label was given, or the place is not in the book.
    """
    read = [text.strip() for text in labels if text.strip()]
    if not read:
        raise Refused(say("Scan or type at least one label. Nothing was booked."))
    here = find.place(place, *ON_HAND) if place.strip() else None
    told = tuple(_label(text, here) for text in read)
    return Scan(here, told, _together(told))


def _label(text: str, here: Place | None) -> Label:
    try:
        lot = find.lot(text)
    except Refused as error:
        try:
            bag = find.bag(text)
        except Refused:
            said = str(error).removesuffix(say("Nothing was booked.")).rstrip()
            return Label(text, False, said)
        return _of_bag(text, bag, here)
    lying = list(stock.balances().filter(lot=lot))
    name = _named(lot)
    there = ", ".join(say("{count} in {place}", count=row.count, place=row.place) for row in lying)
    if not lying:
        none = say("{lot}: nothing of it is on hand. Whose label is this?", lot=name)
        return Label(text, False, none, lot)
    if here is None:
        return Label(text, True, f"{name}: {there}.", lot)
    mine = [row for row in lying if row.place_id == here.pk or _stands_in(row.place) == here.pk]
    if mine:
        count = sum(row.count for row in mine)
        return Label(text, True, say("{lot}: the book has {count} here.", lot=name, count=count), lot)
    if _was_here_today(lot, here):
        now = say("{lot}: in the hand here today; the book now has {there}.", lot=name, there=there)
        return Label(text, True, now, lot)
    elsewhere = say(
        "{lot}: the book has none of it here, but {there}. Is it this bundle's label?", lot=name, there=there
    )
    return Label(text, False, elsewhere, lot)


def _named(lot: Lot) -> str:
    if lot.mark:
        return say("lot {lot} ({mark}), {variety}", lot=lot, mark=lot.mark, variety=lot.variety)
    return say("lot {lot}, {variety}", lot=lot, variety=lot.variety)


def _of_bag(text: str, bag: Place, here: Place | None) -> Label:
    """Return what a bag's own label says."""
    lying = list(Balance.objects.filter(place=bag, count__gt=0).select_related("lot__variety"))
    each = (
        say("{count} of {lot} {variety}", count=row.count, lot=row.lot, variety=row.lot.variety)
        for row in lying
    )
    held = "; ".join(each)
    lot = lying[0].lot if len(lying) == 1 else None
    if not lying:
        return Label(text, False, say("bag {bag}: the book has nothing in it.", bag=bag))
    if here is not None and here.pk not in (bag.pk, _stands_in(bag)):
        elsewhere = say("bag {bag} ({held}) stands elsewhere by the book.", bag=bag, held=held)
        return Label(text, False, elsewhere, lot)
    return Label(text, True, say("bag {bag}: {held}.", bag=bag, held=held), lot)


def _stands_in(place: Place) -> int | None:
    if place.kind not in (Kind.BAG, Kind.BATCH):
        return None
    last = place.standings.order_by("since").last()
    return last.store_id if last else None


def _was_here_today(lot: Lot, here: Place) -> bool:
    now = Nursery.get().now()
    acts = acts_between(_morning(now), now + timedelta(minutes=1))
    return any(act.lot == lot.pk and here.pk in (act.site, *act.cells) for act in acts)


def _together(labels: Sequence[Label]) -> str:
    lots = [label.lot for label in labels if label.lot is not None]
    if len(lots) < 2:
        return ""
    if len({lot.pk for lot in lots}) == 1:
        return say(
            "These labels are of one lot. If the bundles are two lots, one of them carries the wrong label."
        )
    if len({lot.variety_id for lot in lots}) == 1:
        return say("Two lots of one variety: keep them apart for the records; the name is the same.")
    return say("Different varieties: see that each label is on its own wood before you close anything.")


def _morning(now: datetime) -> datetime:
    return now.astimezone(Nursery.get().tz).replace(hour=0, minute=0, second=0, microsecond=0)


def opened_today(now: datetime) -> list[Open]:
    """Return the wood that lies bare on benches, and what was in the hand today, by where."""
    bare = {
        (row.lot_id, row.place.name): row.count for row in stock.balances().filter(place__kind=Kind.BENCH)
    }
    acts = acts_between(_morning(now), now + timedelta(seconds=1))
    sites = dict(in_slices(Place.objects.values_list("pk", "name"), "pk", {act.site for act in acts}))
    handled: dict[tuple[int, str], list[float]] = defaultdict(list)
    for act in acts:
        handled[act.lot, sites[act.site]].append(stock.hours(act.at))
    on_hand: dict[int, int] = defaultdict(int)
    for row in stock.balances().filter(lot__in={act.lot for act in acts}):
        on_hand[row.lot_id] += row.count
    both = dict.fromkeys([*bare, *handled])
    lots = {
        lot.pk: lot
        for lot in in_slices(Lot.objects.select_related("variety"), "pk", {lot for lot, _ in both})
    }
    return [
        Open(
            lots[lot].code,
            lots[lot].mark or codes.show(lots[lot].code),
            lots[lot].variety.name,
            lots[lot].variety.species,
            lots[lot].base_mm,
            bare.get((lot, place)) or on_hand[lot],
            place,
            tuple(handled.get((lot, place), ())),
            (lot, place) in bare,
        )
        for lot, place in both
        if (lot, place) in bare or on_hand[lot]
    ]
