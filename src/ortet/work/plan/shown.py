"""The plan that counts, as plain values for pages, paper and commands."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone

from ortet.ledger.models import Movement, OrderLine, Pick, Plan, PlanKind, Target
from ortet.wood.speech import say, say_many

from .allotting import lot_name, wish_key
from .desk import latest
from .due import to_cut, to_set

__all__ = [
    "Cut",
    "Given",
    "Notes",
    "Post",
    "PostDay",
    "Promise",
    "Set",
    "Shown",
    "changed_since",
    "posts_of",
    "shown",
]


@dataclass(frozen=True, slots=True)
class Notes:
    """What a plan says of itself."""

    binds: list[str]
    would_change: list[str]
    assumed: list[str]
    gap: float | None  # how much better it could at most be [0-1]


@dataclass(frozen=True, slots=True)
class Cut:
    """Wood to take from a mother plant."""

    mother: str
    variety: str
    use: str
    count: int
    done: int
    day: date | None
    why: str

    @property
    def left(self) -> int:
        """Cuttings still to be taken."""
        return max(0, self.count - self.done)


@dataclass(frozen=True, slots=True)
class Promise:
    """One wish: what is planned for it and what it gets."""

    wish: str
    who: str
    variety: str
    asked: int
    chance: float | None  # that all of it comes through [0-1]
    given: int
    short: int
    why: list[str]  # why it goes short
    order: int | None
    picks: list[Given]


@dataclass(frozen=True, slots=True)
class Given:
    """Wood for a wish."""

    id: int
    lot: str  # code; nothing while it is still to be taken
    mother: str  # the plant it will come from; nothing where it is on hand
    name: str  # what the grower calls the lot, or the mother plant it will come from
    variety: str
    place: str
    place_code: str
    count: int
    day: date
    note: str
    by_hand: bool


@dataclass(frozen=True, slots=True)
class Set:
    """Wood to set on a bench."""

    id: int
    lot: str
    name: str
    variety: str
    place: str
    place_code: str
    bench: str
    bench_code: str
    base_c: float | None
    count: int
    done: int
    start: date
    ready: date | None
    risk: float
    risk_later: float | None
    why: str
    changes: list[str]
    by_hand: bool

    @property
    def left(self) -> int:
        """Cuttings still to be set."""
        return max(0, self.count - self.done)

    @property
    def batch(self) -> str:
        """The batch by the codes of its lot and place."""
        return f"{self.lot}:{self.place_code}"


@dataclass(frozen=True, slots=True)
class PostDay:
    """A day on which a parcel could be posted, and what would come of it."""

    day: date
    act: str  # hold, go, or go with something in the box
    risk: float | None  # that the wood is harmed or late; None: nothing is carried that day [0-1]
    reason: str


@dataclass(frozen=True, slots=True)
class Post:
    """A parcel and its day."""

    order: int
    buyer: str
    count: int
    day: date | None
    pack: str
    risk: float
    why: str
    changes: list[str]
    days: list[PostDay]


@dataclass(frozen=True, slots=True)
class Shown:
    """The season's plan."""

    at: datetime
    movements: int  # that the book held
    cuts: list[Cut]
    promises: list[Promise]
    sets: list[Set]
    unplaced: list[dict[str, object]]
    heat_cost: float
    posts: list[Post]
    notes: dict[str, Notes]

    @property
    def kept(self) -> list[Promise]:
        """The backups: kept back, and given to nobody."""
        return [one for one in self.promises if not one.picks and not one.given and not one.short]

    @property
    def met(self) -> tuple[int, int]:
        """How many wishes get all their wood, and how many ask for any."""
        asking = len(self.promises) - len(self.kept)
        return asking - len(self.short), asking

    @property
    def short(self) -> list[Promise]:
        """The wishes that go short."""
        return [promise for promise in self.promises if promise.short]


def shown() -> Shown | None:
    """Return the plan that counts; None where the season has not been planned."""
    plans = {kind: latest(kind) for kind in PlanKind}
    take, allot, bench, post = (
        plans[kind] for kind in (PlanKind.TAKE, PlanKind.ALLOT, PlanKind.BENCH, PlanKind.POST)
    )
    if not (take and allot and bench and post):
        return None
    return Shown(
        at=max(plan.at for plan in (take, allot, bench, post)),
        movements=min(plan.movements for plan in (take, allot, bench, post)),
        cuts=[
            Cut(one.mother, one.variety, one.use, one.count, one.done, one.day, one.why) for one in to_cut()
        ],
        promises=_promises(take, allot, bench),
        sets=_sets(bench),
        unplaced=bench.said.get("unplaced", []),
        heat_cost=bench.said.get("heat_cost", 0.0),
        posts=_posts(post),
        notes={plan.kind: _notes(plan) for plan in (take, allot, bench, post)},
    )


