"""What ordinary records suggest of a treatment, what they cannot tell, and the trial that would.

Nobody drew lots when they were struck: what went with a treatment, another variety, a later day, a warmer bench, may have
done what it seems to have done. So batches are compared only with such as were alike in what is known, and what is not
known is said.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

import numpy as np

from ortet.evidence.trials.score import critical, difference, unlikeness
from ortet.evidence.trials.size import LEVEL, PRIOR_FREEDOM
from ortet.evidence.trials.telling import per_hundred
from ortet.wood.speech import say, to_say

__all__ = ["NOTHING", "Record", "Suggestion", "Trialled", "suggestions"]

NOTHING = ("", "none", "no", "nothing", "untreated", "water", "check", "control")
# Correlation between cuttings of one batch, over days, benches and hands: more than between plots of one trial. [our choice]
BATCH_ALIKE = 0.1
LEAST_BATCHES = 2
SMALLEST, LARGEST = 0.10, 0.40  # differences that a trial is offered for [our choice]


@dataclass(frozen=True, slots=True)
class Record:
    """A batch as it was struck in the ordinary way."""

    variety: str
    treatment: str
    day: date
    bench: str
    struck: int
    rooted: int

    def __post_init__(self) -> None:
        if not 0 <= self.rooted <= self.struck or self.struck < 1:
            raise ValueError(f"{self.variety}, {self.day}: {self.rooted} of {self.struck} cannot be.")


@dataclass(frozen=True, slots=True)
class Trialled:
    """The trial that would tell: what to compare, on which varieties, and the difference to plan it for."""

    treatments: tuple[str, str]
    varieties: tuple[str, ...]
    check_share: float
    sought: float


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What records suggest of one treatment against another, as shares."""

    treatment: str
    check: str
    batches: tuple[int, int]  # with it, without
    at_large: float  # all with it, less all without
    alike: tuple[float, float, float] | None  # low, middle, high among batches alike; None: there are none
    comparable: float  # share of the treatment's cuttings that stand beside some alike
    cannot: tuple[str, ...]  # what they cannot tell, and why
    trial: Trialled

    @property
    def words(self) -> str:
        """What they suggest, in one sentence."""
        name, check = self.treatment or say("no treatment"), self.check or say("no treatment")
        if self.alike is None:
            return say(
                "At large {found} of 100 rooted with {name} than with {check}, but no batch with it was struck "
                "beside one without: it may be the variety, the day or the bench.",
                found=per_hundred(self.at_large),
                name=name,
                check=check,
            )
        low, middle, high = self.alike
        if low <= 0.0 <= high:
            return say(
                "Among batches of one variety, week and bench {name} and {check} are not told apart: of 100, from "
                "{low} to {high}.",
                name=name,
                check=check,
                low=per_hundred(low),
                high=per_hundred(high),
            )
        return say(
            "Among batches of one variety, week and bench about {found} of 100 rooted with {name} than with {check} "
            "({low} to {high}): a hint, since nobody drew lots.",
            found=per_hundred(middle),
            name=name,
            check=check,
            low=per_hundred(low),
            high=per_hundred(high),
        )


def suggestions(records: Sequence[Record]) -> list[Suggestion]:
    """Return what records suggest of each treatment struck at least twice, against what is usual.

    Parameters
    ----------
    records : sequence of Record
        Batches that were struck without a plan; those of trials are better read by `judge`.

    Returns
    -------
    list of Suggestion
        The largest difference among batches alike first. Empty where only one treatment was struck.

    Notes
    -----
    Alike are batches of one variety, one bench and one week (ISO 8601). Differences within are averaged and bounded as those
    of a trial are, with batches taken to differ more: n cuttings of a batch tell as much as ``n / (1 + (n - 1) 0.1)``.
    """
    batches = Counter(one.treatment for one in records)
    usual = [name for name in batches if name.casefold() in NOTHING]
    if not batches:
        return []
    check = max(usual or batches, key=lambda name: (batches[name], name))
    others = [name for name in batches if name != check and batches[name] >= LEAST_BATCHES]
    if batches[check] < LEAST_BATCHES:
        return []
    told = [_suggested(records, name, check, len(others)) for name in others]
    return sorted(told, key=lambda one: -abs(one.alike[1] if one.alike else 0.0))


