"""The race between roots and leaves against published experiments, with one set of numbers for each kind of wood.

Where the numbers were set on an experiment its file says so; Mullins & Rajasekaran, Kliewer & Soleimani, McPherson,
the peach at 20 °C, the poplar at 15 °C, the willow's course over temperature and the blackcurrant were not used.
What the model gets wrong stands at the end, each case as a strict xfail: if it comes right one day we hear of it.
"""

import numpy as np
import pytest

from ortet.science import leaves
from ortet.science.chill import chill_portions
from ortet.science.climate import hours_from_daily
from ortet.science.race import Pace, race
from ortet.science.species import species
from ortet.science.thermal_time import days_needed, share_done, thermal_progress

GRAPE, POPLAR, PEACH, ROSE, WILLOW, KIWI, FIG, CURRANT = (
    Pace.of(species(key))
    for key in ("grape", "poplar", "peach", "rose", "willow", "kiwi", "fig", "blackcurrant")
)
LEAF_FALL = -61  # 1 November, counted from 1 January


def root_days(pace, base_c, share=0.5):
    return days_needed(
        base_c,
        t_min=pace.roots_t_min,
        t_opt=pace.roots_t_opt,
        t_max=pace.roots_t_max,
        days_at_optimum=pace.roots_days,
        spread=pace.roots_spread,
        share=share,
    )


def leaf_days(pace, air_c, chill, heat=0.0):
    return race(20.0, air_c, chill=chill, heat=heat, pace=pace).leaf_days()


def portions(air_c, days):
    return float(chill_portions(np.full(round(days * 24), float(air_c))))


@pytest.fixture(scope="module")
def davis(published):
    """Chill and heat that vine wood cut at Davis on a day of the winter brings along."""

    def cut(day, warmer=0.0):
        month = published("race_davis")
        mid = [row["day"] for row in month]
        days = np.arange(LEAF_FALL, 90)
        low, high = (np.interp(days, mid, [row[name] for row in month]) for name in ("low_c", "high_c"))
        air_c = hours_from_daily(low + warmer, high + warmer, days % 365 + 1, 38.54)
        chill, heat = leaves.winter_so_far(
            air_c,
            chill_needed=species("grape").value("chill_portions"),
            t_base=GRAPE.heat_t_base,
            t_opt=GRAPE.heat_t_opt,
            t_crit=GRAPE.heat_t_crit,
        )
        hour = ((np.asarray(day) - LEAF_FALL) * 24).astype(int)
        return chill[hour], heat[hour]

    return cut


def test_grape_callus_and_roots_in_the_published_windows():
    """Alley & Peterson 1977, Am. J. Enol. Vitic. 28:1-7: at 29.5 °C callus in 4 to 17 and roots in 10 to 24 days, in all months.

    Nine cuttings in ten must fall inside, since the windows span the varieties tried.
    """
    grape = species("grape")
    hours = np.full(17 * 24, 29.5)
    progress = thermal_progress(
        hours,
        t_min=grape.value("callus_t_min"),
        t_opt=grape.value("callus_t_opt"),
        t_max=grape.value("callus_t_max"),
        days_at_optimum=grape.value("callus_days"),
        running=True,
    )
    share = share_done(progress, grape.value("callus_spread"))
    assert share[4 * 24 - 1] < 0.05 and share[-1] > 0.9
    assert 10 < root_days(GRAPE, 29.5, 0.05) < root_days(GRAPE, 29.5) < root_days(GRAPE, 29.5, 0.95) < 24


def test_grape_buds_push_in_the_published_windows(published, davis):
    rows = published("race_grape")
    day, air_c, low, high = (
        np.array([row[name] for row in rows]) for name in ("day", "air_c", "low_days", "high_days")
    )
    chill, heat = davis(day)
    got = race(29.5, air_c, chill=chill, heat=heat, pace=GRAPE).leaf_days()
    assert np.all((low <= got) & (got <= high)), got


@pytest.mark.parametrize("warmer", [-1.0, 1.0])
def test_a_colder_or_warmer_winter_moves_bud_push_by_few_days(published, davis, warmer):
    """The winters of the experiment are not known: one degree either way may leave the windows by 3 days at most."""
    rows = published("race_grape")
    day, air_c, low, high = (
        np.array([row[name] for row in rows]) for name in ("day", "air_c", "low_days", "high_days")
    )
    chill, heat = davis(day, warmer)
    got = race(29.5, air_c, chill=chill, heat=heat, pace=GRAPE).leaf_days()
    assert np.all((low - 3 <= got) & (got <= high + 3)), got