def changed_since(planned: Shown) -> list[str]:
    """Return what changed in the book since it was planned, in words; nothing where the plan still rests on all of it."""
    lines = OrderLine.objects.filter(
        ended_at=None, last_day__gte=timezone.localdate(planned.at)
    ).select_related("order")
    open_now = {wish_key(line) for line in lines}
    open_now |= {wish_key(target) for target in Target.objects.filter(ended_at=None)}
    then = {one.wish for one in planned.promises}
    told = []
    if noted := open_now - then:
        told.append(say("noted: {wishes}", wishes=", ".join(sorted(noted))))
    if ended := then - open_now:
        told.append(say("no longer wanted: {wishes}", wishes=", ".join(sorted(ended))))
    if moved := Movement.objects.filter(number__gt=planned.movements).count():
        told.append(say_many("{count} movement", "{count} movements", moved))
    return told


def _notes(plan: Plan) -> Notes:
    said = plan.said
    return Notes(
        binds=[*said.get("binds", []), *said.get("conflicts", [])],
        would_change=said.get("would_change", []),
        assumed=said.get("assumed", []),
        gap=said.get("gap"),
    )


def _given(pick: Pick, set_on: Mapping[object, date]) -> Given:
    """Return the wood of a pick; what goes on a bench is picked on the day it is set there."""
    day = set_on.get((pick.lot_id, pick.place_id), pick.day) if pick.target else pick.day
    if pick.lot and pick.place:
        return Given(
            pick.pk,
            pick.lot.code,
            "",
            lot_name(pick.lot),
            pick.lot.variety.name,
            pick.place.name,
            pick.place.code,
            pick.count,
            day,
            pick.why,
            pick.by_hand,
        )
    assert pick.mother
    mother, variety = pick.mother.accession, pick.mother.variety.name
    name = say("to take from {mother}", mother=mother)
    return Given(pick.pk, "", mother, name, variety, "", "", pick.count, day, pick.why, pick.by_hand)


def _promises(take: Plan, allot: Plan, bench: Plan) -> list[Promise]:
    """Return every wish of the plan with what it gets, orders first."""
    set_on: dict[object, date] = {
        (lot, place): start for lot, place, start in bench.slots.values_list("lot_id", "place_id", "start")
    }
    of: dict[str, list[Pick]] = defaultdict(list)
    # thousands of picks come from a few hundred lots, each of which is read once
    rows = allot.picks.select_related("line__order", "target").prefetch_related(
        "lot__variety", "place", "mother__variety"
    )
    for pick in rows:
        wish = pick.line or pick.target
        assert wish
        of[wish_key(wish)].append(pick)
    short = {one["wish"]: one for one in allot.said.get("short", [])}
    promises = []
    for line in take.said.get("lines", []):
        key = line["wish"]
        picks = of.get(key, [])
        given = sum(pick.count for pick in picks) + allot.said.get("on_benches", {}).get(key, 0)
        missing = short.get(key, {"asked": given, "given": given, "why": []})
        number = int(key.removeprefix("order ").partition("/")[0]) if key.startswith("order ") else None
        promises.append(
            Promise(
                wish=key,
                who=line.get("who", ""),
                variety=line["variety"],
                asked=line["asked"],
                chance=line["chance"],
                given=given,
                short=missing["asked"] - missing["given"],
                why=missing["why"],
                order=number,
                picks=[_given(pick, set_on) for pick in picks],
            )
        )
    return sorted(promises, key=lambda one: (one.order is None, one.order or 0, _last_number(one.wish)))


def _last_number(wish: str) -> int:
    """Return the number of a target, or of a line within its order."""
    return int(wish.replace("/", " ").split()[-1])


def _sets(bench: Plan) -> list[Set]:
    done = {(one.lot, one.bench, one.start): one.done for one in to_set()}
    batches = bench.said.get("batches", {})
    rows = bench.slots.select_related("lot__variety", "place", "bench").order_by("start", "bench__name", "pk")
    return [
        Set(
            slot.pk,
            slot.lot.code,
            lot_name(slot.lot),
            slot.lot.variety.name,
            slot.place.name,
            slot.place.code,
            slot.bench.name,
            slot.bench.code,
            slot.base_c,
            slot.count,
            done.get((slot.lot.code, slot.bench.name, slot.start), 0),
            slot.start,
            slot.ready,
            slot.risk,
            slot.risk_later,
            slot.why,
            batches.get(f"lot {lot_name(slot.lot)} in {slot.place.name}", {}).get("changes", []),
            slot.by_hand,
        )
        for slot in rows
    ]


def _posts(post: Plan) -> list[Post]:
    """Return the parcels by day, those that are held last."""
    told = {one.get("row"): one for one in post.said.get("orders", [])}
    rows = post.postings.select_related("order__buyer").order_by("pk")
    posts = [
        Post(
            row.order.number,
            row.order.buyer.name,
            row.count,
            row.day,
            row.get_pack_display() if row.pack != "none" else "",
            row.risk,
            row.why,
            told.get(at, {}).get("changes", []),
            [
                PostDay(date.fromisoformat(one["day"]), one["act"], one["risk"], one["reason"])
                for one in told.get(at, {}).get("days", [])
            ],
        )
        for at, row in enumerate(rows)
    ]
    return sorted(posts, key=lambda one: (one.day or date.max, one.order))


def posts_of(order: int) -> list[Post]:
    """Return the parcels of an order, as the plan that counts has them."""
    plan = latest(PlanKind.POST)
    return [post for post in _posts(plan) if post.order == order] if plan else []
