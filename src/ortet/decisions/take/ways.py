"""The ways in which short wood may be given: which targets in full, in part or not at all, and which way is best.

The cuttings that several targets need together are not the sum of what each needs alone. What comes through serves the
targets in turn, the first priority first, so a target is met when as many come through as it and all before it are
promised; the stream needs the most that any of its targets asks for in that way. So a way is weighed as a whole.

A way is better if it gives more worth to the first priority; if that is the same, to the second; and so on. Adding the
same wood to both does not change which is better, so of two ways that use the same wood only the better one is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from .chain import MOST, Chain, OutOfReach
from .wishes import Limit, Stream, Target

__all__ = ["MILLION", "Mix", "Needs", "Way", "best", "levels", "mixes", "ways"]

PARTS = 4  # a target may be given its least, its count, and so many steps between

Worth = tuple[
    int, ...
]  # by priority, the first first; in millionths, so that sums are exact and equals stay equal
MILLION = 1_000_000
Need = Callable[[int, float], int | None]


@dataclass(frozen=True, slots=True)
class Way:
    """What each target of a stream is promised, in the order they are served, and what that takes."""

    cuttings: int
    worth: Worth
    given: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Mix:
    """One way for each stream of a variety."""

    cuttings: int
    used: tuple[int, ...]  # of each limit
    worth: Worth
    ways: tuple[Way, ...]


class Needs:
    """Cuttings that a total needs with a confidence, up to `most`; what was worked out is kept."""

    def __init__(self, chain: Chain, most: int) -> None:
        self.chain, self.most = chain, min(most, MOST)
        self._known: dict[tuple[int, float], int | None] = {}
        self._beyond: dict[float, int] = {}  # the least total known to need more than there is

    def __call__(self, total: int, confidence: float) -> int | None:
        """Return the cuttings, or None where `most` do not suffice."""
        if total >= self._beyond.get(confidence, total + 1):
            return None  # a greater total never needs less
        key = (total, confidence)
        if key not in self._known:
            try:
                self._known[key] = self.chain.fewest(total, confidence, self.most)
            except OutOfReach:
                self._known[key] = None
                self._beyond[confidence] = total
        return self._known[key]


def levels(target: Target) -> list[int]:
    """Return how many a target may be promised, the most first; 0 unless it must be met."""
    between = {target.least + round(k * (target.count - target.least) / PARTS) for k in range(PARTS + 1)}
    return sorted(between, reverse=True) + ([] if target.must else [0])


def ways(
    targets: Sequence[Target], sure: Sequence[float], need: Need, priorities: Sequence[int]
) -> list[Way]:
    """Return the ways of a stream that no other way beats: the more wood, the more worth. Empty: its musts are too many."""
    nothing = (0,) * len(priorities)
    held: dict[tuple[int, int], tuple[Worth, tuple[int, ...]]] = {(0, 0): (nothing, ())}
    for target, confidence in zip(targets, sure, strict=True):
        at, offers = priorities.index(target.priority), levels(target)
        one = max(1, round(target.worth * MILLION))
        grown: dict[tuple[int, int], tuple[Worth, tuple[int, ...]]] = {}
        for (total, cuttings), (worth, given) in held.items():
            for count in offers:
                wood = need(total + count, confidence) if count else cuttings
                if wood is None:
                    continue
                key = (total + count, max(wood, cuttings))
                value = (*worth[:at], worth[at] + count * one, *worth[at + 1 :])
                if key not in grown or value > grown[key][0]:
                    grown[key] = (value, (*given, count))
        held = grown
    found = [Way(cuttings, worth, given) for (_, cuttings), (worth, given) in held.items()]
    return _unbeaten(found)


def _unbeaten(found: list[Way]) -> list[Way]:
    kept: list[Way] = []
    for way in sorted(found, key=lambda one: (one.cuttings, tuple(-w for w in one.worth), one.given)):
        if not kept or way.worth > kept[-1].worth:
            kept.append(way)
    return kept


def mixes(
    streams: Sequence[Stream],
    fronts: Sequence[Sequence[Way]],
    most: int,
    limits: Sequence[Limit],
    room: Sequence[int],
) -> list[Mix]:
    """Return the mixes of one variety's streams worth weighing, within its wood and the room under each limit."""
    priorities = next((len(front[0].worth) for front in fronts if front), 0)
    held = {(0, (0,) * len(limits)): Mix(0, (0,) * len(limits), (0,) * priorities, ())}
    for (_, use), front in zip(streams, fronts, strict=True):
        counted = [limit.counts(use) for limit in limits]
        grown: dict[tuple[int, tuple[int, ...]], Mix] = {}
        for mix in held.values():
            free = [r - u for r, u, it in zip(room, mix.used, counted, strict=True) if it]
            free_most = min([most - mix.cuttings, *free])
            for way in front:  # the more wood, the more worth
                if way.cuttings > free_most:
                    break
                cuttings = mix.cuttings + way.cuttings
                used = tuple([u + way.cuttings * it for u, it in zip(mix.used, counted, strict=True)])
                worth = tuple([a + b for a, b in zip(mix.worth, way.worth, strict=True)])
                known = grown.get((cuttings, used))
                if known is None or worth > known.worth:
                    grown[cuttings, used] = Mix(cuttings, used, worth, (*mix.ways, way))
        held = grown if limits else _rising(grown)
    return list(held.values())


def _rising(found: dict[tuple[int, tuple[int, ...]], Mix]) -> dict[tuple[int, tuple[int, ...]], Mix]:
    kept: dict[tuple[int, tuple[int, ...]], Mix] = {}
    top: Worth = ()
    for key in sorted(found):
        if found[key].worth > top:
            kept[key], top = found[key], found[key].worth
    return kept


def best(found: Sequence[Mix]) -> Mix | None:
    """Return the mix of most worth, of equals that with the least wood; None where none is left."""
    return min(found, key=lambda mix: (tuple(-w for w in mix.worth), mix.cuttings, mix.used), default=None)
