"""Figures of what happens on the bench, one short function each, drawn by the functions of ortet.science."""

from datetime import date, timedelta

import numpy as np
from sheet import INKS, Frame, picture

from ortet.evidence import rooting as time_to_root
from ortet.evidence.pace import Look, Prior, learn_pace
from ortet.evidence.strike import Batch, StrikePrior, strike_rates
from ortet.science import leaves, solution, thermal_time
from ortet.science.climate import hours_from_daily
from ortet.science.race import Pace, race
from ortet.science.response import temperature_response
from ortet.science.species import species

# mean lowest and highest of the months at Davis, California, from memory; tests/outside/values/race_davis.csv
MID = (-77, -46, -15.5, 15, 45, 74, 105)
LOW, HIGH_C = (9.6, 5.7, 3.0, 3.4, 5.1, 6.7, 8.3), (25.6, 17.9, 12.9, 12.7, 16.1, 19.4, 22.8)
# Alley & Peterson 1977: first and last day of the year counted from 1 January, days to bud push
WINDOWS = ((-61, 30, 17, 31), (31, 58, 5, 14), (59, 89, 3, 9))


def response():
    """Return how fast roots grow at a temperature, for three kinds of wood."""
    t = np.arange(0.0, 42.01, 0.25)
    frame = Frame((0, 42), (0, 1.3), wide=560, x_name="temperature, °C", y_name="rate, as a share of the fastest",
                  x_marks=range(0, 41, 5), y_marks=np.arange(0, 1.01, 0.2))  # fmt: skip
    for n, key in enumerate(("grape", "blackcurrant", "peach")):
        cardinal = [species(key).value(f"roots_t_{end}") for end in ("min", "opt", "max")]
        frame.line(t, temperature_response(t, *cardinal), n)
        frame.key(n, f"roots of {key}: {', '.join(f'{c:g}' for c in cardinal)} °C")
    return picture(frame)


