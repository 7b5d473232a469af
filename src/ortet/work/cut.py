"""Cut shoots: from what was measured to a plan, a rule for the bench and its card. Nothing is booked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, cast

from ortet.ledger.booking import Refused
from ortet.wood.cutting import Cutting as Piece
from ortet.wood.grade import COMMON, INF, MOST_NODES, PUBLISHED, Grade, Graded, grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot
from ortet.wood.speech import say, to_say
from ortet.wood.units import show_length

if TYPE_CHECKING:
    from ortet.decisions.cut import CutPlan, RuleCard, Wanted
    from ortet.ledger.models import Lot
    from ortet.tables.problem import Problem
    from ortet.tables.shoots import GradeRow, NodeRow, ShootRow

__all__ = [
    "CAUTIONS",
    "PAPERS",
    "STANDARDS",
    "Cutting",
    "NotRead",
    "asked_grades",
    "asked_knife",
    "cut",
    "graded",
    "print_cards",
    "read_grades",
    "read_rows",
    "read_shoots",
    "usual_shoot",
]

PAPERS = ("a6", "a4", "letter")
STANDARDS: dict[str, tuple[Grade, ...]] = {"common": COMMON} | {one.key: one.grades for one in PUBLISHED}
CAUTIONS = (
    to_say("Cut away from your hand, with a glove on the one that holds."),
    to_say("Clean the blade between mother plants."),
)
USUAL_TIP_MM = 3.0  # where nothing is said of the tip: a choice
MOST_SHOOTS = 20_000


class NotRead(Refused):
    """A table has problems; nothing was reckoned."""

    def __init__(self, problems: Sequence[Problem]):
        self.problems = tuple(problems)
        more = len(problems) - 1
        super().__init__(
            say("{problem} And {more} more problems. Nothing was reckoned.", problem=problems[0], more=more)
            if more
            else say("{problem} Nothing was reckoned.", problem=problems[0])
        )


@dataclass(frozen=True, slots=True)
class Cutting:
    """What to cut: the plan for the shoots as measured, and a rule for each variety."""

    plan: CutPlan
    rules: dict[str, RuleCard]  # by variety; nothing for shoots without a name
    steps: dict[str, tuple[str, ...]]
    grades: tuple[Grade, ...]
    notes: tuple[str, ...]
    units: str

    def says(self, variety: str) -> tuple[str, ...]:
        """Say what a rule gives, and what it gives up."""
        rule = self.rules[variety]
        pieces = ", ".join(f"{count:.1f} {name}" for name, count in rule.counts.items() if count)
        said = [say("A shoot gives {pieces}.", pieces=pieces)]
        if rule.misfits > 0.05:
            said.append(
                say(
                    "Of ten pieces {misfits:.1f} miss their grade: gauge them again.",
                    misfits=10 * rule.misfits / rule.pieces,
                )
            )
        loses = _percent(rule.loses)
        if rule.loses_unseen is None:
            return (*said, say("Gives up {loses} of the best that could be cut.", loses=loses))
        up = say(
            "Gives up {loses} of the best that could be cut; {unseen} on shoots that had no part in finding it.",
            loses=loses,
            unseen=_percent(rule.loses_unseen),
        )
        return (*said, up)

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain values, for programs."""
        plan = self.plan
        return {
            "value": plan.value,
            "bound": plan.bound,
            "gap": plan.gap,
            "counts": plan.counts,
            "reasons": plan.reasons,
            "notes": self.notes,
            "shoots": [
                {
                    "shoot": cut.shoot.name,
                    "variety": cut.shoot.variety,
                    "pieces": [asdict(piece) for piece in cut.pieces],
                    "dropped": [asdict(left) for left in cut.dropped],
                }
                for cut in plan.cuts
            ],
            "rules": [
                {"variety": variety, "steps": self.steps[variety], "says": self.says(variety), **asdict(rule)}
                for variety, rule in self.rules.items()
            ],
        }


def usual_shoot(
    length_mm: float, base_mm: float, nodes: int, tip_mm: float | None = None, *, variety: str = ""
) -> Shoot:
    """Return a shoot known by four numbers alone."""
    try:
        tip = min(USUAL_TIP_MM, base_mm) if tip_mm is None else tip_mm
        return Shoot.even(length_mm, base_mm, tip, nodes, variety=variety)
    except ValueError as error:
        raise Refused(say("{error}. Nothing was reckoned.", error=error)) from None


