"""Why a batch stands where it does in the plan, what keeps it from a better place, and what would change it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import isfinite

from ortet.decisions.bench.model import Option, Options
from ortet.decisions.bench.race import LONGEST, Outcome, tell
from ortet.decisions.bench.wishes import Batch, Season, say_base
from ortet.wood.speech import say, say_day

__all__ = [
    "Conflict",
    "Heated",
    "Struck",
    "Unplaced",
    "assumptions",
    "conflicts",
    "explain",
    "explain_unplaced",
]

WORTH_TELLING = 0.01  # of a batch's worth: a better place is told of from here on


@dataclass(frozen=True, slots=True)
class Struck:
    """Cuttings of a batch, struck together."""

    outcome: Outcome
    week: int
    weeks: int  # on the bench
    by_hand: bool
    why: str
    binds: tuple[str, ...]  # what keeps it from a better place
    changes: tuple[str, ...]  # what another week or set-point would do

    @property
    def batch(self) -> str:
        """The batch's key."""
        return self.outcome.batch

    @property
    def bench(self) -> str:
        """The bench's key."""
        return self.outcome.bench

    @property
    def base_c(self) -> float | None:
        """The set-point. [°C]"""
        return self.outcome.base_c

    @property
    def count(self) -> int:
        """Cuttings."""
        return self.outcome.count


@dataclass(frozen=True, slots=True)
class Unplaced:
    """Cuttings that the plan does not strike."""

    batch: str
    count: int
    why: str
    relax: tuple[str, ...]  # what would let them in


@dataclass(frozen=True, slots=True)
class Heated:
    """One bench in one week in which it is used."""

    bench: str
    week: int
    monday: date
    base_c: float | None
    used: float  # cells
    cells: int
    kwh: float
    cost: float


@dataclass(frozen=True, slots=True)
class Conflict:
    """Wishes that no plan can meet together, and what to relax."""

    batches: tuple[str, ...]
    what: str
    relax: str


def assumptions(season: Season) -> tuple[str, ...]:
    """Return what a plan takes for granted."""
    return (
        say(
            "Each batch runs its race at the mean base and air of the days in which its median cutting roots."
        ),
        say(
            "A batch leaves the bench once {clear:.0%} of those that can root have rooted; the rest is not counted as lost.",
            clear=season.clear,
        ),
        say(
            "Roots and leaves of one cutting are taken as independent; those in leaf long before they root are lost."
        ),
        say(
            "A plant loses {late_share:.0%} of its worth for each week it is late, at most all of it.",
            late_share=season.late_share,
        ),
        say(
            "A mat is paid for from end to end whether its cells are full or not; its heat goes with base above air."
        ),
        say("Growing on takes the same days for every plant and needs no room on these benches."),
    )


def explain(options: Options, option: Option, told: Outcome, placed: Sequence[Option]) -> Struck:
    """Return a placement with its reasons."""
    season = options.season
    batch, bench = season.batch[option.batch], season.bench[option.bench]
    by_hand = any((c.batch, c.bench, c.week) == (batch.key, bench.key, option.week) for c in season.fixed)
    roots = say("half rooted by {day}", day=say_day(told.roots)) if told.roots else say("no roots")
    why = say(
        "{bench} {base}: {roots}, {risk:.0%} leaf out too early.",
        bench=bench.title,
        base=say_base(told.base_c),
        roots=roots,
        risk=told.risk,
    )
    if told.ready and (wanted := season.wanted(batch)):
        why += say(
            " Half ready by {half}, nine in ten by {nine_in_ten}; wanted by {wanted}, {late:.0%} late.",
            half=say_day(told.ready[1]),
            nine_in_ten=say_day(told.ready[2]),
            wanted=say_day(wanted),
            late=told.late,
        )
    against = (
        say(" By hand, though {against}.", against="; ".join(told.against))
        if by_hand and told.against
        else ""
    )
    binds = () if by_hand else _binds(options, option, placed)
    return Struck(
        told, option.week, option.weeks, by_hand, why + against, binds, _changes(options, option, told)
    )


def _binds(options: Options, option: Option, placed: Sequence[Option]) -> tuple[str, ...]:
    """Return why it does not stand where it would fare best."""
    season, batch = options.season, options.season.batch[option.batch]
    best = min((o for o in options.of[batch.key] if o.allowed), key=lambda o: o.cost, default=option)
    saves = option.cost - best.cost
    if saves < WORTH_TELLING * batch.count * batch.strike * batch.worth:
        return ()
    bench = season.bench[best.bench]
    return (
        say(
            "On {bench} {base} from {day} it would lose {saves:.2f} less, but {in_the_way}.",
            bench=bench.title,
            base=say_base(options.base(best)),
            day=say_day(season.monday(best.week)),
            saves=saves,
            in_the_way=_in_the_way(options, best, placed),
        ),
    )


