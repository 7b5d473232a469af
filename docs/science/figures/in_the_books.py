"""Figure of what a plant costs, drawn from the reckoning itself."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sheet import Frame, picture

from ortet.decisions.costs import Charge, Flow, Part, Stage, reckon

__all__ = ["costs"]

DAY = date(2027, 3, 1)
OF = 20  # cuttings taken


def _cost(living: int, struck: Decimal, potted: Decimal) -> Decimal:
    """Return what one of the living costs where so much was spent on striking all, and so much on potting each that lived."""
    flows = [
        Flow(1, "L1", "Dusk Latch", 2027, "M1", Stage.SOURCE, "bench", Stage.WOOD, OF, DAY),
        Flow(2, "L1", "Dusk Latch", 2027, "bench", Stage.WOOD, "S1", Stage.GROWING, OF, DAY),
        Flow(3, "L1", "Dusk Latch", 2027, "S1", Stage.GROWING, "yard", Stage.PLANT, living, DAY),
    ]
    if living < OF:
        gone = (Stage.GROWING, "given up", Stage.GONE, OF - living, DAY)
        flows.append(Flow(4, "L1", "Dusk Latch", 2027, "S1", *gone))
    charges = [
        Charge(struck, Part.LABOUR, {2: Decimal(OF)}),
        Charge(potted * living, Part.OWN, {3: Decimal(living)}),
    ]
    (heap,) = (heap for heap in reckon(flows, charges, "EUR").on_hand if heap.count)
    return heap.total / heap.count


def costs() -> str:
    """Return what one plant costs by how many of twenty live, where striking cost 8 and where it cost 16, and each pot 0.50."""
    living = range(2, OF + 1)
    frame = Frame((0, OF), (0, 9), wide=560, x_name=f"of {OF} cuttings struck, so many live", y_name="one plant costs",
                  x_marks=range(0, OF + 1, 5), y_marks=range(10))  # fmt: skip
    for row, struck in enumerate((Decimal(8), Decimal(16))):
        frame.line(living, [float(_cost(n, struck, Decimal("0.50"))) for n in living], row)
        frame.key(row, f"striking all of them cost {struck}, each pot 0.50", x=150)
    return picture(frame)