def read_shoots(data: bytes, filename: str) -> list[Shoot]:
    """Return the shoots of a table: a row each, or a row a node.

    Raises
    ------
    NotRead
        With every problem in the file.
    """
    from ortet.tables.problem import Problem
    from ortet.tables.shoots import NodeRow

    rows = read_rows(data, filename, ("shoots", "nodes"))
    shoots: list[Shoot] = []
    problems = []
    by_node = bool(rows) and isinstance(rows[0], NodeRow)
    for line, make in _by_node(rows) if by_node else _by_shoot(rows):
        try:
            shoots += make()
        except ValueError as error:
            said = f"{error}."
            problems.append(Problem(filename, line, "shoot", said, say("Measure it again, or leave it out.")))
    if len(shoots) > MOST_SHOOTS:
        said = say("{count:,} shoots.", count=len(shoots))
        fewer = say("Cut {most:,} or fewer at a time.", most=MOST_SHOOTS)
        problems.append(Problem(filename, None, None, said, fewer))
    if problems:
        raise NotRead(problems)
    return shoots


def read_grades(data: bytes, filename: str) -> tuple[tuple[Grade, ...], dict[str, Wanted]]:
    """Return the grades of a table, and how many are wanted of each.

    Raises
    ------
    NotRead
        With every problem in the file.
    """
    from ortet.decisions.cut import Wanted
    from ortet.tables.problem import Problem

    grades, wanted, problems = [], {}, []
    for row in cast("list[GradeRow]", read_rows(data, filename, ("grades",))):
        try:
            grades.append(
                Grade(
                    row.grade, row.use, row.least_nodes, row.most_nodes or MOST_NODES,
                    row.least_mm, _or_endless(row.most_mm), row.least_base_mm, _or_endless(row.most_base_mm),
                    row.least_tip_mm, _or_endless(row.most_tip_mm), row.tip, row.value, filename,  # type: ignore[arg-type]
                )
            )  # fmt: skip
            if row.want_least or row.want_most is not None:
                wanted[row.grade] = Wanted(row.want_least, row.want_most)
        except ValueError as error:
            problems.append(Problem(filename, row.line, "grade", f"{error}.", ""))
    if problems:
        raise NotRead(problems)
    return tuple(grades), wanted


def asked_grades(asked: str, table: bytes | None = None) -> tuple[tuple[Grade, ...], dict[str, Wanted]]:
    """Return grades by the name of a standard, or those of a table, with what is wanted of each."""
    if table is not None:
        return read_grades(table, asked)
    if asked not in STANDARDS:
        raise Refused(
            say(
                "Grades {asked!r}: say {standards}, or name a CSV file. Nothing was reckoned.",
                asked=asked,
                standards=", ".join(STANDARDS),
            )
        )
    return STANDARDS[asked], {}


def asked_knife(
    kerf_mm: float | None = None, below_mm: float | None = None, above_mm: float | None = None
) -> Knife:
    """Return a knife; what is not said is as usual."""
    said = {"kerf_mm": kerf_mm, "below_mm": below_mm, "above_mm": above_mm}
    try:
        return Knife(**{name: mm for name, mm in said.items() if mm is not None})
    except ValueError as error:
        raise Refused(say("{error}. Nothing was reckoned.", error=error)) from None


def cut(
    shoots: Sequence[Shoot],
    grades: Sequence[Grade] = COMMON,
    *,
    wanted: Mapping[str, Wanted] | None = None,
    knife: Knife | None = None,
    units: str = "metric",
    usual: bool = False,
) -> Cutting:
    """Return the best plan for shoots as measured, and the best rule of thumb for each variety among them.

    Parameters
    ----------
    usual
        Whether the one shoot given stands for a variety that was not measured further: its rule is then sought on shoots
        spread about it.

    Raises
    ------
    Refused
        If nothing can be reckoned, or what is wanted of the grades conflicts.
    """
    from ortet.decisions.cut import best_rule, cut_many, likely_shoots, rule_steps

    try:
        plan = cut_many(shoots, grades, wanted, knife)
    except ValueError as error:
        raise Refused(say("{error} Nothing was reckoned.", error=error)) from None
    rules, notes = {}, []
    for variety in dict.fromkeys(shoot.variety for shoot in shoots):
        sample = [shoot for shoot in shoots if shoot.variety == variety]
        if usual:
            one = sample[0]
            sample = likely_shoots(one.length_mm, one.base_mm, one.tip_mm, len(one.nodes_mm), variety)
        try:
            rule = best_rule(sample, grades, knife)
            # shoots spread about one were not drawn from anything: to hold some of them back proves nothing
            rules[variety] = replace(rule, loses_unseen=None) if usual else rule
        except ValueError as error:
            notes.append(f"{variety + ': ' if variety else ''}{error}.")
    if usual:
        notes.append(
            say(
                "One usual shoot was given: the rule is sought on 25, up to a quarter longer or shorter, thicker or thinner."
            )
        )
    if any(one.source == "common practice" for one in grades):
        notes.append(
            say(
                "Grades: common practice, three nodes and a pencil's thickness; thicker for rooting, thinner for grafting."
            )
        )
    notes += [
        say("Grades: {source}.", source=source)
        for source in dict.fromkeys(one.source for one in grades)
        if source.startswith(("Council", "Wash"))
    ]
    steps = {variety: rule_steps(rule, units) for variety, rule in rules.items()}
    return Cutting(plan, rules, steps, tuple(grades), tuple(notes), units)


