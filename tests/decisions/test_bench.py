"""The plan for the benches: one behaviour each. Names and numbers are invented."""

from dataclasses import replace
from datetime import date

import pytest

from ortet.decisions.bench import (
    Batch,
    Bench,
    Choice,
    Season,
    outcome,
    plan,
)

FIRST = date(2027, 1, 4)
CHILL = tuple(40.0 + 4.0 * week for week in range(12))
MAT = Bench("mat", 200, tuple(6.0 + 0.7 * week for week in range(30)), "the mat", (18.0, 22.0, 26.0), m2=2.0)
COLD = Bench("cold", 400, MAT.air_c, "the cold bench")
VINE = Batch(
    "vine", "Amber Gate", "grape", 100, date(2027, 1, 20), CHILL, use_by=date(2027, 3, 10), wanted=date(2027, 5, 1),
    grow_days=40, worth=5.0,
)  # fmt: skip
ELDER = replace(VINE, key="elder", variety="Dusk Lantern", species="elder")


def season(*batches, benches=(MAT, COLD), **others):
    return Season(batches or (VINE, ELDER), benches, FIRST, 12, **others)


def with_choice(made, choice):
    """Plan anew around a choice made by hand."""
    stood = [Choice(one.batch, one.bench, one.base_c, one.week) for one in made.struck]
    return plan(replace(made.season, fixed=(*made.season.fixed, choice)), before=stood)


def where(made, batch):
    return [(one.bench, one.base_c, one.week) for one in made.struck if one.batch == batch]


@pytest.fixture(scope="module")
def made():
    return plan(season())


def test_every_batch_that_fits_is_struck_once(made):
    assert sorted(one.batch for one in made.struck) == ["elder", "vine"]
    assert not made.unplaced and sum(one.count for one in made.struck) == 200


def test_no_batch_is_struck_before_it_is_callused_or_after_its_wood_is_good(made):
    assert all(date(2027, 1, 20) <= one.outcome.start <= date(2027, 3, 10) for one in made.struck)


def test_a_bench_never_holds_more_than_its_cells():
    three = tuple(replace(VINE, key=f"vine {n}") for n in range(3))
    made = plan(season(*three, benches=(MAT,)))
    assert len(made.struck) > 1 and all(one.used <= one.cells for one in made.heated)


def test_a_bench_has_one_set_point_in_a_week():
    made = plan(season(VINE, ELDER, replace(ELDER, key="elder 2"), benches=(MAT,)))
    assert len({(one.bench, one.week) for one in made.heated}) == len(made.heated)


def test_the_cost_of_the_plan_is_that_of_its_parts(made):
    parts = sum(one.outcome.loss + one.outcome.lateness for one in made.struck)
    assert made.cost == pytest.approx(parts + made.heat_cost, rel=1e-6)
    assert made.bound <= made.cost and made.gap < 0.01


def test_a_batch_without_its_day_takes_the_sale_day():
    own = replace(VINE, wanted=None)
    assert outcome(own, MAT, 22.0, date(2027, 3, 1), season(own, sale=date(2027, 4, 1))).late > 0.5


def test_a_colder_base_takes_longer_and_costs_less_heat():
    warm, cool = (outcome(VINE, MAT, base, date(2027, 2, 1), season()) for base in (26.0, 18.0))
    assert cool.root_days > warm.root_days and cool.roots > warm.roots
    a_day = [one.energy / (one.off - one.start).days for one in (cool, warm)]
    assert a_day[0] < a_day[1]


def test_striking_later_brings_more_leaves_before_roots():
    risks = [outcome(ELDER, MAT, 18.0, season().monday(week), season()).risk for week in (2, 6, 10)]
    assert risks == sorted(risks) and risks[-1] > risks[0]


def test_any_day_and_any_set_point_can_be_tried():
    tried = outcome(VINE, MAT, 23.5, date(2027, 2, 11), season(), count=30)
    assert tried.count == 30 and tried.base_mean_c == 23.5 and 0 < tried.plants <= 30 * VINE.strike


def test_an_outcome_says_what_speaks_against_it():
    soon = outcome(VINE, MAT, 22.0, date(2027, 1, 11), season())
    late = outcome(VINE, MAT, 22.0, date(2027, 3, 15), season())
    assert soon.against == ("enough is callused only on 20 Jan 2027",)
    assert "the wood is good for striking until 10 Mar 2027" in late.against


def test_an_unheated_bench_that_is_too_cold_roots_nothing():
    told = outcome(VINE, COLD, None, FIRST, season(benches=(replace(COLD, air_c=(3.0,)),)))
    assert told.roots is None and told.plants == 0 and told.risk == 1


def test_a_mat_lifts_no_more_than_it_can():
    assert outcome(VINE, replace(MAT, air_c=(5.0,), lift_c=12.0), 22.0, FIRST, season()).base_mean_c == 17.0


def test_a_mat_does_not_cool():
    assert outcome(VINE, replace(MAT, air_c=(24.0,)), 18.0, FIRST, season()).base_mean_c == 24.0


def test_a_batch_in_trays_is_split_where_it_does_not_fit_whole():
    big = replace(VINE, count=300, tray=50)
    made = plan(season(big, benches=(MAT, replace(MAT, key="mat 2"))))
    assert sum(one.count for one in made.struck) == 300 and len(made.struck) > 1
    assert all(one.count % 50 == 0 for one in made.struck)


def test_a_batch_too_big_for_any_bench_says_to_split_it():
    made = plan(season(replace(VINE, count=900)))
    assert "more than any bench" in made.unplaced[0].why and "whole trays" in made.unplaced[0].relax[0]


