"""One look for every figure of docs/science: axes with units, a light grid, a key, on white so that it reads in the dark too."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

import numpy as np

__all__ = ["INKS", "Frame", "picture"]

HIGH, LEFT, RIGHT, TOP, BOTTOM = 320, 52, 16, 46, 46
INK, GRID = "#222", "#e4e4e4"
# told apart by people with any colour vision, and dark enough on white (Wong 2011, Nat. Methods 8:441, darkened)
INKS = ("#0b6a9c", "#c44e00", "#00795a", "#a3478a", "#6b5b00", "#333333")
DASHES = ("", "7 3", "2 3", "9 3 2 3", "4 2", "12 4")


class Frame:
    """A pair of axes: data to picture, and the marks drawn so far."""

    def __init__(
        self,
        x: tuple[float, float],
        y: tuple[float, float],
        *,
        x_name: str,
        y_name: str,
        x_marks: Iterable[float] | Iterable[tuple[float, str]],
        y_marks: Iterable[float] | Iterable[tuple[float, str]],
        wide: int = 400,
        left: int = LEFT,
        high: int = HIGH,
    ) -> None:
        self.x, self.y, self.wide, self.left, self.high = x, y, wide, left, high
        self.marks: list[str] = []
        for value, words in map(_named, x_marks):
            across = self.at(value, y[0])[0]
            self._rule((across, TOP), (across, high - BOTTOM), GRID)
            self.text(across, high - BOTTOM + 17, words)
        for value, words in map(_named, y_marks):
            down = self.at(x[0], value)[1]
            self._rule((left, down), (wide - RIGHT, down), GRID)
            self.text(left - 7, down + 4, words, "end")
        self._rule((left, TOP), (left, high - BOTTOM), INK)
        self._rule((left, high - BOTTOM), (wide - RIGHT, high - BOTTOM), INK)
        self.text((left + wide - RIGHT) / 2, high - 9, x_name)
        self.text(8, 20, y_name, "start", weight="600")
        self.keys = 0

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Return where a value lies on the picture."""
        across = (x - self.x[0]) / (self.x[1] - self.x[0])
        up = (y - self.y[0]) / (self.y[1] - self.y[0])
        return self.left + across * (self.wide - RIGHT - self.left), self.high - BOTTOM - up * (
            self.high - BOTTOM - TOP
        )

    def text(
        self, x: float, y: float, words: str, anchor: str = "middle", ink: str = INK, weight: str = "400"
    ) -> None:
        """Write at a place of the picture."""
        self.marks.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{ink}" font-weight="{weight}">{escape(words)}</text>'
        )

    def note(self, x: float, y: float, words: str, anchor: str = "start", ink: str = INK) -> None:
        """Write at a place of the data, a little above it."""
        across, down = self.at(x, y)
        self.text(across, down - 5, words, anchor, ink)

    def line(self, xs: Sequence[float], ys: Sequence[float], n: int, thin: bool = False) -> None:
        """Draw a line in the nth ink and dash; it is cut where it leaves the axes or is not a number."""
        xs, ys = np.asarray(xs, dtype=float), np.asarray(ys, dtype=float)
        inside = np.isfinite(ys) & (ys >= self.y[0] - 1e-9) & (ys <= self.y[1] + 1e-9)
        edges = np.flatnonzero(np.diff(np.r_[False, inside, False].astype(int)))
        for start, stop in zip(edges[::2], edges[1::2], strict=True):
            there = (self.at(x, y) for x, y in zip(xs[start:stop], ys[start:stop], strict=True))
            points = " ".join(f"{a:.1f},{b:.1f}" for a, b in there)
            self.marks.append(
                f'<polyline points="{points}" fill="none" stroke="{INKS[n]}" '
                f'stroke-width="{1.2 if thin else 2.2}" stroke-dasharray="{DASHES[n]}"/>'
            )

    def box(self, x: tuple[float, float], y: tuple[float, float], ink: str, opacity: float = 0.15) -> None:
        """Shade a piece of the data."""
        (left, top), (right, bottom) = self.at(x[0], y[1]), self.at(x[1], y[0])
        self.marks.append(
            f'<rect x="{left:.1f}" y="{top:.1f}" width="{right - left:.1f}" height="{bottom - top:.1f}" '
            f'fill="{ink}" fill-opacity="{opacity:.2f}"/>'
        )

    def dot(self, x: float, y: float, n: int = 0) -> None:
        """Mark one value."""
        across, down = self.at(x, y)
        self.marks.append(f'<circle cx="{across:.1f}" cy="{down:.1f}" r="4" fill="{INKS[n]}"/>')

    def key(self, n: int, words: str, *, x: float = 14.0, y: float = 12.0) -> None:
        """Name the nth line, one below the other from a corner of the axes; a dot where x and y are not moved."""
        across, down = self.left + x, TOP + y + 17 * self.keys
        wide = 26 + 6.4 * len(words) + 6
        self.marks.append(
            f'<rect x="{across - 4:.1f}" y="{down - 12:.1f}" width="{wide + 4:.1f}" height="17" fill="#fff" fill-opacity="0.85"/>'
            f'<path d="M{across:.1f} {down - 4:.1f}h22" stroke="{INKS[n]}" stroke-width="2.2" '
            f'stroke-dasharray="{DASHES[n]}"/>'
        )
        self.text(across + 27, down, words, "start", INKS[n])
        self.keys += 1

    def _rule(self, start: tuple[float, float], end: tuple[float, float], ink: str) -> None:
        (a, b), (c, d) = start, end
        self.marks.append(f'<path d="M{a:.1f} {b:.1f}L{c:.1f} {d:.1f}" stroke="{ink}" fill="none"/>')


def _named(mark: float | tuple[float, str]) -> tuple[float, str]:
    return mark if isinstance(mark, tuple) else (mark, f"{mark:g}")


def picture(*frames: Frame) -> str:
    """Return frames side by side as one SVG."""
    out, shift, high = [], 0, max(frame.high for frame in frames)
    for frame in frames:
        out += [f'<g transform="translate({shift} 0)">', *frame.marks, "</g>"]
        shift += frame.wide
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {shift} {high}" width="{shift}" height="{high}" '
        'font-family="sans-serif" font-size="12">'
    )
    ground = (
        f'<rect x="0.5" y="0.5" width="{shift - 1}" height="{high - 1}" rx="6" fill="#fff" stroke="#d0d0d0"/>'
    )
    return "\n".join([head, ground, *out, "</svg>"]) + "\n"
