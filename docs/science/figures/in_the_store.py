"""Figures of what happens to wood in the store, one short function each, drawn by the functions of ortet.science."""

import numpy as np
from sheet import INKS, Frame, picture

from ortet.decisions.outlook import Crossing
from ortet.evidence.water import leak_line
from ortet.science import bag, film, oxygen, reserve, rot
from ortet.science.air import dew_point, humidity_over_water, saturation_vapour_pressure
from ortet.science.chill import chill_portions, chilling_hours, utah_units
from ortet.science.climate import hours_from_daily
from ortet.science.heat import growing_degree_hours
from ortet.science.species import known_species, species

BARK_M2 = np.pi * 0.008 * 0.2  # of one cutting, 8 by 200 mm
FILM_M2 = 0.24


def air():
    """Return what air holds, and how little colder than wood a film must be to be wet."""
    t = np.arange(-10.0, 25.1, 0.5)
    left = Frame((-10, 25), (0, 3200), x_name="air, °C", y_name="vapour pressure, Pa",
                 x_marks=range(-10, 26, 5), y_marks=range(0, 3001, 500))  # fmt: skip
    for n, (humidity, words) in enumerate(((1.0, "saturated"), (0.8, "at 80 %"), (0.5, "at 50 %"))):
        left.line(t, humidity * saturation_vapour_pressure(t), n)
        left.key(n, words)
    psi = np.linspace(-3.0, 0.0, 61)
    right = Frame((-3, 0), (0, 0.5), x_name="water potential of the wood, MPa", x_marks=np.arange(-3, 0.1, 0.5),
                  y_name="film colder than wood by, K: there dew begins", y_marks=np.arange(0, 0.51, 0.1))  # fmt: skip
    right.box((-2.1, -0.1), (0, 0.5), INKS[2], 0.10)
    for n, wood_c in enumerate((2.0, 10.0, 20.0)):
        right.line(psi, wood_c - dew_point(wood_c, humidity_over_water(psi, wood_c)), n)
        right.key(n, f"wood at {wood_c:g} °C", x=200)
    right.note(-2.05, 0.015, "living wood")
    return picture(left, right)


def chill():
    """Return what one hour and what thirty days at a temperature are worth."""
    t = np.arange(-5.0, 25.01, 0.1)
    left = Frame((-5, 25), (-1.2, 1.6), x_name="temperature of the hour, °C", y_name="worth of one hour",
                 x_marks=range(-5, 26, 5), y_marks=np.arange(-1, 1.1, 0.5))  # fmt: skip
    left.line(t, chilling_hours(t[:, np.newaxis]), 0)
    left.line(t, utah_units(t[:, np.newaxis]), 1)
    left.key(0, "chilling hours", x=175)
    left.key(1, "Utah units", x=175)
    steady = np.arange(-5.0, 25.01, 0.25)
    right = Frame((-5, 25), (0, 34), x_name="temperature of 16 h of each day, °C", y_name="chill portions in 30 days",
                  x_marks=range(-5, 26, 5), y_marks=range(0, 31, 5))  # fmt: skip
    right.line(steady, chill_portions(np.repeat(steady[:, np.newaxis], 720, axis=1)), 2)
    day = np.repeat(steady[:, np.newaxis], 24, axis=1)
    day[:, 16:] += 12.0
    right.line(steady, chill_portions(np.tile(day, 30)), 3)
    right.key(2, "the other 8 h alike", x=110)
    right.key(3, "the other 8 h 12 K warmer", x=110)
    return picture(left, right)


def heat():
    """Return what one hour at a temperature counts towards leaves."""
    t = np.arange(0.0, 42.01, 0.25)
    frame = Frame((0, 42), (0, 28), wide=560, x_name="temperature of the hour, °C", y_name="growing degree hours, °C h",
                  x_marks=range(0, 41, 5), y_marks=range(0, 26, 5))  # fmt: skip
    frame.line(t, growing_degree_hours(t[:, np.newaxis]), 0)
    frame.key(0, "Anderson et al. 1986")
    for n, key in ((1, "grape"), (2, "willow")):
        cardinal = {f"t_{end}": species(key).value(f"heat_t_{end}") for end in ("base", "opt", "crit")}
        frame.line(t, growing_degree_hours(t[:, np.newaxis], **cardinal), n)
        frame.key(n, f"{key}, {cardinal['t_base']:g} to {cardinal['t_crit']:g} °C")
    return picture(frame)


