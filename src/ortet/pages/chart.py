"""Charts drawn on the server as SVG: a middle line, its band, limits, and today. The numbers stand in a table as well."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

import numpy as np
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from ortet.wood.speech import say, short_month

__all__ = ["Chart", "Limit", "day_ticks", "svg", "table", "value_ticks"]

# Drawn for a phone: 12 units of text are 12 px at 390 px, and larger on a desk.
WIDTH, HEIGHT = 360, 216
LEFT, RIGHT, TOP, BOTTOM = 46, 10, 16, 26
MOST_POINTS = 360  # more hours than that are drawn as the span and the mean of each stretch
MOST_ROWS = 14
STEPS = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class Limit:
    """A value at which something happens, and what it is called."""

    value: float
    name: str
    is_good: bool = False  # to be reached, rather than not to be crossed


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """What to draw; times are hours since 1970. [h]"""

    key: str  # unique on its page
    title: str
    says: str  # the chart in a sentence or two
    at: np.ndarray  # (n,) [h]
    middle: np.ndarray  # (n,) NaN where nothing is known
    low: np.ndarray | None = None  # (n,)
    high: np.ndarray | None = None  # (n,)
    unit: str = ""
    scale: float = 1.0  # numbers are shown times this
    digits: int = 0
    limits: Sequence[Limit] = ()
    now: float | None = None
    floor: float | None = None  # what the lowest value shown is at most
    ceiling: float | None = None  # what the highest value shown is at least
    top: float | None = (
        None  # what the highest value shown is at most; a line that goes beyond leaves the drawing
    )
    points: Sequence[tuple[float, float]] = field(default=())  # measured: hour, value
    how: str = ""  # the page of the docs that tells how it is computed

    def say(self, value: float) -> str:
        """Write a value with its unit."""
        return f"{value * self.scale:.{self.digits}f}{self.unit}"


def value_ticks(low: float, high: float, most: int = 5) -> list[float]:
    """Return round numbers, at most so many, that span low to high from inside."""
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough)) if rough > 0 else 1.0
    step = next((s * power for s in (*STEPS, 10) if s * power >= rough * 0.999), 10 * power)
    first = math.ceil(low / step - 1e-9)
    return [k * step for k in range(first, math.floor(high / step + 1e-9) + 1)]


def day_ticks(first: float, last: float, zone: tzinfo, most: int = 5) -> list[tuple[float, str]]:
    """Return midnights of the grower's zone between two hours, at most so many, each with its name."""
    start = datetime.fromtimestamp(first * 3600, tz=zone).replace(hour=0, minute=0, second=0, microsecond=0)
    days = (last - first) / 24
    step = next((n for n in (1, 2, 4, 7, 14, 28, 56, 91, 182) if days / n <= most), 365)
    ticks = []
    day = start + timedelta(days=1)
    while (hour := day.timestamp() / 3600) <= last:
        ticks.append((hour, f"{day.day} {short_month(day)}"))
        day = day + timedelta(days=step)
    return ticks


