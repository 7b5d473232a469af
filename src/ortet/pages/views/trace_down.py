"""A trace drawn downward, for a phone: a row for each thing, joined by lines in lanes at its left."""

from collections import Counter
from dataclasses import dataclass
from textwrap import wrap

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from ortet.pages.templatetags.say import on_day
from ortet.wood.speech import say, to_say
from ortet.work.trace import Node, Row, Trace

from .trace_shapes import led, shape

__all__ = ["down"]

BEGAN = {"mother": to_say("{count} taken"), "sender": to_say("{count} received")}

WIDTH, LANE, LEFT, LINE, LEAST, TURN = 358, 19, 11, 19, 52, 11
LETTER = 7.4  # usual width of one, at 14 px
MOST_LANES = 9  # deeper rows share the last, so that words keep their room


@dataclass(slots=True)
class _Laid:
    """A row where it lies."""

    row: Row
    lane: int
    sources: list[int]  # rows
    lines: list[str]
    y: float = 0.0
    tall: float = 0.0

    @property
    def x(self) -> float:
        return LEFT + min(self.lane, MOST_LANES - 1) * LANE


def _lanes(rows: list[Row]) -> list[_Laid]:
    """Give each row a lane: the last thing to come of another goes on in its lane, the rest branch off to the right."""
    at: dict[str, int] = {}
    laid: list[_Laid] = []
    of = [list(dict.fromkeys(flow.source for flow in row.into)) for row in rows]
    left = Counter(source for sources in of for source in sources)
    busy: dict[int, str] = {}
    for number, (row, sources) in enumerate(zip(rows, of, strict=True)):
        left.subtract(sources)
        ended = [laid[at[source]].lane for source in sources if not left[source]]
        for lane in ended:
            busy.pop(lane, None)
        first = min((laid[at[source]].lane for source in sources), default=-1)
        lane = min(ended) if ended else next(n for n in range(first + 1, len(rows) + 1) if n not in busy)
        laid.append(_Laid(row, lane, [at[source] for source in sources], []))
        if row.node.kind != "buyer":
            at[row.node.key] = number
            if left[row.node.key]:
                busy[lane] = row.node.key
    return laid


def _lines(row: Row, units: str, letters: int) -> list[str]:
    node = row.node
    came = (
        f"{row.count} {row.came}"
        if row.came
        else say(BEGAN[node.kind], count=row.count)
        if node.kind in BEGAN
        else ""
    )
    day = on_day(row.at, units) if row.at else ""
    said = [
        node.variety if node.kind == "mother" else "",
        ", ".join(filter(None, (came, day))),
        node.note,
        node.ends,
    ]
    return [line for words in said if words for line in wrap(words, letters)]


def _heading(node: Node) -> str:
    mark = f" ({node.mark})" if node.mark else ""
    return say("sold to {buyer}", buyer=node.name) if node.kind == "buyer" else f"{node.name}{mark}"


def down(traced: Trace, units: str) -> SafeString:
    """Draw a trace from top to bottom; what it says stands in the list beside it, too."""
    laid = _lanes(traced.rows)
    words = LEFT + min(max((one.lane for one in laid), default=0), MOST_LANES - 1) * LANE + 16
    y = 0.0
    for one in laid:
        one.lines = _lines(one.row, units, int((WIDTH - words) / LETTER))
        one.y, one.tall = y, max(LEAST, 24 + LINE * len(one.lines) + 10)
        y += one.tall
    return format_html(
        '<svg class="down" viewBox="0 0 {w} {h}" width="{w}" height="{h}" role="group" aria-label="{says}">{lines}{rows}</svg>',
        says=say("Drawing of the trace"),
        w=WIDTH,
        h=f"{y:.0f}",
        lines=_joins(laid),
        rows=format_html_join("", "{}", ((_row(one, words),) for one in laid)),
    )


def _joins(laid: list[_Laid]) -> SafeString:
    """Draw the lines: trunks first, then branches with a rim, so that a branch is seen to cross and not to join."""
    last: dict[int, float] = {}
    branches = []
    for one in laid:
        for source in one.sources:
            x, y = laid[source].x, one.y + 14
            straight = x == one.x
            last[source] = max(last.get(source, 0), y if straight else y - TURN)
            if not straight:
                turn = TURN if one.x > x else -TURN
                branches.append((f"M{x} {y - TURN}q0 {TURN} {turn} {TURN}H{one.x}", one.row.node.role))
    trunks = [
        (f"M{laid[source].x} {laid[source].y + 14}V{y}", laid[source].row.node.role)
        for source, y in last.items()
    ]
    return format_html(
        "{}{}",
        format_html_join("", '<path class="join is-{1}" d="{0}"/>', trunks),
        format_html_join("", '<path class="rim" d="{0}"/><path class="join is-{1}" d="{0}"/>', branches),
    )


def _row(one: _Laid, words: float) -> SafeString:
    node = one.row.node
    said = format_html(
        '<rect class="hit" x="0" y="{}" width="{}" height="{}"/>{}<text class="strong" x="{}" y="{}">{}</text>{}',
        f"{one.y:.0f}",
        WIDTH,
        f"{one.tall:.0f}",
        shape(node, one.x, one.y + 14),
        words,
        f"{one.y + 19:.0f}",
        _heading(node),
        format_html_join(
            "",
            '<text x="{}" y="{}">{}</text>',
            ((words, f"{one.y + 19 + LINE * number:.0f}", line) for number, line in enumerate(one.lines, 1)),
        ),
    )
    return led(node, said)
