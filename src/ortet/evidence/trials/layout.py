"""Where each treatment goes on real trays: blocks across the warmth, plots drawn by a stated seed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal, cast, get_args

from ortet.wood.speech import say, to_say

__all__ = ["Across", "Design", "Edge", "Plot", "Tray", "lay_out", "read_design", "written"]

Across = Literal["rows", "columns", "none", "trays"]
Edge = Literal["use", "guard", "block"]
Cell = tuple[int, int]  # row and column, from 1
MOST_PLOTS = 400
MOST_SIDE = 60


@dataclass(frozen=True, slots=True)
class Tray:
    """A tray's cells, and where on it cuttings fare alike.

    Attributes
    ----------
    rows, columns : int
        Cells down and across.
    alike : str
        Where warmth is the same: along the "rows", along the "columns", or "none" where nobody knows of a gradient; "trays" where
        a treatment is of a whole tray, as heat is: each plot is then a tray of its own, and a block as many trays side by side.
    edge : str
        What the outermost cells are for: "use" them like the others, leave them as a "guard" that is not counted, or make
        them a "block" of their own.
    """

    rows: int
    columns: int
    alike: Across = "rows"
    edge: Edge = "use"

    def __post_init__(self) -> None:
        if not (1 <= self.rows <= MOST_SIDE and 1 <= self.columns <= MOST_SIDE):
            raise ValueError(say("A tray of {rows} by {columns} cells: give 1 to {most} rows and columns.", rows=self.rows, columns=self.columns, most=MOST_SIDE))  # fmt: skip
        if self.alike not in get_args(Across) or self.edge not in get_args(Edge):
            raise ValueError(say("{alike!r} and {edge!r}: alike along rows, columns, none or trays; the edge is to use, guard or block.", alike=self.alike, edge=self.edge))  # fmt: skip

    def blocks(self, cells: int) -> list[tuple[Cell, ...]]:
        """Return the blocks (of "trays": the plot) of so many cells that fit on one tray, each as a way from cell to cell."""
        inner = 0 if self.edge == "use" or (self.edge == "block" and self.alike == "trays") else 1
        rows = range(1 + inner, self.rows + 1 - inner)
        columns = range(1 + inner, self.columns + 1 - inner)
        ways = self._bands(rows, columns, cells)
        if self.edge == "block" and self.alike != "trays" and min(self.rows, self.columns) > 1:
            ways = [_ring(self.rows, self.columns), *ways]
        fits = [way[k : k + cells] for way in ways for k in range(0, len(way) - cells + 1, cells)]
        return fits[:1] if self.alike == "trays" else fits

    def _bands(self, rows: range, columns: range, cells: int) -> list[tuple[Cell, ...]]:
        """Return ways through bands of as few rows (or columns) as hold a block, one after the other."""
        turned = self.alike == "columns"
        lines, along = (columns, rows) if turned else (rows, columns)
        if not lines or not along:
            return []
        deep = len(lines) if self.alike in ("none", "trays") else -(-cells // len(along))
        ways = []
        for first in range(0, len(lines) - deep + 1, deep):
            band = lines[first : first + deep]
            way = [
                (line, place)
                for k, place in enumerate(along)
                for line in (band if k % 2 == 0 else band[::-1])
            ]
            ways.append(tuple((place, line) for line, place in way) if turned else tuple(way))
        return ways


def _ring(rows: int, columns: int) -> tuple[Cell, ...]:
    """Return the outermost cells, clockwise."""
    top, right = [(1, c) for c in range(1, columns)], [(r, columns) for r in range(1, rows)]
    bottom, left = [(rows, c) for c in range(columns, 1, -1)], [(r, 1) for r in range(rows, 1, -1)]
    return tuple(top + right + bottom + left)


@dataclass(frozen=True, slots=True)
class Plot:
    """Cells side by side that get one treatment: one batch, struck and counted together."""

    number: int
    tray: int
    block: int
    variety: int  # which of the design's
    treatment: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Design:
    """A trial, laid out. The first treatment is the check."""

    treatments: tuple[str, ...]
    varieties: tuple[str, ...]
    tray: Tray
    plot_cuttings: int
    looks: int
    seed: int
    plots: tuple[Plot, ...]

    @property
    def trays(self) -> int:
        """How many trays it takes."""
        return max(plot.tray for plot in self.plots)

    @property
    def blocks(self) -> int:
        """How many blocks there are, of one plot per treatment each."""
        return max(plot.block for plot in self.plots)

    def plot(self, number: int) -> Plot:
        """Return a plot by its number."""
        if not 1 <= number <= len(self.plots):
            raise ValueError(
                say(
                    "There is no plot {number}: the trial has plots 1 to {count}.",
                    number=number,
                    count=len(self.plots),
                )
            )
        return self.plots[number - 1]


def _drawn(seed: int, what: str, count: int) -> list[int]:
    """Return 0 to count - 1 in an order drawn by the seed: by SHA-256, so the same on every machine and for ever."""
    return sorted(range(count), key=lambda k: sha256(f"{seed}/{what}/{k}".encode()).digest())


def lay_out(
    treatments: Sequence[str],
    varieties: Sequence[str],
    *,
    tray: Tray,
    plot_cuttings: int,
    blocks: int,
    seed: int,
    looks: int = 1,
) -> Design:
    """Return a trial in randomised complete blocks.

    Parameters
    ----------
    treatments : sequence of str
        The check first.
    varieties : sequence of str
        Each block holds wood of one of them; they take turns, in an order drawn anew for each turn.
    tray : Tray
        All trays are alike.
    plot_cuttings : int
        Cells, and so cuttings, of one plot.
    blocks : int
        In all; a multiple of the number of varieties.
    seed : int
        Of the draw.
    looks : int
        Dates at which all plots are to be counted.

    Raises
    ------
    ValueError
        If fewer than two treatments are given, one twice, or a block does not fit on a tray.
    """
    names, kinds = [" ".join(one.split()) for one in treatments], [" ".join(one.split()) for one in varieties]
    for what, given, least in ((to_say("Treatments"), names, 2), (to_say("Varieties"), kinds, 1)):
        if len({one.casefold() for one in given}) < max(least, len(given)) or not all(given):
            raise ValueError(
                say(
                    "{what} {names}: name {least} or more, each once.",
                    what=say(what),
                    names=", ".join(given) or say("none"),
                    least=least,
                )
            )
    if plot_cuttings < 1 or blocks < 1 or looks < 1 or blocks % len(kinds):
        raise ValueError(
            say(
                "{blocks} blocks of plots of {cuttings}, {looks} looks: give 1 or more, and as many blocks of each of "
                "{varieties} varieties.",
                blocks=blocks,
                cuttings=plot_cuttings,
                looks=looks,
                varieties=len(kinds),
            )
        )
    if blocks * len(names) > MOST_PLOTS:
        raise ValueError(
            say(
                "{plots} plots are more than {most}: take larger plots, or fewer blocks.",
                plots=blocks * len(names),
                most=MOST_PLOTS,
            )
        )
    whole = tray.alike == "trays"
    cells = plot_cuttings if whole else len(names) * plot_cuttings
    fits = tray.blocks(cells)
    if not fits:
        raise ValueError(
            say(
                "{what} needs {cells} cells that lie together; a tray of {rows} by {columns} with these edges has not so many. "
                "Take smaller plots or a larger tray.",
                what=say("A plot")
                if whole
                else say("A block of {plots} plots of {cuttings}", plots=len(names), cuttings=plot_cuttings),
                cells=cells,
                rows=tray.rows,
                columns=tray.columns,
            )
        )
    plots: list[Plot] = []
    for block in range(blocks):
        turn, place = divmod(block, len(kinds))
        variety = _drawn(seed, f"varieties of turn {turn}", len(kinds))[place]
        way = fits[block % len(fits)]
        for k, treatment in enumerate(_drawn(seed, f"treatments of block {block}", len(names))):
            here = way if whole else way[k * plot_cuttings : (k + 1) * plot_cuttings]
            number = len(plots) if whole else block // len(fits)
            plots.append(Plot(len(plots) + 1, number + 1, block + 1, variety, treatment, here))
    return Design(tuple(names), tuple(kinds), tray, plot_cuttings, looks, seed, tuple(plots))


def written(design: Design) -> dict[str, object]:
    """Return a design as plain values, all plots spelled out, so that a later version of this module reads the same trial."""
    tray = design.tray
    return {
        "treatments": list(design.treatments),
        "varieties": list(design.varieties),
        "tray": {"rows": tray.rows, "columns": tray.columns, "alike": tray.alike, "edge": tray.edge},
        "plot_cuttings": design.plot_cuttings,
        "looks": design.looks,
        "seed": design.seed,
        "plots": [[p.number, p.tray, p.block, p.variety, p.treatment, [list(c) for c in p.cells]] for p in design.plots],
    }  # fmt: skip


def _cells(said: object) -> tuple[Cell, ...]:
    return tuple((row, column) for row, column in cast("list[list[int]]", said))


def read_design(said: dict[str, object]) -> Design:
    """Return the design that `written` wrote."""
    tray, plots = cast("dict[str, object]", said["tray"]), cast("list[list[object]]", said["plots"])
    return Design(
        tuple(cast("list[str]", said["treatments"])),
        tuple(cast("list[str]", said["varieties"])),
        Tray(cast("int", tray["rows"]), cast("int", tray["columns"]), cast("Across", tray["alike"]), cast("Edge", tray["edge"])),
        cast("int", said["plot_cuttings"]),
        cast("int", said["looks"]),
        cast("int", said["seed"]),
        tuple(
            Plot(*cast("tuple[int, int, int, int, int]", tuple(one[:5])), _cells(one[5]))
            for one in plots
        ),
    )  # fmt: skip
