"""A trial drawn as SVG: what its treatments did, with their intervals; and its trays, plot by plot."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from ortet.evidence.trials import Design, Verdict, per_hundred
from ortet.pages.chart import value_ticks
from ortet.wood.speech import say
from ortet.work.trials.look import PlotView

__all__ = ["effects", "told", "tray"]

# Drawn for a phone: 12 units of text are 12 px at 390 px.
WIDTH, LEFT, RIGHT, TOP, ROW = 360, 12, 12, 18, 40
CELL = 48  # a plot is to be hit with a thumb
SHADES = 4


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    low: float
    middle: float
    high: float
    is_head: bool


def _rows(verdict: Verdict, treatments: Sequence[str]) -> list[_Row]:
    rows = []
    for effect in verdict.effects:
        name = treatments[effect.treatment]
        rows.append(_Row(name, effect.low, effect.difference, effect.high, True))
        rows += [_Row(one.variety, one.low, one.difference, one.high, False) for one in effect.varieties]
    return rows


def effects(verdict: Verdict, treatments: Sequence[str], says: str) -> SafeString:
    """Draw what each treatment did against the check, in plants per hundred: a dot, and a bar for what may be."""
    rows = _rows(verdict, treatments)
    reach = max(0.1, *(max(abs(row.low), abs(row.high)) for row in rows))
    reach = min(1.0, ceil(10.0 * reach) / 10.0)
    bottom = TOP + ROW * len(rows)

    def x(share: float) -> str:
        return f"{LEFT + (share + reach) / (2.0 * reach) * (WIDTH - LEFT - RIGHT):.1f}"

    ticks = value_ticks(-100.0 * reach, 100.0 * reach, 5)
    grid = format_html_join(
        "",
        '<path class="{}" d="M{} {}V{}"/><text x="{}" y="{}" text-anchor="middle">{}</text>',
        (
            ("axis" if abs(tick) < 1e-9 else "grid", x(tick / 100), TOP, bottom, x(tick / 100), bottom + 14, f"{abs(tick):.0f}")
            for tick in ticks
        ),
    )  # fmt: skip
    ends = format_html(
        '<text x="{}" y="{y}">{}</text><text x="{}" y="{y}" text-anchor="end">{}</text>',
        LEFT, say("fewer than with {check}", check=treatments[0]), WIDTH - RIGHT, say("more"), y=TOP - 6,
    )  # fmt: skip
    bars = format_html_join(
        "",
        '<text class="{}" x="{}" y="{}">{}</text><path class="middle" d="M{} {}H{}"/><circle class="event" cx="{}" cy="{}" r="{}"/>',
        (
            (
                "strong" if row.is_head else "faint", LEFT if row.is_head else LEFT + 10, TOP + ROW * k + 15, row.name,
                x(row.low), TOP + ROW * k + 28, x(row.high), x(row.middle), TOP + ROW * k + 28, 5 if row.is_head else 3.5,
            )
            for k, row in enumerate(rows)
        ),
    )  # fmt: skip
    return format_html(
        '<svg viewBox="0 0 {} {}" role="img" aria-labelledby="effects-t effects-d"><title id="effects-t">{}</title>'
        '<desc id="effects-d">{}</desc>{}{}{}</svg>',
        WIDTH, bottom + 20, say("What the treatments did"), says, grid, ends, bars,
    )  # fmt: skip


def told(verdict: Verdict, treatments: Sequence[str]) -> list[tuple[str, str, str, str]]:
    """Return the drawing's numbers: whose, low, middle, high."""
    return [
        (row.name, *map(per_hundred, (row.low, row.middle, row.high))) for row in _rows(verdict, treatments)
    ]


def tray(design: Design, plots: Sequence[PlotView], number: int, trial: int) -> SafeString:
    """Draw one tray with a link on each plot; a plot shows its letter, and how many have rooted once counted."""
    width, height = CELL * design.tray.columns, CELL * design.tray.rows
    drawn = format_html_join("", "{}", ((_plot(one, trial),) for one in plots if one.plot.tray == number))
    return format_html(
        '<svg viewBox="-2 -2 {} {}" width="{}" height="{}" role="group" aria-label="{}">{}{}</svg>',
        width + 4, height + 4, width + 4, height + 4, say("Tray {tray} of trial {trial}", tray=number, trial=trial), _empty(design), drawn,
    )  # fmt: skip


def _empty(design: Design) -> SafeString:
    return format_html_join(
        "",
        '<rect class="cell" x="{}" y="{}" width="{}" height="{}"/>',
        (
            (CELL * c, CELL * r, CELL, CELL)
            for r in range(design.tray.rows)
            for c in range(design.tray.columns)
        ),
    )


def _plot(one: PlotView, trial: int) -> SafeString:
    here = set(one.plot.cells)
    cells = format_html_join(
        "",
        '<rect class="shade{}" x="{}" y="{}" width="{}" height="{}"/>',
        (
            (one.plot.treatment % SHADES, CELL * (c - 1), CELL * (r - 1), CELL, CELL)
            for r, c in one.plot.cells
        ),
    )
    edges = []
    for r, c in one.plot.cells:
        x, y = CELL * (c - 1), CELL * (r - 1)
        edges += [f"M{x} {y}h{CELL}"] * ((r - 1, c) not in here) + [f"M{x} {y + CELL}h{CELL}"] * (
            (r + 1, c) not in here
        )
        edges += [f"M{x} {y}v{CELL}"] * ((r, c - 1) not in here) + [f"M{x + CELL} {y}v{CELL}"] * (
            (r, c + 1) not in here
        )
    row, column = one.plot.cells[0]
    struck = one.told.struck if one.told else None
    seen = "" if struck is None or one.rooted is None else f"{one.rooted}/{struck}"
    found = (
        say("not struck")
        if struck is None
        else say("not counted")
        if one.rooted is None
        else say("{rooted} of {struck} rooted", rooted=one.rooted, struck=struck)
    )
    said = say(
        "Plot {plot}, {letter}, {variety}: {found}",
        plot=one.plot.number,
        letter=one.letter,
        variety=one.variety,
        found=found,
    )
    return format_html(
        '<a class="plot" href="{}" aria-label="{}">{}<path class="edge" d="{}"/><text class="strong" x="{x}" y="{}">{}{}</text>'
        '<text x="{x}" y="{}">{}</text></a>',
        reverse("trial-plot", args=[trial, one.plot.number]), said, cells, "".join(edges), CELL * (row - 1) + 19, one.letter,
        one.plot.number, CELL * (row - 1) + 37, seen, x=CELL * (column - 1) + 4,
    )  # fmt: skip