def _thinned(chart: Chart) -> tuple[np.ndarray, np.ndarray, np.ndarray | None, np.ndarray | None]:
    """Return the series with few enough points to draw; a long one becomes the span and mean of each stretch."""
    at, middle, low, high = chart.at, chart.middle, chart.low, chart.high
    if len(at) <= MOST_POINTS:
        return at, middle, low, high
    low, high = (middle if low is None else low), (middle if high is None else high)
    stretch = math.ceil(len(at) / (MOST_POINTS // 2))
    pad = -len(at) % stretch

    def rows(values: np.ndarray) -> np.ndarray:
        return np.concatenate([values, np.full(pad, np.nan)]).reshape(-1, stretch)

    some = np.isfinite(rows(middle)).any(axis=1)
    out = [np.full(len(some), np.nan) for _ in range(3)]
    for target, pick, values in zip(
        out, (np.nanmean, np.nanmin, np.nanmax), (middle, low, high), strict=True
    ):
        target[some] = pick(rows(values)[some], axis=1)
    return np.nanmean(rows(at), axis=1), out[0], out[1], out[2]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Where values come to lie on the drawing."""

    first: float
    last: float
    bottom: float
    top: float

    def x(self, at: float) -> float:
        return LEFT + (at - self.first) / (self.last - self.first) * (WIDTH - LEFT - RIGHT)

    def y(self, value: float) -> float:
        share = (value - self.bottom) / (self.top - self.bottom)
        return TOP + (1 - min(max(share, -0.02), 1.02)) * (HEIGHT - TOP - BOTTOM)

    def path(self, at: np.ndarray, values: np.ndarray) -> str:
        """Return the line through the values, lifted where one is not known."""
        words, down = [], False
        for hour, value in zip(at, values, strict=True):
            if not value <= self.top:  # unknown, or beyond the drawing
                down = False
                continue
            words.append(f"{'L' if down else 'M'}{self.x(hour):.1f} {self.y(value):.1f}")
            down = True
        return "".join(words)

    def areas(self, at: np.ndarray, low: np.ndarray, high: np.ndarray) -> str:
        """Return the band between low and high, one closed piece for each run of known values."""
        known = np.isfinite(low) & np.isfinite(high)
        edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(int)))
        pieces = []
        for start, stop in zip(edges[::2], edges[1::2], strict=True):
            run = slice(start, stop)
            there = [f"{self.x(h):.1f} {self.y(v):.1f}" for h, v in zip(at[run], high[run], strict=True)]
            back = [
                f"{self.x(h):.1f} {self.y(v):.1f}" for h, v in zip(at[run][::-1], low[run][::-1], strict=True)
            ]
            pieces.append(f"M{'L'.join([*there, *back])}Z")
        return "".join(pieces)


def _sheet(chart: Chart) -> _Sheet:
    series = [chart.middle, *(s for s in (chart.low, chart.high) if s is not None)]
    values = np.concatenate([s[np.isfinite(s)] for s in series] + [np.array([v for _, v in chart.points])])
    wanted = [limit.value for limit in chart.limits]
    low = min(
        [
            float(values.min()) if len(values) else 0.0,
            *wanted,
            *([] if chart.floor is None else [chart.floor]),
        ]
    )
    high = max(
        [
            float(values.max()) if len(values) else 1.0,
            *wanted,
            *([] if chart.ceiling is None else [chart.ceiling]),
        ]
    )
    if chart.top is not None:
        high = min(high, max([chart.top, *wanted]))
    room = (high - low or 1.0) * 0.06
    bottom = low if chart.floor is not None and low == chart.floor else low - room
    last = float(chart.at[-1]) if len(chart.at) > 1 else float(chart.at[0]) + 24
    return _Sheet(float(chart.at[0]), last, bottom, high + room)


def _grid(chart: Chart, sheet: _Sheet, zone: tzinfo) -> SafeString:
    base = HEIGHT - BOTTOM
    shown = [
        tick / chart.scale for tick in value_ticks(sheet.bottom * chart.scale, sheet.top * chart.scale, 5)
    ]
    digits = 0 if not shown or all(abs(v * chart.scale - round(v * chart.scale)) < 1e-6 for v in shown) else 1
    if digits and len(shown) > 1 and abs(shown[1] - shown[0]) * chart.scale < 0.099:
        digits = 2
    lines = format_html_join(
        "",
        '<path class="grid" d="M{} {}H{}"/><text x="{}" y="{}" text-anchor="end">{}{}</text>',
        (
            (
                LEFT,
                f"{sheet.y(v):.1f}",
                WIDTH - RIGHT,
                LEFT - 5,
                f"{sheet.y(v) + 4:.1f}",
                f"{v * chart.scale:.{digits}f}",
                chart.unit,
            )
            for v in shown
        ),
    )
    days = format_html_join(
        "",
        '<path class="axis" d="M{0} {1}v5"/><text x="{0}" y="{2}" text-anchor="middle">{3}</text>',
        (
            (f"{sheet.x(hour):.1f}", base, HEIGHT - 7, name)
            for hour, name in day_ticks(sheet.first, sheet.last, zone)
            if sheet.x(hour) < WIDTH - RIGHT - 12
        ),
    )
    return format_html('{}{}<path class="axis" d="M{} {}H{}"/>', lines, days, LEFT, base, WIDTH - RIGHT)


def _series(chart: Chart, sheet: _Sheet) -> SafeString:
    at, middle, low, high = _thinned(chart)
    band = SafeString("")
    if low is not None and high is not None:
        band = format_html('<path class="band" d="{}"/>', sheet.areas(at, low, high))
    if chart.now is None or not sheet.first < chart.now < sheet.last:
        return format_html('{}<path class="middle" d="{}"/>', band, sheet.path(at, middle))
    past, ahead = at <= chart.now, at >= at[np.searchsorted(at, chart.now, side="right") - 1]
    return format_html(
        '{}<path class="middle" d="{}"/><path class="middle ahead" d="{}"/>',
        band,
        sheet.path(at[past], middle[past]),
        sheet.path(at[ahead], middle[ahead]),
    )


def _marks(chart: Chart, sheet: _Sheet) -> SafeString:
    base = HEIGHT - BOTTOM
    limits = format_html_join(
        "",
        '<path class="limit{}" d="M{} {}H{}"/><text class="limit-name{}" x="{}" y="{}" text-anchor="end">{}</text>',
        (
            (
                " good" if limit.is_good else "",
                LEFT,
                f"{sheet.y(limit.value):.1f}",
                WIDTH - RIGHT,
                " good" if limit.is_good else "",
                WIDTH - RIGHT,
                f"{sheet.y(limit.value) + (-5 if sheet.y(limit.value) > TOP + 14 else 14):.1f}",
                limit.name,
            )
            for limit in chart.limits
        ),
    )
    points = format_html_join(
        "",
        '<circle class="event" cx="{}" cy="{}" r="3.5"/>',
        ((f"{sheet.x(h):.1f}", f"{sheet.y(v):.1f}") for h, v in chart.points),
    )
    now = SafeString("")
    if chart.now is not None and sheet.first < chart.now < sheet.last:
        x = sheet.x(chart.now)
        end = "end" if x > WIDTH - 60 else "start" if x < LEFT + 20 else "middle"
        now = format_html(
            '<path class="now" d="M{0} {1}V{2}"/><text class="strong" x="{0}" y="{3}" text-anchor="{4}">{5}</text>',
            f"{x:.1f}",
            TOP - 2,
            base,
            TOP - 5,
            end,
            say("today"),
        )
    return format_html("{}{}{}", limits, points, now)


def svg(chart: Chart, zone: tzinfo) -> SafeString:
    """Draw a chart; its title and sentence are read out in its stead."""
    sheet = _sheet(chart)
    return format_html(
        '<svg viewBox="0 0 {w} {h}" role="img" aria-labelledby="{k}-t {k}-d"><title id="{k}-t">{t}</title>'
        '<desc id="{k}-d">{d}</desc>{grid}{series}{marks}</svg>',
        w=WIDTH,
        h=HEIGHT,
        k=chart.key,
        t=chart.title,
        d=chart.says,
        grid=_grid(chart, sheet, zone),
        series=_series(chart, sheet),
        marks=_marks(chart, sheet),
    )


def table(chart: Chart, zone: tzinfo) -> list[tuple[datetime, str, str, str]]:
    """Return some of the chart's numbers, evenly spaced: when, low, middle, high."""
    rows = []
    for index in np.unique(
        np.linspace(0, len(chart.at) - 1, min(MOST_ROWS, len(chart.at))).round().astype(int)
    ):
        middle = chart.middle[index]
        if not math.isfinite(middle):
            said = ("", say("not recorded"), "")
        elif chart.low is None or chart.high is None:
            said = ("", chart.say(middle), "")
        else:
            said = (chart.say(chart.low[index]), chart.say(middle), chart.say(chart.high[index]))
        rows.append((datetime.fromtimestamp(float(chart.at[index]) * 3600, tz=zone), *said))
    return rows
