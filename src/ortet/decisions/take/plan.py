"""How much wood to take in a season, from which mother plants, and which targets give way where it is short.

Where varieties share no limit that binds, each is planned alone: all ways to give its wood are weighed, and the best is
exact. Where a shared limit binds, a whole-number programme chooses one way for each stream.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate

from ortet.wood.speech import counted, say, say_many, say_number

from .chain import MOST, Chain, OutOfReach, cuttings_to_take, through
from .rest import give_rest
from .together import together
from .told import (
    LimitLine,
    Shortage,
    TakePlan,
    mother_lines,
    shortage,
    taking,
    target_lines,
)
from .ways import Mix, Needs, Way, best, mixes, ways
from .wishes import Ask, Conflict, Contradiction, Stream, check

__all__ = ["cuttings_by_stream", "plan_taking"]


@dataclass
class _Full:
    """A stream with all its targets met."""

    way: Way | None  # None: more than MOST cuttings
    needs: Needs  # of totals, up to one shoot more than the mother plants may give

    @property
    def wanted(self) -> int | None:
        """Cuttings, or None beyond what is planned for."""
        return self.way.cuttings if self.way else None


def plan_taking(ask: Ask) -> TakePlan:
    """Return how many cuttings to take of each variety and mother plant, and what comes of it.

    Raises
    ------
    Contradiction
        If wishes contradict one another; it names them and what to relax. Nothing is planned then.
    """
    return _told(ask, _decided(ask))


def cuttings_by_stream(ask: Ask) -> dict[Stream, int]:
    """Return how many cuttings `plan_taking` takes for each variety and use, without saying what comes of it.

    Raises
    ------
    Contradiction
        As `plan_taking` does.
    """
    return {stream: way.cuttings for stream, way in _decided(ask).chosen.items()}


@dataclass
class _Decided:
    """What was decided, before it is told."""

    full: dict[Stream, _Full]
    fronts: dict[Stream, list[Way]]
    alone: dict[Stream, Way]  # with no thought of shared limits
    chosen: dict[Stream, Way]
    gap: float


def _decided(ask: Ask) -> _Decided:
    check(ask)
    priorities = sorted({target.priority for target in ask.targets})
    full = {stream: _full(ask, stream, priorities) for stream in ask.streams}
    fronts: dict[Stream, list[Way]] = {}
    chosen: dict[Stream, Way] = {}
    conflicts: list[Conflict] = []
    for variety in ask.varieties:
        mix = _alone(ask, variety, full, fronts, priorities)
        if mix is None:
            conflicts.append(_too_many_musts(ask, variety, priorities))
        else:
            chosen.update(zip(ask.of(variety), mix.ways, strict=True))
    if conflicts:
        raise Contradiction(conflicts)
    alone, gap = chosen, 0.0
    if any(used > limit.most for used, limit in zip(_used(ask, chosen), ask.limits, strict=True)):
        for stream in ask.streams:
            if stream not in fronts:
                fronts[stream] = _front(ask, stream, full[stream].needs, priorities)
        chosen, gap = together(ask, fronts, priorities)
    chosen, used = dict(chosen), _used(ask, chosen)
    for variety in ask.varieties:
        now = {stream: chosen[stream] for stream in ask.of(variety)}
        others = _less(used, _used(ask, now))
        now = _with_rest(ask, variety, now, full, others, ask.most(variety))
        chosen.update(now)
        used = [a + b for a, b in zip(others, _used(ask, now), strict=True)]
    return _Decided(full, fronts, alone, chosen, gap)


def _full(ask: Ask, stream: Stream, priorities: Sequence[int]) -> _Full:
    """Return the way that meets all targets of a stream. Of targets with one confidence only the last total counts."""
    targets = ask.streams[stream]
    last = {
        ask.sure(target): total
        for target, total in zip(targets, accumulate(t.count for t in targets), strict=True)
    }
    chain = Chain(ask.shares(stream))
    needs = Needs(chain, ask.most(stream[0]) + _shoot(ask, stream[0]))
    try:
        cuttings = max(chain.fewest(total, sure) for sure, total in last.items())
    except OutOfReach:
        return _Full(None, needs)
    worth = ways(
        [replace(target, least=target.count, must=True) for target in targets],
        [ask.sure(target) for target in targets],
        lambda total, sure: total,
        priorities,
    )[-1].worth
    return _Full(Way(cuttings, worth, tuple(target.count for target in targets)), needs)


def _front(ask: Ask, stream: Stream, needs: Needs, priorities: Sequence[int]) -> list[Way]:
    targets = ask.streams[stream]
    return ways(targets, [ask.sure(target) for target in targets], needs, priorities)


def _alone(
    ask: Ask,
    variety: str,
    full: dict[Stream, _Full],
    fronts: dict[Stream, list[Way]],
    priorities: Sequence[int],
) -> Mix | None:
    """Return the best way to give a variety's wood with no thought of the others; None where its musts are too many."""
    streams, most = ask.of(variety), ask.most(variety)
    whole = [full[stream].way for stream in streams]
    have = [way for way in whole if way is not None]
    if len(have) == len(whole) and sum(way.cuttings for way in have) <= most:
        return _mix(tuple(have))
    for stream in streams:
        fronts[stream] = _front(ask, stream, full[stream].needs, priorities)
    return best(mixes(streams, [fronts[stream] for stream in streams], most, (), ()))


