"""One thing to do now, as a plain value that is light to import."""

from dataclasses import dataclass

__all__ = ["Task"]


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do now."""

    act: str
    reason: str
    kind: str  # one of ortet.decisions.today.KINDS
    lots: tuple[str, ...]  # codes
    bags: tuple[str, ...]  # names; of a batch to count, its own
    place: str  # the bag or bench; the store where several bags are meant
    count: int  # cuttings that it concerns
    waiting: float  # cuttings that a week of waiting is expected to cost
    due: float | None  # when the limit is likely crossed [h since 1970]
    deed: str  # what is recorded when it is done: weigh, inspect, treat, bag, move, give_up, strike, count, pot, wipe, air, load or nothing
    limit: str  # the quantity whose limit it is about, or nothing
    command: str  # that records it
    parts: tuple[tuple[str, int], ...] = ()  # from which mother plants how many, or to which bench
    use: str = ""  # what wood is taken for
    base_c: float | None = None  # what the mat is set to, where wood is struck [°C]
