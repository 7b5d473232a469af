"""Where to cut a shoot so that its pieces are worth most: exact, by a dynamic programme over its nodes.

What was rejected is in docs/why/cut.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import Any, overload

import numpy as np
from numpy.typing import NDArray

from ortet.wood.grade import INF, Grade
from ortet.wood.piece import Knife, Piece
from ortet.wood.shoot import Shoot
from ortet.wood.speech import say, say_many

__all__ = ["Cut", "Cuts", "Dropped", "Laid", "cut_shoot", "cut_shoots", "lay", "plan_of"]

Array = NDArray[np.float64]
PACKED = attrgetter("packed")
TIPS = {"no": 0, "may": 1, "must": 2}


@dataclass(frozen=True, slots=True)
class Dropped:
    """A stretch of a shoot that becomes no piece, and why."""

    from_mm: float
    to_mm: float
    nodes: int
    reason: str


@dataclass(frozen=True, slots=True)
class Cut:
    """How one shoot is cut: its pieces from the base up, and what is left over."""

    shoot: Shoot
    pieces: tuple[Piece, ...]
    dropped: tuple[Dropped, ...]

    @property
    def value(self) -> float:
        """What its pieces are worth."""
        return sum(piece.value for piece in self.pieces)


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Shoots as flat columns, with every place where a cut may fall; what the compiled part works on."""

    starts: NDArray[np.int64]  # (shoots + 1,)
    ends: Array  # (shoots, 4): length, base, tip, has its tip
    thick: Array  # (nodes,) [mm]
    base_at: Array  # (nodes,): cut below the node; NaN where none fits [mm]
    base_mm: Array  # (nodes,): diameter there [mm]
    top_at: Array  # (nodes,): cut above the node [mm]
    top_mm: Array  # (nodes,)

    @property
    def cuts(self) -> tuple[NDArray[Any], ...]:
        """What every compiled function begins with."""
        return self.starts, self.ends, self.base_at, self.base_mm, self.top_at, self.top_mm

    def solve(
        self, table: Array, values: Array
    ) -> tuple[Array, NDArray[np.int32], NDArray[np.int32], NDArray[np.int32]]:
        """Return worth (shoots,), counts (shoots, grades), pieces in each shoot, and the pieces."""
        from .knife_kernel import cut_all

        shoots = len(self.ends)
        worth, counts = np.empty(shoots), np.empty((shoots, len(table)), np.int32)
        how_many, pieces = np.empty(shoots, np.int32), np.empty((len(self.thick), 4), np.int32)
        cut_all(*self.cuts, table, values, worth, counts, how_many, pieces)
        return worth, counts, how_many, pieces


def grade_table(grades: Sequence[Grade]) -> Array:
    """Return the limits of grades as rows of numbers."""
    return np.array(
        [
            (
                one.least_nodes, one.most_nodes, one.least_mm, one.most_mm, one.least_base_mm, one.most_base_mm,
                one.least_tip_mm, one.most_tip_mm, TIPS[one.tip],
            )
            for one in grades
        ],
        dtype=np.float64,
    )  # fmt: skip


def check_grades(grades: Sequence[Grade]) -> None:
    """Refuse no grade, and two of one name."""
    if not grades:
        raise ValueError(say("no grade: name at least one"))
    names = [one.name for one in grades]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise ValueError(say("two grades of one name, {names}: give each its own", names=", ".join(twice)))


