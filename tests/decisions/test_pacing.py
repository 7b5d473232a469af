"""Looks at callus and roots change the forecast, by the lot's own pace, its variety's and its species'."""

from dataclasses import replace

import numpy as np
import pytest

from ortet.decisions.pacing import CALLUS, ROOTS, learn, prior
from ortet.science.species import species
from ortet.science.thermal_time import days_needed
from ortet.wood.holding import Seen, Stay

WARM_C = 18.0
CURRANT = species("blackcurrant")


@pytest.fixture
def warm(store):
    """Two bags of blackcurrant kept a week in a warm room, whose record is whole."""
    store.climate("Room", np.full(120 * 24, WARM_C), 0.8)
    for name in ("B1", "B2"):
        store.bag(name, days=7.0, stays=(("Room", 1e4),))
    return store


def look(store, lot, days_ago, variety="Anon", **seen):
    """Return what was seen of a lot that lay in the warm room since a week ago."""
    return Seen(
        store.now - days_ago * 24.0,
        lot,
        variety,
        "blackcurrant",
        store.now - 7 * 24.0 - 2.0,
        (Stay("Room", store.now - 7 * 24.0 - 2.0),),
        **seen,
    )


def told(store, *looks):
    """Return the forecast with these looks in the book."""
    store.holdings = [replace(held, seen=tuple(looks)) for held in store.holdings]
    return store.forecast()


def test_callus_that_is_late_puts_the_day_off_and_early_callus_brings_it_forward(warm):
    usual = told(warm).of("lot B1").crossings["callus"]
    late = told(warm, look(warm, "lot B1", 0.1, callused=0, callused_of=30)).of("lot B1").crossings["callus"]
    early = (
        told(warm, look(warm, "lot B1", 0.1, callused=20, callused_of=30)).of("lot B1").crossings["callus"]
    )
    assert early.median < usual.median < late.median
    assert early.late - early.early < usual.late - usual.early


def test_a_score_counts_and_another_lot_of_the_species_leans_on_it_less(warm):
    usual = told(warm).of("lot B1").crossings["callus"].median
    after = told(warm, look(warm, "lot B1", 0.1, callus=4))
    own, other = (after.of(lot).crossings["callus"].median for lot in ("lot B1", "lot B2"))
    assert own < other < usual


def test_what_was_learnt_is_said_with_the_weight_of_the_usual_value(warm):
    said = told(warm, look(warm, "lot B1", 0.1, callused=3, callused_of=30)).of("lot B1").rests_on
    sentence = next(one for one in said if one.startswith("Callus of Anon"))
    assert "30 cuttings of Anon that you looked at" in sentence and "The usual value counts like" in sentence
    assert not any("chill need and callus" in one for one in said)
    assert any("chill need and callus" in one for one in told(warm).of("lot B1").rests_on)


def test_today_says_how_much_of_a_pace_was_learnt(warm):
    told(warm, look(warm, "lot B1", 0.1, callused=30, callused_of=30))
    task = next(task for task in warm.today() if task.kind == "strike")
    assert "Its pace rests on your looks by" in task.reason


def test_a_count_beside_a_score_of_the_same_look_is_not_counted_twice(warm):
    both = told(warm, look(warm, "lot B1", 0.1, callus=2, callused=6, callused_of=12))
    count = told(warm, look(warm, "lot B1", 0.1, callused=6, callused_of=12))
    assert both.of("lot B1").state["callus"] == count.of("lot B1").state["callus"]


def test_roots_are_told_where_it_is_warm_and_not_in_the_fridge(warm):
    warm.bag("cold")
    forecasts = warm.forecast()
    assert "roots" in forecasts.of("lot B1").state and "roots" not in forecasts.of("lot cold").state
    pace = {name: CURRANT.value(f"roots_{name}") for name in ("t_min", "t_opt", "t_max", "spread")}
    want = float(days_needed(WARM_C, days_at_optimum=CURRANT.value("roots_days"), **pace, share=0.8))
    got = (forecasts.of("lot B1").crossings["roots"].median - warm.now) / 24.0 + 7.0
    assert got == pytest.approx(want, abs=0.2)
    curve = forecasts.curve("lot B1", "roots")
    assert np.all(np.diff(curve.median) >= 0) and curve.median[-1] > 0.95


def test_a_root_count_moves_roots_and_leaves_callus_alone(warm):
    rooted = look(warm, "lot B1", 0.1, rooted=8, rooted_of=10)
    usual, after = told(warm).of("lot B1"), told(warm, rooted).of("lot B1")
    assert after.crossings["roots"].median < usual.crossings["roots"].median
    assert after.crossings["callus"] == usual.crossings["callus"]


def test_many_that_never_root_lower_the_share_at_which_the_lot_is_ready(warm):
    warm.holdings = [replace(held, taken=held.taken - 60 * 24, since=held.since) for held in warm.holdings]
    old = replace(
        look(warm, "lot B1", 0.1, rooted=6, rooted_of=30),
        taken=warm.now - 67 * 24.0,
        stays=(Stay("Room", warm.now - 67 * 24.0),),
    )
    after = told(warm, old).of("lot B1")
    assert after.limits["roots"].value < 0.5 and "taken never to" in after.limits["roots"].why
    usual = told(warm).of("lot B1")
    assert usual.limits["roots"].value == pytest.approx(0.8)


def test_wood_moved_from_the_fridge_to_the_warm_has_what_the_fridge_gave_it_and_no_more(warm):
    """The clock of callus runs through every place in turn: two months at 2 °C are nothing for a currant."""
    fridge = Stay("Fridge", warm.now - 67 * 24.0)
    usual = warm.forecast().of("lot B1").state["callus"].median
    warm.holdings = [replace(held, taken=fridge.since, before=(fridge,)) for held in warm.holdings]
    moved = warm.forecast()
    assert moved.of("lot B1").state["callus"].median == pytest.approx(usual, abs=0.01)
    warm.holdings = [replace(held, before=(replace(fridge, place="Room"),)) for held in warm.holdings]
    assert warm.forecast().of("lot B1").state["callus"].median > 0.99


def test_a_look_in_an_unrecorded_place_teaches_nothing(warm):
    blind = replace(look(warm, "lot B1", 0.1, callus=4), stays=(Stay("Shed", warm.now - 7 * 24.0 - 2.0),))
    assert learn([blind], warm.climates, warm.now).of("blackcurrant", CALLUS, "lot B1", "Anon") is None


def test_the_prior_of_roots_is_the_usual_strike(warm):
    held = prior("blackcurrant", ROOTS)
    assert held.never == pytest.approx(1 - CURRANT.value("strike"))
    assert held.never_cuttings == CURRANT.value("strike_cuttings")
