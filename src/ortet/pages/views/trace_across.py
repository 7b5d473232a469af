"""A trace drawn across, for a desk: a column for each generation, lines as thick as what flowed along them.

The layered drawing of Sugiyama, Tagawa and Toda 1981 (IEEE Trans. Syst. Man Cybern. 11:109-125) in its plainest form: longest
path for the columns, a stand-in in each column that a line passes, and columns sorted by the middle of their neighbours.
[published method]
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from ortet.wood.speech import say, to_say
from ortet.work.trace import Flow, Node, Trace

from .trace_shapes import led, shape

__all__ = ["across"]

WIDTH, GAP, BOX, LINE, THIN, TOP = 1180, 14, 64, 17, 16, 6
SWEEPS = 6  # of sorting; more change little
LETTER = 7.2
MOST = 90  # boxes; a drawing of more is read by nobody
THICKEST = 14


@dataclass(slots=True, eq=False)
class _Spot:
    """A node, or a line's stand-in in a column that it passes."""

    column: int
    node: Node | None = None
    before: list["_Spot"] = field(default_factory=list)
    after: list["_Spot"] = field(default_factory=list)
    rank: float = 0.0
    y: float = 0.0  # of its middle

    @property
    def tall(self) -> float:
        return BOX if self.node else THIN


def _columns(traced: Trace) -> dict[str, int]:
    """Return the column of each node: the longest way to it; buyers stand last."""
    column = dict.fromkeys(traced.nodes, 0)
    out = defaultdict(list)
    for flow in traced.flows:
        out[flow.source].append(flow.target)
    for row in traced.rows:  # each below all that it came from
        for target in out[row.node.key]:
            column[target] = max(column[target], column[row.node.key] + 1)
    last = max((column[key] for key, node in traced.nodes.items() if node.kind == "buyer"), default=0)
    return column | {key: last for key, node in traced.nodes.items() if node.kind == "buyer"}


def _spots(traced: Trace) -> tuple[list[list[_Spot]], list[tuple[Flow, list[_Spot]]]]:
    """Return the columns with what stands in them, and each flow's way through them."""
    column = _columns(traced)
    columns: list[list[_Spot]] = [[] for _ in range(max(column.values(), default=0) + 1)]
    of: dict[str, _Spot] = {}
    for row in traced.rows:
        if row.node.key not in of:
            of[row.node.key] = _Spot(column[row.node.key], row.node)
            columns[column[row.node.key]].append(of[row.node.key])
    ways = []
    for flow in traced.flows:
        way = [of[flow.source]]
        for between in range(column[flow.source] + 1, column[flow.target]):
            way.append(_Spot(between))
            columns[between].append(way[-1])
        way.append(of[flow.target])
        for one, two in pairwise(way):
            one.after.append(two)
            two.before.append(one)
        ways.append((flow, way))
    return columns, ways


def _sort(columns: list[list[_Spot]]) -> None:
    """Sort each column by the middle of its neighbours, forth and back."""
    for spots in columns:
        _number(spots)
    for sweep in range(SWEEPS):
        forth = sweep % 2 == 0
        for spots in columns if forth else reversed(columns):
            for spot in spots:
                near = spot.before if forth else spot.after
                spot.rank = sum(other.rank for other in near) / len(near) if near else spot.rank
            spots.sort(key=lambda spot: spot.rank)
            _number(spots)


def _number(spots: Iterable[_Spot]) -> None:
    for rank, spot in enumerate(spots):
        spot.rank = float(rank)


def _place(columns: list[list[_Spot]]) -> float:
    """Give each its height, as near to what it came from as the one above lets it; return the lowest edge."""
    for spots in columns:
        under = float(TOP)
        for spot in spots:
            wished = sum(other.y for other in spot.before) / len(spot.before) if spot.before else 0.0
            spot.y = max(under + spot.tall / 2, wished)
            under = spot.y + spot.tall / 2 + GAP
    for spots in reversed(
        columns[:-1]
    ):  # those that nothing holds go down to the middle of what came of them
        above = max(spot.y + spot.tall / 2 for spots in columns for spot in spots)
        for spot in reversed(spots):
            wished = sum(other.y for other in spot.after) / len(spot.after) if spot.after else spot.y
            spot.y = min(max(spot.y, wished), above - spot.tall / 2)
            above = spot.y - spot.tall / 2 - GAP
    return max(spot.y + spot.tall / 2 for spots in columns for spot in spots) + TOP


