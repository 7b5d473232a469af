"""Where to cut shoots."""

from ortet.decisions.cut.many import (
    Conflict,
    CutPlan,
    Wanted,
    cut_many,
)
from ortet.decisions.cut.rule import (
    Rule,
    RuleCard,
    Run,
    best_rule,
    likely_shoots,
    rule_steps,
)
from ortet.decisions.cut.shoots import (
    Cut,
    Cuts,
    Dropped,
    Laid,
    cut_shoot,
    cut_shoots,
    lay,
    plan_of,
)

__all__ = [
    "Conflict",
    "Cut",
    "CutPlan",
    "Cuts",
    "Dropped",
    "Laid",
    "Rule",
    "RuleCard",
    "Run",
    "Wanted",
    "best_rule",
    "cut_many",
    "cut_shoot",
    "cut_shoots",
    "lay",
    "likely_shoots",
    "plan_of",
    "rule_steps",
]
