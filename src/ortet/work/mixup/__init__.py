"""Where names got swapped: from plants that turned out to be something else back to the moment. Books nothing."""

from .asking import Found
from .telling import Answer, Chance, LotOf, Next, Points, Touched, mixup

__all__ = ["Answer", "Chance", "Found", "LotOf", "Next", "Points", "Touched", "mixup"]
