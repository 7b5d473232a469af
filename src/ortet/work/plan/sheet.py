"""The season's plan on paper: what is to be done, to be ticked off in the shed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, timedelta

from django.utils import timezone

from ortet.ledger.booking import Refused
from ortet.ledger.models import Nursery, Standing
from ortet.paper.season_sheet import (
    Bar,
    Mark,
    PickWeek,
    SeasonSheet,
    Short,
    ToPick,
    ToPost,
    ToSet,
    ToTake,
)
from ortet.paper.season_sheet import season_sheet as printed
from ortet.wood.naming import by_number
from ortet.wood.speech import say, say_many, to_say
from ortet.wood.units import show_temperature
from ortet.work.papers.sheet import Days, paper_for, printing

from .bench_look import benches_planned
from .desk import monday
from .shown import Given, Promise, Set, Shown, shown

__all__ = ["season_sheet"]

WEEK = timedelta(days=7)
MOST_MARKS = 14  # weeks named above the drawing
CAUTIONS = (
    to_say(
        "Keep the electrics of mats and lamps out of the wet, behind a residual-current breaker; cut away from your hand."
    ),
    to_say("Before wood crosses a border or goes into a protected zone, ask the plant-health authority."),
    to_say("A protected variety is propagated or sold only with its rights holder's leave."),
    to_say(
        "The plan advises; look at the wood before you rely on it. Each thing done is still to be recorded."
    ),
)


def season_sheet(paper: str = "") -> bytes:
    """Return the plan that counts as a PDF.

    Parameters
    ----------
    paper : str
        "a4" or "letter"; nothing: what the nursery usually prints on.

    Raises
    ------
    Refused
        If the season has not been planned, the paper is unknown, or a name cannot be written.
    """
    nursery = Nursery.get()
    on = paper_for(paper, nursery)
    planned = shown()
    if planned is None:
        raise Refused(say("The season has not been planned yet: ortet plan. Nothing was printed."))
    with printing():
        return printed(_sheet(planned, nursery), paper=on)


def _sheet(planned: Shown, nursery: Nursery) -> SeasonSheet:
    at = timezone.localtime(planned.at, nursery.tz)
    days = Days.of(nursery)
    bars, marks = _drawing(planned.sets, days)
    return SeasonSheet(
        nursery=nursery.name or say("The nursery"),
        planned=f"{days.whole(at.date())}, {at:%H:%M}",
        summary=_summary(planned),
        take=tuple(
            ToTake(cut.mother, cut.variety, say(cut.use), cut.count - cut.done, days.long(cut.day) if cut.day else say("any day"))
            for cut in planned.cuts
            if cut.count > cut.done
        ),
        weeks=_weeks(planned.promises, days),
        sets=tuple(_to_set(one, nursery, days) for one in planned.sets if one.count > one.done),
        bars=bars,
        marks=marks,
        posts=tuple(
            ToPost(
                days.long(post.day) if post.day else say("hold"),
                str(post.order),
                post.buyer,
                post.count,
                post.pack or say("no pack"),
                f"{100 * post.risk:.1f} %" if post.day else "",
                "" if post.day else post.why,
            )
            for post in planned.posts
        ),
        short=tuple(_short(promise) for promise in planned.short) + _unplaced(planned),
        binds=tuple(dict.fromkeys(line for notes in planned.notes.values() for line in notes.binds)),
        assumed=tuple(dict.fromkeys(line for notes in planned.notes.values() for line in notes.assumed)),
        cautions=tuple(say(one) for one in CAUTIONS),
    )  # fmt: skip


def _summary(planned: Shown) -> tuple[str, ...]:
    take = sum(max(0, cut.count - cut.done) for cut in planned.cuts)
    plants = len({cut.mother for cut in planned.cuts if cut.count > cut.done})
    met, asking = planned.met
    lines = [
        say(
            "Take {cuttings} from {plants}. {met} of {wishes} met in full. {batches} to set, {parcels} to post.",
            cuttings=say_many("{count} cutting", "{count} cuttings", take),
            plants=say_many("{count} plant", "{count} plants", plants),
            met=met,
            wishes=say_many("{count} wish", "{count} wishes", asking),
            batches=say_many("{count} batch", "{count} batches", len(planned.sets)),
            parcels=say_many("{count} parcel", "{count} parcels", len(planned.posts)),
        )
    ]
    if planned.kept:
        named = ", ".join(f"{one.asked} {one.variety} ({one.wish}, {one.who})" for one in planned.kept)
        lines.append(say("To be kept back, not given away: {named}.", named=named))
    return tuple(lines)


def _stores(names: Iterable[str]) -> dict[str, str]:
    """Return the cold place in which each bag stands, so that a walk ends at one door before it goes to the next."""
    rows = Standing.objects.filter(bag__name__in=set(names)).order_by("since", "id")
    return dict(rows.values_list("bag__name", "store__name"))


def _weeks(promises: list[Promise], days: Days) -> tuple[PickWeek, ...]:
    of: dict[date, list[tuple[Given, Promise]]] = defaultdict(list)
    for promise in promises:
        for pick in promise.picks:
            of[monday(pick.day)].append((pick, promise))
    store = _stores(pick.place for promise in promises for pick in promise.picks)

    def walk(one: tuple[Given, Promise]) -> tuple[object, ...]:
        pick, promise = one
        where = store.get(pick.place, "")
        return (
            not pick.place,
            where,
            by_number(pick.place),
            by_number(pick.name),
            promise.order or 0,
            promise.wish,
        )

    return tuple(
        PickWeek(
            say("week of {day}", day=days.whole(week)),
            tuple(_to_pick(pick, promise, store) for pick, promise in sorted(of[week], key=walk)),
        )
        for week in sorted(of)
    )


def _to_pick(pick: Given, promise: Promise, store: dict[str, str]) -> ToPick:
    if not pick.place:
        return ToPick("", "", pick.name, pick.variety, pick.count, promise.who, promise.wish, pick.note)
    return ToPick(pick.place, store.get(pick.place, ""), pick.name, pick.variety, pick.count, promise.who, promise.wish, pick.note)  # fmt: skip


def _to_set(one: Set, nursery: Nursery, days: Days) -> ToSet:
    return ToSet(
        days.long(one.start),
        one.name,
        one.place,
        one.variety,
        one.count - one.done,
        one.bench,
        say("none") if one.base_c is None else _heat(one.base_c, nursery.units),
        days.short(one.ready) if one.ready else say("not told"),
        f"{100 * one.risk:.0f} %",
    )


def _heat(celsius: float, units: str) -> str:
    return show_temperature(celsius, units).replace(".0 ", " ").replace(" ", "\N{NO-BREAK SPACE}")


def _drawing(sets: list[Set], days: Days) -> tuple[tuple[Bar, ...], tuple[Mark, ...]]:
    """Return the lots as bars on their benches, and the weeks above them."""
    if not sets:
        return (), ()
    leaves = _leaving()
    ends = {one.id: leaves.get(one.id) or one.ready or one.start + WEEK for one in sets}
    first = monday(min(one.start for one in sets))
    weeks = (max(ends.values()) - first).days // 7 + 1

    def share(day: date) -> float:
        return (day - first).days / (7 * weeks)

    bars = tuple(
        Bar(
            one.bench,
            f"{one.name} × {one.count}",
            share(one.start),
            share(ends[one.id]),
            share(one.ready) if one.ready and one.ready <= ends[one.id] else None,
        )
        for one in sorted(sets, key=lambda one: (one.bench, one.start, by_number(one.name)))
    )
    step = -(-weeks // MOST_MARKS)
    marks = tuple(Mark(n / weeks, days.short(first + n * WEEK)) for n in range(0, weeks, step))
    return bars, marks


def _leaving() -> dict[int, date]:
    """Return the day on which each batch leaves its bench; nothing where an earlier version made the plan."""
    try:
        standing = benches_planned()
    except Refused:
        return {}
    return {bar.id: bar.off for bar in standing.bars} if standing else {}


def _short(promise: Promise) -> Short:
    return Short(
        promise.wish,
        promise.who,
        promise.variety,
        say("{given} of {asked}", given=promise.given, asked=promise.given + promise.short),
        _sentence("; ".join(promise.why)) or say("No reason was noted."),
    )


def _sentence(words: str) -> str:
    return words and words[0].upper() + words[1:].rstrip(".") + "."


def _unplaced(planned: Shown) -> tuple[Short, ...]:
    return tuple(
        Short("", str(one["batch"]), "", say("{count} find no bench", count=one["count"]), str(one["why"]))
        for one in planned.unplaced
    )
