"""What a buyer is told: the last day follows from what binds first, and nothing unknown is told as known."""

from dataclasses import replace
from datetime import date, timedelta
from types import SimpleNamespace

import numpy as np
import pytest

from ortet.decisions.buyer_advice import Going, advise, callus_progress
from ortet.decisions.outlook import Band, Crossing, Limit
from ortet.decisions.racing import Start, run, safe_air
from ortet.science.species import species
from ortet.science.thermal_time import share_done

POSTED = date(2027, 2, 12)
NOW = 0.0  # hours; day_of below counts from the day of posting
GOING = Going(kind="blackcurrant", use="rooting", posted=POSTED, taken=date(2026, 11, 24), kept_days=80.0)


def state(*, reserve_days=None, keep_days=30.0, callus=0.1, lost=0.02, weighed=2, is_recorded=True):
    """Return a forecast that crosses its reserve's limit after so many days."""
    crossing = Crossing(
        *(None if reserve_days is None else 24.0 * reserve_days * part for part in (0.5, 1.0, 2.0))
    )
    limit = Limit(0.7, "why", "common practice")
    bands = {"water_lost": lost, "reserve_left": 0.88, "callus": callus}
    return SimpleNamespace(
        state={name: Band(value / 2, value, min(2 * value, 1.0)) for name, value in bands.items()},
        limits={"water_lost": Limit(0.1, "why", "common practice"), "reserve_left": limit},
        crossings={"reserve_left": crossing},
        keep_until=24.0 * keep_days,
        now=NOW,
        bag="K1",
        weighed=weighed,
        learnt={},
        is_recorded=is_recorded,
    )


def raced(chill=60.0, base=20.0, air=12.0):
    return run(Start(species("blackcurrant"), chill, 0.5, 0.0), base, air)


def told(going):
    return advise(going, say_day=date.isoformat, day_of=lambda hour: POSTED + timedelta(days=hour // 24))


@pytest.mark.parametrize("share", [0.01, 0.2, 0.5, 0.9])
def test_callus_goes_on_from_where_it_is(share):
    """The inverse of the log-normal of science.thermal_time: half have callused at 1. [our own equation, by definition]"""
    assert share_done(callus_progress(share, 0.4), 0.4) == pytest.approx(share, abs=1e-6)
    assert callus_progress(0.5, 0.4) == pytest.approx(1.0) and callus_progress(0.0, 0.4) == 0.0


@pytest.mark.parametrize(
    ("reserve", "keep", "day", "words"),
    [
        (20.0, 30.0, 20, "reserve"),
        (40.0, 30.0, 30, "keeping time"),
        (None, 30.0, 30, "keeping time"),
    ],
)
def test_the_last_day_is_that_of_what_binds_first(reserve, keep, day, words):
    advice = told(replace(GOING, use="grafting", state=state(reserve_days=reserve, keep_days=keep)))
    assert advice.set_by == POSTED + timedelta(days=day) and words in advice.set_why
    assert advice.set_why.startswith(f"by {advice.set_by.isoformat()}")


def test_leaves_that_win_bind_as_well():
    race = raced()
    risk = np.array(race.risk)
    risk[1] = np.where(race.waits > 14, 0.9, 0.05)
    advice = told(replace(GOING, raced=replace(race, risk=risk), state=state(keep_days=200.0)))
    assert advice.set_by == POSTED + timedelta(days=14) and "leaves come before roots" in advice.set_why
    risk[1] = 0.9
    late = told(replace(GOING, raced=replace(race, risk=risk), state=state(keep_days=200.0)))
    assert late.set_by == POSTED and late.set_why == "at once: leaves come before roots on more than 20 %."


def test_what_is_past_is_to_be_set_at_once():
    advice = told(replace(GOING, state=state(keep_days=-10.0)))
    assert (
        advice.set_by == POSTED
        and advice.set_why == "at once: the usual keeping time of blackcurrant is over."
    )


def test_what_is_not_known_is_said_and_nothing_is_made_up():
    advice = told(replace(GOING, no_trip="No weather is recorded at the growing site."))
    said = dict(advice.said)
    assert advice.set_by is None and "nothing is known" in advice.set_why
    assert said["Callus"] == said["Root"] == "Not reckoned for this wood." and "State" not in said
    for words in ("was not reckoned", "No weather is recorded", "scratch and see"):
        assert any(words in one for one in advice.unknown)
    known = told(replace(GOING, state=state(weighed=0), looked="Looked at on 6 Feb: 28 sound."))
    assert any("never weighed" in one for one in known.unknown) and "28 sound" in dict(known.said)["Kept"]
    assert dict(known.said)["Callus"].endswith("On arrival: not known.")
    assert not any("temperature was not recorded" in one for one in known.unknown)
    bare = told(replace(GOING, state=state(is_recorded=False)))
    assert any("temperature was not recorded" in one for one in bare.unknown)


@pytest.mark.parametrize(
    ("callus", "words"), [(0.7, "breaks off easily"), (0.2, "do not rub it off"), (0.0, "Swelling buds")]
)
def test_what_to_look_for_follows_from_the_wood(callus, words):
    assert words in dict(told(replace(GOING, state=state(callus=callus))).said)["Look for"]
    assert "Wrinkled bark" in dict(told(replace(GOING, state=state(lost=0.05))).said)["Look for"]


def test_air_is_made_cooler_until_roots_come_first():
    warm = raced(air=12.0)
    assert (
        all(row.too_early < 0.05 for row in warm.by_air if row.value == safe_air(warm))
        or safe_air(warm) < 12.0
    )
    late = run(Start(species("gooseberry"), 90.0, 0.5, 0.0), 20.0, 12.0)
    cool = safe_air(late)
    assert late.too_early[1] > 0.05 and cool < 12.0
    assert run(Start(species("gooseberry"), 90.0, 0.5, 0.0), 20.0, cool).too_early[1] < late.too_early[1]


def test_the_bench_is_told_with_its_temperatures_in_either_unit():
    going = replace(GOING, raced=raced(), base_c=20.0, air_c=12.0, state=state())
    assert dict(told(going).said)["Root"].startswith(
        "Base at 20 °C, air at 12 °C: half of those that can root"
    )
    assert "68 °F" in dict(told(replace(going, units="US")).said)["Root"]
    brief = advise(
        going, say_day=date.isoformat, day_of=lambda hour: POSTED + timedelta(days=hour // 24), brief=True
    )
    assert [name for name, _ in brief.said] == ["Kept", "Root"]
    assert len(" ".join(words for _, words in brief.said)) < 0.6 * len(
        " ".join(words for _, words in told(going).said)
    )


def test_a_rooted_plant_is_not_told_of_as_dormant_wood():
    advice = told(replace(GOING, is_growing=True))
    assert [name for name, _ in advice.said] == ["Kept", "Plant"] and advice.set_why.startswith(
        "as soon as it comes"
    )
