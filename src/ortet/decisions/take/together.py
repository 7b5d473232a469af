"""One way for each stream where varieties compete for a shared limit: a whole-number programme, priority by priority.

What a stream gives one priority is settled before the next is looked at. So each programme is small: of the ways that
give a priority the same, only that with least wood is offered.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from ortet.decisions.solver import Model, Solved, Watch
from ortet.wood.speech import say

from .ways import MILLION, Way
from .wishes import Ask, Conflict, Contradiction, Limit, Stream

__all__ = ["together"]

SECONDS = 20.0  # in all; the search ends far earlier unless the machine is very busy


def together(
    ask: Ask, fronts: Mapping[Stream, Sequence[Way]], priorities: Sequence[int]
) -> tuple[dict[Stream, Way], float]:
    """Return the way chosen for each stream, and how much more worth there could at most be, relative. [0-1]

    Raises
    ------
    Contradiction
        If the targets that must be met need more than a limit.
    """
    _check_musts(ask, fronts)
    watch, gap = Watch(SECONDS), 0.0
    left = {stream: list(front) for stream, front in fronts.items()}
    for at in range(len(priorities)):
        offers = {stream: _cheapest(front, at) for stream, front in left.items()}
        picked, solved = _solve(ask, offers, at, watch)
        if solved is not None:
            gap = max(gap, (solved.value - solved.bound) / max(1.0, abs(solved.value)))
        left = {
            stream: [way for way in front if way.worth[at] == picked[stream].worth[at]]
            for stream, front in left.items()
        }
    return picked, gap


def _cheapest(front: Sequence[Way], at: int) -> list[Way]:
    """Return for each worth to one priority the way that takes least wood, where more wood brings more worth."""
    kept: list[Way] = []
    for way in sorted(front, key=lambda one: (one.cuttings, -one.worth[at])):
        if not kept or way.worth[at] > kept[-1].worth[at]:
            kept.append(way)
    return kept


def _solve(
    ask: Ask, offers: Mapping[Stream, Sequence[Way]], at: int, watch: Watch
) -> tuple[dict[Stream, Way], Solved | None]:
    """Return one way for each stream, so that one priority has all the worth it can; None: nothing was left to choose."""
    picked = {stream: front[0] for stream, front in offers.items()}
    open_to = {stream: front for stream, front in offers.items() if len(front) > 1}
    if not open_to:
        return picked, None
    # the root's cuts settle these programmes: presolving costs more than it saves
    model, columns = Model(presolve=False), dict[Stream, list[int]]()
    held: dict[str, dict[int, float]] = defaultdict(dict)
    used: dict[Limit, dict[int, float]] = defaultdict(dict)
    goal: dict[int, float] = {}
    for stream, front in open_to.items():
        columns[stream] = [model.column(1.0) for _ in front]
        model.row(dict.fromkeys(columns[stream], 1.0), least=1.0, most=1.0)
        for column, way in zip(columns[stream], front, strict=True):
            goal[column] = -way.worth[at] / MILLION
            held[stream[0]][column] = float(way.cuttings)
            for limit in ask.limits:
                if limit.counts(stream[1]):
                    used[limit][column] = float(way.cuttings)
    for variety, terms in held.items():
        settled = sum(picked[one].cuttings for one in ask.of(variety) if one not in open_to)
        if settled + sum(terms.values()) > ask.most(variety):
            model.row(terms, most=float(ask.most(variety) - settled))
    for limit, terms in used.items():
        settled = sum(picked[one].cuttings for one in picked if one not in open_to and limit.counts(one[1]))
        model.row(terms, most=float(limit.most - settled))
    solved = model.least(goal, watch)
    for stream, front in open_to.items():
        picked[stream] = front[max(range(len(front)), key=lambda n: float(model.x[columns[stream][n]]))]
    return picked, solved


def _check_musts(ask: Ask, fronts: Mapping[Stream, Sequence[Way]]) -> None:
    """Refuse musts that exceed a limit even where each is given its least and every other target nothing."""
    conflicts = []
    for limit in ask.limits:
        counted = [stream for stream in fronts if limit.counts(stream[1])]
        least = sum(fronts[stream][0].cuttings for stream in counted)
        if least > limit.most:
            keys = [target.key for stream in counted for target in ask.streams[stream] if target.must]
            conflicts.append(
                Conflict(
                    (limit.name, *keys),
                    say(
                        "{limit}: {targets} must be met and need {least:,} cuttings together, but at most {most:,} are allowed.",
                        limit=limit.name,
                        targets=", ".join(keys),
                        least=least,
                        most=limit.most,
                    ),
                    say(
                        "Raise it by {count:,}, promise less, or accept a lower confidence.",
                        count=least - limit.most,
                    ),
                )
            )
    if conflicts:
        raise Contradiction(conflicts)
