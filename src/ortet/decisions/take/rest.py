"""What is done with the wood that the ways weighed leave over: it goes to targets that give way, cutting by cutting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import accumulate

from .ways import MILLION, Needs, Way
from .wishes import Ask, Stream

__all__ = ["give_rest"]


def give_rest(
    ask: Ask, streams: Sequence[Stream], ways: Sequence[Way], needs: Mapping[Stream, Needs], rest: int
) -> tuple[Way, ...]:
    """Return a variety's ways with up to `rest` more cuttings given to what goes short, the first priority first.

    The ways weighed promise a target its least, its count, or one of a few numbers between; here the number is raised as
    far as the wood goes.
    """
    given = {stream: list(way.given) for stream, way in zip(streams, ways, strict=True)}
    used = {stream: way.cuttings for stream, way in zip(streams, ways, strict=True)}
    waiting = sorted(
        (
            (target.priority, -target.worth, target.key, stream, at)
            for stream in streams
            for at, target in enumerate(ask.streams[stream])
            if given[stream][at] < target.count
        ),
        key=lambda one: one[:3],
    )
    for *_, stream, at in waiting:
        target = ask.streams[stream][at]
        low, high = given[stream][at], target.count
        if low == 0:
            low = target.least - 1  # fewer than its least are no use

        def cuttings(count: int, stream: Stream = stream, at: int = at) -> int | None:
            return _cuttings(
                ask, stream, [*given[stream][:at], count, *given[stream][at + 1 :]], needs[stream]
            )

        best: tuple[int, int] | None = None
        while low < high:  # more is never had with less wood
            middle = (low + high + 1) // 2
            wood = cuttings(middle)
            if wood is not None and wood - used[stream] <= rest:
                best, low = (middle, wood), middle
            else:
                high = middle - 1
        if best:
            given[stream][at] = best[0]
            rest -= best[1] - used[stream]
            used[stream] = best[1]
    return tuple(
        _raised(ask, stream, way, given[stream], used[stream])
        for stream, way in zip(streams, ways, strict=True)
    )


def _cuttings(ask: Ask, stream: Stream, given: Sequence[int], needs: Needs) -> int | None:
    """Return what a stream takes to give so much to each target; None where there is not so much wood."""
    most = 0
    for target, count, total in zip(ask.streams[stream], given, accumulate(given), strict=True):
        if count:
            wood = needs(total, ask.sure(target))
            if wood is None:
                return None
            most = max(most, wood)
    return most


def _raised(ask: Ask, stream: Stream, way: Way, given: Sequence[int], cuttings: int) -> Way:
    if tuple(given) == way.given:
        return way
    priorities = sorted({target.priority for target in ask.targets})
    worth = list(way.worth)
    for target, before, now in zip(ask.streams[stream], way.given, given, strict=True):
        worth[priorities.index(target.priority)] += (now - before) * max(1, round(target.worth * MILLION))
    return Way(cuttings, tuple(worth), tuple(given))
