"""The letter as one self-contained HTML page: no script, nothing fetched, everything escaped."""

from __future__ import annotations

import math
from collections.abc import Callable

from slackwater import __version__
from slackwater.analysis.audit.method_words import METHOD
from slackwater.analysis.audit.outcome import AuditResult, ClaimAudit
from slackwater.analysis.report.audit import words
from slackwater.analysis.report.page import environment

_WIDTH, _HEIGHT, _LEFT, _RIGHT = 640.0, 118.0, 130.0, 20.0
_MOST_SHOWN = 60  # runs of one table


def render(result: AuditResult) -> str:
    """The whole page as text, to be written as UTF-8."""
    from markupsafe import Markup

    templates = environment("slackwater.analysis.report.audit")
    pages = [
        {
            "claim": claim,
            "subject": words.subject(result, claim),
            "short": words.short(result, claim),
            "meaning": words.meaning(result, claim),
            "figures": words.figures(claim, has_data=bool(result.trial)),
            "picture": Markup(picture(claim)),
            "settles": words.settles(claim),
            "reasons": [(words.heading(r), words.outcome(r), r) for r in claim.reasons],
        }
        for claim in result.claims
    ]
    return templates.get_template("audit.html.jinja").render(
        result=result,
        version=__version__,
        marks=words.MARKS,
        seals=words.seals(result),
        replied=words.replied(result),
        summary=words.summary(result),
        stated=words.stated,
        pages=pages,
        most=_MOST_SHOWN,
        method=METHOD,
        limits=words.LIMITS,
    )


def picture(claim: ClaimAudit) -> str:
    """The stated change beside the interval it is held against, as an inline SVG.

    Only numbers go in, so that there is nothing to escape. Empty where there is nothing to draw.
    """
    stated = (claim.stated_low, claim.stated_high)
    found = (claim.low, claim.high)
    if words.is_value(claim) or None in stated or None in found:
        return ""
    ends = [float(v) for v in (*stated, *found) if v is not None]
    ends.append(0.0)
    if claim.recomputed is not None:
        ends.append(float(claim.recomputed))
    low, high = min(ends), max(ends)
    pad = (high - low or 1.0) * 0.06
    low, high = low - pad, high + pad

    def x(value: float) -> float:
        return _LEFT + (value - low) / (high - low) * (_WIDTH - _LEFT - _RIGHT)

    factor = 100 if claim.unit in ("", "1") else 1
    label = "The stated change beside the interval it is held against"
    size = f"0 0 {_WIDTH:g} {_HEIGHT:g}"
    parts = [f'<svg viewBox="{size}" role="img" aria-label="{label}">']
    parts.append(_axis(low, high, factor, x))
    parts.append(_bar("stated", ends[0], ends[1], 30, "stated", x))
    parts.append(_bar("interval", ends[2], ends[3], 62, "found", x))
    if claim.recomputed is not None:
        centre = x(float(claim.recomputed))
        parts.append(f'<circle class="point" cx="{centre:.1f}" cy="62" r="5"/>')
    parts.append("</svg>")
    return "".join(parts)


def _bar(
    label: str, low: float, high: float, y: float, kind: str, x: Callable[[float], float]
) -> str:
    start, end = x(low), x(high)
    width = max(end - start, 3.0)
    return (
        f'<text x="{_LEFT - 12:g}" y="{y + 5:g}" text-anchor="end">{label}</text>'
        f'<rect class="{kind}" x="{start:.1f}" y="{y - 8:g}" width="{width:.1f}" height="16"/>'
    )


def _axis(low: float, high: float, factor: int, x: Callable[[float], float]) -> str:
    span = (high - low) * factor
    step = 10 ** math.floor(math.log10(span / 4))
    for times in (1, 2, 5, 10):
        if span / (step * times) <= 8:
            step *= times
            break
    first = math.ceil(low * factor / step)
    last = math.floor(high * factor / step)
    decimals = max(0, -math.floor(math.log10(step)))
    out = [f'<line class="zero" x1="{x(0):.1f}" x2="{x(0):.1f}" y1="12" y2="84"/>']
    for number in range(first, last + 1):
        value = number * step
        at = x(value / factor)
        text = f"{value:+.{decimals}f}" if number else "0"
        text = text.replace("-", "−")
        out.append(f'<line class="tick" x1="{at:.1f}" x2="{at:.1f}" y1="84" y2="89"/>')
        out.append(f'<text class="tick" x="{at:.1f}" y="104" text-anchor="middle">{text}</text>')
    out.append(f'<line class="tick" x1="{_LEFT:g}" x2="{_WIDTH - _RIGHT:g}" y1="84" y2="84"/>')
    unit = "%" if factor == 100 else ""
    out.append(f'<text class="tick" x="{_LEFT - 12:g}" y="104" text-anchor="end">{unit}</text>')
    return "".join(out)
