"""The way of a parcel against textbook physics, published calendars, and probabilities worked by hand."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy import integrate, stats

from ortet.decisions.dispatch import NO_PACK, Carrier, Errand, Pack, Parcel, Weather, Wood, trip
from ortet.decisions.dispatch.box import follow, ride
from ortet.science.air import saturation_vapour_pressure
from ortet.science.bag import bare_loss

MONDAY = date(2027, 2, 1)


def test_the_box_follows_a_step_as_newton_has_it():
    """Newton's law of cooling, lumped: T = T_air + (T0 - T_air) exp(-t / tau), e.g. Incropera & DeWitt, Fundamentals of Heat
    and Mass Transfer, ch. 5 [memory]. Exact: only rounding.
    """
    t = np.arange(1, 49)
    assert follow(np.full(48, -8.0), 4.0, 6.0) == pytest.approx(-8.0 + 12.0 * np.exp(-t / 6.0), abs=1e-9)


def test_wood_in_the_box_is_two_lags_in_a_row():
    """Step response of two first-order lags, 1 - (a exp(-t/a) - b exp(-t/b)) / (a - b), any text on control. The box is
    taken at its mean of the hour: to 1 % of the step with lags of 6 and 2 h.
    """
    t, a, b = np.arange(1, 73), 6.0, 2.0
    bears = Parcel(lag_h=a, wood_lag_h=b, store_c=0.0)
    wood = ride(Wood("grape"), bears, NO_PACK, np.ones(72), np.zeros(72)).wood_c
    assert wood == pytest.approx(1.0 - (a * np.exp(-t / a) - b * np.exp(-t / b)) / (a - b), abs=0.01)


def test_a_pack_lifts_the_wood_by_its_degree_hours_in_all():
    """A lag has unit gain, so what it gives back in the end is what went in; to 1 in 1,000 of what is left after 200 h."""
    air, sd = np.full(200, 5.0), np.zeros(200)
    with_pack, without = (
        ride(Wood("grape"), Parcel(), pack, air, sd).wood_c for pack in (Pack("warm", 120.0, 30.0), NO_PACK)
    )
    assert np.sum(with_pack - without) == pytest.approx(120.0, rel=1e-3)


@pytest.mark.parametrize(("state", "mean_c"), [("dormant", -2.0), ("callused", 1.0)])
def test_the_risk_of_frost_is_that_of_the_error_that_just_brings_it(state, mean_c):
    """The closed form against the error found by halving, at which sure weather that much colder just harms the wood, and
    SciPy's normal: to 1e-6.
    """
    hours = np.arange(60)
    air = mean_c + 4.0 * np.sin(hours / 24 * 2 * np.pi)
    wood, parcel, sd = Wood("grape", state), Parcel(store_c=2.0), 2.5
    low, high = -30.0, 30.0
    for _ in range(60):
        middle = (low + high) / 2
        harmed = ride(wood, parcel, NO_PACK, air + middle, np.zeros(60)).frost
        low, high = (middle, high) if harmed else (low, middle)
    assert ride(wood, parcel, NO_PACK, air, np.full(60, sd)).frost == pytest.approx(
        stats.norm.cdf(low / sd), abs=1e-6
    )


def test_the_risk_of_heat_is_that_of_all_errors_that_bring_it():
    """Quadrature over the error, SciPy: to 1e-3, the width of its cells."""
    air, wood, parcel = np.full(70, 27.0), Wood("grape"), Parcel()
    errors = np.linspace(-12, 12, 4801)
    harmed = [ride_harms(wood, parcel, air + e) for e in errors[::8]]
    quadrature = integrate.trapezoid(np.array(harmed) * stats.norm.pdf(errors[::8], scale=2.0), errors[::8])
    assert ride(wood, parcel, NO_PACK, air, np.full(70, 2.0)).heat == pytest.approx(quadrature, abs=5e-3)


def ride_harms(wood, parcel, air_c):
    """Tell by plain counting whether the wood is above its limit for its hours on end."""
    box = [parcel.store_c]
    inside = [parcel.store_c]
    run = longest = 0
    for air in air_c:
        box.append(box[-1] + (air - box[-1]) * (1 - np.exp(-1 / parcel.lag_h)))
        inside.append(
            inside[-1] + ((box[-1] + box[-2]) / 2 - inside[-1]) * (1 - np.exp(-1 / parcel.wood_lag_h))
        )
        run = run + 1 if inside[-1] > wood.bears.heat_c else 0
        longest = max(longest, run)
    return longest >= wood.bears.heat_hours


# Gov.uk, "UK bank holidays", England and Wales 2027; U.S. Office of Personnel Management, federal holidays 2027; Bavarian law on
# Sundays and holidays (FTG) with Easter on 28 March 2027, catholic places left out. All from memory.
PUBLISHED = {
    ("GB", "ENG"): ["01-01", "03-26", "03-29", "05-03", "05-31", "08-30", "12-27", "12-28"],
    ("US", ""): ["01-01", "01-18", "02-15", "05-31", "06-18", "07-05", "09-06", "10-11", "11-11", "11-25", "12-24", "12-31"],
    ("DE", "BY"): ["01-01", "01-06", "03-26", "03-29", "05-06", "05-17", "05-27", "11-01"],
}  # fmt: skip


@pytest.mark.parametrize("where", list(PUBLISHED), ids="-".join)
def test_the_carrier_rests_on_the_published_holidays(where):
    carrier = Carrier({1: 1.0}, *where)
    year = [date.fromordinal(date(2027, 1, 1).toordinal() + n) for n in range(365)]
    rests = {f"{day:%m-%d}" for day in year if day.weekday() < 5 and not carrier.moves(day)}
    assert rests == set(PUBLISHED[where])


def test_the_days_of_arrival_before_easter_by_hand():
    """Posted on Wednesday 24 March 2027 in Bavaria: 25 March, then Good Friday, the weekend and Easter Monday are skipped."""
    carrier = Carrier({1: 0.6, 2: 0.3, 3: 0.1}, "DE", "BY")
    assert [carrier.arrival(date(2027, 3, 24), n) for n in (1, 2, 3)] == [
        date(2027, 3, 25), date(2027, 3, 30), date(2027, 3, 31),
    ]  # fmt: skip


def test_two_legs_of_a_way_by_convolution():
    """A day or two to the hub, a day or two from it: 0.7, 0.3 with itself is 0.49, 0.42, 0.09; late after 3 days: 0.09."""
    leg = np.array([0.7, 0.3])
    both = np.convolve(leg, leg)
    assert both == pytest.approx([0.49, 0.42, 0.09])
    air = np.full(20 * 24, 5.0)
    errand = Errand(
        Wood("grape"), Parcel(), Carrier({n + 2: float(p) for n, p in enumerate(both)}), Weather(MONDAY, air, air, air),
        MONDAY, MONDAY, arrive_by=date(2027, 2, 4),
    )  # fmt: skip
    told = trip(errand, MONDAY)
    assert told.late == pytest.approx(0.09)
    assert [share for _, share in told.arrivals] == pytest.approx([0.49, 0.42, 0.09])


def test_wood_in_no_bag_worth_the_name_loses_what_bare_wood_loses():
    """With film that holds nothing back the bag is bare wood in the box's air; to 1 % of the bare loss, E = g A (aw es - e)."""
    wood, hours = Wood("grape"), 48
    parcel = replace(Parcel(), store_c=10.0, film_m2=1e6, thickness_um=1.0, closure="open")
    told = ride(wood, parcel, NO_PACK, np.full(hours, 10.0), np.zeros(hours))
    from ortet.science.species import species

    mmol = species("grape").value("bark_conductance")
    bare = bare_loss(mmol, wood.bark_m2, 10.0, parcel.humidity * saturation_vapour_pressure(10.0)) * hours
    assert told.lost_g == pytest.approx(float(bare), rel=0.01)
