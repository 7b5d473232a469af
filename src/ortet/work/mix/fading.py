"""How a mix weakens, from two readings: what it was mixed to, and what a strip or a gauge shows some time later."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from ortet.ledger.booking import Refused
from ortet.wood.speech import say
from ortet.wood.volume import figures, read_number

from .asked import read
from .card import Mixing

__all__ = ["Fading", "fading"]

HOURS = {"min": 1 / 60, "minute": 1 / 60, "h": 1.0, "hour": 1.0, "d": 24.0, "day": 24.0}
_TIME = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*([a-z]+?)s?\s*", re.IGNORECASE)
_CLOCK = re.compile(r"\s*([01]?\d|2[0-3])[:.h]([0-5]\d)\s*")
_LEFT = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*%\s*left\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Fading:
    """What two readings tell, in words for the card and in hours for programs."""

    words: tuple[str, ...] = ()
    numbers: tuple[tuple[str, float], ...] = ()


def _hours(text: str) -> float:
    match = _TIME.fullmatch(text)
    per = HOURS.get(match[2].casefold()) if match else None
    hours = read_number(match[1]) * per if match and per else 0.0
    if not 0 < hours <= 24 * 366:
        raise ValueError(say("{text!r} is no time since mixing; write such as 90 min, 2 h or 3 d", text=text))
    return hours


def _minutes(text: str) -> int:
    if not (match := _CLOCK.fullmatch(text)):
        raise ValueError(say("{text!r} is no time of day; write such as 08:30", text=text))
    return 60 * int(match[1]) + int(match[2])


def _long(hours: float) -> str:
    """Write a span by the measure one would say it in."""
    if hours >= 48:
        return say("{days} days", days=figures(hours / 24))
    whole, minutes = divmod(int(hours * 60 + 1e-6), 60)
    return " ".join(f"{n} {unit}" for n, unit in ((whole, "h"), (minutes, "min")) if n) or say(
        "under a minute"
    )


def _clock(mixed_at: int, hours: float) -> str:
    """Write the time of day so many hours after mixing; rounded down, as late is too late."""
    days, minutes = divmod(mixed_at + int(hours * 60 + 1e-6), 24 * 60)
    clock = f"{minutes // 60:02d}:{minutes % 60:02d}"
    if not days:
        return clock
    return (
        say("{clock} the next day", clock=clock)
        if days == 1
        else say("{clock} {days} days after", clock=clock, days=days)
    )


def fading(
    asked: Mixing,
    start: float,
    strength: Callable[[str, str], float],
    show: Callable[[float], str],
    what: str,
) -> Fading:
    """Return how fast a mix weakens and until when it will do; nothing where no reading was given.

    Parameters
    ----------
    asked : Mixing
        Its `strip`, `ago`, `least` and `mixed_at`, as typed.
    start : float
        What it was mixed to, in the unit of `strength`.
    strength : callable
        Reads a strength, given its name and what was typed; raises Refused.
    show : callable
        Writes a strength.
    what : str
        What spends it, for the note.
    """
    if not any((asked.strip, asked.ago, asked.least, asked.mixed_at)):
        return Fading()
    if not asked.strip.strip() or not asked.ago.strip():
        raise Refused(
            say(
                "How fast it weakens follows from two readings: say what the test shows now, and how long ago it was mixed. "
                "Nothing was reckoned."
            )
        )
    passed = read(say("Mixed so long ago"), _hours, asked.ago)
    mixed_at = read(say("Mixed at"), _minutes, asked.mixed_at) if asked.mixed_at.strip() else None
    now = _reading(say("Test now"), asked.strip, start, strength)
    least = _reading(say("Least that will do"), asked.least, start, strength) if asked.least.strip() else None
    if now > start * (1 + 1e-9):
        raise Refused(
            say(
                "The test shows {now} now, more than the {start} it was mixed to: read it again; see that both "
                "count alike and that the stock was what its label says. Nothing was reckoned.",
                now=show(now),
                start=show(start),
            )
        )
    if least is not None and not 0 < least < start:
        raise Refused(
            say(
                "Least that will do, {least}: give above 0 and below what it is mixed to, {start}. "
                "Nothing was reckoned.",
                least=show(least),
                start=show(start),
            )
        )
    return _told(start, now, passed, least, mixed_at, show, what)


def _reading(name: str, text: str, start: float, strength: Callable[[str, str], float]) -> float:
    """Return a strength as typed, or the share of the start that is left."""
    if match := _LEFT.fullmatch(text):
        share = read(name, read_number, match[1]) / 100
        if share > 1:
            raise Refused(
                say(
                    "{name} {text!r}: no more than 100 % can be left. Nothing was reckoned.",
                    name=name,
                    text=text,
                )
            )
        return share * start
    return strength(name, text)


def _told(
    start: float,
    now: float,
    passed: float,
    least: float | None,
    mixed_at: int | None,
    show: Callable[[float], str],
    what: str,
) -> Fading:
    from ortet.science.solution import half_life, time_above

    seen = say(
        "Mixed to {start}, {share:.0f} % left after {span}",
        start=show(start),
        share=100 * now / start,
        span=_long(passed),
    )
    if now <= 0:
        return Fading((say("{seen}: spent. Mix anew now, and test sooner.", seen=seen),))
    if now >= start:
        return Fading(
            (
                say(
                    "{seen}: no loss that the test can show, so no half-life follows. Test again later.",
                    seen=seen,
                ),
            )
        )
    half = float(half_life(now / start, passed))
    words = [say("{seen}: half of it goes in {span}.", seen=seen, span=_long(half))]
    numbers = {"half_life_h": half}
    if least is not None:
        lasts = float(time_above(start, least, half))
        numbers |= {"strong_enough_h": lasts, "left_h": max(lasts - passed, 0.0)}
        at = say(", at {clock}", clock=_clock(mixed_at, lasts)) if mixed_at is not None else ""
        if lasts <= passed:
            words.append(
                say(
                    "It fell below {least} {span} after mixing{at}: too weak now. Mix anew now.",
                    least=show(least),
                    span=_long(lasts),
                    at=at,
                )
            )
        else:
            words.append(
                say(
                    "At that rate it stays at {least} or more for {span} after mixing, {left} "
                    "from this test. Mix anew then{at}, or sooner as said below.",
                    least=show(least),
                    span=_long(lasts),
                    left=_long(lasts - passed),
                    at=at,
                )
            )
    words.append(what)
    return Fading(tuple(words), tuple(numbers.items()))
