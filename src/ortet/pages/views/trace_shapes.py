"""What a trace's drawings share: the shape of each kind of thing, and where a press on it leads."""

from urllib.parse import quote

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from ortet.wood.speech import say
from ortet.work.trace import Node

__all__ = ["led", "shape", "to"]

SHAPES = {
    "mother": "M-8 0a8 8 0 1 0 16 0a8 8 0 1 0 -16 0z",
    "sender": "M-8 -5L0 -8L8 -5V6H-8zM-8 -5L0 -2L8 -5M0 -2V6",  # a box
    "lot": "M-9 -6H5a4 6 0 0 1 0 12H-9z",  # a wrap label
    "batch": "M-8 -7H8V7H-8zM-8 0H8M0 -7V7",  # a tray of cells
    "ground": "M-8 -6H8L5 7H-5z",  # a pot
    "buyer": "M-7 -7H7V7H-7zM-7 -2H7",  # a parcel
}


def shape(node: Node, x: float, y: float) -> SafeString:
    """Draw the shape of a node round a point."""
    return format_html(
        '<path class="shape {} is-{}" transform="translate({} {})" d="{}"/>', node.kind, node.role, f"{x:.1f}", f"{y:.1f}",
        SHAPES[node.kind],
    )  # fmt: skip


def to(node: Node) -> str:
    """Return where a press on a node leads; a buyer's leads to all that they bought."""
    if node.kind == "buyer":
        return f"{reverse('trace')}?code={quote(f'buyer {node.name}')}"
    if node.kind == "sender":
        return f"{reverse('parcels')}?q={quote(node.name.removeprefix(say('sender {name}', name='')))}"
    return reverse({"lot": "lot", "mother": "mother"}.get(node.kind, "place"), args=[node.code])


def led(node: Node, drawn: SafeString) -> SafeString:
    """Make a drawing of a node a link."""
    return format_html('<a class="thing {} is-{}" href="{}">{}</a>', node.kind, node.role, to(node), drawn)
