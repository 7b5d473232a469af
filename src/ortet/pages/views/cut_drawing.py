"""A shoot drawn as SVG, base to the left: its pieces, its nodes and where the knife goes through."""

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from ortet.decisions.cut import Cut
from ortet.wood.shoot import Shoot
from ortet.wood.speech import say
from ortet.wood.units import show_length

__all__ = ["draw"]

# Drawn for a phone: 12 units of text are 12 px at 390 px.
WIDTH, HEIGHT, LEFT, RIGHT = 360, 96, 6, 6
MIDDLE, THICKEST = 34, 30  # the axis of the shoot, and its thickest part [units]
NUMBER_AT, SCALE_AT = 66, 88


class _Scale:
    """Where millimetres come to lie."""

    def __init__(self, shoot: Shoot) -> None:
        self.shoot = shoot
        self.along = (WIDTH - LEFT - RIGHT) / shoot.length_mm
        self.across = THICKEST / max(shoot.base_mm, *shoot.diameters_mm)

    def x(self, mm: float) -> float:
        return LEFT + mm * self.along

    def half(self, mm: float) -> float:
        return self.shoot.diameter_at(mm) * self.across / 2

    def outline(self, start: float, stop: float) -> str:
        """Return the path round a stretch of the shoot."""
        inside = [mm for mm in self.shoot.nodes_mm if start < mm < stop]
        places = [start, *inside, stop]
        there = [f"{self.x(mm):.1f} {MIDDLE - self.half(mm):.1f}" for mm in places]
        back = [f"{self.x(mm):.1f} {MIDDLE + self.half(mm):.1f}" for mm in reversed(places)]
        return f"M{'L'.join(there + back)}Z"


def draw(cut: Cut, key: str, units: str) -> SafeString:
    """Draw how a shoot is cut; title and sentence are read out in its stead."""
    shoot, scale = cut.shoot, _Scale(cut.shoot)
    pieces = format_html_join(
        "",
        '<path class="band" d="{}"/><text class="strong" x="{}" y="{}" text-anchor="middle">{}</text>',
        (
            (
                scale.outline(piece.from_mm, piece.to_mm),
                f"{scale.x((piece.from_mm + piece.to_mm) / 2):.1f}",
                NUMBER_AT,
                number,
            )
            for number, piece in enumerate(cut.pieces, 1)
        ),
    )
    whole = format_html('<path class="axis" fill="none" d="{}"/>', scale.outline(0.0, shoot.length_mm))
    buds = format_html_join(
        "",
        '<circle class="event" cx="{}" cy="{}" r="2"/>',
        (
            (f"{scale.x(mm):.1f}", f"{MIDDLE + (-1) ** k * (scale.half(mm) + 1.5):.1f}")
            for k, mm in enumerate(shoot.nodes_mm)
        ),
    )
    places = {mm for piece in cut.pieces for mm in (piece.from_mm, piece.to_mm) if 0 < mm < shoot.length_mm}
    knife = format_html_join(
        "",
        '<path class="limit" d="M{0} {1}V{2}"/>',
        ((f"{scale.x(mm):.1f}", MIDDLE - 22, MIDDLE + 22) for mm in sorted(places)),
    )
    ends = format_html(
        '<text x="{}" y="{}">{}</text><text x="{}" y="{}" text-anchor="end">{}, {}</text>',
        LEFT,
        SCALE_AT,
        say("base"),
        WIDTH - RIGHT,
        SCALE_AT,
        show_length(shoot.length_mm, units),
        say("tip") if shoot.has_tip else say("end"),
    )
    said = say(
        "{count} pieces: {grades}",
        count=len(cut.pieces),
        grades=", ".join(piece.grade for piece in cut.pieces),
    )
    return format_html(
        '<svg viewBox="0 0 {} {}" role="img" aria-labelledby="{key}-t {key}-d"><title id="{key}-t">{}</title>'
        '<desc id="{key}-d">{}.</desc>{}{}{}{}{}</svg>',
        WIDTH,
        HEIGHT,
        say("Shoot {shoot}", shoot=shoot.name) if shoot.name else say("The shoot"),
        said,
        pieces,
        whole,
        buds,
        knife,
        ends,
        key=key,
    )
