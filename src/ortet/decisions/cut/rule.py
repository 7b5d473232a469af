"""The rule of thumb for a variety: simple enough for the bench, and what it gives up against the best that could be cut."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ortet.decisions.cut.shoots import Laid, check_grades, grade_table, lay
from ortet.wood.grade import Grade
from ortet.wood.piece import Knife
from ortet.wood.shoot import Shoot
from ortet.wood.speech import counted, say
from ortet.wood.units import show_length

__all__ = ["Rule", "RuleCard", "Run", "best_rule", "likely_shoots", "rule_steps"]

Array = NDArray[np.float64]
SKIPS, DROPS = 4, 10  # at most so many nodes are left at the base, at the top
MOST_NODES = 12  # in a piece
STEP_MM = 0.5  # what a caliper at the bench tells apart
WIDTHS_MM = np.arange(2.0, 25.01, STEP_MM)
MOST_RUNS = 3
# An instruction must bring this share of the best value, or it is left out: a choice, so that the card stays short.
TAX = 0.005
# A piece cut for nothing costs this share of the least valuable one: time, and the risk that it goes out. A choice.
MISFIT = 0.1
MOST_SHOOTS = 200
FOLDS = 5
# Shoots of one variety: how far lengths and thicknesses lie about the usual one, where only that one is known. A choice.
SPREAD = (-0.25, -0.1, 0.0, 0.1, 0.25)


@dataclass(frozen=True, slots=True)
class Run:
    """While the wood is so thick at the base of a piece: cut so many nodes for this grade, or on to a length.

    By length, a piece has `nodes` or more, and ends above the first node that makes it `length_mm` long.
    """

    least_mm: float
    nodes: int
    grade: str
    length_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of thumb: what to leave, and what to cut from the base up."""

    skip: int  # nodes left at the base
    drop: int  # nodes left at the top
    thin_mm: float  # a top thinner than this is left; 0 for nothing [mm]
    stop_mm: float  # no piece begins thinner than this; 0 for nothing [mm]
    runs: tuple[Run, ...]  # the thickest first; the last takes all that is thinner


@dataclass(frozen=True, slots=True)
class RuleCard:
    """The best rule found, and what it costs."""

    rule: Rule
    knife: Knife
    shoots: int
    pieces: float  # cut from a shoot
    counts: dict[str, float]  # that are of the grade they were cut for, from a shoot
    value: float  # a shoot
    best: float  # a shoot, cut the best way there is
    loses: float  # of the best [0-1]
    loses_unseen: float | None  # the same on shoots that had no part in finding it

    @property
    def misfits(self) -> float:
        """Pieces cut from a shoot that are not of the grade they were cut for."""
        return self.pieces - sum(self.counts.values())


def likely_shoots(
    length_mm: float, base_mm: float, tip_mm: float, nodes: int, variety: str = ""
) -> list[Shoot]:
    """Return shoots spread about a usual one, whose internodes are all alike: a quarter longer, a quarter thinner, and so on."""
    usual = Shoot.even(length_mm, base_mm, tip_mm, nodes)
    out = []
    for longer in SPREAD:
        for thicker in SPREAD:
            many = max(1, round(nodes * (1 + longer)))
            base = max(usual.base_mm * (1 + thicker), tip_mm)
            out.append(Shoot.even(length_mm * many / nodes, base, tip_mm, many, variety=variety))
    return out