def _in_the_way(options: Options, wish: Option, placed: Sequence[Option]) -> str:
    """Say what stands in the way of an option."""
    weeks = set(range(wish.week, wish.week + wish.weeks))
    there = [
        o
        for o in placed
        if o.bench == wish.bench and o.batch != wish.batch and weeks & set(range(o.week, o.week + o.weeks))
    ]
    other = [o for o in there if o.level != wish.level]
    if other:
        bases = say(" or ").join(sorted({say_base(options.base(o)) for o in other}))
        return say(
            "it stands {bases} then, for {batches}", bases=bases, batches=_names(o.batch for o in other)
        )
    if there:
        return say("its cells are taken then by {batches}", batches=_names(o.batch for o in there))
    return say("heating it for this batch alone costs more")


def _names(keys: Iterable[str], most: int = 4) -> str:
    names = sorted(set(keys))
    more = say(" and {count} more", count=len(names) - most) if len(names) > most else ""
    return ", ".join(names[:most]) + more


def _changes(options: Options, option: Option, told: Outcome) -> tuple[str, ...]:
    """Say what a week more or less, or the next set-points, would do."""
    season, batch, bench = (
        options.season,
        options.season.batch[option.batch],
        options.season.bench[option.bench],
    )
    levels = sorted(options.levels[bench.key], key=lambda base: base or 0.0)
    at = levels.index(told.base_c)
    others = [
        (say("a week earlier"), told.base_c, option.week - 1),
        (say("a week later"), told.base_c, option.week + 1),
    ]
    others += [
        (say_base(base), base, option.week) for base in levels[max(0, at - 1) : at + 2] if base != told.base_c
    ]
    out = []
    for name, base, week in others:
        if not 0 <= week < season.weeks:
            continue
        at_bench = option.at[0], options.levels[bench.key].index(base), week
        then = tell(
            batch, bench, base, season.monday(week), options.found[bench.key], at_bench, season, told.count
        )
        out.append(f"{name}: {_compare(told, then)}")
    return tuple(out)


def _compare(now: Outcome, then: Outcome) -> str:
    if then.roots is None:
        return say("half of it would not root within {days} days", days=LONGEST)
    said = [say("risk {now:.0%} -> {then:.0%}", now=now.risk, then=then.risk)]
    if now.late or then.late:
        said.append(say("late {now:.0%} -> {then:.0%}", now=now.late, then=then.late))
    if now.ready and then.ready and (days := (then.ready[1] - now.ready[1]).days):
        said.append(
            say("ready {days} d later", days=days) if days > 0 else say("ready {days} d earlier", days=-days)
        )
    said.append(say("cost {now:.2f} -> {then:.2f}", now=now.cost, then=then.cost))
    new = [reason for reason in then.against if reason not in now.against]
    return ", ".join(said) + (say("; but {against}", against="; ".join(new)) if new else "")


def explain_unplaced(options: Options, batch: Batch, count: int, placed: Sequence[Option]) -> Unplaced:
    """Return why cuttings are not struck, and what would let them in."""
    season, every = options.season, options.of[batch.key]
    allowed = [option for option in every if option.allowed]
    if not every:
        return Unplaced(
            batch.key,
            count,
            say("Half of it would not root within {days} days on any bench.", days=LONGEST),
            (say("a warmer bench"),),
        )
    if not allowed:
        return _shut_out(options, batch, count)
    best = min(allowed, key=lambda option: option.cost)
    bench, worth = season.bench[best.bench], batch.count * batch.strike * batch.worth
    monday = say_day(season.monday(best.week))
    where = say("{bench} {base} from {day}", bench=bench.title, base=say_base(options.base(best)), day=monday)
    if best.cost >= worth:
        return Unplaced(
            batch.key,
            count,
            say("Even on {where} it would lose all it is worth.", where=where),
            (say("the day it is wanted"),),
        )
    return Unplaced(
        batch.key,
        count,
        say(
            "Its best place is {where}, but {in_the_way}; elsewhere it would cost more than it brings.",
            where=where,
            in_the_way=_in_the_way(options, best, placed),
        ),
        (
            say("{cells:g} more cells in the weeks from {day}", cells=count * batch.cells, day=monday),
            say("a later use-by day, or whole trays to split it in")
            if not batch.tray
            else say("a later use-by day"),
            say("fewer cuttings of what stands there"),
        ),
    )


