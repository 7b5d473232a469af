"""The tables, gathered where Django looks for them."""

from .lots import Derivation, Lot, Use
from .movements import Balance, Movement, Why
from .nursery import Load, Nursery, Units
from .places import Bag, Kind, Place, Standing
from .plants import MotherPlant, Variety
from .readings import ClimateReading, FreeWater, Inspection, Treatment, TreatmentKind, Weighing, Withdrawal

__all__ = [
    "Bag",
    "Balance",
    "ClimateReading",
    "Derivation",
    "FreeWater",
    "Inspection",
    "Kind",
    "Load",
    "Lot",
    "MotherPlant",
    "Movement",
    "Nursery",
    "Place",
    "Standing",
    "Treatment",
    "TreatmentKind",
    "Units",
    "Use",
    "Variety",
    "Weighing",
    "Why",
    "Withdrawal",
]
