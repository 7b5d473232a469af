"""Codes on the screen that a phone's camera reads, by day and by night: dark on light in both, with the margin it needs."""

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

__all__ = ["printed", "scannable"]

QUIET = 4  # modules of margin (ISO/IEC 18004, 9.1) [published]


def scannable(text: str, title: str) -> SafeString:
    """Return a code as SVG, to stand in a page."""
    import segno

    drawn = segno.make(text, error="m", micro=False).svg_inline(
        border=QUIET, dark="#000", light="#fff", omitsize=True, svgclass=None, lineclass=None
    )
    return format_html(
        '<div class="scan" role="img" aria-label="{}">{}</div>',
        title,
        mark_safe(drawn),  # segno's own drawing
    )


WHITE_ON_BLACK, AS_BEFORE = "\033[97;40m", "\033[0m"


def printed(text: str, *, in_colour: bool) -> str:
    """Return a code for a terminal; in colour it is right on a light one too."""
    import io

    import segno

    out = io.StringIO()
    segno.make(text, error="l", micro=False).terminal(out, border=QUIET, compact=True)
    lines = out.getvalue().splitlines()
    return "\n".join(f"{WHITE_ON_BLACK}{line}{AS_BEFORE}" if in_colour else line for line in lines)