def _shut_out(options: Options, batch: Batch, count: int) -> Unplaced:
    """Explain a batch that no bench, week and set-point is open to."""
    season, every = options.season, options.of[batch.key]
    in_time = [option for option in every if season.opens(batch, option.week)]
    if not in_time:
        until = say(" and good until {day}", day=say_day(batch.use_by)) if batch.use_by else ""
        return Unplaced(
            batch.key,
            count,
            say(
                "It is ready from {day}{until}: no week of the plan begins in between.",
                day=say_day(batch.ready),
                until=until,
            ),
            (say("the day it is ready"), say("its use-by day"), say("the weeks of the plan")),
        )
    fits = [o for o in in_time if batch.part_cells <= season.bench[o.bench].cells]
    if not fits:
        return Unplaced(
            batch.key,
            count,
            say(
                "It takes {part_cells:g} cells together, more than any bench that it roots on has.",
                part_cells=batch.part_cells,
            ),
            (say("whole trays to split it in"), say("fewer cells for each cutting")),
        )
    risk = min(float(options.found[o.bench].risk[o.at]) for o in fits)
    if risk > season.most_risk:
        return Unplaced(
            batch.key,
            count,
            say(
                "At best {risk:.0%} would leaf out before they root, above the {most_risk:.0%} allowed.",
                risk=risk,
                most_risk=season.most_risk,
            ),
            (
                say("the risk allowed, to {risk:.0%}", risk=risk),
                say("a warmer base or cooler air"),
                say("an earlier day, before more chill"),
            ),
        )
    return Unplaced(
        batch.key,
        count,
        say("Every bench it could stand on is closed in its weeks."),
        (say("the weeks a bench is closed"),),
    )


def conflicts(options: Options) -> tuple[Conflict, ...]:
    """Return the wishes that cannot be met together, whatever the plan."""
    season = options.season
    out = []
    for batch in season.batches:
        if batch.use_by and batch.use_by < batch.ready:
            out.append(
                Conflict(
                    (batch.key,),
                    say(
                        "{batch} is good for striking until {use_by}, but enough of it is callused only on {ready}.",
                        batch=batch.key,
                        use_by=say_day(batch.use_by),
                        ready=say_day(batch.ready),
                    ),
                    say("Warm it earlier to callus, accept less callus, or keep it colder for longer."),
                )
            )
        out += _too_soon(options, batch)
    return tuple(out + _too_many(options))


def _too_soon(options: Options, batch: Batch) -> list[Conflict]:
    """Return whether a batch cannot be ready by its day on any bench."""
    season, wanted = options.season, options.season.wanted(batch)
    here = [o for o in options.of[batch.key] if o.allowed and isfinite(options.found[o.bench].roots[o.at])]
    if not wanted or not here:
        return []
    best = min(here, key=lambda o: float(options.found[o.bench].late[o.at]))
    late = float(options.found[best.bench].late[best.at])
    if late <= 1.0 - season.sure:
        return []
    bench = season.bench[best.bench]
    told = tell(
        batch, bench, options.base(best), season.monday(best.week), options.found[best.bench], best.at, season
    )
    sure = told.ready[2] if told.ready else wanted + timedelta(days=1)
    return [
        Conflict(
            (batch.key,),
            say(
                "{batch} is wanted by {wanted}; at the soonest, on {bench} {base} from {start}, nine in ten are ready by "
                "{sure} and {late:.0%} are late.",
                batch=batch.key,
                wanted=say_day(wanted),
                bench=bench.title,
                base=say_base(told.base_c),
                start=say_day(told.start),
                sure=say_day(sure),
                late=late,
            ),
            say(
                "Ask for it by {day}, let it be ready earlier, or grow it on for fewer days.",
                day=say_day(sure),
            ),
        )
    ]


def _too_many(options: Options) -> list[Conflict]:
    """Return batches that must all be struck in weeks which have not the cells for them."""
    season = options.season
    weeks = {batch.key: {o.week for o in options.of[batch.key] if o.allowed} for batch in season.batches}
    cells = {batch.key: batch.count * batch.cells for batch in season.batches}
    shortest = {
        batch.key: min((o.weeks for o in options.of[batch.key] if o.allowed), default=1)
        for batch in season.batches
    }
    found: tuple[float, list[str], int, int] | None = None
    for first in range(season.weeks):
        for last in range(first, season.weeks):
            inside = [key for key, some in weeks.items() if some and first <= min(some) and max(some) <= last]
            end = last + max((shortest[key] for key in inside), default=1)
            room = sum(
                bench.cells * sum(week not in bench.closed for week in range(first, end))
                for bench in season.benches
            )
            short = sum(cells[key] * shortest[key] for key in inside) - room
            if short > 0 and (found is None or short > found[0]):
                found = short, inside, first, last
    if found is None:
        return []
    short, inside, first, last = found
    return [
        Conflict(
            tuple(inside),
            say(
                "{batches} must all be struck from {first} to the week of {last}: {short:.0f} cell-weeks more than all "
                "benches have.",
                batches=_names(inside, 8),
                first=say_day(season.monday(first)),
                last=say_day(season.monday(last)),
                short=short,
            ),
            say("Let some be ready earlier or keep longer, strike fewer of them, or open another bench."),
        )
    ]
