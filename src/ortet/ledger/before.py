"""What the book holds of the lots and places that moves touch, read in two questions however many they are."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime

from .movements import Balance, Movement
from .slices import in_slices

__all__ = ["Before", "Step"]

Key = tuple[int, int]  # of a lot, of a place
# When; 0 what came or 1 what left, so that what comes at one moment is there before what goes; cuttings.
Step = tuple[datetime, int, int]

FEW = 100  # places that are asked for by their keys; of more, all of the lots is read


class Before:
    """Counts and movements of some lots in some places, as they are before anything more is booked."""

    def __init__(self, keys: Iterable[Key]) -> None:
        wanted = set(keys)
        lots, places = {lot for lot, _ in wanted}, {place for _, place in wanted}
        held, moved = Balance.objects.order_by(), Movement.objects.order_by()
        if len(places) <= FEW:
            held = held.filter(place__in=places)
            moved = moved.filter(from_place__in=places) | moved.filter(to_place__in=places)
        rows = held.values_list("lot", "place", "count")
        self._held = {(lot, place): count for lot, place, count in in_slices(rows, "lot", lots)}
        self._steps: dict[Key, list[Step]] = defaultdict(list)
        moves = moved.values_list("lot", "from_place", "to_place", "at", "count")
        for lot, left, came, at, count in in_slices(moves, "lot", lots):
            self._steps[lot, came].append((at, 0, count))
            self._steps[lot, left].append((at, 1, -count))

    def count(self, key: Key) -> int:
        """Return how many cuttings lie there."""
        return self._held.get(key, 0)

    def steps(self, key: Key) -> list[Step]:
        """Return what came there and left, with the moments."""
        return list(self._steps.get(key, ()))
