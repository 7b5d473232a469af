"""The tables that cutting and matching read: measured shoots, a row each or a row a node; grades; pieces by thickness."""

from __future__ import annotations

from dataclasses import dataclass

from ortet.wood.speech import to_say

from .columns import MM_PER_INCH, Column, Table
from .entry import Parse, amount, choice, count, name

__all__ = [
    "CUTTING",
    "GRADES",
    "NODES",
    "PIECES",
    "SHOOTS",
    "GradeRow",
    "NodeRow",
    "PieceRow",
    "ShootRow",
]

MOST_NODES = 500


@dataclass(frozen=True, slots=True)
class ShootRow:
    """A shoot, or several alike, measured at its ends."""

    line: int
    shoot: str
    variety: str
    length_mm: float
    base_mm: float
    tip_mm: float
    nodes: int
    end: str  # tip or cut
    alike: int


@dataclass(frozen=True, slots=True)
class NodeRow:
    """One place measured on a shoot."""

    line: int
    shoot: str
    variety: str
    at_mm: float
    diameter_mm: float
    mark: str  # node, base, tip or cut


@dataclass(frozen=True, slots=True)
class GradeRow:
    """A grade's limits, and how many are wanted of it; None where there is no limit."""

    line: int
    grade: str
    use: str
    least_nodes: int
    most_nodes: int | None
    least_mm: float
    most_mm: float | None
    least_base_mm: float
    most_base_mm: float | None
    least_tip_mm: float
    most_tip_mm: float | None
    tip: str
    value: float
    want_least: int
    want_most: int | None


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A scion or a stock, measured where the two are to meet."""

    line: int
    piece: str
    diameter_mm: float


def _needs(name: str, help: str, example: tuple[str, str], parse: Parse, us: bool = False) -> Column:
    return Column(name, help, example, True, parse, None, us=_inches(name) if us else None)


def _may(
    name: str, help: str, example: tuple[str, str], parse: Parse, default: object = "", us: bool = False
) -> Column:
    return Column(name, help, example, False, parse, default, us=_inches(name) if us else None)


def _inches(name: str) -> tuple[str, float]:
    return name.replace("_mm", "_in"), MM_PER_INCH


SHOOT = _needs("shoot", to_say("What you call the shoot."), ("1", "2"), name(40))
VARIETY = _may("variety", to_say("Name of the variety."), ("Larkfield Amber", "Larkfield Amber"), name(120))
LONG, THICK = amount(0, 20_000, "mm", above=True), amount(0, 100, "mm", above=True)

SHOOTS = Table(
    "shoots",
    to_say("Shoots measured at their ends, a row each; nodes are taken to stand evenly."),
    (
        SHOOT,
        VARIETY,
        _needs("length_mm", to_say("From the cut at the base to the end."), ("1180", "960"), LONG, us=True),
        _needs("base_mm", to_say("Thickness at the cut."), ("11.2", "9.6"), THICK, us=True),
        _needs("tip_mm", to_say("Thickness at the end."), ("3.1", "3.4"), THICK, us=True),
        _needs("nodes", to_say("How many nodes."), ("29", "24"), count(1, MOST_NODES, 29)),
        _may(
            "end",
            to_say("tip: the shoot's own; cut: it was cut off."),
            ("tip", "cut"),
            choice("tip", "cut"),
            "tip",
        ),
        _may("alike", to_say("How many shoots like it."), ("1", "3"), count(1, 100_000, 3), 1),
    ),
    ShootRow,
    ("shoot",),
)

NODES = Table(
    "nodes",
    to_say("Shoots measured node by node: a row for each node, and for the ends where you measure them."),
    (
        SHOOT,
        VARIETY,
        _needs(
            "at_mm",
            to_say("Place, from the cut at the base."),
            ("38", "81"),
            amount(0, 20_000, "mm"),
            us=True,
        ),
        _needs("diameter_mm", to_say("Thickness there, beside the bud."), ("11.0", "10.7"), THICK, us=True),
        _may(
            "mark",
            to_say(
                "node; base: the cut; tip: the shoot's own end; cut: an end cut off. Without an end the last node is the tip."
            ),
            ("node", "node"),
            choice("node", "base", "tip", "cut"),
            "node",
        ),
    ),
    NodeRow,
    ("shoot", "at_mm", "mark"),
)

GRADES = Table(
    "grades",
    to_say("Grades of pieces, and how many are wanted of each. Leave empty what has no limit."),
    (
        _needs("grade", to_say("Your word for it."), ("thick", "scion"), name(20)),
        _may("use", to_say("rooting or grafting."), ("rooting", "grafting"), choice("rooting", "grafting")),
        _may("least_nodes", to_say("Fewest nodes."), ("3", "3"), count(1, MOST_NODES, 3), 1),
        _may("most_nodes", to_say("Most nodes."), ("6", "5"), count(1, MOST_NODES, 6), None),
        _may("least_mm", to_say("Shortest."), ("150", "90"), amount(0, 20_000, "mm"), 0.0, us=True),
        _may("most_mm", to_say("Longest."), ("300", "250"), amount(0, 20_000, "mm"), None, us=True),
        _may(
            "least_base_mm",
            to_say("Thinnest at the thick end."),
            ("8", "5.5"),
            amount(0, 100, "mm"),
            0.0,
            us=True,
        ),
        _may(
            "most_base_mm",
            to_say("Thickest at the thick end."),
            ("20", "8"),
            amount(0, 100, "mm"),
            None,
            us=True,
        ),
        _may(
            "least_tip_mm",
            to_say("Thinnest at the thin end."),
            ("6", "4.5"),
            amount(0, 100, "mm"),
            0.0,
            us=True,
        ),
        _may(
            "most_tip_mm", to_say("Thickest at the thin end."), ("", ""), amount(0, 100, "mm"), None, us=True
        ),
        _may(
            "tip",
            to_say("no, may or must: the shoot's own tip on the piece."),
            ("no", "no"),
            choice("no", "may", "must"),
            "may",
        ),
        _may(
            "value",
            to_say("What one is worth, in any unit."),
            ("1", "1.2"),
            amount(0, 1_000_000, "", above=True),
            1.0,
        ),
        _may("want_least", to_say("How many must be had."), ("", "20"), count(0), 0),
        _may("want_most", to_say("More than so many are worth nothing."), ("", ""), count(0), None),
    ),
    GradeRow,
    ("grade",),
)

PIECES = Table(
    "pieces",
    to_say("Scions, or stocks, measured where they are to meet, a row each."),
    (
        _needs("piece", to_say("What is written on it."), ("S1", "S2"), name(40)),
        _needs("diameter_mm", to_say("Thickness there."), ("8.2", "7.6"), THICK, us=True),
    ),
    PieceRow,
    ("piece",),
)

CUTTING: dict[str, Table] = {table.name: table for table in (SHOOTS, NODES, GRADES, PIECES)}
