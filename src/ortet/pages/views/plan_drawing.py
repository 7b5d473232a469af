"""The benches drawn: each a strip of weeks, each batch a bar from the day it is set to the day it leaves."""

from dataclasses import dataclass
from datetime import date

from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.http import urlencode
from django.utils.safestring import SafeString

from ortet.pages.forms.plan import where_key
from ortet.pages.known import named
from ortet.wood.speech import say, short_month, to_say
from ortet.wood.units import show_temperature
from ortet.work.plan.bench_look import Bar, Course, Standing

__all__ = ["drawn", "risk_word"]

WIDTH = 1120  # at a desk; a phone slides it
LEAST = 56  # width of a week
HEAD, LANE, BAR, FOOT, GAP = 24, 54, 48, 40, 14
LETTER = 7.6  # usual width
SOME, HIGH = (
    0.05,
    0.20,
)  # risk from which a bar is marked [common practice: the grower's own line may lie elsewhere]


def risk_word(risk: float) -> str:
    """Return how a risk is marked: low, some or high."""
    return "high" if risk >= HIGH else "some" if risk >= SOME else "low"


@dataclass(frozen=True, slots=True)
class _Laid:
    """A bar where it lies."""

    bar: Bar
    lane: int
    words: str


def _words(bar: Bar) -> str:
    said = (
        to_say("{lot}, {count}, risk {risk:.0%}, by hand")
        if bar.by_hand
        else to_say("{lot}, {count}, risk {risk:.0%}")
    )
    return say(said, lot=named(bar.lot), count=bar.count, risk=bar.outcome.risk)


class _Sheet:
    """Where weeks and benches come to lie."""

    def __init__(self, standing: Standing, units: str, picked: str) -> None:
        self.standing, self.units, self.picked = standing, units, picked
        self.mondays = standing.mondays
        self.week = max(LEAST, WIDTH / len(self.mondays))
        self.width = self.week * len(self.mondays)

    def x(self, day: date) -> float:
        return (day - self.mondays[0]).days / 7 * self.week

    def lay(self, course: Course) -> list[_Laid]:
        """Return bars in lanes, so that neither they nor their words meet."""
        ends: list[float] = []
        laid = []
        for bar in course.bars:
            words, start = _words(bar), self.x(bar.start)
            end = max(self.x(bar.off), start + 16 + LETTER * len(words))
            lane = next((n for n, taken in enumerate(ends) if taken <= start), len(ends))
            ends[lane:] = [end, *ends[lane + 1 :]]
            laid.append(_Laid(bar, lane, words))
        return laid

    def heat(self, base_c: float | None) -> str:
        return say("no heat") if base_c is None else show_temperature(base_c, self.units)


def drawn(standing: Standing, units: str, picked: str) -> SafeString:
    """Draw the benches; the bar of the batch that is looked at stands out.

    Parameters
    ----------
    picked : str
        That batch, by the codes of its lot and place.
    """
    sheet = _Sheet(standing, units, picked)
    y, parts = float(HEAD), []
    for course in standing.courses:
        part, height = _course(sheet, course, y)
        parts.append(part)
        y += height + GAP
    lines = format_html_join(
        "",
        '<path class="grid" d="M{0} {1}V{2}"/><text x="{3}" y="15">{4}</text>',
        (
            (
                f"{sheet.x(day):.1f}",
                HEAD - 6,
                f"{y:.0f}",
                f"{sheet.x(day) + 3:.1f}",
                f"{day.day} {short_month(day)}",
            )
            for day in sheet.mondays
        ),
    )
    return format_html(
        '<svg id="benches" viewBox="0 0 {w} {h}" width="{w}" height="{h}" data-week="{week}" data-first="{first}" '
        'role="group" aria-label="{says}">{lines}{parts}</svg>',
        w=f"{sheet.width:.0f}",
        h=f"{y:.0f}",
        week=f"{sheet.week:.3f}",
        first=sheet.mondays[0].isoformat(),
        says=say("Benches, week by week"),
        lines=lines,
        parts=format_html_join("", "{}", ((part,) for part in parts)),
    )


