"""Where two varieties of like look are open at once: that is when names get swapped."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from shlex import quote

from ortet.decisions.task import Task
from ortet.science.species import species
from ortet.wood.speech import say
from ortet.wood.units import show_length

__all__ = ["Open", "alike"]

THICKER = 4 / 3  # who handles wood tells it apart where one is more than a third thicker [our choice]
AT_ONCE_H = 0.5  # hours apart at which two bags count as open at once [our choice]
CHANCE = 0.002  # that a cutting gets among the others while they lie open [our choice]; it only puts tasks in order
FEW = 4  # lots named before the rest are counted


@dataclass(frozen=True, slots=True)
class Open:
    """Wood of a lot that lies bare on a bench, or was in the hand today."""

    lot: str  # code
    name: str  # the grower's mark, else the code as it is written
    variety: str
    species: str
    base_mm: float
    count: int
    place: str  # the bench, cold place or ground
    hours: tuple[
        float, ...
    ]  # when it was in the hand there today; nothing where it only lies bare [h since 1970]
    lies_bare: bool


def _like(one: Open, other: Open) -> bool:
    """Return whether two lots look alike and were open at once."""
    thin, thick = sorted((one.base_mm, other.base_mm))
    if one.variety == other.variety or thick > thin * THICKER:
        return False
    if one.lies_bare or other.lies_bare:
        return True
    return any(abs(hour - then) <= AT_ONCE_H for hour in one.hours for then in other.hours)


def alike(opened: Sequence[Open], now: float, units: str = "metric") -> list[Task]:
    """Return a task for each place and kind of wood of which two varieties of like look are open at once.

    Parameters
    ----------
    opened : sequence of Open
        What lies bare, and what was in the hand today.
    now : float
        [h since 1970]
    units : str
        metric or US.
    """
    together: dict[tuple[str, str], list[Open]] = defaultdict(list)
    for one in opened:
        together[one.place, one.species].append(one)
    found = {
        key: [one for one in lots if any(_like(one, other) for other in lots)]
        for key, lots in together.items()
    }
    return [_task(place, kind, like, now, units) for (place, kind), like in found.items() if like]


def _lie(bare: int, count: int) -> str:
    if bare == count:
        return say("lie bare")
    return say("lie bare or were open today") if bare else say("were open today")


def _task(place: str, kind: str, like: list[Open], now: float, units: str) -> Task:
    """Return the task for lots that look alike and were open at one place."""
    like = sorted(like, key=lambda one: (not one.lies_bare, one.variety, one.name))
    names = [
        f"{one.name} \N{LEFT SINGLE QUOTATION MARK}{one.variety}\N{RIGHT SINGLE QUOTATION MARK}"
        for one in like
    ]
    more = say(" and {count} more", count=len(names) - FEW) if len(names) > FEW else ""
    bare = sum(one.lies_bare for one in like)
    sizes = sorted({one.base_mm for one in like})
    thick = say(" to ").join(dict.fromkeys(show_length(size, units) for size in (sizes[0], sizes[-1])))
    count = sum(one.count for one in like)
    return Task(
        say("Scan both labels on {place}: {lots}.", place=place, lots=", ".join(names[:FEW]) + more),
        say(
            "{count} varieties of {kind} that look alike ({thick}) {lie} together: this is when names get swapped. "
            "Have one open at a time; before you close them, let each label be read a second time.",
            count=len({one.variety for one in like}),
            kind=say(species(kind).name),
            thick=thick,
            lie=_lie(bare, len(like)),
        ),
        "alike",
        tuple(one.lot for one in like),
        (),
        place,
        count,
        CHANCE * count,
        now,
        "scan",
        "",
        f"ortet scan LABEL LABEL --place {quote(place)}",
    )