def lay(shoots: Sequence[Shoot], knife: Knife) -> Laid:
    """Return shoots as columns, with the places where the knife may cut."""
    from .knife_kernel import lay_cuts

    packed = list(map(PACKED, shoots))
    numbers = np.frombuffer(b"".join(packed))
    starts = np.zeros(len(shoots) + 1, np.int64)
    np.cumsum([len(one) // 16 - 2 for one in packed], out=starts[1:])  # two numbers a node, and four
    ends, at = np.empty((len(shoots), 4)), np.empty((5, starts[-1]))
    lay_cuts(starts, numbers, knife.kerf_mm, knife.below_mm, knife.above_mm, ends, *at)
    return Laid(starts, ends, *at)


def cut_shoot(shoot: Shoot, grades: Sequence[Grade], knife: Knife | None = None) -> Cut:
    """Return the most valuable way to cut a shoot; of ways equal in value, one that uses most wood.

    Parameters
    ----------
    shoot
        Nodes with their diameters.
    grades
        What a piece may be, and what each is worth.
    knife
        Kerf and margins; `Knife()` if none.

    Raises
    ------
    ValueError
        If there is no grade, or two of one name.

    Notes
    -----
    With f(0) = 0, the best of the first j nodes is f(j) = max(f(j - 1), max over i < j and grade g that the piece of
    nodes i + 1 to j fits of f(i) + value(g)): a node is dropped, or is the top one of a piece. Where a cut falls in an
    internode depends on that internode alone, so pieces that share no node never overlap, and the maximum is exact.
    """
    return cut_shoots([shoot], grades, knife)[0]


def cut_shoots(shoots: Sequence[Shoot], grades: Sequence[Grade], knife: Knife | None = None) -> Cuts:
    """Return the most valuable way to cut each shoot by itself, as `cut_shoot` does."""
    check_grades(grades)
    laid = lay(shoots, knife or Knife())
    worth, counts, how_many, pieces = laid.solve(
        grade_table(grades), np.array([one.value for one in grades], dtype=np.float64)
    )
    return Cuts(shoots, grades, laid, worth, counts, how_many, pieces)


@dataclass(frozen=True, slots=True, eq=False)
class Cuts(Sequence[Cut]):
    """How many shoots are cut, in columns; a shoot's own cut is made out of them when it is looked at.

    Parameters
    ----------
    worth
        What each shoot's pieces are worth, shape (shoots,).
    counts
        Pieces of each grade, shape (shoots, grades).
    """

    shoots: Sequence[Shoot]
    grades: Sequence[Grade]
    laid: Laid
    worth: Array
    counts: NDArray[np.int32]
    how_many: NDArray[np.int32]
    pieces: NDArray[np.int32]

    def __len__(self) -> int:
        return len(self.shoots)

    @overload
    def __getitem__(self, at: int) -> Cut: ...
    @overload
    def __getitem__(self, at: slice) -> list[Cut]: ...
    def __getitem__(self, at: int | slice) -> Cut | list[Cut]:
        if isinstance(at, slice):
            return [self[number] for number in range(len(self))[at]]
        number = range(len(self))[at]
        start = int(self.laid.starts[number])
        rows = self.pieces[start : start + int(self.how_many[number])].tolist()
        return plan_of(self.shoots[number], self.laid, number, rows, self.grades)


def pieces_of(laid: Laid, number: int, table: Array) -> dict[int, list[list[int]]]:
    """Return all pieces of a shoot that are of a grade, by their last node: first and last node, grade, whether with the tip."""
    from .knife_kernel import fits

    start, stop = int(laid.starts[number]), int(laid.starts[number + 1])
    widest, out = int(table[:, 1].max()), dict[int, list[list[int]]]()
    for last in range(start, stop):
        ends = [(laid.top_at[last], laid.top_mm[last], False)]
        if last == stop - 1 and laid.ends[number, 3]:
            ends.append((laid.ends[number, 0], laid.ends[number, 2], True))
        out[last - start] = [
            [first - start, last - start, g, int(with_tip)]
            for to, tip, with_tip in ends
            for first in range(max(start, last - widest + 1), last + 1)
            for g in range(len(table))
            if fits(table, g, last - first + 1, to - laid.base_at[first], laid.base_mm[first], tip, with_tip)
        ]
    return out


def plan_of(
    shoot: Shoot, laid: Laid, number: int, rows: Sequence[Sequence[int]], grades: Sequence[Grade]
) -> Cut:
    """Return a shoot's plan out of rows of first and last node, grade, and whether with the tip."""
    start = int(laid.starts[number])
    pieces = []
    for first, last, which, with_tip in rows:
        to, tip = (
            (shoot.length_mm, shoot.tip_mm)
            if with_tip
            else (float(laid.top_at[start + last]), float(laid.top_mm[start + last]))
        )
        base_at, base_mm = float(laid.base_at[start + first]), float(laid.base_mm[start + first])
        one = grades[which]
        pieces.append(
            Piece(one.name, first + 1, last + 1, base_at, to, base_mm, tip, bool(with_tip), one.value)
        )
    return Cut(shoot, tuple(pieces), tuple(_dropped(shoot, pieces, grades)))


def _dropped(shoot: Shoot, pieces: Sequence[Piece], grades: Sequence[Grade]) -> list[Dropped]:
    """Return each stretch with nodes in it that no piece takes, from the base up."""
    out: list[Dropped] = []
    place, node = 0.0, 0
    for piece in (*pieces, None):
        to, stop = (piece.from_mm, piece.first_node - 1) if piece else (shoot.length_mm, len(shoot.nodes_mm))
        if stop > node:
            out.append(Dropped(place, to, stop - node, _why(shoot, place, to, node, stop, grades)))
        if piece:
            place, node = piece.to_mm, piece.last_node
    return out


def _why(shoot: Shoot, start: float, to: float, first: int, stop: int, grades: Sequence[Grade]) -> str:
    """Say why nodes from `first` up to `stop` become no piece."""
    nodes, thick = stop - first, max(shoot.diameter_at(start), *shoot.diameters_mm[first:stop])
    thin = min(shoot.diameter_at(to), *shoot.diameters_mm[first:stop])
    few = min(one.least_nodes for one in grades)
    if thick < (least := min(max(one.least_base_mm, one.least_tip_mm) for one in grades)):
        return say(
            "{thick:.1f} mm thick, and every grade takes {least:g} mm or more", thick=thick, least=least
        )
    if thin > (most := max(min(one.most_base_mm, one.most_tip_mm) for one in grades)) and most < INF:
        return say("{thin:.1f} mm thick, and every grade takes {most:g} mm or less", thin=thin, most=most)
    if nodes < few:
        return say_many(
            "{count} node is left over, and every grade takes {few} or more",
            "{count} nodes are left over, and every grade takes {few} or more",
            nodes,
            few=few,
        )
    if to - start < (short := min(one.least_mm for one in grades)):
        return say(
            "{left:.0f} mm are left over, and every grade takes {least:g} mm or more",
            left=to - start,
            least=short,
        )
    return say("no grade fits it, or the rest of the shoot is worth more cut so")