def best_rule(shoots: Sequence[Shoot], grades: Sequence[Grade], knife: Knife | None = None) -> RuleCard:
    """Return the best rule of thumb found for shoots like these.

    A rule leaves some nodes at the base, and some at the top or all thinner than so much; between them, or down to where
    the wood is too thin for a piece to begin, it cuts so many nodes for one grade, and where the wood gets thinner other numbers of nodes for others, three at most. A piece that is
    not of the grade it was cut for counts a little less than nothing. Rules of one grade are all tried; each further one is put in where it
    brings most, and all numbers are then bettered in turn until none can be.

    Raises
    ------
    ValueError
        If there is no shoot or grade, or if no rule cuts a piece that fits a grade.
    """
    check_grades(grades)
    if not shoots:
        raise ValueError(say("no shoot: measure one at least"))
    knife = knife or Knife()
    sample = list(shoots[:: -(-len(shoots) // MOST_SHOOTS)])
    trial = _Trial(lay(sample, knife), grades)
    every_one = np.arange(len(sample))
    row = trial.search(every_one)
    value, counts = trial.follow(row, every_one)
    best = float(trial.worth.sum())
    if not value:
        raise ValueError(
            say(
                "no rule cuts a piece that fits a grade: look at the grades' least and most, and at the shoots"
            )
        )
    unseen = None
    if len(sample) >= 2 * FOLDS:
        parts = [
            (every_one[every_one % FOLDS != fold], every_one[every_one % FOLDS == fold])
            for fold in range(FOLDS)
        ]
        unseen = 1 - sum(trial.follow(trial.search(most), rest)[0] for most, rest in parts) / best
    size = len(sample)
    rule = trial.rule(row)
    cut_for = [run.grade for run in rule.runs]
    return RuleCard(
        rule,
        knife,
        size,
        float(counts[-1]) / size,
        {
            one.name: int(count) / size
            for one, count in zip(grades, counts, strict=False)
            if one.name in cut_for
        },
        value / size,
        best / size,
        1 - value / best,
        unseen,
    )


class _Trial:
    """A sample of shoots on which rules are tried."""

    def __init__(self, laid: Laid, grades: Sequence[Grade]) -> None:
        self.laid, self.grades = laid, grades
        self.table = grade_table(grades)
        self.values = np.array([one.value for one in grades], dtype=np.float64)
        self.worth = laid.solve(self.table, self.values)[0]

    def follow(self, row: Array, chosen: NDArray[np.int64]) -> tuple[float, NDArray[np.int64]]:
        """Follow one rule on the chosen shoots; return what its pieces are worth, and how many there are by grade and in all."""
        worth, counts = self._follow(row[np.newaxis], chosen)
        return float(worth[0]), counts[0]

    def _follow(self, rules: Array, chosen: NDArray[np.int64]) -> tuple[Array, NDArray[np.int64]]:
        from .knife_kernel import follow_rules

        worth, counts = np.empty(len(rules)), np.empty((len(rules), len(self.grades) + 1), np.int64)
        follow_rules(*self.laid.cuts, self.laid.thick, self.table, self.values, chosen, rules, worth, counts)
        return worth, counts

    def search(self, chosen: NDArray[np.int64]) -> Array:
        """Return the best rule found for the chosen shoots, as a row of numbers."""
        tax = TAX * float(self.worth[chosen].sum())

        def best_of(rules: Array) -> tuple[float, Array]:
            said = (rules[:, :4] > 0).sum(axis=1) + rules[:, 4] - 1
            worth, counts = self._follow(rules, chosen)
            missed = counts[:, -1] - counts[:, :-1].sum(axis=1)
            net = worth - tax * said - MISFIT * float(self.values.min()) * missed
            return float(net[np.argmax(net)]), rules[np.argmax(net)]

        further, found = best_of(self._of_one_run())
        worth, row = -np.inf, found
        for runs in range(1, MOST_RUNS + 1):
            if further > worth + 1e-9:
                worth, row = self._bettered(best_of, found)
            if runs < MOST_RUNS and row[4] == runs:
                # with the ends left free, too: where a rule stops may be all that keeps a further run from bringing something
                bare = np.concatenate([row[:1], np.zeros(3), row[4:]])
                further, found = best_of(
                    np.concatenate([self._with_one_more(row, runs), self._with_one_more(bare, runs)])
                )
                if (
                    further <= worth and runs == 1
                ):  # a longer way round: two runs, bettered in turn, may still win
                    further, found = self._bettered(best_of, found)
        return row

    def _bettered(self, best_of: Callable[[Array], tuple[float, Array]], row: Array) -> tuple[float, Array]:
        """Change one number after another while that brings something."""
        worth, found = best_of(self._one_changed(row))
        while worth > best_of(row[np.newaxis])[0] + 1e-9:
            row = found
            worth, found = best_of(self._one_changed(row))
        return worth, found

    def _sensible(self, rows: list[Array]) -> Array:
        """Leave out rules with a run whose thickness its grade does not take: they are other rules in disguise."""
        rules = np.array(rows)
        upper = np.full(len(rules), np.inf)
        good = np.ones(len(rules), bool)
        for run in range(MOST_RUNS):
            used = rules[:, 4] > run
            lower, grade = rules[:, 5 + 3 * run], rules[:, 7 + 3 * run].astype(int)
            good &= ~used | ((self.table[grade, 4] < upper) & (self.table[grade, 5] >= lower))
            upper = np.where(used, lower, upper)
        return rules[good]

    @property
    def _cuts_of(self) -> list[tuple[int, int]]:
        """Every number of nodes that a grade takes, and with a minus its least number and on to its least length."""
        counted = [
            (nodes, g)
            for g, one in enumerate(self.grades)
            for nodes in range(one.least_nodes, max(one.least_nodes, min(one.most_nodes, MOST_NODES)) + 1)
        ]
        return counted + [(-one.least_nodes, g) for g, one in enumerate(self.grades) if one.least_mm > 0]

    @property
    def _tops(self) -> list[tuple[int, float]]:
        """Every way to leave the top: so many nodes, or what is thinner."""
        return [(drop, 0.0) for drop in range(DROPS + 1)] + [(0, float(thin)) for thin in WIDTHS_MM]

    def _of_one_run(self) -> Array:
        rows = [
            (skip, drop, thin, 0.0, 1, 0.0, nodes, g, *[0.0] * 3 * (MOST_RUNS - 1))
            for skip in range(SKIPS + 1)
            for drop, thin in self._tops
            for nodes, g in self._cuts_of
        ]
        return np.array(rows, dtype=np.float64)

    def _with_one_more(self, row: Array, runs: int) -> Array:
        """Return the rule with one more run put in at each place, of each thickness, number of nodes and grade."""
        rows = []
        for place in range(runs + 1):
            for nodes, g in self._cuts_of:
                for least in WIDTHS_MM:
                    parts = [row[5 + 3 * k : 8 + 3 * k].copy() for k in range(runs)]
                    if place < runs:
                        parts.insert(place, np.array([least, nodes, g]))
                    else:  # the last run takes all that is thinner: the one above it now ends somewhere
                        parts[-1][0] = least
                        parts.append(np.array([0.0, nodes, g]))
                    if all(a[0] > b[0] for a, b in pairwise(parts)):
                        rest = np.zeros(3 * (MOST_RUNS - runs - 1))
                        rows.append(np.concatenate([row[:4], [runs + 1.0], *parts, rest]))
        return self._sensible(rows)

    def _one_changed(self, row: Array) -> Array:
        """Return the rule with each of its numbers changed to every other it may have."""
        runs = int(row[4])
        rows = [row]

        def put(**at: float) -> None:
            new = row.copy()
            for place, number in at.items():
                new[int(place[1:])] = number
            rows.append(new)

        for skip in range(SKIPS + 1):
            put(_0=skip)
        for drop, thin in self._tops:
            put(_1=drop, _2=thin)
        for stop in (0.0, *WIDTHS_MM):
            put(_3=float(stop))
        for run in range(runs):
            at = 5 + 3 * run
            for nodes, g in self._cuts_of:
                put(**{f"_{at + 1}": nodes, f"_{at + 2}": g})
            above = row[at - 3] if run else np.inf
            below = row[at + 3] if run < runs - 1 else np.inf
            for least in WIDTHS_MM[(above > WIDTHS_MM) & (below < WIDTHS_MM)]:
                put(**{f"_{at}": float(least)})
        return self._sensible(rows)

    def rule(self, row: Array) -> Rule:
        """Return a row of numbers as a rule."""
        parts = [row[5 + 3 * k : 8 + 3 * k].tolist() for k in range(int(row[4]))]
        runs = tuple(
            Run(least, abs(int(nodes)), grade.name, grade.least_mm if nodes < 0 else 0.0)
            for least, nodes, grade in ((a, b, self.grades[int(g)]) for a, b, g in parts)
        )
        return Rule(int(row[0]), int(row[1]), float(row[2]), float(row[3]), runs)


def rule_steps(card: RuleCard, units: str = "metric") -> tuple[str, ...]:
    """Say a rule as steps to follow at the bench."""
    rule, knife = card.rule, card.knife

    def length(mm: float) -> str:
        return show_length(mm, units)

    below = say("{length} below", length=length(knife.below_mm)) if knife.below_mm else say("at")
    above = say("{length} above", length=length(knife.above_mm)) if knife.above_mm else say("at")
    steps = []
    if rule.drop == 1:
        steps.append(say("Cut the top node off: waste."))
    elif rule.drop:
        steps.append(say("Cut the top {count} nodes off: waste.", count=rule.drop))
    elif rule.thin_mm:
        thin = length(rule.thin_mm)
        steps.append(say("Cut off the top where it is thinner than {length}: waste.", length=thin))
    if rule.skip == 1:
        steps.append(say("Leave the lowest node for waste: cut {below} the next one.", below=below))
    elif rule.skip:
        steps.append(
            say(
                "Leave the {count} lowest nodes for waste: cut {below} the next one.",
                count=rule.skip,
                below=below,
            )
        )
    else:
        steps.append(say("Begin with the lowest node: cut {below} it.", below=below))
    last = rule.runs[-1]
    if len(rule.runs) == 1:
        steps.append(say("Count {until} up: {grade}.", until=_until(last, units), grade=last.grade))
    else:
        ways = [
            say(
                "{length} or more, count {until}: {grade}",
                length=length(run.least_mm),
                until=_until(run, units),
                grade=run.grade,
            )
            for run in rule.runs[:-1]
        ]
        steps.append(
            say(
                "Gauge the wood where the piece begins. {ways}; thinner, count {until}: {grade}.",
                ways="; ".join(ways),
                until=_until(last, units),
                grade=last.grade,
            )
        )
    steps.append(
        say(
            "Cut {above} the last node counted, trim {below} the next, and count on from there.",
            above=above,
            below=below,
        )
    )
    too_thin = (
        say(", or where a piece would begin thinner than {length}", length=length(rule.stop_mm))
        if rule.stop_mm
        else ""
    )
    steps.append(say("Stop where too little is left for a piece{too_thin}: waste.", too_thin=too_thin))
    return tuple(steps)


def _until(run: Run, units: str) -> str:
    many = counted(run.nodes, "node")
    if not run.length_mm:
        return many
    return say("{nodes} and on to {length}", nodes=many, length=show_length(run.length_mm, units))


def as_dict(card: RuleCard) -> dict[str, Any]:
    """Return a card as plain values, for programs."""
    return {**asdict(card), "misfits": card.misfits, "steps": list(rule_steps(card))}