def across(traced: Trace) -> SafeString | None:
    """Draw a trace from left to right; None where it holds more than a drawing can show."""
    if not 0 < len(traced.nodes) <= MOST:
        return None
    columns, ways = _spots(traced)
    _sort(columns)
    height = _place(columns)
    pitch = min(WIDTH / len(columns), 250)
    box = pitch - 46 if len(columns) > 1 else pitch
    most = max((flow.count for flow in traced.flows), default=1)
    return format_html(
        '<svg class="across" viewBox="0 0 {w} {h}" width="{w}" height="{h}" role="group" aria-label="{says}">{lines}{boxes}</svg>',
        w=f"{pitch * len(columns) - 46 + 2:.0f}",
        h=f"{height:.0f}",
        says=say("Drawing of the trace"),
        lines=format_html_join("", "{}", ((_line(flow, way, pitch, box, most),) for flow, way in ways)),
        boxes=format_html_join(
            "",
            "{}",
            ((_box(spot, spot.node, pitch, box),) for spots in columns for spot in spots if spot.node),
        ),
    )


def _line(flow: Flow, way: list[_Spot], pitch: float, box: float, most: int) -> SafeString:
    """Draw a flow: as thick as its count, with the count before it comes in where several do."""
    path, x, y = "", 0.0, 0.0
    for number, spot in enumerate(way):
        left = spot.column * pitch + 1
        if number == 0:
            x, y = left + box, spot.y
            path = f"M{x:.1f} {y:.1f}"
            continue
        bend = (left - x) / 2
        path += f"C{x + bend:.1f} {y:.1f} {left - bend:.1f} {spot.y:.1f} {left:.1f} {spot.y:.1f}"
        if not spot.node:
            path += f"h{box:.1f}"
        x, y = left + box, spot.y
    last = way[-1]
    label = SafeString("")
    if len(last.before) > 1:
        label = format_html(
            '<text class="flow" x="{}" y="{}" text-anchor="end">{}</text>', f"{last.column * pitch - 5:.1f}",
            f"{_into(last, way[-2]):.1f}", flow.count,
        )  # fmt: skip
    role = last.node.role if last.node else ""
    return format_html(
        '<path class="stream is-{}" stroke-width="{}" d="{}"><title>{} {}</title></path>{}', role,
        f"{max(2.0, THICKEST * flow.count / most):.1f}", path, flow.count, flow.what, label,
    )  # fmt: skip


def _into(last: _Spot, came: _Spot) -> float:
    """Return the height of a flow's count beside the box that it goes into, one under the other."""
    order = sorted(last.before, key=lambda spot: spot.y)
    return last.y + 5 + (order.index(came) - (len(order) - 1) / 2) * 15


def _fit(words: str, box: float) -> str:
    most = int((box - 12) / LETTER)
    return words if len(words) <= most else f"{words[: most - 1].rstrip()}…"


def _left(node: Node) -> str:
    """Say in few words what of it is still here and what was lost."""
    gone = node.given_up + node.lost
    return ", ".join(
        filter(
            None,
            (
                say("{count} here", count=node.on_hand) if node.on_hand else "",
                say("{count} gone", count=gone) if gone else "",
            ),
        )
    )


def _box(spot: _Spot, node: Node, pitch: float, box: float) -> SafeString:
    x, y = spot.column * pitch + 1, spot.y - BOX / 2
    came = {
        "mother": to_say("{count} taken"),
        "sender": to_say("{count} received"),
        "buyer": to_say("{count} bought"),
    }.get(node.kind, to_say("{count} in all"))
    lines = [
        say(came, count=node.count) if node.count else "",
        _left(node) or node.note or node.variety * (node.kind != "buyer"),
    ]
    heading = (
        node.short
        if node.kind == "lot"
        else node.name.removeprefix(say("mother plant {accession}", accession="")).removeprefix(
            say("sender {name}", name="")
        )
    )
    words = format_html_join(
        "",
        '<text x="{}" y="{}">{}</text>',
        (
            (f"{x + 9:.1f}", f"{y + 20 + LINE * n:.1f}", _fit(line, box))
            for n, line in enumerate(filter(None, lines), 1)
        ),
    )
    said = format_html(
        "<title>{}</title><rect class=\"box\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"4\"/>{}<text class=\"strong\" x=\"{}\" y=\"{}\">{}</text>{}",
        ", ".join(filter(None, (node.name, node.mark, node.variety, lines[0], node.note, node.ends))),
        f"{x:.1f}",
        f"{y:.1f}",
        f"{box:.1f}",
        BOX,
        shape(node, x + 18, y + 15),
        f"{x + 33:.1f}",
        f"{y + 20:.1f}",
        _fit(heading, box - 24),
        words,
    )  # fmt: skip
    return led(node, said)
