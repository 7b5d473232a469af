"""Numbers with a point, as in files, on scales and on every other page: what is read can be typed anywhere."""

from ortet.wood.speech import THIN

DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = THIN