def graded(lot: Lot) -> list[tuple[str, Graded]]:
    """Return what a lot's usual cutting is by common practice, and by each standard published for its kind of wood."""
    usual = Piece(lot.length_mm, lot.base_mm, lot.tip_mm, lot.nodes)
    asked: list[tuple[str, tuple[Grade, ...]]] = [(say("common practice"), COMMON)]
    asked += [(one.name, one.grades) for one in PUBLISHED if one.species == lot.variety.species]
    return [(name, grade(usual, grades)) for name, grades in asked]


def print_cards(cutting: Cutting, *, paper: str = "a6", nursery: str = "", day: str = "") -> bytes:
    """Return the rules as cards for the bench, a PDF.

    Raises
    ------
    Refused
        If there is no rule to print, or no such paper.
    """
    from ortet.paper.rule_card import CardPaper, Gauge, PrintedRule, rule_cards

    cards = []
    for variety, rule in cutting.rules.items():
        widths = [
            (
                run.least_mm,
                say(
                    "{width} or more: {grade}",
                    width=show_length(run.least_mm, cutting.units),
                    grade=run.grade,
                ),
            )
            for run in rule.rule.runs[:-1]
        ]
        if rule.rule.stop_mm:
            widths.append(
                (
                    rule.rule.stop_mm,
                    say(
                        "{width}: no piece begins thinner",
                        width=show_length(rule.rule.stop_mm, cutting.units),
                    ),
                )
            )
        if rule.rule.thin_mm:
            widths.append(
                (
                    rule.rule.thin_mm,
                    say("{width}: thinner is waste", width=show_length(rule.rule.thin_mm, cutting.units)),
                )
            )
        cards.append(
            PrintedRule(
                variety=f"‘{variety}’" if variety else "",
                nursery=nursery,
                day=day,
                steps=cutting.steps[variety],
                gauges=tuple(Gauge(width, words) for width, words in widths),
                gives=cutting.says(variety),
                basis=" ".join([say("Found on {count} shoots.", count=rule.shoots), *cutting.notes]),
                cautions=tuple(say(one) for one in CAUTIONS),
                ruler=say(
                    "Print at 100 %: this line is {length} long.", length=show_length(50, cutting.units)
                ),
            )
        )
    try:
        return rule_cards(cards, paper=cast("CardPaper", paper))
    except ValueError as error:
        raise Refused(str(error)) from None


def read_rows(data: bytes, filename: str, kinds: tuple[str, ...]) -> list[Any]:
    """Return the rows of a table of one of these kinds.

    Raises
    ------
    NotRead
        With every problem in the file.
    """
    from ortet.tables.read import read_table
    from ortet.tables.shoots import CUTTING

    read = read_table(
        data, filename, zone="UTC", among={kind: CUTTING[kind] for kind in kinds}, command="cut"
    )
    if read.problems:
        raise NotRead(read.problems)
    return list(read.rows)


def _by_shoot(rows: Iterable[ShootRow]) -> Iterable[tuple[int, Any]]:
    for row in rows:

        def make(row: ShootRow = row) -> list[Shoot]:
            one = Shoot.even(
                row.length_mm,
                row.base_mm,
                row.tip_mm,
                row.nodes,
                has_tip=row.end == "tip",
                name=row.shoot,
                variety=row.variety,
            )
            return [one] * row.alike

        yield row.line, make


def _by_node(rows: Iterable[NodeRow]) -> Iterable[tuple[int, Any]]:
    together: dict[str, list[NodeRow]] = {}
    for row in rows:
        together.setdefault(row.shoot, []).append(row)
    for measured in together.values():

        def make(measured: list[NodeRow] = measured) -> list[Shoot]:
            places = sorted(
                measured, key=lambda row: (row.at_mm, row.mark != "base", row.mark in ("tip", "cut"))
            )
            nodes = [row for row in places if row.mark == "node"]
            ends = [row for row in places if row.mark in ("tip", "cut")]
            bases = [row for row in places if row.mark == "base"]
            if len(ends) > 1 or len(bases) > 1 or (bases and bases[0].at_mm):
                raise ValueError(say("give one base, at 0, and one end"))
            if not nodes:
                raise ValueError(say("give a node at least"))
            end = ends[0] if ends else nodes[-1]
            base = bases[0].diameter_mm if bases else max(row.diameter_mm for row in places)
            return [
                Shoot(
                    tuple(row.at_mm for row in nodes), tuple(row.diameter_mm for row in nodes), end.at_mm, base,
                    end.diameter_mm, end.mark != "cut", nodes[0].shoot, next((row.variety for row in places if row.variety), ""),
                )
            ]  # fmt: skip

        yield measured[0].line, make


def _or_endless(most: float | None) -> float:
    return INF if most is None else most


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"