def callused():
    """Return the share callused day by day."""
    frame = Frame((0, 60), (0, 1.3), wide=640, x_name="days", y_name="share of the cuttings that have callused",
                  x_marks=range(0, 61, 10), y_marks=np.arange(0, 1.01, 0.2))  # fmt: skip
    for n, (key, air_c) in enumerate((("grape", 29.5), ("grape", 20.0), ("apple", 18.0), ("apple", 4.0))):
        wood = species(key)
        progress = thermal_time.thermal_progress(
            np.full(60 * 24, air_c),
            t_min=wood.value("callus_t_min"),
            t_opt=wood.value("callus_t_opt"),
            t_max=wood.value("callus_t_max"),
            days_at_optimum=wood.value("callus_days"),
            running=True,
        )
        share = thermal_time.share_done(progress, wood.value("callus_spread"))
        frame.line(np.arange(1, 61), share[23::24], n)
        frame.key(n, f"{key} at {air_c:g} °C", x=14 + 290 * (n // 2), y=12 - 34 * (n // 2))
    return picture(frame)


def rooting():
    """Return days to root against the temperature of the base."""
    base_c = np.arange(0.0, 40.1, 0.5)
    frame = Frame((0, 40), (0, 80), wide=640, x_name="base, °C", y_name="days until half have rooted",
                  x_marks=range(0, 41, 5), y_marks=range(0, 81, 20))  # fmt: skip
    for n, key in enumerate(("grape", "poplar", "blackcurrant", "peach")):
        pace = Pace.of(species(key))
        days = thermal_time.days_needed(
            base_c,
            t_min=pace.roots_t_min,
            t_opt=pace.roots_t_opt,
            t_max=pace.roots_t_max,
            days_at_optimum=pace.roots_days,
            spread=pace.roots_spread,
        )
        frame.line(base_c, days, n)
        frame.key(n, key, x=250)
    return picture(frame)


def leafing():
    """Return the heat that buds need by the chill they had."""
    chill = np.linspace(0.0, 100.0, 201)
    frame = Frame((0, 100), (0, 25), wide=560, x_name="chill so far, portions", y_name="heat until half are in leaf, 1,000 °C h",
                  x_marks=range(0, 101, 20), y_marks=range(0, 26, 5))  # fmt: skip
    for n, key in enumerate(("grape", "rose", "willow", "blackcurrant")):
        wood = species(key)
        need = leaves.heat_needed(
            chill,
            heat=wood.value("leaf_heat"),
            heat_unchilled=wood.value("leaf_heat_unchilled"),
            overlap=wood.value("chill_overlap"),
        )
        frame.line(chill, need / 1000.0, n)
        frame.key(n, key, x=300)
    return picture(frame)


def racing():
    """Return the grape's race through the winter at Davis, and its risk on 15 February."""
    pace, days = Pace.of(species("grape")), np.arange(-61, 90)
    low, high = (np.interp(days, MID, month) for month in (LOW, HIGH_C))
    chill, heat = leaves.winter_so_far(
        hours_from_daily(low, high, days % 365 + 1, 38.54),
        chill_needed=species("grape").value("chill_portions"),
        t_base=pace.heat_t_base,
        t_opt=pace.heat_t_opt,
        t_crit=pace.heat_t_crit,
    )
    chill, heat = chill[::24], heat[::24]
    run = race(29.5, 23.5, chill=chill, heat=heat, pace=pace)
    months = [(-46, "Nov"), (-15, "Dec"), (15, "Jan"), (45, "Feb"), (74, "Mar")]
    left = Frame((-61, 89), (0, 50), x_name="wood cut in", y_name="days, air at 23.5 °C, base at 29.5 °C",
                 x_marks=months, y_marks=range(0, 41, 10))  # fmt: skip
    for first, last, least, most in WINDOWS:
        left.box((first, last), (least, most), INKS[0])
    left.line(days, run.leaf_days(), 0)
    left.line(days, np.full(days.size, float(run.root_days())), 1)
    left.key(0, "leaves; bands: as published")
    left.key(1, "roots")

    base_c, air_c = np.arange(14, 31, 2), np.arange(4, 29, 4)
    day = int(np.flatnonzero(days == 45)[0])
    risk = race(base_c[:, None], air_c[None, :], chill=chill[day], heat=heat[day], pace=pace).too_early
    right = Frame((13, 31), (2, 30), x_name="base, °C; wood cut on 15 February", x_marks=base_c,
                  y_name="air, °C; in the squares leaves too early, %", y_marks=air_c)  # fmt: skip
    for (b, a), share in np.ndenumerate(risk):
        right.box((base_c[b] - 1, base_c[b] + 1), (air_c[a] - 2, air_c[a] + 2), INKS[1], 0.03 + 0.6 * share)
        x, y = right.at(base_c[b], air_c[a])
        right.text(x, y + 4, f"{100 * share:.0f}")
    return picture(left, right)


def solutions():
    """Return the share of hypochlorous acid by pH, and what is left of clean bleach."""
    ph = np.linspace(5.0, 11.0, 121)
    left = Frame((5, 11), (0, 1), x_name="pH", y_name="share standing as hypochlorous acid",
                 x_marks=range(5, 12), y_marks=np.arange(0, 1.01, 0.2))  # fmt: skip
    for n, water_c in enumerate((5.0, 20.0, 30.0)):
        left.line(ph, solution.hypochlorous_share(ph, water_c), n)
        left.key(n, f"{water_c:g} °C", x=225)
    days = np.linspace(0.0, 60.0, 121)
    right = Frame((0, 60), (0, 1), x_name="days since it was mixed", y_name="share of clean bleach left",
                  x_marks=range(0, 61, 10), y_marks=np.arange(0, 1.01, 0.2))  # fmt: skip
    right.line(days, solution.share_left(days), 0)
    right.key(0, "half in 26 days", x=195)
    right.box((29, 31), (0.40, 0.50), INKS[1], 0.5)
    right.text(right.left + 195, 76, "bar: Rutala et al. 1998", "start", INKS[1])
    return picture(left, right)


def paces():
    """Return what looks leave probable of a lot's days, by how many cuttings were looked at; in truth it takes 1.3 times as long."""
    counts, at = np.array([0, 5, 10, 20, 40, 80, 160]), (1.0, 1.4, 1.8)
    prior = Prior(spread=0.35, doubt=0.35, never=0.2, never_cuttings=10)
    rooted = thermal_time.share_done(np.array(at) / 1.3, prior.spread, never=prior.never)
    frame = Frame((0, 160), (0.4, 2.2), wide=560, x_name="cuttings of the lot looked at, three times each",
                  y_name="days to root, times the usual days", x_marks=range(0, 161, 20), y_marks=np.arange(0.5, 2.1, 0.5))  # fmt: skip
    ends = []
    for n in counts:
        looks = [
            Look("A", "V", x, done=round(n * share), of=int(n))
            for x, share in zip(at, rooted, strict=True)
            if n
        ]
        ends.append(learn_pace(looks, prior).of("A", "V").days)
    for row, words in enumerate(("5 in 100 below", "middle", "95 in 100 below")):
        frame.line(counts, [one[row] for one in ends], row)
        frame.key(row, words, x=330)
    return picture(frame)


def recounting():
    """Return what three counts of one batch of grape foretell, at a base of 24 °C."""
    wood, struck, counts = species("grape"), date(2027, 2, 1), ((9, 2), (14, 14), (19, 28))
    pace = Pace.of(wood)
    day = thermal_time.thermal_progress(
        np.full(24, 24.0), t_min=pace.roots_t_min, t_opt=pace.roots_t_opt, t_max=pace.roots_t_max, days_at_optimum=pace.roots_days
    )  # fmt: skip
    events = [time_to_root.Count(struck + timedelta(at), at * day, k, 60) for at, k in counts]
    frame = Frame((0, 46), (0, 1.25), wide=640, x_name="days since striking, base at 24 °C", y_name="share of 60 cuttings with roots",
                  x_marks=range(0, 46, 5), y_marks=np.arange(0, 1.01, 0.2))  # fmt: skip
    for n, (seen, words) in enumerate(
        ((0, "before any count: 5 to 95 in 100"), (3, "after three counts: 5, 50, 95 in 100"))
    ):
        batch = time_to_root.Batch("T", "V", 60, struck, tuple(events[:seen]))
        days = np.arange(counts[-1][0] if seen else 0, 47)
        learnt = time_to_root.learn_rooting([batch], time_to_root.usual_rooting(wood))
        ahead = learnt.ahead(batch, struck + timedelta(int(days[0])), days * day)
        for row in (0, 1, 2) if seen else (0, 2):
            frame.line(days, ahead.share[row], n, thin=row != 1)
        frame.key(n, words)
    for at, k in counts:
        frame.dot(at, k / 60, 1)
    again = ahead.count_again()
    at = (again.on - struck).days
    frame.dot(at, again.share[1], 2)
    frame.note(26, 0.12, f"day {at}: count again, {100 * again.share[1]:.0f} % should show", ink=INKS[2])
    return picture(frame)


def striking():
    """Return the range of a variety that strikes well, by how much of it was counted, its species usually striking at 60 %."""
    counts = ((4, 1), (20, 1), (20, 4), (20, 20))
    frame = Frame((0, 100), (0, 5), wide=640, x_name="share that roots, %", y_name="rooted of struck",
                  x_marks=range(0, 101, 20), y_marks=[])  # fmt: skip
    for at, (each, times) in enumerate(counts):
        rooted = each * 9 // 10 if each > 4 else 4
        batches = [Batch(each, rooted, "kind", "variety")] * times
        rate = strike_rates(batches, priors={"kind": StrikePrior(0.6, 6.0)}).varieties["variety"]
        low, middle, high = 100 * rate.low, 100 * rate.median, 100 * rate.high
        frame.line([100 * rate.next_low, 100 * rate.next_high], [4 - at, 4 - at], 1, thin=True)
        frame.line([low, high], [4 - at, 4 - at], 0)
        frame.dot(middle, 4 - at)
        frame.note(2, 4 - at, f"{rate.rooted} of {rate.struck}, batches: {times}")
    frame.key(0, "usual batch, 90 in 100", x=190, y=222)
    frame.key(1, "next batch, 90 in 100", x=390, y=205)
    return picture(frame)