def climate():
    """Return the hours made from five days' extremes."""
    low, high = np.array([1.0, 3.0, -2.0, -4.0, 0.0]), np.array([9.0, 10.0, 4.0, 6.0, 12.0])
    frame = Frame((0, 5), (-6, 14), wide=640, x_name="day of February, local solar time", y_name="air, °C",
                  x_marks=range(6), y_marks=range(-5, 11, 5))  # fmt: skip
    for day, (least, most) in enumerate(zip(low, high, strict=True)):
        frame.box((day, day + 1), (least, most), INKS[1], 0.12)
    frame.line((np.arange(120) + 0.5) / 24, hours_from_daily(low, high, np.arange(36, 41), 47.0), 0)
    frame.key(0, "hours that were made, 47° N")
    frame.text(frame.left + 270, 58, "shaded: from each day's low to its high", "start", INKS[1])
    return picture(frame)


def water():
    """Return what a closed bag loses in a month, and what a cold film draws out of the wood."""
    bark = bag.bark_conductance(2.0, 10 * BARK_M2)
    outside = np.linspace(0.3, 1.0, 71)
    left = Frame((30, 100), (0, 6), x_name="humidity of the store at 2 °C, %", y_name="water lost in 30 days, % of fresh mass",
                 x_marks=range(30, 101, 10), y_marks=range(7))  # fmt: skip
    kinds = ((25.4, "fold"), (25.4, "zip"), (65.0, "zip"), (65.0, "heat-seal"))
    for n, (thickness, closure) in enumerate(kinds):
        through = (
            film.film_permeance("LDPE", thickness, 1, 2.0) * FILM_M2 / 24 + film.closure_leak(closure)[0]
        )
        loss, _ = bag.steady_loss(bark, through, 2.0, 2.0, outside * saturation_vapour_pressure(2.0))
        left.line(outside * 100, loss * 720, n)
        left.key(n, f"{thickness:.0f} µm, {closure}", x=190)
    colder = np.linspace(0.0, 2.0, 81)
    right = Frame((0, 2), (0, 0.4), x_name="film colder than wood by, K", y_name="water distilled onto the film, g a day",
                  x_marks=np.arange(0, 2.1, 0.5), y_marks=np.arange(0, 0.41, 0.1))  # fmt: skip
    for n, wood_c in enumerate((2.0, 10.0, 20.0)):
        film_pa = saturation_vapour_pressure(wood_c - colder)
        flow = bag.flows(
            bark, np.float64(0.0), bag.ACTIVITY * saturation_vapour_pressure(wood_c), film_pa, film_pa
        )
        right.line(colder, 24 * np.maximum(flow.wet, 0.0), n)
        right.key(n, f"wood at {wood_c:g} °C")
    return picture(left, right)


def films():
    """Return what films let through by their temperature."""
    t = np.arange(0.0, 40.1, 0.5)
    left = Frame((0, 40), (0, 4.5), x_name="film, °C", y_name="water through 25.4 µm, mg m⁻² d⁻¹ Pa⁻¹",
                 x_marks=range(0, 41, 10), y_marks=range(5))  # fmt: skip
    right = Frame((0, 40), (0, 14), x_name="film, °C", y_name="oxygen through 25.4 µm, L m⁻² d⁻¹ atm⁻¹",
                  x_marks=range(0, 41, 10), y_marks=range(0, 15, 2))  # fmt: skip
    for n, polymer in enumerate(film.POLYMERS):
        left.line(t, 1e3 * film.film_permeance(polymer, 25.4, 1, t), n)
        right.line(t, 1e-3 * film.oxygen_permeance(polymer, 25.4, 1, t), n)
        left.key(n, "LDPE and PET" if polymer == "LDPE" else polymer)
        right.key(n, polymer)
    return picture(left, right)