def _key(one: Record) -> tuple[str, str, tuple[int, int]]:
    return one.variety, one.bench, one.day.isocalendar()[:2]


def _suggested(records: Sequence[Record], name: str, check: str, comparisons: int) -> Suggestion:
    mine = [one for one in records if one.treatment == name]
    theirs = [one for one in records if one.treatment == check]
    keys = sorted({_key(one) for one in mine} & {_key(one) for one in theirs})
    table = np.zeros((4, len(keys)))
    place = {key: k for k, key in enumerate(keys)}
    for row, side in ((0, mine), (2, theirs)):
        for one in side:
            if (k := place.get(_key(one))) is not None:
                table[row, k] += one.rooted
                table[row + 1, k] += one.struck
    alike = None
    if keys:
        size = float(np.mean([one.struck for one in (*mine, *theirs)]))
        q, free = unlikeness(*table)
        inflation = (PRIOR_FREEDOM * (1.0 + (size - 1.0) * BATCH_ALIKE) + q) / (PRIOR_FREEDOM + free)
        errors = critical(LEVEL, comparisons, PRIOR_FREEDOM + free)
        found = difference(*table, errors=errors, inflation=max(1.0, inflation))
        alike = (float(found.low[0]), float(found.middle[0]), float(found.high[0]))
    share = {side: sum(one.rooted for one in part) / sum(one.struck for one in part) for side, part in (("m", mine), ("t", theirs))}  # fmt: skip
    comparable = float(table[1].sum()) / sum(one.struck for one in mine)
    at_large = share["m"] - share["t"]
    return Suggestion(
        name,
        check,
        (len(mine), len(theirs)),
        at_large,
        alike,
        comparable,
        _cannot(mine, theirs, name, comparable),
        _trial(records, (check, name), share["t"], alike[1] if alike else at_large),
    )


def _cannot(
    mine: Sequence[Record], theirs: Sequence[Record], name: str, comparable: float
) -> tuple[str, ...]:
    """Return what went together with a treatment, so that neither can be told from the other."""
    said = []
    if comparable < 1.0:
        many = max(1, round(100 * (1.0 - comparable)))
        said.append(
            say(
                "{share} cuttings with {name} were struck in a week, on a bench or of a variety where none was struck without: "
                "what went with it then may have done it.",
                share=say("{count} of 100", count=many) if comparable > 0.0 else say("All"),
                name=name or say("no treatment"),
            )
        )
    for what in (to_say("variety"), to_say("bench")):
        here, there = ({str(getattr(one, what)) for one in side} for side in (mine, theirs))
        if only := sorted(filter(None, here - there)):
            said.append(
                say(
                    "Only with it: {what} {names}. What is the {what}'s doing cannot be told from its own.",
                    what=say(what),
                    names=", ".join(only[:6]),
                )
            )
    apart = median(one.day.toordinal() for one in mine) - median(one.day.toordinal() for one in theirs)
    if abs(apart) >= 7:
        said.append(
            say(
                "Half of those with it were struck {days:.0f} days or more {when} than half of those without: "
                "longer in store, another chill, another warmth.",
                days=abs(apart),
                when=say("later") if apart > 0 else say("earlier"),
            )
        )
    said.append(say("Nobody drew lots: the better wood or the better corner may have gone to one of them."))
    return tuple(said)


def _trial(
    records: Sequence[Record], treatments: tuple[str, str], check_share: float, found: float
) -> Trialled:
    """Return the trial that would tell, for three quarters of what was found: hints run large."""
    struck: Counter[str] = Counter()
    for one in records:
        if one.treatment in treatments:
            struck[one.variety] += one.struck
    check = min(0.9, max(0.1, round(check_share, 2)))
    sought = min(LARGEST, max(SMALLEST, round(0.75 * abs(found) * 20.0) / 20.0))
    sought = min(sought, max(check, 1.0 - check) - 0.05)
    return Trialled(treatments, tuple(name for name, _ in struck.most_common(3)), check, round(sought, 2))
