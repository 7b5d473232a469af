"""Rules of the account: each a function that recounts something from the movements alone and returns what does not hold."""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.db.models import F

from ortet.wood.speech import say

from . import guard
from .lots import Derivation, Lot, Part
from .movements import Balance, Movement
from .places import ON_HAND, SOURCES, Kind, Place
from .selling import Packing, Parcel

__all__ = ["RULES", "Fault", "Sums", "check", "sums"]


@dataclass(frozen=True, slots=True)
class Fault:
    """Something in the book that does not hold."""

    where: str
    message: str


@dataclass(frozen=True, slots=True)
class Sums:
    """What was taken and received, and where all of it is."""

    taken: int
    received: int  # in parcels of others
    on_hand: int
    joined: int  # pieces that are one with another since they were grafted
    sold: int
    given_up: int
    lost: int
    lots: int
    movements: int

    @property
    def holds(self) -> bool:
        """Whether every cutting taken or received is somewhere."""
        return (
            self.taken + self.received == self.on_hand + self.joined + self.sold + self.given_up + self.lost
        )


def _recount() -> Counter[tuple[int, int]]:
    """Return the balance of each (lot, place), from the movements alone."""
    count: Counter[tuple[int, int]] = Counter()
    for lot, from_place, to_place, moved in Movement.objects.values_list(
        "lot_id", "from_place_id", "to_place_id", "count"
    ).iterator(chunk_size=10_000):
        count[lot, from_place] -= moved
        count[lot, to_place] += moved
    return count


def _name(lot: int, place: int) -> str:
    code = Lot.objects.filter(pk=lot).values_list("code", flat=True).first() or f"#{lot}"
    name = Place.objects.filter(pk=place).values_list("name", flat=True).first() or f"#{place}"
    return say("lot {lot} in {place}", lot=code, place=name)


def balances_follow_movements() -> Iterator[Fault]:
    """The kept balances equal the movements, recounted."""
    counted = _recount()
    kept = {
        (lot, place): count
        for lot, place, count in Balance.objects.values_list("lot_id", "place_id", "count")
    }
    for key in sorted(counted.keys() | kept.keys()):
        if counted[key] != kept.get(key, 0):
            yield Fault(
                _name(*key),
                say(
                    "the movements come to {counted}, the balance says {kept}",
                    counted=counted[key],
                    kept=kept.get(key, 0),
                ),
            )


def nothing_below_nothing() -> Iterator[Fault]:
    """No place but a source has given more than it got, at any moment in the order booked."""
    sources = set(Place.objects.filter(kind__in=SOURCES).values_list("pk", flat=True))
    count: Counter[tuple[int, int]] = Counter()
    for number, lot, from_place, to_place, moved in (
        Movement.objects.order_by("number")
        .values_list("number", "lot_id", "from_place_id", "to_place_id", "count")
        .iterator(chunk_size=10_000)
    ):
        count[lot, to_place] += moved
        count[lot, from_place] -= moved
        if from_place not in sources and count[lot, from_place] < 0:
            yield Fault(
                _name(lot, from_place),
                say("movement {number} takes it to {count}", number=number, count=count[lot, from_place]),
            )


def chain_unbroken() -> Iterator[Fault]:
    """The movements are numbered without a gap and each carries the true seal of itself and of the one before."""
    codes = dict(Lot.objects.values_list("pk", "code"))
    places = dict(Place.objects.values_list("pk", "code"))
    before, expected = "", 1
    for movement in Movement.objects.order_by("number").iterator(chunk_size=10_000):
        where = say("movement {number}", number=movement.number)
        if movement.number != expected:
            yield Fault(
                where, say("number {number} should come here: a movement is missing", number=expected)
            )
        if movement.chained_to != before:
            yield Fault(where, say("it is not chained to the movement before it"))
        seal = movement.sealed(
            codes.get(movement.lot_id, "?"),
            places.get(movement.from_place_id, "?"),
            places.get(movement.to_place_id, "?"),
        )
        if seal != movement.seal:
            yield Fault(where, say("its seal does not fit what it says: it was changed outside Ortet"))
        before, expected = movement.seal, movement.number + 1


def varieties_never_mix() -> Iterator[Fault]:
    """A lot is of its mother plant's variety, and what became another lot keeps its variety."""
    for lot in (
        Lot.objects.filter(mother__isnull=False)
        .exclude(variety=F("mother__variety"))
        .select_related("variety")
    ):
        yield Fault(
            say("lot {lot}", lot=lot),
            say("it says {variety}, its mother plant is another variety", variety=lot.variety),
        )
    split = Derivation.objects.exclude(part=Part.STOCK)
    for link in split.exclude(parent__variety=F("child__variety")).select_related("parent", "child"):
        yield Fault(
            say("lot {lot}", lot=link.child),
            say("it came from lot {parent}, which is another variety", parent=link.parent),
        )


