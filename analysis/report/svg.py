"""Figures to inline SVG: the same bytes every time, text as text, ids that cannot clash."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable
from html import escape
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK = "#1b2a33"
FAINT = "#5d6b73"
RULE = "#c9d1d5"
SHADE = "#e6eaec"

# Okabe & Ito, "Color Universal Design", 2008: a set that the colour-blind can tell apart.
BLACK = "#000000"
ORANGE = "#e69f00"
SKY = "#56b4e9"
GREEN = "#009e73"
BLUE = "#0072b2"
VERMILION = "#d55e00"
PURPLE = "#cc79a7"

_STYLE: dict[str, Any] = {
    "svg.fonttype": "none",
    "text.parse_math": False,
    "font.family": "sans-serif",
    "font.sans-serif": ["DejaVu Sans"],
    "font.size": 9.5,
    "axes.edgecolor": FAINT,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.titlelocation": "left",
    "axes.titlesize": 9.5,
    "axes.unicode_minus": True,
    "text.color": INK,
    "xtick.color": FAINT,
    "ytick.color": FAINT,
    "xtick.labelcolor": INK,
    "ytick.labelcolor": INK,
    "xtick.labelsize": 9.0,
    "ytick.labelsize": 9.0,
    "legend.frameon": False,
    "legend.fontsize": 9.0,
    "grid.color": RULE,
    "grid.linewidth": 0.6,
    "lines.linewidth": 1.4,
    "path.simplify": True,
    "figure.constrained_layout.use": True,
}

_HEAD = re.compile(r"<svg\b[^>]*>")
_VIEW_BOX = re.compile(r'viewBox="([^"]*)"')
_ID = re.compile(r'\sid="([^"]*)"')
_USE = re.compile(r'(?:xlink:href="#|url\(#)([^")]+)')


def _references(svg: str, prefix: str) -> str:
    """Keep only the ids that something points to, and number them under the figure's prefix."""
    names: dict[str, str] = {}
    for used in _USE.findall(svg):
        names.setdefault(used, f"{prefix}-{len(names) + 1}")
    svg = _ID.sub(lambda m: f' id="{names[m[1]]}"' if m[1] in names else "", svg)
    svg = re.sub(r'xlink:href="#([^"]+)"', lambda m: f'href="#{names[m[1]]}"', svg)
    return re.sub(r"url\(#([^)]+)\)", lambda m: f"url(#{names[m[1]]})", svg)


def _inline(svg: str, prefix: str, label: str) -> str:
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<!--.*?-->", "", svg, flags=re.DOTALL)
    head = _HEAD.search(svg)
    box = _VIEW_BOX.search(head[0]) if head else None
    if head is None or box is None:
        raise ValueError("matplotlib wrote no SVG head with a viewBox")
    opening = f'<svg viewBox="{box[1]}" role="img" aria-label="{escape(label)}">'
    svg = _references(opening + svg[head.end() :], prefix)
    return re.sub(r"\n\s*", "\n", svg).strip()


def draw(paint: Callable[[], Figure], prefix: str, label: str) -> str:
    """Paint a figure and give it as an `<svg>` element to stand inside HTML.

    Parameters
    ----------
    paint : callable
        Makes the figure. It is called with the style of the report in force.
    prefix : str
        Put before every id, so that the figures of one page do not borrow from each other.
    label : str
        What the picture shows, in words, for those who do not see it.
    """
    import matplotlib as mpl

    sink = io.StringIO()
    style: Any = {**_STYLE, "svg.hashsalt": prefix}
    with mpl.rc_context(style), warnings.catch_warnings():
        # A script that the measuring font lacks is still text, and the browser has the glyphs.
        warnings.filterwarnings("ignore", message=".*Glyph.*missing")
        # Labels too long for their picture are cut there; they stand whole in the table beside it.
        warnings.filterwarnings("ignore", message=".*constrained_layout not applied")
        figure = paint()
        figure.savefig(
            sink, format="svg", transparent=True, metadata={"Date": None, "Creator": None}
        )
    return _inline(sink.getvalue(), prefix, label)


def save(paint: Callable[[], Figure], form: str) -> bytes:
    """Paint a figure as a file of its own.

    Parameters
    ----------
    form : str
        "svg", or "png" at 200 dots an inch.
    """
    import matplotlib as mpl

    sink = io.BytesIO()
    metadata: dict[str, Any] = (
        {"Date": None, "Creator": None} if form == "svg" else {"Software": None}
    )
    style: Any = {**_STYLE, "svg.hashsalt": "statement"}
    with mpl.rc_context(style), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*Glyph.*missing")
        # Labels too long for their picture are cut there; they stand whole in the table beside it.
        warnings.filterwarnings("ignore", message=".*constrained_layout not applied")
        paint().savefig(sink, format=form, dpi=200, facecolor="white", metadata=metadata)
    return sink.getvalue()
