"""Draw the figures of roots.md and race.md from the code itself.

    .venv/bin/python docs/science/figures/race.py

Writes roots.svg and race.svg beside this file; a test draws them again and compares.
"""

from html import escape
from pathlib import Path

import numpy as np

from ortet.science import leaves, roots
from ortet.science.climate import hours_from_daily
from ortet.science.race import Pace, race
from ortet.science.species import species

HERE = Path(__file__).parent
WIDE, HIGH, EDGE = 640, 340, 46
INKS = {"grape": "#7b3294", "poplar": "#1b7837", "blackcurrant": "#2c3e50", "peach": "#d95f02"}
# mean lowest and highest of the months at Davis, California, from memory; tests/outside/values/race_davis.csv
MID = (-77, -46, -15.5, 15, 45, 74, 105)
LOW, HIGH_C = (9.6, 5.7, 3.0, 3.4, 5.1, 6.7, 8.3), (25.6, 17.9, 12.9, 12.7, 16.1, 19.4, 22.8)
# Alley & Peterson 1977: first and last day of the year counted from 1 January, days to bud push
WINDOWS = ((-61, 30, 17, 31), (31, 58, 5, 14), (59, 89, 3, 9))


class Frame:
    """An axis pair: data to picture, and the marks drawn so far."""

    def __init__(self, x, y, width=WIDE):
        self.x, self.y, self.width, self.marks = x, y, width, []

    def at(self, x, y):
        across = EDGE + (x - self.x[0]) / (self.x[1] - self.x[0]) * (self.width - EDGE - 12)
        return across, HIGH - EDGE - (y - self.y[0]) / (self.y[1] - self.y[0]) * (HIGH - EDGE - 28)

    def text(self, x, y, words, anchor="middle", ink="#222"):
        self.marks.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{ink}">{escape(words)}</text>'
        )

    def line(self, xs, ys, ink, dash=""):
        inside = [
            self.at(x, y)
            for x, y in zip(xs, ys, strict=True)
            if np.isfinite(y) and self.y[0] <= y <= self.y[1]
        ]
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in inside)
        self.marks.append(
            f'<polyline points="{points}" fill="none" stroke="{ink}" stroke-width="2" stroke-dasharray="{dash}"/>'
        )

    def box(self, x, y, ink, opacity=0.15):
        (left, top), (right, bottom) = self.at(x[0], y[1]), self.at(x[1], y[0])
        self.marks.append(
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="{bottom - top:.1f}" '
            f'fill="{ink}" fill-opacity="{opacity:.2f}"/>'
        )

    def axes(self, x_marks, y_marks, x_name, y_name):
        for value, words in x_marks:
            self.text(self.at(value, 0)[0], HIGH - EDGE + 16, words)
        for value in y_marks:
            self.text(EDGE - 6, self.at(self.x[0], value)[1] + 4, f"{value:g}", "end")
        self.text((self.width + EDGE) / 2, HIGH - 10, x_name)
        self.text(8, 12, y_name, "start")
        corner = [self.at(self.x[0], self.y[1]), self.at(self.x[0], self.y[0]), self.at(self.x[1], self.y[0])]
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in corner)
        self.marks.append(f'<polyline points="{points}" fill="none" stroke="#222"/>')


def picture(frames):
    """Return the frames side by side as one SVG."""
    out, shift = [], 0
    for frame in frames:
        out += [f'<g transform="translate({shift} 0)">', *frame.marks, "</g>"]
        shift += frame.width
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {shift} {HIGH}" font-family="sans-serif" font-size="12">'
    return "\n".join([head, f'<rect width="{shift}" height="{HIGH}" fill="#fff"/>', *out, "</svg>"]) + "\n"


def rooting():
    """Return days to root against the temperature of the base."""
    frame, base_c = Frame((0, 40), (0, 80)), np.arange(0.0, 40.1, 0.5)
    for place, (key, ink) in enumerate(INKS.items()):
        pace = Pace.of(species(key))
        days = roots.days_to_root(
            base_c,
            t_min=pace.roots_t_min,
            t_opt=pace.roots_t_opt,
            t_max=pace.roots_t_max,
            days_at_optimum=pace.roots_days,
            spread=pace.roots_spread,
        )
        frame.line(base_c, days, ink)
        frame.text(EDGE + 14, 42 + 16 * place, key, "start", ink)
    frame.axes(
        [(c, f"{c}") for c in range(0, 41, 5)], range(0, 81, 20), "base, °C", "days until half have rooted"
    )
    return picture([frame])


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
    left = Frame((-61, 89), (0, 40), 400)
    for first, last, least, most in WINDOWS:
        left.box((first, last), (least, most), "#1b7837")
    left.line(days, run.leaf_days(), "#1b7837")
    left.line(days, np.full(days.size, float(run.root_days())), "#8c510a", "5 3")
    left.text(EDGE + 12, 40, "leaves (line), as published (bands)", "start", "#1b7837")
    left.text(EDGE + 12, 56, "roots at 29.5 °C", "start", "#8c510a")
    months = [(-46, "Nov"), (-15, "Dec"), (15, "Jan"), (45, "Feb"), (74, "Mar")]
    left.axes(months, range(0, 41, 10), "wood cut in", "days, air at 23.5 °C")

    base_c, air_c = np.arange(14, 31, 2), np.arange(4, 29, 4)
    day = int(np.flatnonzero(days == 45)[0])
    risk = race(base_c[:, None], air_c[None, :], chill=chill[day], heat=heat[day], pace=pace).too_early
    right = Frame((13, 31), (2, 30), 400)
    for (b, a), share in np.ndenumerate(risk):
        right.box(
            (base_c[b] - 1, base_c[b] + 1), (air_c[a] - 2, air_c[a] + 2), "#b2182b", 0.03 + 0.75 * share
        )
        x, y = right.at(base_c[b], air_c[a])
        right.text(x, y + 4, f"{100 * share:.0f}")
    right.axes([(c, f"{c}") for c in base_c], air_c, "base, °C", "air, °C: leaves too early, %, cut 15 Feb")
    return picture([left, right])


def drawings():
    """Return the text of each figure by its file's name."""
    return {"roots.svg": rooting(), "race.svg": racing()}


if __name__ == "__main__":
    for name, text in drawings().items():
        (HERE / name).write_text(text, encoding="utf-8")
