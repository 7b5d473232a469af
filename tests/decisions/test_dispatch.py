"""Which day to post: one behaviour each. Weather and prices are invented."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from ortet.decisions.dispatch import (
    NO_PACK,
    Carrier,
    Errand,
    Limits,
    Pack,
    Parcel,
    Weather,
    Wood,
    posting_day,
    posting_days,
    trip,
)

MONDAY = date(2027, 2, 1)
HOURS = 21 * 24
WARM = Pack("a warm pack", 120.0, 30.0, 2.0)
ICE = Pack("a cold pack", -150.0, 24.0, 1.5)
SLOW = {1: 0.6, 2: 0.3, 3: 0.1}


def steady(air_c, **others):
    air = np.full(HOURS, float(air_c))
    return Weather(MONDAY, air, air, air, **others)


def errand(weather=None, **others):
    usual = {
        "wood": Wood("grape"),
        "parcel": Parcel(),
        "carrier": Carrier(SLOW, "DE", "BY"),
        "weather": weather or steady(5.0),
        "first": MONDAY,
        "last": date(2027, 2, 7),
    }
    return Errand(**{**usual, **others})


def test_mild_weather_lets_the_first_day_go_without_a_pack():
    answer = posting_day(errand(packs=(WARM, ICE)))
    assert (answer.best.posted, answer.best.pack) == (MONDAY, NO_PACK) and answer.days[0].act == "go"


def test_hard_frost_holds_and_says_how_great_the_risk_is():
    answer = posting_day(errand(steady(-15.0)))
    assert answer.best is None and all(day.act == "hold" for day in answer.days) and "Hold" in answer.advice


def test_light_frost_goes_with_a_warm_pack():
    frosty = errand(
        steady(-2.5, sd_c=1.0, sd_growth=0.0),
        wood=Wood("pomegranate"),
        packs=(Pack("a warm pack", 250.0, 48.0, 2.0),),
    )
    answer = posting_day(frosty)
    assert answer.days[3].act == "hold" or answer.days[0].act == "go with a warm pack"
    bare, warm = (trip(frosty, MONDAY, pack) for pack in (NO_PACK, frosty.packs[0]))
    assert warm.frost < bare.frost / 3


def test_heat_goes_better_with_a_cold_pack():
    hot = errand(steady(31.0, sd_c=1.0))
    assert trip(hot, MONDAY, ICE).heat < trip(hot, MONDAY).heat


def test_a_warm_pack_can_do_harm():
    warm = errand(steady(24.0), wood=Wood("grape", "callused"))
    assert trip(warm, MONDAY, WARM).heat > trip(warm, MONDAY).heat


def test_callused_wood_bears_less_than_dormant_wood():
    dormant, callused = (
        trip(errand(steady(-1.5), wood=Wood("grape", state)), MONDAY) for state in ("dormant", "callused")
    )
    assert callused.frost > dormant.frost


def test_wood_of_a_warm_climate_bears_less_frost():
    assert Wood("pomegranate").bears.frost_c > Wood("blackcurrant").bears.frost_c


def test_a_growers_own_limits_are_used():
    own = Limits(-8.0, 6, 30.0, 24, "common practice", "own trials")
    assert (
        trip(errand(steady(-5.0), wood=Wood("grape", limits=own)), MONDAY).frost
        < trip(errand(steady(-5.0)), MONDAY).frost
    )


def test_a_less_sure_forecast_is_a_greater_risk():
    sure, unsure = (trip(errand(steady(0.0, sd_c=sd)), MONDAY).frost for sd in (0.5, 3.0))
    assert unsure > sure


def test_a_later_day_of_the_same_weather_is_less_sure():
    far = errand(steady(-1.0))
    assert trip(far, date(2027, 2, 9)).frost > trip(far, date(2027, 2, 2)).frost


def test_a_sure_forecast_leaves_no_doubt():
    assert trip(errand(steady(-6.0, sd_c=0.0, sd_growth=0.0)), MONDAY).frost == pytest.approx(1.0)
    assert trip(errand(steady(-1.0, sd_c=0.0, sd_growth=0.0)), MONDAY).frost == 0.0


def test_nothing_is_posted_on_a_day_on_which_nothing_is_collected():
    saturday = posting_day(errand()).days[5]
    assert (
        saturday.act == "hold"
        and saturday.reason == "Nothing is collected: it is a Saturday."
        and not saturday.trips
    )


def test_a_holiday_is_named():
    epiphany = posting_day(
        errand(replace(steady(5.0), first=date(2027, 1, 1)), first=date(2027, 1, 6), last=date(2027, 1, 7))
    )
    assert "public holiday" in epiphany.days[0].reason and epiphany.days[1].act == "go"


def test_the_receivers_holidays_count_too():
    """1 May is a holiday in France; 5 May 2027, the day before Ascension, in neither."""
    carrier = Carrier({1: 1.0}, "GB", "ENG", to_country="FR")
    assert not carrier.moves(date(2027, 5, 6)) and Carrier({1: 1.0}, "GB", "ENG").moves(date(2027, 5, 6))


def test_northern_ireland_keeps_its_own_holidays():
    """Saint Patrick's Day, Wednesday 17 March 2027, is a bank holiday in Northern Ireland and not in England."""
    saint_patrick = date(2027, 3, 17)
    assert not Carrier({1: 1.0}, "XI").moves(saint_patrick) and not Carrier({1: 1.0}, "IE").moves(
        saint_patrick
    )
    assert Carrier({1: 1.0}, "GB", "ENG").moves(saint_patrick)
    assert not Carrier({1: 1.0}, "FR", to_country="XI").moves(saint_patrick)


