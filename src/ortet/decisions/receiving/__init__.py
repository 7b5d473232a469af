"""What to do with wood that came in a parcel: soak, clean, keep apart, store or strike, and how many will probably strike.

Plain values in, advice out, each sentence with a mark of what it rests on. What may not be helped is said too: a pest that
must be reported is a matter for the plant-health authority before it is one for the grower.
"""

from .advice import Advice, Dip, Reason, advise
from .claiming import grounds
from .found import BUDS, CLEAR, LABELS, SMELLS, WATERS, Bands, Found, bands, water_lost
from .striking import Likely, likely

__all__ = [
    "BUDS",
    "CLEAR",
    "LABELS",
    "SMELLS",
    "WATERS",
    "Advice",
    "Bands",
    "Dip",
    "Found",
    "Likely",
    "Reason",
    "advise",
    "bands",
    "grounds",
    "likely",
    "water_lost",
]
