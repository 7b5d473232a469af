"""The day to take wood: leafless, at rest, not frozen, and not sooner than it keeps."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from ortet.decisions.taking_day import leaf_fall, taking_days
from ortet.science.species import species

FIRST = date(2025, 9, 1)
GRAPE = species("grape")


def winter(**colder: float) -> np.ndarray:
    """Return 200 days that cool from 16 °C to 1 °C by December and stay, with 4 K of day and night; some days made colder."""
    day = np.repeat(np.arange(200), 24)
    air = np.maximum(16.0 - day * 15.0 / 100.0, 1.0) + 4.0 * np.sin(
        (np.arange(day.size) % 24 - 9) / 24 * 2 * np.pi
    )
    for name, drop in colder.items():
        air[day == int(name[1:])] -= drop
    return air


def days(*numbers: int) -> list[date]:
    return [FIRST + timedelta(days=n) for n in numbers]


def one(number: int, air=None, **asked):
    (found,) = taking_days(GRAPE, FIRST, winter() if air is None else air, days(number), **asked)
    return found


def told(found) -> str:
    return " ".join(reason.text for reason in found.reasons)


def test_wood_in_leaf_waits_and_the_guess_is_marked():
    early = one(20)
    assert early.verdict == "wait"
    assert "guessed from temperature" in told(early)
    assert "not" in told(early) or "come down" in told(early)


def test_the_day_the_grower_saw_the_leaves_down_counts_before_the_guess():
    guessed = leaf_fall(FIRST, winter())
    assert guessed is not None
    late = guessed + timedelta(days=20)
    between = (guessed - FIRST).days + 5
    assert one(between, leaves_down=late).verdict == "wait"
    assert f"{late.day} {late:%b %Y} (seen)" in told(one(between, leaves_down=late))


def test_dormant_unfrozen_wood_is_good():
    found = one(110, leaves_down=days(75)[0])
    assert found.verdict == "good"
    assert found.chill_share >= 0.25


def test_frozen_wood_is_held_and_a_night_frost_only_waits_for_the_thaw():
    assert one(110, winter(d110=12.0), leaves_down=days(75)[0]).verdict == "hold"
    thaws = one(110, winter(d110=2.0), leaves_down=days(75)[0])
    assert thaws.verdict == "good"
    assert "once the wood has thawed" in told(thaws)


def test_the_days_before_a_hard_frost_are_better_than_those_after():
    found = taking_days(GRAPE, FIRST, winter(d110=12.0), days(107, 109, 110, 111), leaves_down=days(75)[0])
    assert [one.day for one in found] == days(109, 107, 111, 110)
    assert "comes within 2 days" in told(found[0])
    assert "look for brown wood" in told(found[2])


def test_chilled_buds_are_late_only_once_warmth_has_come():
    down = days(75)[0]
    cold = one(199, leaves_down=down)
    assert cold.chill_share > 1
    assert cold.verdict == "good"
    assert "waits only for warmth" in told(cold)
    warm = winter()
    warm[170 * 24 :] += 12.0
    moving = one(199, warm, leaves_down=down)
    assert moving.verdict == "late"
    assert "begin to move" in told(moving)


def test_wood_is_not_taken_sooner_than_it_keeps_nor_after_it_is_wanted():
    wanted = days(110)[0] + timedelta(weeks=40)
    assert "keeps about 26" in told(one(110, leaves_down=days(75)[0], wanted=wanted))
    assert "After" in told(one(110, leaves_down=days(75)[0], wanted=days(100)[0]))
    soon, later = one(100, wanted=days(190)[0]), one(110, wanted=days(190)[0])
    assert later.points > soon.points


def test_every_reason_carries_its_mark():
    for found in taking_days(GRAPE, FIRST, winter(d110=12.0), days(*range(60, 190, 7)), wanted=days(195)[0]):
        assert all(reason.mark in ("common practice", "published", "memory") for reason in found.reasons)


def test_a_day_outside_the_record_is_refused():
    with pytest.raises(ValueError, match="lies outside the temperatures, 2025-09-01 to 2026-03-19"):
        one(200)
    with pytest.raises(ValueError, match="whole days"):
        taking_days(GRAPE, FIRST, [1.0] * 5, days(0))


def test_gaps_in_the_record_are_said():
    air = winter()
    air[110 * 24 : 111 * 24] = np.nan
    assert "No temperature is known" in told(one(110, air, leaves_down=days(75)[0]))