def test_a_batch_that_is_not_ready_in_the_plan_says_so():
    made = plan(season(replace(VINE, ready=date(2027, 6, 1), use_by=None)))
    assert "no week of the plan begins in between" in made.unplaced[0].why


def test_a_batch_too_risky_everywhere_says_which_risk_to_allow():
    made = plan(season(replace(ELDER, ready=date(2027, 3, 15), use_by=None), most_risk=0.0))
    assert "would leaf out before they root" in made.unplaced[0].why


def test_a_closed_bench_is_not_used():
    shut = replace(MAT, closed=frozenset(range(4, 30)))
    made = plan(season(VINE, benches=(shut,)))
    assert all(one.week < 4 for one in made.heated)


def test_a_bench_closed_throughout_says_so():
    made = plan(season(VINE, benches=(replace(MAT, closed=frozenset(range(30))),)))
    assert "closed" in made.unplaced[0].why


def test_a_placement_says_what_a_week_later_would_do(made):
    assert any(change.startswith("a week later: risk") for one in made.struck for change in one.changes)


def test_what_stands_in_the_way_is_named():
    two = VINE, replace(VINE, key="rival", count=150, worth=9.0)
    made = plan(season(*two, benches=(MAT,)))
    told = [reason for one in made.struck for reason in one.binds] + [one.why for one in made.unplaced]
    assert (
        any("rival" in reason or "vine" in reason for reason in told)
        or len({one.week for one in made.struck}) > 1
    )


def test_wood_past_its_best_before_it_is_ready_is_a_conflict():
    made = plan(season(replace(VINE, use_by=date(2027, 1, 10))))
    assert made.conflicts[0].batches == ("vine",) and "keep it colder" in made.conflicts[0].relax


def test_a_day_that_cannot_be_met_is_a_conflict():
    made = plan(season(replace(VINE, wanted=date(2027, 2, 20))))
    assert "vine is wanted by 20 Feb 2027; at the soonest" in made.conflicts[0].what


def test_more_wood_than_cells_in_its_weeks_names_the_batches():
    many = tuple(replace(VINE, key=f"vine {n}", use_by=date(2027, 1, 27), wanted=None) for n in range(4))
    made = plan(season(*many, benches=(MAT,)))
    assert set(made.conflicts[-1].batches) == {one.key for one in many}


def test_a_choice_by_hand_is_kept_and_the_rest_planned_around_it(made):
    changed = with_choice(made, Choice("vine", "mat", 26.0, 7))
    assert (
        where(changed, "vine") == [("mat", 26.0, 7)]
        and next(o for o in changed.struck if o.batch == "vine").by_hand
    )
    assert where(changed, "elder")


def test_a_choice_elsewhere_leaves_the_others_where_they_were():
    two = plan(season(VINE, ELDER, benches=(MAT, replace(MAT, key="mat 2")), price_kwh=0.0))
    bench, base, week = where(two, "elder")[0]
    other = "mat 2" if bench == "mat" else "mat"
    assert where(with_choice(two, Choice("vine", other, 22.0, 5)), "elder") == [(bench, base, week)]


def test_a_set_point_by_hand_need_not_be_on_the_list(made):
    assert where(with_choice(made, Choice("vine", "mat", 23.0, 5)), "vine") == [("mat", 23.0, 5)]


def test_two_choices_that_clash_are_named_and_nothing_changes(made):
    one = with_choice(made, Choice("vine", "mat", 26.0, 4))
    with pytest.raises(
        ValueError, match=r"vine on mat at 26 °C in week 5; elder on mat at 18 °C in week 5"
    ) as told:
        with_choice(one, Choice("elder", "mat", 18.0, 4))
    assert "Give them one set-point" in str(told.value) and len(one.season.fixed) == 1


def test_choices_that_do_not_fit_together_are_named():
    two = plan(season(VINE, replace(VINE, key="other", count=150)))
    one = with_choice(two, Choice("vine", "mat", 26.0, 4))
    with pytest.raises(ValueError, match="They take 250 cells, the mat has 200"):
        with_choice(one, Choice("other", "mat", 26.0, 4))


def test_a_choice_of_more_than_there_is_is_refused():
    big = replace(VINE, tray=50)
    with pytest.raises(ValueError, match="ask for more than the 100 cuttings of vine"):
        plan(season(big, fixed=(Choice("vine", "mat", 22.0, 4, 100), Choice("vine", "cold", None, 4, 50)),
                    benches=(MAT, replace(COLD, air_c=(15.0,)))))  # fmt: skip


def test_a_choice_of_part_of_an_unsplit_batch_is_refused(made):
    with pytest.raises(ValueError, match="no trays to split it in"):
        with_choice(made, Choice("vine", "mat", 22.0, 4, 30))


def test_a_choice_for_an_unknown_bench_is_refused(made):
    with pytest.raises(ValueError, match="no such batch or bench"):
        with_choice(made, Choice("vine", "attic", 22.0, 4))


def test_the_same_season_gives_the_same_plan(made):
    assert [where(plan(season()), key) for key in ("vine", "elder")] == [
        where(made, key) for key in ("vine", "elder")
    ]


@pytest.mark.parametrize(
    ("wrong", "said"),
    [({"count": 0}, "0 cuttings"), ({"chill": (-1.0,)}, "chill and heat"), ({"strike": 1.2}, "strike 1.2"), ({"grow_days": -1}, "-1 days")],
)  # fmt: skip
def test_a_batch_that_cannot_be_is_refused(wrong, said):
    with pytest.raises(ValueError, match=said):
        replace(VINE, **wrong)


def test_two_batches_of_one_key_are_refused():
    with pytest.raises(ValueError, match="vine: named twice"):
        season(VINE, VINE)