def _course(sheet: _Sheet, course: Course, top: float) -> tuple[SafeString, float]:
    laid = sheet.lay(course)
    lanes = max([one.lane for one in laid], default=0) + 1
    under = top + 22 + lanes * LANE
    height = 22 + lanes * LANE + FOOT
    bars = format_html_join("", "{}", ((_bar(sheet, course, one, top + 22),) for one in laid))
    weeks = format_html_join(
        "",
        '<text x="{0}" y="{1}">{2}</text><text x="{0}" y="{3}" class="faint">{4}</text>',
        (
            (
                f"{sheet.x(week.monday) + 3:.1f}",
                f"{under + 14:.0f}",
                sheet.heat(week.base_c),
                f"{under + 30:.0f}",
                say("{used:.0f} of {cells}", used=week.used, cells=course.bench.cells)
                if sheet.week > 62
                else f"{week.used:.0f}",
            )
            for week in course.weeks
        ),
    )
    words = format_html(
        '<text class="strong" x="3" y="{}">{}</text><text class="faint" x="{}" y="{}">{}</text>',
        f"{top + 15:.0f}",
        course.place.name,
        f"{12 + 8.2 * len(course.place.name):.0f}",
        f"{top + 15:.0f}",
        say("{cells} cells", cells=course.bench.cells),
    )
    strip = format_html(
        '<g class="bench" data-bench="{}"><rect class="bed" x="0" y="{}" width="{}" height="{}"/>{}{}{}</g>',
        course.place.code,
        f"{top:.0f}",
        f"{sheet.width:.0f}",
        f"{height:.0f}",
        words,
        bars,
        weeks,
    )
    return strip, height


def _bar(sheet: _Sheet, course: Course, one: _Laid, top: float) -> SafeString:
    bar, y = one.bar, top + one.lane * LANE
    batch = f"{bar.lot.code}:{bar.place.code}"
    where = where_key(course.place, bar.base_c)
    asked = urlencode({"batch": batch, "where": where, "start": bar.start.isoformat()})
    left = sheet.x(bar.start)
    return format_html(
        '<a class="bar {risk}{picked}" href="{to}?{asked}#look" data-batch="{batch}" data-where="{where}" data-start="{start}">'
        '<title>{title}</title><rect x="{x}" y="{y}" width="{w}" height="{h}"/><rect class="edge" x="{x}" y="{y}" width="6" height="{h}"/>'
        '<text x="{tx}" y="{ty}">{words}</text></a>',
        risk=risk_word(bar.outcome.risk),
        picked=" picked" if batch == sheet.picked else "",
        to=reverse("plan-benches"),
        asked=asked,
        batch=batch,
        where=where,
        start=bar.start.isoformat(),
        title=_title(sheet, bar),
        x=f"{left + 1:.1f}",
        y=f"{y:.0f}",
        w=f"{max(sheet.x(bar.off) - left - 2, 8):.1f}",
        h=BAR,
        tx=f"{left + 13:.1f}",
        ty=f"{y + BAR / 2 + 5:.0f}",
        words=one.words,
    )


def _title(sheet: _Sheet, bar: Bar) -> str:
    said = (
        say(
            "{count} of {lot}, {variety}, {heat}",
            count=bar.count,
            lot=named(bar.lot),
            variety=bar.lot.variety,
            heat=sheet.heat(bar.base_c),
        ),
        say("set {day}", day=f"{bar.start.day} {short_month(bar.start)}"),
        say("off {day}", day=f"{bar.off.day} {short_month(bar.off)}"),
        say("risk {risk:.0%}, {word}", risk=bar.outcome.risk, word=risk_word(bar.outcome.risk)),
    )
    return ", ".join(said)
