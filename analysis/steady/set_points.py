"""Which set point a steady stretch was made at, by what was held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.steady.terms import CutTerms
from slackwater.analysis.steady.track import Track
from slackwater.analysis.steady.windows import Window
from slackwater.protocol.units.quantity import show_number

NEAR = 0.25  # of the way to the next set point: meant for this one, and not held


@dataclass(frozen=True, slots=True)
class Placed:
    """A window with its set point [unit of the terms], or why it has none."""

    window: Window
    set_point: float | None
    why_not: str = ""
    direction: str = ""


def by_held(track: Track, windows: Sequence[Window], terms: CutTerms) -> list[Placed]:
    """Each window at the set point whose band holds the mean of what was held."""
    if track.held is None:
        raise ValueError(f"{terms.held} was not recorded")
    return [_placed(float(np.nanmean(track.held[w.cells])), w, terms) if _has(track, w)
            else Placed(w, None, f"{_words(terms)} is missing over it") for w in windows]  # fmt: skip


def near_point(track: Track, window: Window, terms: CutTerms) -> float | None:
    """The set point that was meant, by what was held about the core; None where nothing tells."""
    first, last = window.leg.core
    held = track.held[first : last + 1] if track.held is not None else np.empty(0)
    if not np.isfinite(held).any():
        return None
    point, gap = _nearest(value := float(np.nanmean(held)), terms)
    return point if abs(value - point) <= NEAR * gap else None


def _nearest(value: float, terms: CutTerms) -> tuple[float, float]:
    """The nearest set point, and how far the next one is from it."""
    points = np.array(terms.set_points)
    nearest = int(np.argmin(np.abs(points - value)))
    others = np.delete(points, nearest)
    gap = float(np.min(np.abs(others - points[nearest]))) if others.size else points[nearest]
    return terms.set_points[nearest], float(gap)


def _has(track: Track, window: Window) -> bool:
    return track.held is not None and bool(np.isfinite(track.held[window.cells]).mean() >= 0.5)


def _words(terms: CutTerms) -> str:
    return terms.held.replace("_", " ")


def _placed(value: float, window: Window, terms: CutTerms) -> Placed:
    point, gap = _nearest(value, terms)
    low, high = terms.bands[terms.set_points.index(point)]
    if low <= value <= high:
        return Placed(window, point)
    if abs(value - point) <= NEAR * gap:
        return Placed(
            window,
            None,
            f"not held: {_words(terms)} {value:.5g} {terms.unit} on the mean, where {show_number(point)} {terms.unit} "
            f"may be {show_number(low)} to {show_number(high)}",
        )
    return Placed(
        window, None, f"not planned: {_words(terms)} {value:.5g} {terms.unit} is near no set point"
    )
