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


def _has(track: Track, window: Window) -> bool:
    return track.held is not None and bool(np.isfinite(track.held[window.cells]).mean() >= 0.5)


def _words(terms: CutTerms) -> str:
    return terms.held.replace("_", " ")


def _placed(value: float, window: Window, terms: CutTerms) -> Placed:
    points = np.array(terms.set_points)
    nearest = int(np.argmin(np.abs(points - value)))
    low, high = terms.bands[nearest]
    if low <= value <= high:
        return Placed(window, terms.set_points[nearest])
    point = show_number(terms.set_points[nearest])
    others = np.delete(points, nearest)
    gap = float(np.min(np.abs(others - points[nearest]))) if others.size else points[nearest]
    if abs(value - points[nearest]) <= NEAR * gap:
        return Placed(
            window,
            None,
            f"not held: {_words(terms)} {value:.5g} {terms.unit} on the mean, where {point} {terms.unit} "
            f"may be {show_number(low)} to {show_number(high)}",
        )
    return Placed(
        window, None, f"not planned: {_words(terms)} {value:.5g} {terms.unit} is near no set point"
    )