def test_grape_turns_from_roots_first_to_leaves_first_between_january_and_march(davis):
    """Alley & Peterson 1977: roots in 10 to 24 days in all months, buds in 17 to 31 in January and 3 to 9 in March."""
    chill, heat = davis(np.array([-47, -17, 14, 45, 73]))
    run = race(29.5, 29.5, chill=chill, heat=heat, pace=GRAPE)
    ahead = run.leaf_days() - run.root_days()
    assert np.all(ahead[:3] > 0) and ahead[4] < 0
    assert np.all(np.diff(run.too_early) >= 0) and run.too_early[2] < 0.05 < run.too_early[4]


def test_grape_on_a_hot_bed_in_a_cold_room_roots_and_stays_dormant():
    """Mullins & Rajasekaran 1981, Am. J. Enol. Vitic. 32:35: bases at 26 °C, room at 4 °C; rooted after four weeks, buds dormant.

    "The rooted cuttings" is read as 90 % and more. Not used to set anything.
    """
    run = race(26.0, 4.0, chill=10.0, heat=0.0, pace=GRAPE)
    four_weeks = np.searchsorted(run.days, 28.0)
    assert run.rooted[four_weeks] > 0.9
    assert run.leafed[four_weeks] == 0.0 and run.too_early == 0.0


def test_chilled_vines_break_sooner():
    """Kliewer & Soleimani 1972, Am. J. Enol. Vitic. 23:31-34: 5 and 6 weeks unchilled, 2 and 3 after 9 weeks at 1.7 °C.

    The direction alone; by how much is among what does not agree. Not used to set anything.
    """
    start = 3.0
    assert leaf_days(GRAPE, 20.0, start + portions(1.7, 63)) < leaf_days(GRAPE, 20.0, start)


def test_poplar_and_peach_root_as_published(published):
    for row in published("race_rooting"):
        pace = POPLAR if row["poplar"] else PEACH
        progress = thermal_progress(
            np.full(round(row["days"] * 24), row["base_c"]),
            t_min=pace.roots_t_min,
            t_opt=pace.roots_t_opt,
            t_max=pace.roots_t_max,
            days_at_optimum=pace.roots_days,
        )
        assert row["low"] <= float(share_done(progress, pace.roots_spread)) <= row["high"], row


def test_poplar_roots_in_two_weeks_of_warm_soil():
    """Zalesny et al. 2005, Silvae Genet. 54:47-58, abstract: cuttings dug after 14 days had rooted, the better the warmer.

    Read as: half and more of those that can at 20 °C, and more at 20 than at 14 °C.
    """
    assert root_days(POPLAR, 20.0) <= 14 < root_days(POPLAR, 14.0)


def test_rose_buds_break_as_published(published):
    """14 November is taken to have brought 5 portions from the field: a guess, and it moves the days by less than 2."""
    for row in published("race_rose"):
        got = leaf_days(ROSE, 20.0, 5.0 + portions(1.0, row["weeks"] * 7))
        assert got == pytest.approx(row["days"], abs=3.0), row


def test_willow_buds_burst_as_published(published):
    """Wood after winter: 80 portions."""
    for row in published("race_willow"):
        assert row["low_days"] <= leaf_days(WILLOW, row["air_c"], 80.0) <= row["high_days"], row


@pytest.mark.parametrize("swing", [0.0, 3.0])
def test_kiwi_gains_more_from_13_to_10_than_from_10_to_7(swing):
    """McPherson et al. 1995, J. Hortic. Sci. 70:737-747: forced at 16 °C after one to four months at means of 7, 10 or 13 °C.

    Cool winters advanced bud break, "much larger" from 13 to 10 °C than from 10 to 7 °C. How far day and night stood
    from the mean is not said: none, and 3 °C either way. Not used to set anything.
    """
    day_and_night = np.where(np.arange(24) < 12, swing, -swing)
    for months in (1, 2, 3, 4):
        at7, at10, at13 = (
            leaf_days(KIWI, 16.0, float(chill_portions(np.tile(mean + day_and_night, 30 * months))))
            for mean in (7.0, 10.0, 13.0)
        )
        assert at7 < at10 < at13
        assert at13 - at10 > 2 * (at10 - at7)


def test_fig_opens_forty_buds_in_a_hundred_within_twenty_days():
    """'Masui Dauphine', nodes in water at 25 °C, late November, its deepest rest: 40 % within 20 days (wood of 1999, abstract).

    Tolerance 10 points; late November is taken as 5 portions. The fig's heat was set on it. From December on, deeper
    in the winter, more must open.
    """
    run = race(25.0, 25.0, chill=np.array([5.0, 25.0]), heat=0.0, pace=FIG)
    open_by_20 = run.leafed[:, np.searchsorted(run.days, 20.0)]
    assert open_by_20[0] == pytest.approx(0.40, abs=0.10)
    assert open_by_20[1] > 0.6


