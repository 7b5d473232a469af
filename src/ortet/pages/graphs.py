"""What is charted: forecasts of lots and bags, and the temperature record of a place."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

import numpy as np
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from ortet.decisions.forecast import QUANTITIES, Curve, Forecasts, LotForecast
from ortet.ledger import stock
from ortet.pages.chart import Chart, Limit, svg, table
from ortet.pages.templatetags.say import on_day
from ortet.wood.holding import Climate
from ortet.wood.speech import say, to_say

__all__ = ["Drawn", "InPlace", "drawn", "in_places", "of_bag", "of_lot", "of_record"]

Found = tuple[stock.Season, Forecasts]

TITLES = {
    "water_lost": _("Water lost"),
    "free_wet_hours": _("Free water"),
    "oxygen": _("Oxygen in the bag"),
    "reserve_left": _("Reserve left"),
    "chill_portions": _("Chill received"),
    "callus": _("Callused"),
    "roots": _("Rooted"),
}
HOW = {
    "water_lost": "bag",
    "free_wet_hours": "rot",
    "oxygen": "oxygen",
    "reserve_left": "reserve",
    "chill_portions": "chill",
    "callus": "callus",
    "roots": "roots",
}  # the page of docs/science that computes it
OF_A_BAG = ("water_lost", "free_wet_hours", "oxygen")  # the same for every lot in it
SHOWN = {  # scale, unit, digits
    "water_lost": (100.0, "\N{NO-BREAK SPACE}%", 1),
    "free_wet_hours": (1.0, "\N{NO-BREAK SPACE}h", 0),
    "oxygen": (100.0, "\N{NO-BREAK SPACE}%", 1),
    "reserve_left": (100.0, "\N{NO-BREAK SPACE}%", 0),
    "chill_portions": (1.0, "", 0),
    "callus": (100.0, "\N{NO-BREAK SPACE}%", 0),
    "roots": (100.0, "\N{NO-BREAK SPACE}%", 0),
}
LIMITS = {
    "chill_portions": to_say("enough"),
    "callus": to_say("ready"),
    "roots": to_say("ready"),
}  # what it is called where it is good to reach it
LIMIT = to_say("limit")  # what it is called elsewhere
WEEKS_PAST_LIMIT = 4  # a chart goes on this long after the day its limit is met
TIMES_LIMIT = 4.0  # a chart of what must stay low shows so many times its limit
LEAST_WEEKS = 8  # and at least this far ahead


@dataclass(frozen=True, slots=True)
class Drawn:
    """A chart, its drawing and its numbers."""

    chart: Chart
    drawn: SafeString
    rows: list[tuple[datetime, str, str, str]]


@dataclass(frozen=True, slots=True)
class InPlace:
    """How a lot will fare in one of its places."""

    forecast: LotForecast
    charts: list[Drawn]


def drawn(charts: Iterable[Chart], zone: tzinfo) -> list[Drawn]:
    """Draw charts."""
    return [Drawn(chart, svg(chart, zone), table(chart, zone)) for chart in charts]


def _day(hour: float, units: str) -> str:
    return on_day(datetime.fromtimestamp(hour * 3600, tz=timezone.get_current_timezone()), units)


def _at_now(curve: Curve) -> int:
    return max(int(np.searchsorted(curve.at, curve.now, side="right")) - 1, 0)


def _says(curve: Curve, chart_of: tuple[float, str, int], units: str) -> str:
    """Say a curve in a sentence: where it stands, what its limit is, when it is met."""
    scale, unit, digits = chart_of
    index = _at_now(curve)
    low, middle, high = (
        f"{v[index] * scale:.{digits}f}{unit}" for v in (curve.low, curve.median, curve.high)
    )
    spread = "" if low == high else say(" ({low} to {high})", low=low, high=high)
    bound = f"{curve.limit.value * scale:.{digits}f}{unit}".strip()
    word = say(LIMITS.get(curve.what, LIMIT)).capitalize()
    when = curve.crossing
    if when.median is not None and when.median <= curve.now:
        met = say(
            "{word} at {bound}: met since {day}.",
            word=word,
            bound=bound,
            day=_day(when.median, units),
        )
    elif when.early is None:
        met = say("{word} at {bound}: not in sight.", word=word, bound=bound)
    elif when.median is None:
        met = say(
            "{word} at {bound}: perhaps from {day} on.",
            word=word,
            bound=bound,
            day=_day(when.early, units),
        )
    else:
        late = (
            say(" and {day}", day=_day(when.late, units))
            if when.late is not None
            else say(" and later than can be told")
        )
        met = say(
            "{word} at {bound}: about {day}, between {early}{late}.",
            word=word,
            bound=bound,
            day=_day(when.median, units),
            early=_day(when.early, units),
            late=late,
        )
    return say("Now {middle}{spread}. {met}", middle=middle, spread=spread, met=met)


def _until(curve: Curve) -> float:
    """Return how far ahead a curve is worth drawing. [h since 1970]"""
    ends = [at for at in (curve.crossing.median, curve.crossing.late) if at is not None]
    least = curve.now + LEAST_WEEKS * 168
    return min(max([least, *(at + WEEKS_PAST_LIMIT * 168 for at in ends)]), curve.now + 40 * 168)


def _of_curve(curve: Curve, key: str, units: str) -> Chart:
    scale, unit, digits = SHOWN[curve.what]
    keep = curve.at <= _until(curve)
    # Far beyond the limit only the limit's own day is of use: a scale to 200 % would hide it.
    top = max(TIMES_LIMIT * curve.limit.value, 1.2 * float(np.max(curve.median[: _at_now(curve) + 1])))
    name = f"{say(LIMITS.get(curve.what, LIMIT))} {curve.limit.value * scale:.{digits}f}{unit}".strip()
    return Chart(
        key=f"{key}-{curve.what.replace('_', '-')}",
        title=TITLES[curve.what],
        says=_says(curve, (scale, unit, digits), units),
        how=f"science/{HOW[curve.what]}",
        at=curve.at[keep],
        middle=curve.median[keep],
        low=curve.low[keep],
        high=curve.high[keep],
        unit=unit,
        scale=scale,
        digits=digits,
        limits=[Limit(curve.limit.value, name, is_good=curve.what in LIMITS)],
        now=curve.now,
        floor=0.0,
        top=top if curve.what in ("water_lost", "free_wet_hours") else None,
        ceiling={"reserve_left": 1.0, "callus": 1.0, "roots": 1.0, "oxygen": 0.21}.get(curve.what),
    )


def of_lot(found: Found, units: str = "metric") -> list[tuple[LotForecast, list[Chart]]]:
    """Return for each place of a lot its forecast and its charts, those with limits nearest first."""
    _, forecasts = found
    told = []
    for number, forecast in enumerate(forecasts, 1):
        curves = [
            forecasts.curve(forecast.lot, what, forecast.place)
            for what in QUANTITIES
            if what in forecast.state
        ]
        told.append((forecast, [_of_curve(curve, f"p{number}", units) for curve in curves]))
    return told


def of_bag(found: Found, units: str = "metric") -> list[Chart]:
    """Return the charts of a bag: water, free water, oxygen, which all its lots share."""
    told = of_lot(found, units)
    return (
        [chart for chart in told[0][1] if chart.key.split("-", 1)[1].replace("-", "_") in OF_A_BAG]
        if told
        else []
    )


def in_places(told: Sequence[tuple[LotForecast, list[Chart]]], zone: tzinfo) -> list[InPlace]:
    """Draw what `of_lot` returned."""
    return [InPlace(forecast, drawn(charts, zone)) for forecast, charts in told]


def _record_says(air: np.ndarray, unit: str, days: float) -> str:
    known = air[np.isfinite(air)]
    missing = len(air) - len(known)
    said = say(
        "{min:.1f} to {max:.1f}{unit}, {mean:.1f}{unit} in the mean, over {days:.0f} days.",
        min=known.min(),
        max=known.max(),
        unit=unit,
        mean=known.mean(),
        days=days,
    )
    return (
        said
        if not missing
        else say(
            "{said} Nothing was recorded in {missing} of {hours} hours.",
            said=said,
            missing=missing,
            hours=len(air),
        )
    )


def of_record(climate: Climate | None, units: str = "metric") -> list[Chart]:
    """Return the temperature and, where recorded, the humidity of a place."""
    if climate is None:
        return []
    at = climate.first_hour + np.arange(len(climate.air_c)) + 0.5
    air, unit = (
        (climate.air_c * 1.8 + 32, "\N{NO-BREAK SPACE}°F")
        if units == "US"
        else (climate.air_c, "\N{NO-BREAK SPACE}°C")
    )
    freezing = Limit(32.0 if units == "US" else 0.0, say("freezing"))
    reach = np.nanmin(air) - freezing.value
    charts = [
        Chart(
            key="temperature",
            title=say("Temperature"),
            says=_record_says(air, unit, len(at) / 24),
            at=at,
            middle=air,
            unit=unit,
            digits=1,
            limits=[freezing] if reach < 4 else [],
        )
    ]
    if np.isfinite(climate.humidity).any():
        humidity = climate.humidity * 100
        charts.append(
            Chart(
                key="humidity",
                title=say("Humidity"),
                says=_record_says(humidity, "\N{NO-BREAK SPACE}%", len(at) / 24),
                at=at,
                middle=humidity,
                unit="\N{NO-BREAK SPACE}%",
                ceiling=100.0,
            )
        )
    return charts
