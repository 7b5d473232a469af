"""What is answered: the book's own values, in the words of the design."""

from .lists import Buyers, EvidenceOf, Lots, Mothers, Orders, Places, Varieties, Written
from .wishes import Buyer, Cancelled, Checked, Evidence, Label, Line, Order, Plan, Scanned, Target, Traced
from .wood import Batch, Event, Lot, Mother, Moved, Place, Reading, Stands, Today, Variety

__all__ = [
    "Batch",
    "Buyer",
    "Buyers",
    "Cancelled",
    "Checked",
    "Event",
    "Evidence",
    "EvidenceOf",
    "Label",
    "Line",
    "Lot",
    "Lots",
    "Mother",
    "Mothers",
    "Moved",
    "Order",
    "Orders",
    "Place",
    "Places",
    "Plan",
    "Reading",
    "Scanned",
    "Stands",
    "Target",
    "Today",
    "Traced",
    "Varieties",
    "Variety",
    "Written",
]