def oxygens():
    """Return the oxygen in half a kilogram's bag at 2 °C, day by day."""
    frame = Frame((0, 20), (0, 26), wide=640, x_name="days since the bag was closed", y_name="oxygen in the bag, %",
                  x_marks=range(0, 21, 5), y_marks=range(0, 21, 5))  # fmt: skip
    days = np.linspace(0.0, 20.0, 161)
    for n, (thickness, rate) in enumerate(((25.4, 5.0), (25.4, 10.0), (65.0, 5.0), (65.0, 10.0))):
        through = film.oxygen_permeance("LDPE", thickness, 1, 2.0) * FILM_M2 / 24
        air_ml = oxygen.headspace_ml(FILM_M2, 500.0)
        share = oxygen.oxygen_after(0.2095, oxygen.oxygen_needed(rate, 0.5), through, air_ml, days * 24)
        frame.line(days, 100 * share, n)
        frame.key(n, f"{thickness:.0f} µm, {rate:g} mg CO₂ kg⁻¹ h⁻¹", x=375)
    frame.box((0, 20), (0, 5), INKS[1], 0.10)
    frame.note(0.2, 0.3, "below the limit of 5 %")
    return picture(frame)


def reserves():
    """Return how long a reserve lasts by the store's temperature."""
    t = np.arange(-2.0, 25.1, 0.25)
    frame = Frame((-2, 25), (0, 600), wide=640, x_name="store, °C", y_name="days until the usable reserve is gone",
                  x_marks=range(0, 26, 5), y_marks=range(0, 601, 100))  # fmt: skip
    wood = species("grape")
    for n, (rate, q10) in enumerate(((5.7, 2.0), (5.7, 2.5), (1.9, 2.0), (22.8, 2.0))):
        gives = reserve.respiration(t, rate_ref=rate, t_ref=5.0, q10=q10)
        days = reserve.reserve_days(
            gives,
            water_content=wood.value("water_content"),
            reserve_share=wood.value("reserve_share"),
            usable_share=wood.value("usable_share"),
        )
        frame.line(t, days, n)
        frame.key(n, f"{rate:g} mg CO₂ kg⁻¹ h⁻¹ at 5 °C, Q10 {q10:g}", x=330)
    return picture(frame)


def rots():
    """Return germination in the cold and infection in the warm."""
    t = np.arange(0.0, 6.01, 0.1)
    left = Frame((0, 6), (0, 60), x_name="wet surface, °C", y_name="hours until all spores have germinated",
                 x_marks=range(7), y_marks=range(0, 61, 10))  # fmt: skip
    left.line(t, rot.germination_hours(t), 0)
    for at, hours in ((0.0, 52.0), (6.0, 15.0)):
        left.dot(at, hours, 1)
    left.text(left.left + 130, 68, "dots: Petäistö 2006", "start", INKS[1])
    wet = np.linspace(0.0, 36.0, 145)
    right = Frame((0, 36), (0, 1.3), x_name="hours wet", y_name="share of grape berries infected",
                  x_marks=range(0, 37, 6), y_marks=np.arange(0, 1.01, 0.2))  # fmt: skip
    for n, air_c in enumerate((12.0, 15.0, 20.0, 28.0)):
        right.line(wet, rot.broome_infection(wet, air_c), n)
        right.key(n, f"{air_c:g} °C")
    return picture(left, right)


