"""Axes: round ticks, and where data stand in a picture."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from slackwater.analysis.report.drawing.canvas import Point, line, text, text_width
from slackwater.analysis.report.svg import FAINT, INK, RULE

_ROUND = (1.0, 2.0, 2.5, 5.0, 10.0)


def ticks(low: float, high: float, at_most: int = 6) -> list[float]:
    """Round places between two ends, at most so many; the ends alone where they are one."""
    if not high > low:
        return [low]
    rough = (high - low) / max(at_most - 1, 1)
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(each * power for each in _ROUND if each * power >= rough * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(number * step, 12) for number in range(first, last + 1)]


def tick_texts(values: Iterable[float], signed: bool = False) -> list[str]:
    """The places as text, all with the same decimals."""
    values = list(values)
    decimals = max((_digits(value) for value in values), default=0)
    texts = []
    for value in values:
        sign = "−" if value < 0 else "+" if signed and value > 0 else ""
        texts.append(f"{sign}{abs(value):.{decimals if value else 0}f}")
    return texts


def _digits(value: float) -> int:
    """Decimals that a round number takes."""
    text = f"{abs(value):.6f}".rstrip("0")
    return len(text.partition(".")[2])


@dataclass(frozen=True, slots=True)
class Frame:
    """The part of a picture in which data are drawn.

    Attributes
    ----------
    left, top, right, bottom : float
        [px]
    x, y : (float, float)
        What stands at left and right, at bottom and top. [their units]
    """

    left: float
    top: float
    right: float
    bottom: float
    x: tuple[float, float]
    y: tuple[float, float]

    def at(self, x: float, y: float) -> Point:
        """Where a point of the data stands. [px]"""
        return self.at_x(x), self.at_y(y)

    def at_x(self, x: float) -> float:
        """Where a value of the horizontal axis stands. [px]"""
        low, high = self.x
        return self.left + (x - low) / (high - low) * (self.right - self.left)

    def at_y(self, y: float) -> float:
        """Where a value of the vertical axis stands. [px]"""
        low, high = self.y
        return self.bottom - (y - low) / (high - low) * (self.bottom - self.top)

    def x_axis(self, places: dict[float, str], title: str = "") -> list[str]:
        """The horizontal axis with its ticks, and its title below."""
        found = [line((self.left, self.bottom), (self.right, self.bottom), FAINT, 0.7)]
        last = -math.inf
        for place, words in places.items():
            x = self.at_x(place)
            found.append(line((x, self.bottom), (x, self.bottom + 3), FAINT, 0.7))
            half = text_width(words, 9.0) / 2
            if x - half > last:  # a text that would cover the one before is left out
                found.append(text((x, self.bottom + 13), words, anchor="middle", size=9.0))
                last = x + half + 3
        if title:
            middle = (self.left + self.right) / 2
            found.append(text((middle, self.bottom + 26), title, anchor="middle"))
        return found

    def y_axis(self, places: dict[float, str], title: str = "", grid: bool = True) -> list[str]:
        """The vertical axis with its ticks and lines across, and its title along it."""
        found = []
        for place, words in places.items():
            y = self.at_y(place)
            if grid:
                found.append(line((self.left, y), (self.right, y), RULE, 0.6))
            found.append(text((self.left - 5, y + 3), words, anchor="end", size=9.0))
        found.append(line((self.left, self.top), (self.left, self.bottom), FAINT, 0.7))
        if title:
            middle = (self.top + self.bottom) / 2
            found.append(text((10, middle), title, anchor="middle", upwards=True, color=INK))
        return found


def span(values: Iterable[float], margin: float = 0.05) -> tuple[float, float]:
    """The ends of an axis that holds all values with some room; never of no length."""
    known = [value for value in values if math.isfinite(value)]
    low, high = min(known, default=0.0), max(known, default=1.0)
    room = margin * (high - low) or 0.05 * abs(high) or 1.0
    return low - room, high + room
