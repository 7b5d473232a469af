"""A verdict in words: one sentence a treatment, in plants per hundred, and what it leaves open."""

from __future__ import annotations

from collections.abc import Sequence

from ortet.evidence.trials.judge import Effect, OfVariety, Verdict

__all__ = ["chance_in_words", "per_hundred", "say_effect", "say_level", "say_variety"]


def per_hundred(share: float) -> str:
    """Write a difference of shares as plants per hundred: 12 more, 3 fewer, none."""
    plants = round(100.0 * share)
    return f"{plants} more" if plants > 0 else f"{-plants} fewer" if plants < 0 else "none"


def _between(low: float, high: float) -> str:
    """Write an interval: between 5 and 31 more, between 4 fewer and 15 more."""
    first, last = per_hundred(low), per_hundred(high)
    if low > 0.0 and high > 0.0:
        return f"between {max(1, round(100 * low))} and {max(1, round(100 * high))} more"
    if low < 0.0 and high < 0.0:
        return f"between {max(1, round(-100 * high))} and {max(1, round(-100 * low))} fewer"
    return f"between {first.replace('none', 'no')} and {last.replace('none', 'no more')}"


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
        return (
            f"A look beyond the {verdict.looks} planned shows, and decides nothing: by {by}, of 100 cuttings, {between} had rooted with "
            f"{name} than with {check}."
        )
    if effect.says:
        found = per_hundred(effect.difference)
        return f"By {by}, of 100 cuttings about {found} had rooted with {name} than with {check}: {between}."
    return f"By {by} the counts do not tell {name} from {check}: of 100 cuttings, anything {between} may be its doing."


def say_variety(one: OfVariety, name: str, check: str) -> str:
    """Return what a treatment did for one variety, in one sentence."""
    between = _between(one.low, one.high)
    if one.says:
        return f"{one.variety}: {one.says} with {name} than with {check}, {between} of 100."
    return f"{one.variety}: not told apart, {between} of 100."


def chance_in_words(level: float) -> str:
    """Write a small chance as one in so many."""
    return f"one in {round(1.0 / level)}"


def say_level(verdict: Verdict) -> str:
    """Return what the words rest on: how often they would be wrong where nothing differs."""
    looks = "" if verdict.looks == 1 else ", all looks together"
    plots = (
        f"Plots are taken to differ {verdict.inflation:.1f} times as much as chance among cuttings would make them."
        if verdict.inflation >= 1.05
        else "Plots differ no more than chance among cuttings makes them."
    )
    return f"Where no treatment differs, {chance_in_words(verdict.level)} such trials says that one does{looks}. {plots}"