def forecasts():
    """Return water lost in a tight, a likely and a leaky bag, and the days on which it meets the limit."""
    bark, through = (
        bag.bark_conductance(2.0, 10 * BARK_M2),
        film.film_permeance("LDPE", 25.4, 1, 3.0) * FILM_M2 / 24,
    )
    closure = film.closure_leak("fold")[0]
    more = leak_line([bark], [through], [closure], bark_spread=0.8, film_spread=0.3, closure_spread=1.0,
                     z=np.array([-1.645, 0.0, 1.645]))  # fmt: skip
    days = np.linspace(0.0, 210.0, 141)
    frame = Frame((0, 210), (0, 16), wide=640, x_name="days in the store at 3 °C and 50 %", y_name="water lost, % of fresh mass",
                  x_marks=range(0, 211, 30), y_marks=range(0, 16, 5))  # fmt: skip
    for n, (words, b, f, c) in enumerate(
        zip(("tight", "likely", "leaky"), *(m[:, 0] for m in more), strict=True)
    ):
        loss, _ = bag.steady_loss(
            bark * b, through * f + closure * c, 3.0, 3.0, 0.5 * saturation_vapour_pressure(3.0)
        )
        frame.line(days, loss * 24 * days, n)
        frame.key(n, words)
        meets = 10.0 / float(loss * 24)
        if meets <= 210:
            frame.dot(meets, 10.0, n)
    frame.box((0, 210), (10, 16), INKS[1], 0.08)
    frame.text(frame.left + 480, 66, "beyond 10 %", "start", INKS[1])
    return picture(frame)


def weighings():
    """Return how bark, film and closure leak more along the one line."""
    z = np.linspace(-2.6, 4.5, 143)
    bark, through = (
        bag.bark_conductance(2.0, 10 * BARK_M2),
        film.film_permeance("LDPE", 25.4, 1, 3.0) * FILM_M2 / 24,
    )
    more = leak_line([bark], [through], [film.closure_leak("fold")[0]], bark_spread=0.8, film_spread=0.3,
                     closure_spread=1.0, z=z)  # fmt: skip
    frame = Frame((-2.6, 4.5), (-1.5, 2.5), wide=560, x_name="place on the line, standard deviations",
                  y_name="leaks more by the factor", x_marks=range(-2, 5),
                  y_marks=[(np.log10(v), f"{v:g}") for v in (0.1, 0.3, 1, 3, 10, 30, 100)])  # fmt: skip
    for n, (words, factor) in enumerate(zip(("bark", "film", "closure"), more, strict=True)):
        frame.line(z, np.log10(factor[:, 0]), n)
        frame.key(n, words)
    frame.box((2.0, 4.5), (-1.5, 2.5), INKS[1], 0.08)
    frame.note(2.1, -1.45, "torn bags")
    return picture(frame)


def chances():
    """Return the chance that a limit is passed by a day, from its early, likely and late day."""
    frame = Frame((0, 30), (0, 1.2), wide=560, x_name="days from now", y_name="chance that the limit is passed by then",
                  x_marks=range(0, 31, 5), y_marks=np.arange(0, 1.01, 0.2))  # fmt: skip
    days = np.linspace(0.0, 30.0, 301)
    for n, (early, likely, late) in enumerate(((3.0, 8.0, 16.0), (5.0, 20.0, None))):
        crossing = Crossing(*((None if day is None else 24.0 * day) for day in (early, likely, late)))
        frame.line(days, [crossing.chance_by(24.0 * day) for day in days], n)
        frame.key(
            n, f"early day {early:g}, likely {likely:g}, late {'unknown' if late is None else f'{late:g}'}"
        )
    frame.box((0, 7), (0, 1.2), INKS[2], 0.10)
    frame.note(0.2, 0.6, "within the week", ink=INKS[2])
    return picture(frame)


def needs():
    """Return the chill that each kind of wood needs: the number in use and its range."""
    keys = sorted(known_species(), key=lambda key: species(key).value("chill_portions"))
    frame = Frame((0, 90), (0, len(keys)), wide=640, left=128, high=460, x_name="chill portions: dot the number in use, bar its range",
                  y_name="chill need", x_marks=range(0, 91, 10),
                  y_marks=[(place + 0.5, species(key).name) for place, key in enumerate(keys)])  # fmt: skip
    for place, key in enumerate(keys):
        known = species(key).known("chill_portions")
        n = 0 if known.mark == "published" else 1
        frame.box((known.low, known.high), (place + 0.3, place + 0.7), INKS[n], 0.30)
        frame.dot(known.of, place + 0.5, n)
    frame.text(230, 20, "published", "start", INKS[0])
    frame.text(330, 20, "common practice or our choice", "start", INKS[1])
    return picture(frame)
