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
from .readings import (
    ClimateReading,
    FreeWater,
    Inspection,
    Note,
    Photo,
    Treatment,
    TreatmentKind,
    Weighing,
    Withdrawal,
)
from .received import Received, ReceivedLine

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
    "Note",
    "Nursery",
    "Order",
    "OrderLine",
    "Pack",
    "Pairing",
    "Part",
    "Photo",
    "Pick",
    "Place",
    "Plan",
    "PlanKind",
    "Posting",
    "Purpose",
    "Received",
    "ReceivedLine",
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
