"""The elements of a picture as SVG, with no more digits than an eye can tell."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from html import escape

from slackwater.analysis.report.svg import INK
from slackwater.analysis.wording.characters import printable

Point = tuple[float, float]

SIZE = 9.5  # of text [px of the picture]
_NARROW, _WIDE = "iljtfr.,:;'|()[] ", "mwMW%@—+−"


def number(value: float) -> str:
    """A coordinate, to a tenth of a pixel."""
    text = f"{value:.1f}"
    return text.removesuffix(".0").replace("-0.0", "0")


def text_width(words: str, size: float = SIZE) -> float:
    """About how wide text is, whatever sans-serif face it is set in. [px]"""
    widths = (0.36 if c in _NARROW else 0.92 if c in _WIDE else 0.63 for c in words)
    return size * sum(widths)


def text(
    at: Point,
    words: str,
    *,
    anchor: str = "start",
    size: float = SIZE,
    color: str = INK,
    upwards: bool = False,
) -> str:
    """Words with their foot at a point; control characters are made visible."""
    x, y = (number(each) for each in at)
    turned = f' transform="rotate(-90 {x} {y})"' if upwards else ""
    side = "" if anchor == "start" else f' text-anchor="{anchor}"'
    return (
        f'<text x="{x}" y="{y}"{side} font-size="{number(size)}" fill="{color}"{turned}>'
        f"{escape(printable(words))}</text>"
    )


def line(start: Point, end: Point, color: str, width: float = 1.0, dashes: str = "") -> str:
    """A straight line."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    (x1, y1), (x2, y2) = start, end
    return (
        f'<path d="M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}" stroke="{color}" '
        f'stroke-width="{number(width)}"{dashed}/>'
    )


def polyline(points: Iterable[Point], color: str, width: float = 1.4, dashes: str = "") -> str:
    """A line through points."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<path d="{_path(points)}" fill="none" stroke="{color}" '
        f'stroke-width="{number(width)}"{dashed}/>'
    )


def area(points: Iterable[Point], color: str, opacity: float) -> str:
    """A filled shape."""
    return f'<path d="{_path(points)}Z" fill="{color}" fill-opacity="{opacity:g}"/>'


def box(start: Point, end: Point, color: str) -> str:
    """A filled rectangle between two corners."""
    (x1, y1), (x2, y2) = start, end
    return area([(x1, y1), (x2, y1), (x2, y2), (x1, y2)], color, 1.0)


def _path(points: Iterable[Point]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def mark(shape: str, at: Point, radius: float, color: str, filled: bool = True) -> str:
    """A mark about a point: one of o s ^ v < > D P X x."""
    inside = color if filled else "#fff"
    style = f'fill="{inside}" stroke="{color}" stroke-width="1"'
    x, y = at
    if shape == "o":
        return f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(radius)}" {style}/>'
    if shape == "x":
        a, b = radius, -radius
        strokes = f"M{number(x + b)} {number(y + b)}L{number(x + a)} {number(y + a)}"
        strokes += f"M{number(x + b)} {number(y + a)}L{number(x + a)} {number(y + b)}"
        return f'<path d="{strokes}" stroke="{color}" stroke-width="1.3"/>'
    points = [(x + radius * u, y + radius * v) for u, v in _SHAPES[shape]]
    return f'<path d="{_path(points)}Z" {style}/>'


def _turned(corners: Sequence[Point], turn: float) -> list[Point]:
    c, s = math.cos(turn), math.sin(turn)
    return [(u * c - v * s, u * s + v * c) for u, v in corners]


_TRIANGLE: list[Point] = [(0.0, -1.15), (1.05, 0.8), (-1.05, 0.8)]
_SQUARE: list[Point] = [(-0.9, -0.9), (0.9, -0.9), (0.9, 0.9), (-0.9, 0.9)]
_PLUS: list[Point] = [
    *((-0.4, -1.1), (0.4, -1.1), (0.4, -0.4), (1.1, -0.4), (1.1, 0.4), (0.4, 0.4)),
    *((0.4, 1.1), (-0.4, 1.1), (-0.4, 0.4), (-1.1, 0.4), (-1.1, -0.4), (-0.4, -0.4)),
]
_SHAPES: dict[str, list[Point]] = {
    "^": _TRIANGLE,
    ">": _turned(_TRIANGLE, math.pi / 2),
    "v": _turned(_TRIANGLE, math.pi),
    "<": _turned(_TRIANGLE, -math.pi / 2),
    "s": _SQUARE,
    "D": _turned(_SQUARE, math.pi / 4),
    "P": _PLUS,
    "X": _turned(_PLUS, math.pi / 4),
}


def svg(elements: Iterable[str], width: float, height: float, label: str) -> str:
    """The elements as an `<svg>` to stand inside HTML, with what it shows in words."""
    return (
        f'<svg viewBox="0 0 {number(width)} {number(height)}" role="img" '
        f'aria-label="{escape(printable(label))}" font-family="sans-serif" fill="none">\n'
        + "\n".join(elements)
        + "\n</svg>"
    )