def test_blackcurrant_wood_of_september_opens_sooner_from_the_store_and_roots_all_the_same():
    """'Propagation of black currants by single-noded cuttings', wood of 1966: 0, 4, 8 or 12 weeks at 1 °C, then 20 °C.

    Storage hastened bud burst; the lower half of shoots rooted with or without it. Not used to set anything.
    """
    chill = np.array([portions(1.0, 7 * weeks) if weeks else 0.0 for weeks in (0, 4, 8, 12)])
    run = race(20.0, 20.0, chill=chill, heat=0.0, pace=CURRANT)
    assert np.all(np.diff(run.leaf_days()) < 0)
    # easy sorts show roots in two to three weeks: Holloway & Higham, University of Alaska; the heat is not stated
    assert 14 <= float(run.root_days()) <= 21


# What does not agree


@pytest.mark.xfail(strict=True, reason="heat and chill glide, the published months step")
def test_wood_of_the_last_of_january_pushes_as_slowly_as_that_of_november(davis):
    """Alley & Peterson 1977: 17 to 31 days in January; the day of cutting is not given, and ours leave the window late in the month."""
    chill, heat = davis(30)
    assert float(race(29.5, 23.5, chill=chill, heat=heat, pace=GRAPE).leaf_days()) >= 17


@pytest.mark.xfail(strict=True, reason="the model has the fridge hasten buds and leave roots alone")
def test_refrigerated_grape_is_slower():
    """Alley & Peterson 1977: cuttings held in refrigeration took longer to callus, to root and to push."""
    assert leaf_days(GRAPE, 23.5, 3.0 + portions(4.0, 60)) > leaf_days(GRAPE, 23.5, 3.0)


@pytest.mark.xfail(strict=True, reason="numbers set on Davis let chill save a fifth of the heat, not half")
def test_nine_weeks_of_cold_halve_the_wait_of_vines():
    """Kliewer & Soleimani 1972: to 40 and 50 %. Potted vines brought in before leaf fall, greenhouse heat not stated."""
    assert leaf_days(GRAPE, 20.0, 3.0 + portions(1.7, 63)) < 0.6 * leaf_days(GRAPE, 20.0, 3.0)


@pytest.mark.xfail(strict=True, reason="the Dynamic Model banks hardly anything at 0 °C")
def test_grape_is_chilled_as_well_at_0_as_at_10():
    """Dokoozlian 1999, HortScience 34(6): 'Perlette' stored at 0 °C broke fastest in the first 30 days of 0 to 10 °C."""
    assert leaf_days(GRAPE, 25.0, portions(0.0, 800 / 24)) <= leaf_days(GRAPE, 25.0, portions(10.0, 800 / 24))


@pytest.mark.xfail(strict=True, reason="one least temperature serves all poplars")
def test_black_cottonwood_roots_at_4():
    """Bloomberg 1959, For. Chron. 35:13-18: roots after a month at 4 °C in wet air, wood cut just after its rest."""
    assert root_days(POPLAR, 4.0) < 60


@pytest.mark.xfail(strict=True, reason="the cosine curve is flat near its base; the willow sum is straight")
def test_willow_at_5_degrees():
    """Lennartsson & Ögren 2004: 110 to 191 degree days above 1.1 °C are 28 to 49 days at 5 °C."""
    assert leaf_days(WILLOW, 5.0, 80.0) <= 49


@pytest.mark.xfail(strict=True, reason="5 °C counts for a quarter of 17 °C, not for half")
def test_two_weeks_at_5_are_worth_one_at_17():
    """Acta Hort. 226:44: forsythia cuttings gained from 17 °C for 1 week or 5 °C for 2 weeks before cold storage."""
    shrub = species("elder")
    at5, at17 = (
        thermal_progress(
            np.full(days * 24, t),
            t_min=shrub.value("callus_t_min"),
            t_opt=shrub.value("callus_t_opt"),
            t_max=shrub.value("callus_t_max"),
            days_at_optimum=shrub.value("callus_days"),
        )
        for t, days in ((5.0, 14), (17.0, 7))
    )
    assert at5 == pytest.approx(at17, rel=0.25)


@pytest.mark.xfail(strict=True, reason="fig trials contradict each other; ours follows the Japanese one")
def test_moroccan_fig_takes_a_hundred_days():
    """'Dormancy of Fig Cultivated under Moroccan Conditions': mean time to bud break 100 to 200 days in the cold months."""
    assert leaf_days(FIG, 25.0, 5.0) > 100
