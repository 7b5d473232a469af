"""What a mix-up is judged by: the plants looked at, and the moments at which they could have been confused."""

from __future__ import annotations

from dataclasses import dataclass

from ortet.wood.speech import say

__all__ = ["ACTS", "LABELLED", "Group", "Moment", "Pool", "Side", "Source"]

# How often names get confused at an act, against moving closed bundles: our choice. Where labels are written or tied on, and
# where wood is bare, more; see docs/science/mixup.md for how little the order of the answers changes with it.
ACTS = {
    "taken": 3.0,
    "received": 3.0,
    "bagged": 3.0,
    "split": 3.0,
    "struck": 3.0,
    "grafted": 3.0,
    "potted": 3.0,
    "moved": 1.0,
    "sold": 1.0,
    "looked": 0.5,  # a bag opened, looked into, aired
    "lay": 0.3,  # lay beside, not touched
}
LABELLED = (
    "taken",
    "received",
    "bagged",
    "split",
    "struck",
    "grafted",
    "potted",
)  # acts at which a label is written or tied on


@dataclass(frozen=True, slots=True)
class Group:
    """Plants that are looked at together: a lot, or what of it is in one place."""

    name: str
    lot: str
    variety: str
    count: int  # plants in all, those looked at among them
    right: int = 0  # looked at, and what their label says
    wrong: tuple[
        tuple[str, int], ...
    ] = ()  # what they turned out to be, nothing where nobody knows; how many

    def __post_init__(self) -> None:
        if min([self.count, self.right, *(k for _, k in self.wrong)]) < 0 or self.looked > self.count:
            raise ValueError(
                say(
                    "{group}: {looked} looked at of {count}. No more can be looked at than there are.",
                    group=self.name,
                    looked=self.looked,
                    count=self.count,
                )
            )

    @property
    def looked(self) -> int:
        """How many were looked at."""
        return self.right + self.mistaken

    @property
    def mistaken(self) -> int:
        """How many were something else."""
        return sum(count for _, count in self.wrong)


@dataclass(frozen=True, slots=True)
class Pool:
    """Cuttings of one lot that lay open at a moment, in one place."""

    place: str
    count: int
    reach: tuple[int, ...]  # how many of them are in each group now
    was_moved: bool = True  # else they stayed behind where the others were taken from


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two lots of a moment."""

    lot: str
    variety: str
    species: str
    base_mm: float
    act: str  # a key of ACTS
    pools: tuple[Pool, ...]


@dataclass(frozen=True, slots=True)
class Moment:
    """Two lots of two varieties that were open together."""

    key: int
    first: Side
    second: Side
    apart_h: float  # between the acts on the one and the nearest on the other
    one_hand: bool  # whether one person handled both


@dataclass(frozen=True, slots=True)
class Source:
    """What would make a lot wrong without any other lot of the book: its mother plant, its rootstock, or an unseen hand."""

    key: int
    kind: str  # mother (all of it), sender (all that came), part (some of what was cut or came that day), stock, unseen
    name: str
    variety: str  # what it would be: the rootstock's variety; nothing where it may be any
    pool: Pool