def test_a_parcel_of_friday_sits_over_the_weekend():
    friday = trip(errand(), date(2027, 2, 5))
    assert friday.weekend == pytest.approx(1.0) and friday.arrives == date(2027, 2, 8)


def test_a_parcel_on_saturdays_too_does_not_wait_for_monday():
    assert Carrier({1: 1.0}, saturdays=True).arrival(date(2027, 2, 5), 1) == date(2027, 2, 6)


def test_the_chance_of_being_late_is_that_of_the_longer_ways():
    assert trip(errand(arrive_by=date(2027, 2, 3)), MONDAY).late == pytest.approx(0.1)


def test_a_heated_depot_keeps_the_frost_off_over_the_weekend():
    cold, kept = (
        trip(errand(steady(-7.0), carrier=Carrier({1: 1.0}, "DE", "BY", depot_c=depot)), date(2027, 2, 5))
        for depot in (None, 8.0)
    )
    assert kept.frost <= cold.frost and kept.warmest_c > cold.warmest_c


def test_a_longer_way_loses_more_water():
    short, long = (trip(errand(steady(15.0), carrier=Carrier({n: 1.0})), MONDAY) for n in (1, 4))
    assert 0 < short.lost_g < long.lost_g and long.lost_share == pytest.approx(long.lost_g / 500.0)


def test_what_was_lost_before_counts_on_arrival():
    gone = trip(errand(wood=Wood("grape", lost=0.04)), MONDAY)
    assert gone.lost_share > 0.04


def test_warmth_on_the_way_adds_callus_and_costs_reserve():
    cool, warm = (trip(errand(steady(air)), MONDAY) for air in (4.0, 20.0))
    assert warm.callus > cool.callus == 0.0 and warm.store_days > cool.store_days > 0.5


def test_the_answer_says_what_would_change_it():
    answer = posting_day(errand(steady(0.0)))
    assert any("colder than forecast" in change for change in answer.changes) and any(
        "Next best" in c for c in answer.changes
    )


def test_trips_are_ranked_by_what_they_cost():
    costs = [one.cost for one in posting_day(errand(packs=(WARM, ICE))).ranked]
    assert costs == sorted(costs) and len(costs) > 5


def test_a_window_that_cannot_arrive_in_time_says_what_to_relax():
    with pytest.raises(
        ValueError,
        match=r"Wanted by 1 Feb 2027, but .* arrives on 2 Feb 2027 at the soonest.*quicker carrier",
    ):
        errand(arrive_by=MONDAY)


def test_weather_that_ends_too_soon_says_how_far_it_must_reach():
    with pytest.raises(ValueError, match="may be on its way until 22 Feb 2027"):
        trip(errand(), date(2027, 2, 19))


def test_weather_with_gaps_is_refused():
    with pytest.raises(ValueError, match="without gaps"):
        Weather(MONDAY, np.array([1.0, np.nan]), np.zeros(2), np.zeros(2))


@pytest.mark.parametrize("transit", [{}, {0: 1.0}, {1: 0.5, 2: 0.4}])
def test_transit_that_is_no_distribution_is_refused(transit):
    with pytest.raises(ValueError, match=r"Transit|add up"):
        Carrier(transit)


def test_an_unknown_country_is_refused():
    with pytest.raises(ValueError, match="No calendar of public holidays for 'XX'"):
        Carrier({1: 1.0}, "XX").moves(MONDAY)


def test_an_unknown_state_is_refused():
    with pytest.raises(ValueError, match=r"State 'asleep'. Use dormant, callused, waxed"):
        Wood("grape", "asleep")


def test_errands_told_together_are_told_as_each_by_itself():
    """Of one road and of two; of woods, packs and windows of their own; and one for which the weather is too short."""
    air = np.cos(np.arange(HOURS) / 24.0) * 6.0 - 2.0
    road = {
        "weather": Weather(MONDAY, air, air, air),
        "parcel": Parcel(),
        "carrier": Carrier(SLOW, "DE", "BY"),
    }
    asked = [
        errand(**road),
        errand(**road, wood=Wood("fig", "callused", 900.0, 0.4), packs=(WARM, ICE), first=date(2027, 2, 4)),
        errand(**road, last=date(2027, 3, 20)),
        errand(steady(31.0)),
        errand(**road, wood=Wood("grape", limits=Limits(-9.0, 3, 20.0, 6, "", "")), last=date(2027, 2, 10)),
        errand(**road, first=date(2027, 2, 6), last=date(2027, 2, 7)),
    ]
    together = list(posting_days(asked))
    assert isinstance(together[2], ValueError) and "The weather reaches" in str(together[2])
    assert together[5].advice.startswith("Hold: nothing is collected")
    for number in (0, 1, 3, 4, 5):
        assert together[number] == posting_day(asked[number])
