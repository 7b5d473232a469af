"""What the book knows of batches: how each was struck, what was counted, what left, and how many are known to have rooted."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from django.db.models import F, Model, Q, QuerySet

from ortet.ledger.models import Batch, Count, Kind, Movement, Standing, Why
from ortet.ledger.readings import readings_that_count
from ortet.wood.speech import say
from ortet.work import find
from ortet.work.lots import Event, history, remarks

__all__ = ["OLD_ENOUGH", "BatchView", "Counted", "Left", "Struck", "batches_struck", "view"]

# What had no roots this long after it was struck is not waited for: a batch counted then is finished. [our choice]
OLD_ENOUGH = timedelta(days=120)
Row = TypeVar("Row", bound=Model)

ROOTED = (Why.POTTED, Why.SOLD)  # what leaves a batch so had roots


@dataclass(frozen=True, slots=True)
class Counted:
    """A count of a batch, and how many stood in it then; None where it was not looked at."""

    at: datetime
    rooted: int | None
    callused: int | None
    leafed: int | None
    dead: int | None
    of: int


@dataclass(frozen=True, slots=True)
class Left:
    """So many that left a batch: potted, sold, given_up or lost."""

    at: datetime
    count: int
    why: str


@dataclass(frozen=True, slots=True)
class Struck:
    """A batch as plain values: all that counts can teach from."""

    place: int  # its key in the book
    name: str
    code: str
    lot: str  # code
    craft: str  # strike or graft
    species: str
    variety: str
    mother: str  # accession number; empty where it is not known
    tray: str
    medium: str
    treatment: str
    is_wounded: bool
    base_c: float | None
    base_mm: float
    struck_at: datetime
    weeks: float  # from the day the wood was taken
    stood: tuple[tuple[str, datetime], ...]  # benches, each with the moment it came there
    struck: int
    counts: tuple[Counted, ...]  # in order of time, without those withdrawn
    left: tuple[Left, ...]  # in order of time, without what was taken back

    @property
    def here(self) -> int:
        """Cuttings still in the batch."""
        return self.struck - sum(gone.count for gone in self.left)

    def gone(self, *whys: str, before: datetime | None = None) -> int:
        """Return how many left for these reasons, before a moment if one is given."""
        return sum(
            gone.count for gone in self.left if gone.why in whys and (before is None or gone.at < before)
        )

    @property
    def rooted(self) -> int | None:
        """The most that are known to have rooted: counted, and potted or sold by then; None: never looked at.

        A batch of which nothing is left is known, counted or not.
        """
        out = self.gone(*ROOTED)
        seen = [
            count.rooted + self.gone(*ROOTED, before=count.at)
            for count in self.counts
            if count.rooted is not None
        ]
        if not seen and not out and self.here:
            return None
        return min(self.struck, max([out, *seen]))

    @property
    def is_finished(self) -> bool:
        """Whether no further roots are waited for.

        It is so once nothing is left in the batch, once the last count of roots found each one rooted or dead, or once it was counted
        120 days or more after it was struck.
        """
        if not self.here:
            return True
        last = next((count for count in reversed(self.counts) if count.rooted is not None), None)
        if last is None:
            return False
        return (last.rooted or 0) + (last.dead or 0) >= last.of or last.at >= self.struck_at + OLD_ENOUGH

    @property
    def out(self) -> list[tuple[str, int]]:
        """What became of those that left, in words."""
        words = {
            "potted": say("potted on"),
            "sold": say("sold"),
            "given_up": say("given up"),
            "lost": say("not found"),
        }
        return [(word, number) for why, word in words.items() if (number := self.gone(why))]

    @property
    def bench(self) -> str:
        """Where it stands now."""
        return self.stood[-1][0] if self.stood else ""


@dataclass(frozen=True, slots=True)
class BatchView:
    """A batch and all that is known of it."""

    batch: Batch
    told: Struck | None  # None: the strike was taken back
    stands_on: Standing | None
    events: list[Event]  # of the batch, latest first

    @property
    def last(self) -> Counted | None:
        """The latest count."""
        return self.told.counts[-1] if self.told and self.told.counts else None


def batches_struck(places: Iterable[int] | None = None) -> list[Struck]:
    """Return the batches (those in these places; all if None is given) as plain values, first struck first.

    A batch whose strike was taken back is none.
    """
    batches = Batch.objects.select_related("place", "lot__variety", "lot__mother").order_by(
        "struck_at", "place_id"
    )
    if places is not None:
        batches = batches.filter(pk__in=list(places))
    struck, left = _moved(places)
    counts = _counted(places, struck, left)
    stood: dict[int, list[tuple[str, datetime]]] = defaultdict(list)
    standings = Standing.objects.filter(bag__kind=Kind.BATCH).order_by("since")
    for bag, bench, since in _some(standings, "bag_id", places).values_list("bag_id", "store__name", "since"):
        stood[bag].append((bench, since))
    return [
        Struck(
            place=batch.pk,
            name=batch.place.name,
            code=batch.place.code,
            lot=batch.lot.code,
            craft=batch.craft,
            species=batch.lot.variety.species,
            variety=batch.lot.variety.name,
            mother=batch.lot.mother.accession if batch.lot.mother else "",
            tray=batch.tray,
            medium=batch.medium,
            treatment=batch.treatment,
            is_wounded=batch.is_wounded,
            base_c=batch.base_c,
            base_mm=batch.lot.base_mm,
            struck_at=batch.struck_at,
            weeks=(batch.struck_at - batch.lot.taken_at) / timedelta(weeks=1),
            stood=tuple(stood[batch.pk]),
            struck=struck[batch.pk],
            counts=tuple(counts[batch.pk]),
            left=tuple(left[batch.pk]),
        )
        for batch in batches
        if struck[batch.pk]
    ]


def _some(rows: QuerySet[Row], field: str, places: Iterable[int] | None) -> QuerySet[Row]:
    return rows if places is None else rows.filter(**{f"{field}__in": list(places)})


def _moved(places: Iterable[int] | None) -> tuple[dict[int, int], dict[int, list[Left]]]:
    """Return how many each batch was made of, and what left it; what was taken back never was."""
    struck: dict[int, int] = defaultdict(int)
    left: dict[int, list[Left]] = defaultdict(list)
    held = Movement.objects.filter(reverses=None, reversed_by=None).order_by("at", "number")
    came = _some(held.filter(to_place__kind=Kind.BATCH), "to_place_id", places)
    for place, count in came.values_list("to_place_id", "count"):
        struck[place] += count
    gone = _some(held.filter(from_place__kind=Kind.BATCH), "from_place_id", places)
    for place, at, count, why in gone.values_list("from_place_id", "at", "count", "why"):
        left[place].append(Left(at, count, why))
    return struck, left


def _counted(
    places: Iterable[int] | None, struck: dict[int, int], left: dict[int, list[Left]]
) -> dict[int, list[Counted]]:
    counts: dict[int, list[Counted]] = defaultdict(list)
    found = readings_that_count(Count).filter(place__kind=Kind.BATCH)
    for count in _some(found, "place_id", places):
        place = count.place_id
        of = struck[place] - sum(gone.count for gone in left[place] if gone.at <= count.at)
        counts[place].append(
            Counted(count.at, count.rooted, count.callused, count.leafed, count.dead, max(of, count.counted))
        )
    return counts


def view(text: str) -> BatchView:
    """Return a batch whole, by its name or code.

    Raises
    ------
    Unknown
        If there is none.
    """
    place = find.place(text, Kind.BATCH)
    batch = Batch.objects.select_related("place", "lot__variety", "lot__mother").get(pk=place.pk)
    moved = Movement.objects.filter(Q(from_place=place) | Q(to_place=place))
    numbers = set(moved.values_list("number", flat=True))
    readings = set(Count.objects.filter(place=place).values_list("pk", flat=True))
    of_lot = [event for event in history(batch.lot) if event.number in numbers or event.reading in readings]
    return BatchView(
        batch=batch,
        told=next(iter(batches_struck([place.pk])), None),
        stands_on=place.standings.select_related("store").order_by(F("since").desc()).first(),
        events=sorted(
            [*of_lot, *remarks(place=place)], key=lambda event: (event.at, event.number or 0), reverse=True
        ),
    )
