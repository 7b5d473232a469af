"""Trials: how many cuttings, where each treatment goes, what the counts then say, and what ordinary records cannot.

Why it is done so: docs/why/trials.md; equation by equation: docs/science/trials.md.
"""

from ortet.evidence.trials.judge import Effect, OfVariety, PlotCount, Says, Verdict, judge, shrunk
from ortet.evidence.trials.layout import Across, Design, Edge, Plot, Tray, lay_out, read_design, written
from ortet.evidence.trials.records import Record, Suggestion, Trialled, suggestions
from ortet.evidence.trials.score import Difference, critical, difference, unlikeness
from ortet.evidence.trials.size import (
    LEVEL,
    Size,
    chance_shown,
    cuttings_needed,
    size_of,
    smallest_shown,
    spent,
)
from ortet.evidence.trials.telling import chance_in_words, per_hundred, say_effect, say_level, say_variety

__all__ = [
    "LEVEL", "Across", "Design", "Difference", "Edge", "Effect", "OfVariety", "Plot", "PlotCount", "Record", "Says", "Size",
    "Suggestion", "Tray", "Trialled", "Verdict", "chance_in_words", "chance_shown", "critical", "cuttings_needed", "difference",
    "judge", "lay_out", "per_hundred", "read_design", "say_effect", "say_level", "say_variety", "shrunk", "size_of",
    "smallest_shown", "spent", "suggestions", "unlikeness", "written",
]  # fmt: skip
