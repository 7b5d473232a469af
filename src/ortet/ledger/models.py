"""The tables, gathered where Django looks for them."""

from .batches import Batch, Count, Craft, Sale, Trial
from .devices import Device, Pairing
from .lots import Derivation, Lot, Part, Use
from .movements import Balance, Movement, Why
from .nursery import Load, Nursery, SignInTry, Units
from .orders import Buyer, MotherLimit, Order, OrderLine, Purpose, Substitute, Target
from .places import Bag, Kind, Place, Standing
from .plans import BenchSetup, Pack, Pick, Plan, PlanKind, Posting, Slot, ToTake
from .plants import MotherPlant, Variety
from .readings import ClimateReading, FreeWater, Inspection, Treatment, TreatmentKind, Weighing, Withdrawal

__all__ = [
    "Bag",
    "Balance",
    "Batch",
    "BenchSetup",
    "Buyer",
    "ClimateReading",
    "Count",
    "Craft",
    "Derivation",
    "Device",
    "FreeWater",
    "Inspection",
    "Kind",
    "Load",
    "Lot",
    "MotherLimit",
    "MotherPlant",
    "Movement",
    "Nursery",
    "Order",
    "OrderLine",
    "Pack",
    "Pairing",
    "Part",
    "Pick",
    "Place",
    "Plan",
    "PlanKind",
    "Posting",
    "Purpose",
    "Sale",
    "SignInTry",
    "Slot",
    "Standing",
    "Substitute",
    "Target",
    "ToTake",
    "Treatment",
    "TreatmentKind",
    "Trial",
    "Units",
    "Use",
    "Variety",
    "Weighing",
    "Why",
    "Withdrawal",
]
