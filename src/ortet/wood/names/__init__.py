"""Names of cultivated plants: read as people write them, written by the ICNCP, and remarked on, never refused.

International Code of Nomenclature for Cultivated Plants, 9th ed. 2016, Scripta Horticulturae 18 (ICNCP). What it rules of new
epithets older ones need not follow, so whatever is remarked on is kept as it was received.
"""

from .parts import PlantName, parse, same_name, written
from .rules import Remark, check, counted, loose

__all__ = ["PlantName", "Remark", "check", "counted", "loose", "parse", "same_name", "written"]
