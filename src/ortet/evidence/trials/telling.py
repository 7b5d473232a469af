"""A verdict in words: one sentence a treatment, in plants per hundred, and what it leaves open."""

from __future__ import annotations

from collections.abc import Sequence

from ortet.evidence.trials.judge import Effect, OfVariety, Verdict
from ortet.wood.speech import say, to_say

__all__ = ["chance_in_words", "per_hundred", "say_effect", "say_level", "say_variety"]

SAYS = {"more": to_say("more"), "fewer": to_say("fewer")}


def per_hundred(share: float) -> str:
    """Write a difference of shares as plants per hundred: 12 more, 3 fewer, none."""
    plants = round(100.0 * share)
    if not plants:
        return say("none")
    return say("{count} more", count=plants) if plants > 0 else say("{count} fewer", count=-plants)


def _between(low: float, high: float) -> str:
    """Write an interval: between 5 and 31 more, between 4 fewer and 15 more."""
    if low > 0.0 and high > 0.0:
        least, most = max(1, round(100 * low)), max(1, round(100 * high))
        return say("between {least} and {most} more", least=least, most=most)
    if low < 0.0 and high < 0.0:
        least, most = max(1, round(-100 * high)), max(1, round(-100 * low))
        return say("between {least} and {most} fewer", least=least, most=most)
    first = per_hundred(low) if round(100.0 * low) else say("no")
    last = per_hundred(high) if round(100.0 * high) else say("no more")
    return say("between {first} and {last}", first=first, last=last)


def say_effect(effect: Effect, verdict: Verdict, treatments: Sequence[str], by: str) -> str:
    """Return what a treatment did, in one sentence.

    Parameters
    ----------
    effect : Effect
        One of the verdict's.
    verdict : Verdict
        What the look tells.
    treatments : sequence of str
        The check first.
    by : str
        The day of the look, as it is to be read.
    """
    name, check = treatments[effect.treatment], treatments[0]
    between = _between(effect.low, effect.high)
    if not verdict.may_speak:
        return say(
            "A look beyond the {looks} planned shows, and decides nothing: by {by}, of 100 cuttings, {between} had rooted with "
            "{name} than with {check}.",
            looks=verdict.looks,
            by=by,
            between=between,
            name=name,
            check=check,
        )
    if effect.says:
        found = per_hundred(effect.difference)
        return say(
            "By {by}, of 100 cuttings about {found} had rooted with {name} than with {check}: {between}.",
            by=by,
            found=found,
            name=name,
            check=check,
            between=between,
        )
    return say(
        "By {by} the counts do not tell {name} from {check}: of 100 cuttings, anything {between} may be its doing.",
        by=by,
        name=name,
        check=check,
        between=between,
    )


def say_variety(one: OfVariety, name: str, check: str) -> str:
    """Return what a treatment did for one variety, in one sentence."""
    between = _between(one.low, one.high)
    if one.says:
        return say(
            "{variety}: {says} with {name} than with {check}, {between} of 100.",
            variety=one.variety,
            says=say(SAYS[one.says]),
            name=name,
            check=check,
            between=between,
        )
    return say("{variety}: not told apart, {between} of 100.", variety=one.variety, between=between)


def chance_in_words(level: float) -> str:
    """Write a small chance as one in so many."""
    return say("one in {count}", count=round(1.0 / level))


def say_level(verdict: Verdict) -> str:
    """Return what the words rest on: how often they would be wrong where nothing differs."""
    chance = chance_in_words(verdict.level)
    wrong = (
        say("Where no treatment differs, {chance} such trials says that one does.", chance=chance)
        if verdict.looks == 1
        else say(
            "Where no treatment differs, {chance} such trials says that one does, all looks together.",
            chance=chance,
        )
    )
    plots = (
        say(
            "Plots are taken to differ {times:.1f} times as much as chance among cuttings would make them.",
            times=verdict.inflation,
        )
        if verdict.inflation >= 1.05
        else say("Plots differ no more than chance among cuttings makes them.")
    )
    return f"{wrong} {plots}"