def _used(ask: Ask, chosen: Mapping[Stream, Way]) -> list[int]:
    return [
        sum(way.cuttings for (_, use), way in chosen.items() if limit.counts(use)) for limit in ask.limits
    ]


def _less(used: Sequence[int], part: Sequence[int]) -> list[int]:
    return [whole - of_it for whole, of_it in zip(used, part, strict=True)]


def _too_many_musts(ask: Ask, variety: str, priorities: Sequence[int]) -> Conflict:
    """Tell which promises of a variety need more wood than there is, and what would do."""
    keys: list[str] = []
    asked, alone, most = 0, [], ask.most(variety)
    for stream in ask.of(variety):
        musts = [target for target in ask.streams[stream] if target.must]
        if not musts:
            continue
        keys += [target.key for target in musts]
        totals = list(accumulate(target.least for target in musts))
        shares = ask.shares(stream)
        try:
            asked += max(
                cuttings_to_take(total, shares, ask.sure(t)) for t, total in zip(musts, totals, strict=True)
            )
        except OutOfReach:
            asked = MOST + 1
        alone.append((stream, musts, totals[-1]))
    lacking = (
        say_many("{count:,} more cutting", "{count:,} more cuttings", asked - most)
        if asked <= MOST
        else say("far more cuttings")
    )
    relax = [say("let the mother plants give {lacking}", lacking=lacking)]
    if len(alone) == 1:
        stream, musts, total = alone[0]
        sure = min(ask.sure(target) for target in musts)
        came = through(most, ask.shares(stream))
        relax.append(say("promise {surely} in all instead of {total}", surely=came.surely(sure), total=total))
        relax.append(say("accept a confidence of {chance:.2f}", chance=came.at_least(total)))
    else:
        relax.append(say("promise less"))
    need = counted(asked, "cutting") if asked <= MOST else say("more than {most:,} cuttings", most=MOST)
    first = f"{relax[0][0].upper()}{relax[0][1:]}"
    return Conflict(
        tuple(keys),
        say(
            "{variety}: {targets} must be met and need {need} together, but the mother plants may give {most:,}.",
            variety=variety,
            targets=", ".join(keys),
            need=need,
            most=most,
        ),
        say("{first}, {second}, or {third}.", first=first, second=relax[1], third=relax[2])
        if len(relax) > 2
        else say("{first}, or {second}.", first=first, second=relax[1]),
    )


def _told(ask: Ask, decided: _Decided) -> TakePlan:
    """Return the plan with its lines and reasons."""
    full, fronts, alone, chosen = decided.full, decided.fronts, decided.alone, decided.chosen
    used_by_all = _used(ask, chosen)
    limits = tuple(
        LimitLine(limit.name, used, limit.most, asked)
        for limit, used, asked in zip(ask.limits, used_by_all, _used(ask, alone), strict=True)
    )
    binding = [line for line in limits if line.binds]
    shortages = tuple(
        _short(ask, variety, full, fronts, chosen, used_by_all)
        for variety in ask.varieties
        if (wanted := _wanted(ask, variety, full)) is None or wanted > ask.most(variety)
    )
    lines, takings = [], []
    for stream, way in chosen.items():
        came, wanted = full[stream].needs.chain.through(way.cuttings), full[stream].wanted
        lines += target_lines(ask, stream, way, came, wanted, _cause(ask, stream[0], full, binding))
        takings.append(taking(ask, stream, way, came, wanted))
    taken = {variety: sum(chosen[stream].cuttings for stream in ask.of(variety)) for variety in ask.varieties}
    return TakePlan(
        targets=tuple(lines),
        takings=tuple(takings),
        mothers=tuple(line for variety in taken for line in mother_lines(ask, variety, taken[variety])),
        shortages=shortages,
        limits=limits,
        gap=decided.gap,
        binds=_binds(shortages, binding),
        would_change=_would_change(shortages, binding),
        assumed=_assumed(ask, binding),
    )