def derivations_are_counted() -> Iterator[Fault]:
    """What became another lot left its parent and came to its child in the same number."""
    became = set(Place.objects.filter(kind=Kind.BECAME).values_list("pk", flat=True))
    counted = {lot: count for (lot, place), count in _recount().items() if place in became}
    said: Counter[int] = Counter()
    for parent, child, count, part in Derivation.objects.values_list(
        "parent_id", "child_id", "count", "part"
    ):
        said[parent] += count
        if part != Part.STOCK:  # a graft comes out once, though two pieces went in
            said[child] -= count
    for lot in sorted(said.keys() | counted.keys()):
        if said[lot] != counted.get(lot, 0):
            code = Lot.objects.filter(pk=lot).values_list("code", flat=True).first()
            yield Fault(
                say("lot {lot}", lot=code),
                say(
                    "its lineage says {said} became or came, its movements say {counted}",
                    said=said[lot],
                    counted=counted.get(lot, 0),
                ),
            )


def movements_after_their_lot() -> Iterator[Fault]:
    """No movement is dated before its lot was made."""
    for movement in Movement.objects.filter(at__lt=F("lot__made_at")).select_related("lot"):
        yield Fault(
            say("movement {number}", number=movement.number),
            say("it is dated before lot {lot} was made", lot=movement.lot),
        )


def every_lot_began_once() -> Iterator[Fault]:
    """Every lot has a first movement, out of its mother plant, a parcel or another lot."""
    for lot in Lot.objects.filter(movements__isnull=True):
        yield Fault(say("lot {lot}", lot=lot), say("it has no movement: nothing was ever taken for it"))


def parcels_hold_what_was_packed() -> Iterator[Fault]:
    """What lies in a parcel was packed for a line of its order, and left it to be sold for that line."""
    boxes = dict(Parcel.objects.values_list("place", "order"))
    counted: Counter[tuple[int, int]] = Counter()
    for end, sign in (("to_place", 1), ("from_place", -1)):
        moved = Movement.objects.filter(**{f"{end}__kind": Kind.PARCEL}).values_list("lot", end, "count")
        for lot, box, count in moved:
            counted[lot, box] += sign * count
    said: Counter[tuple[int, int]] = Counter()
    rows = Packing.objects.filter(movement__reversed_by=None).values_list(
        "movement__number", "movement__lot", "movement__to_place", "movement__count", "line__order"
    )
    for number, lot, box, count, order in rows:
        said[lot, box] += count
        if boxes.get(box) != order:
            yield Fault(
                say("movement {number}", number=number),
                say("it was packed for a line of another order than its parcel's"),
            )
    gone = Movement.objects.filter(from_place__kind=Kind.PARCEL, sale__isnull=False, reversed_by=None)
    for lot, box, count in gone.values_list("lot", "from_place", "count"):
        said[lot, box] -= count
    for key in sorted(counted.keys() | said.keys()):
        if counted[key] != said[key]:
            yield Fault(
                _name(*key),
                say(
                    "{said} were packed and not sent, its movements say {counted}",
                    said=said[key],
                    counted=counted[key],
                ),
            )


def guard_stands() -> Iterator[Fault]:
    """The database's own triggers are all in place."""
    for name in sorted(guard.missing()):
        yield Fault(
            say("trigger {name}", name=name),
            say("it is missing: run `ortet mend-guard`, and ask who removed it"),
        )


RULES: tuple[Callable[[], Iterator[Fault]], ...] = (
    guard_stands,
    balances_follow_movements,
    nothing_below_nothing,
    chain_unbroken,
    varieties_never_mix,
    derivations_are_counted,
    movements_after_their_lot,
    every_lot_began_once,
    parcels_hold_what_was_packed,
)


def check() -> list[Fault]:
    """Return everything in the book that does not hold. Empty is well."""
    return [fault for rule in RULES for fault in rule()]


def sums() -> Sums:
    """Return what was taken and received and where all of it is, recounted from the movements."""
    kinds = dict(Place.objects.values_list("pk", "kind"))
    by_kind: Counter[str] = Counter()
    for (_, place), count in _recount().items():
        by_kind[kinds[place]] += count
    return Sums(
        taken=-by_kind[Kind.MOTHER],
        received=-by_kind[Kind.SENDER],
        on_hand=sum(by_kind[kind] for kind in ON_HAND),
        joined=by_kind[Kind.BECAME],
        sold=by_kind[Kind.SOLD],
        given_up=by_kind[Kind.GIVEN_UP],
        lost=by_kind[Kind.LOST],
        lots=Lot.objects.count(),
        movements=Movement.objects.count(),
    )
