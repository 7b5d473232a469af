"""COST: what growing cost, carried by the cuttings it was spent on, to the plants that lived.

Plain values in, plain values out. `reckon` puts every minute, expense and kilowatt-hour on the movements it was spent for,
carries it along with the cuttings, and says what lies on hand, what was sold, and what none lived to carry.
"""

from .reckon import reckon
from .values import PARTS, Charge, Flow, Form, Heap, Part, Reckoned, Stage

__all__ = ["PARTS", "Charge", "Flow", "Form", "Heap", "Part", "Reckoned", "Stage", "reckon"]