def _with_rest(
    ask: Ask,
    variety: str,
    now: Mapping[Stream, Way],
    full: Mapping[Stream, _Full],
    others: Sequence[int],
    most: int,
) -> dict[Stream, Way]:
    """Return a variety's ways with what is left of its wood given to what goes short, as far as shared limits allow.

    `others` is what all other varieties use of each limit, `most` the cuttings this one may give.
    """
    streams = ask.of(variety)
    room = [most - sum(way.cuttings for way in now.values())]
    for limit, theirs, ours in zip(ask.limits, others, _used(ask, now), strict=True):
        if any(limit.counts(use) for _, use in streams):
            room.append(limit.most - theirs - ours)
    needs = {stream: full[stream].needs for stream in streams}
    given = give_rest(ask, streams, [now[stream] for stream in streams], needs, min(room))
    return dict(zip(streams, given, strict=True))


def _wanted(ask: Ask, variety: str, full: dict[Stream, _Full]) -> int | None:
    """Return the cuttings that all targets of a variety need; None beyond what is planned for."""
    total = 0
    for stream in ask.of(variety):
        wanted = full[stream].wanted
        if wanted is None:
            return None
        total += wanted
    return total


def _cause(ask: Ask, variety: str, full: dict[Stream, _Full], binding: Sequence[LimitLine]) -> str:
    wanted, most = _wanted(ask, variety, full), ask.most(variety)
    if wanted is not None and wanted <= most:
        limits = say(" and ").join(line.name for line in binding)
        return say("{limits}: other targets come first.", limits=limits)
    asked = say("more than {most:,}", most=MOST) if wanted is None else say_number(wanted)
    return say(
        "{asked} cuttings of {variety} wanted, {most:,} to be had; other targets come first, or the rest is too little.",
        asked=asked,
        variety=variety,
        most=most,
    )


def _shoot(ask: Ask, variety: str) -> int:
    """Return the cuttings of one more shoot: of the mother plant whose shoots give most."""
    return max(mother.per_shoot for mother in ask.giving[variety])


def _mix(ways_of: tuple[Way, ...]) -> Mix:
    worth = tuple(sum(parts) for parts in zip(*(way.worth for way in ways_of), strict=True))
    return Mix(sum(way.cuttings for way in ways_of), (), worth, ways_of)


def _short(
    ask: Ask,
    variety: str,
    full: dict[Stream, _Full],
    fronts: dict[Stream, list[Way]],
    chosen: dict[Stream, Way],
    used_by_all: Sequence[int],
) -> Shortage:
    """Return what one more shoot would bring: the variety planned anew with it, all others held."""
    streams, shoot = ask.of(variety), _shoot(ask, variety)
    most = ask.most(variety) + shoot
    own = {stream: chosen[stream] for stream in streams}
    others = _less(used_by_all, _used(ask, own))
    room = [limit.most - used for limit, used in zip(ask.limits, others, strict=True)]
    now = _mix(tuple(own.values()))
    then = best(mixes(streams, [fronts[s] for s in streams], most, ask.limits, room)) or now
    ways_then = dict(zip(streams, then.ways, strict=True))
    then = _mix(tuple(_with_rest(ask, variety, ways_then, full, others, most).values()))
    return shortage(ask, variety, _wanted(ask, variety, full), now, then, shoot)


def _binds(shortages: Sequence[Shortage], binding: Sequence[LimitLine]) -> tuple[str, ...]:
    return (
        *(
            say(
                "{limit}: {asked:,} cuttings would be taken, {most:,} are allowed.",
                limit=line.name,
                asked=line.asked,
                most=line.most,
            )
            for line in binding
        ),
        *(
            say(
                "{variety}: the mother plants may give {may_give:,} cuttings, {wanted} are wanted.",
                variety=short.variety,
                may_give=short.may_give,
                wanted=say("far more") if short.wanted is None else say_number(short.wanted),
            )
            for short in shortages
        ),
    )


def _would_change(shortages: Sequence[Shortage], binding: Sequence[LimitLine]) -> tuple[str, ...]:
    return (
        *(
            say(
                "{limit} raised by {count:,}: it would not bind.",
                limit=line.name,
                count=line.asked - line.most,
            )
            for line in binding
        ),
        *(
            say(
                "{variety}: {shoots} would meet every target.",
                variety=short.variety,
                shoots=counted(short.shoots_lacking, "more shoot"),
            )
            if short.shoots_lacking is not None
            else say("{variety}: rates known better; count a batch.", variety=short.variety)
            for short in shortages
        ),
    )


def _assumed(ask: Ask, binding: Sequence[LimitLine]) -> tuple[str, ...]:
    told = [
        say(
            "Each share that is not known is drawn once for the season, the same for all cuttings of a variety and use."
        ),
        say("What comes through serves the targets of a variety and use in turn: by priority, then worth."),
        say(
            "A later priority never takes from an earlier one; within a priority the most worth is promised."
        ),
        say("Different varieties and uses have luck of their own."),
    ]
    if any(isinstance(step.share, float | int) for steps in ask.steps.values() for step in steps):
        told.append(say("A share given as one figure is taken as known."))
    if binding:
        told.append(say("What one more shoot is worth holds with all other varieties as planned."))
    return tuple(told)
